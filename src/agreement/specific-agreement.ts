import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { caution, information, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import { CategoryEstimates } from './category-estimates.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { ratioLeaveEachOut } from './leave-each-out.js';

/** Specific agreement of each category, in the scale's order. */
export type SpecificAgreement = CategoryEstimates;

/**
 * Specific agreement of each category: given that a reading is of this category, the chance that another assessor's reading
 * of the same target is too.
 *
 * pₖ = Σₜ nₜₖ(nₜₖ − 1) / Σₜ nₜₖ(mₜ − 1), nₜₖ readings of target t in category k, mₜ its readings. For two assessors this is
 * 2nₖₖ / (nₖ₊ + n₊ₖ), for two categories positive and negative agreement.
 *
 * Undefined (`NaN` with a note) for a category nobody used among targets read twice. Missing values: targets with fewer than two
 * readings do not enter. `details.readings`: readings of the category that entered.
 *
 * @throws InputError `bad-option`.
 * @example specificAgreement(ratingsOfTable([[80, 10], [5, 5]], { categories: ['yes', 'no'] })).categories[0].estimate.value // 0.9143
 * Source: Cicchetti DV, Feinstein AR. J Clin Epidemiol 1990;43:551–558, doi:10.1016/0895-4356(90)90159-M; many assessors: Uebersax JS. Educ
 * Psychol Meas 1982;42:181–183, doi:10.1177/0013164482421018 (from memory).
 */
export function specificAgreement(ratings: Ratings, options: IntervalOptions = {}): SpecificAgreement {
  return new CategoryEstimates(
    'specific-agreement',
    'Given that one assessor read this grade, how often did another read it too?',
    'specific agreement',
    ratings.categories.map((category, code) => ({
      category,
      estimate: coefficientEstimate(ratings, specificCoefficient(ratings, code), options, {
        options: { category: category.value },
        details: (totals) => ({ readings: readingsOfCategory(ratings, code), opportunities: totals[1]! }),
        notes: (value) => notesOf(value, category),
      }),
    })),
  );
}

/** The coefficient behind `specificAgreement` for one category. Sums: Σ nₖ(nₖ − 1), Σ nₖ(m − 1). */
export function specificCoefficient(ratings: Ratings, code: number): Coefficient {
  return {
    name: `specific agreement on "${ratings.categories[code]!.words}"`,
    cells: 2,
    scale: 'logit',
    bootstrapForm: 'symmetric',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'delta method',
    add(target, sums, at) {
      let of = 0;
      let all = 0;
      for (let column = 0; column < ratings.columns; column++) {
        const reading = ratings.codes[target * ratings.columns + column]!;
        if (reading < 0) continue;
        all++;
        if (reading === code) of++;
      }
      if (all < 2) return false;
      sums[at]! += of * (of - 1);
      sums[at + 1]! += of * (all - 1);
      return true;
    },
    value: (sums) => sums[0]! / sums[1]!,
    leaveEachOut: ratioLeaveEachOut,
    gradient: (sums) => Float64Array.of(1 / sums[1]!, -sums[0]! / (sums[1]! * sums[1]!)),
  };
}

function readingsOfCategory(ratings: Ratings, code: number): number {
  let count = 0;
  for (let target = 0; target < ratings.targets; target++) {
    let of = 0;
    let all = 0;
    for (let column = 0; column < ratings.columns; column++) {
      const reading = ratings.codes[target * ratings.columns + column]!;
      if (reading >= 0) all++;
      if (reading === code) of++;
    }
    if (all >= 2) count += of;
  }
  return count;
}

function notesOf(value: number, category: RatingCategory): Note[] {
  if (Number.isNaN(value))
    return [information('not-defined', `Nobody read "${category.words}" among the targets read twice.`)];
  return value === 0 ? [caution('never-agreed', `No two assessors ever agreed on "${category.words}".`)] : [];
}
