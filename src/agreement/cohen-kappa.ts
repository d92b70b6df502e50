import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { caution, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { type CrossTable, crossTable } from './cross-table.js';
import { aboutMean } from './leave-each-out.js';
import { type CountedSums, quadraticMoments } from './quadratic-moments.js';
import { alikeNote, commonestCategory, undefinedNote } from './sparse-readings.js';
import { refuseMeasured } from './suitable-ratings.js';
import { twoAssessorsOf } from './two-assessors.js';
import { agreementWeights, disagreements, type Weights, weightsName } from './weights.js';

export interface CohenKappaOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). Name them before seeing results. */
  readonly weights?: Weights;
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/**
 * Cohen's kappa of two assessors, unweighted or weighted: agreement beyond what their own margins give by chance.
 *
 * κ = (pₒ − pₑ) / (1 − pₑ), pₒ = Σ wᵢⱼ pᵢⱼ, pₑ = Σ wᵢⱼ pᵢ₊ p₊ⱼ; pᵢⱼ the share of targets that the first assessor read
 * as category i and the second as j, pᵢ₊ and p₊ⱼ the two margins, wᵢⱼ the agreement weights on the scale's scores.
 *
 * Undefined (`NaN` with a note) when both assessors used one and the same category throughout (pₑ = 1), or no target
 * has both readings. Missing values: a target enters when both have read it; the others are counted as `excluded`.
 *
 * `details`: observedAgreement pₒ, expectedAgreement pₑ, greatestAttainable (κ at these margins; `NaN` for own weights),
 * nullStandardError (Fleiss, Cohen, Everitt, for κ = 0), largestShare of one category, and at two categories
 * prevalenceIndex (p₁₁ − p₂₂) and biasIndex (p₁₂ − p₂₁).
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example cohenKappa(ratingsOfTable([[40, 9], [6, 45]], { categories: ['no', 'yes'] })).value // 0.6994
 * Source: Cohen J. Psychol Bull 1968;70:213–220, doi:10.1037/h0026256; errors: Fleiss JL, Cohen J, Everitt BS. Psychol Bull
 * 1969;72:323–327, doi:10.1037/h0028106; indices: Byrt T, Bishop J, Carlin JB. J Clin Epidemiol 1993;46:423–429,
 * doi:10.1016/0895-4356(93)90018-V.
 */
export function cohenKappa(ratings: Ratings, options: CohenKappaOptions = {}): Estimate {
  refuseMeasured(ratings, 'cohenKappa');
  const pair = twoAssessorsOf(ratings, options.assessors, 'cohenKappa');
  const weightsAsked = options.weights ?? 'identity';
  const weights = agreementWeights(pair, weightsAsked);
  const coefficient = kappaCoefficient(pair, weights, weightsAsked);
  const { counts } = crossTable(pair);
  return coefficientEstimate(pair, coefficient, options, {
    options: { weights: weightsAsked },
    ratingsPerTarget: 2,
    details: (totals) => kappaDetails(pair, counts, weights, weightsAsked, totals),
    notes: (value) => [
      ...undefinedNote(value, coefficient.name),
      ...alikeNote(pair),
      ...emptyDiagonalNote(pair, counts),
    ],
  });
}

/** Sums: disagreement Σ (1 − w), then q counts of the first margin, then q of the second. */
export function kappaCoefficient(ratings: Ratings, weights: Float64Array, asked: Weights): Coefficient {
  const size = ratings.categories.length;
  const first = 1;
  const second = 1 + size;
  const apart = disagreements(weights);
  /** Σ (1 − wᵢⱼ) rᵢ cⱼ, r and c the counts of the margins. */
  const expectedApart = (sums: Float64Array): number => {
    let sum = 0;
    for (let i = 0; i < size; i++) {
      const row = sums[first + i]!;
      if (row === 0) continue;
      let inner = 0;
      for (let j = 0; j < size; j++) inner += apart[i * size + j]! * sums[second + j]!;
      sum += row * inner;
    }
    return sum;
  };
  const count = (sums: Float64Array): number => {
    let n = 0;
    for (let i = 0; i < size; i++) n += sums[first + i]!;
    return n;
  };
  const addFrom =
    (codes: Int32Array) =>
    (target: number, sums: Float64Array, at: number, often = 1): boolean => {
      const a = codes[2 * target]!;
      const b = codes[2 * target + 1]!;
      if (a < 0 || b < 0) return false;
      sums[at]! += often * apart[a * size + b]!;
      sums[at + first + a]! += often;
      sums[at + second + b]! += often;
      return true;
    };
  const layout: CountedSums = {
    cells: 1 + 2 * size,
    disagreement: 0,
    paired: (sums, at) => {
      let n = 0;
      for (let i = 0; i < size; i++) n += sums[at + first + i]!;
      return n;
    },
    counts: first,
    assessors: 2,
  };
  return {
    name: asked === 'identity' ? 'Cohen kappa' : `Cohen kappa, ${weightsName(asked)} weights`,
    cells: 1 + 2 * size,
    scale: 'fisher',
    bootstrapForm: 'equal-tailed',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'Fleiss, Cohen, Everitt 1969',
    add: addFrom(ratings.codes),
    addFrom,
    value(sums) {
      const n = count(sums);
      const room = expectedApart(sums);
      return room > 1e-12 * n * n ? (room - n * sums[0]!) / room : Number.NaN;
    },
    ...(asked === 'quadratic'
      ? {
          condensed: (perCluster) => quadraticMoments(perCluster, layout, ratings.categories),
        }
      : {}),
    leaveEachOut(rows) {
      // What chance leaves room for, R = rᵀAc with A = 1 − W, is without a patient R − (Ac)ᵀr₁ − (Aᵀr)ᵀc₁ + r₁ᵀAc₁, r₁ and c₁ its margins.
      const cells = 1 + 2 * size;
      const patients = Array.from({ length: rows.length / cells }, (_, row) =>
        rows.subarray(row * cells, (row + 1) * cells),
      );
      const ownRoom = Float64Array.from(patients, expectedApart);
      const ownCount = Float64Array.from(patients, count);
      const byMargins = new Float64Array(2 * size);
      return (totals, { rows: list, times }, drawn) => {
        const n = count(totals);
        const allRoom = expectedApart(totals);
        for (let i = 0; i < size; i++) {
          let byFirst = 0;
          let bySecond = 0;
          for (let j = 0; j < size; j++) {
            byFirst += apart[i * size + j]! * totals[second + j]!;
            bySecond += apart[j * size + i]! * totals[first + j]!;
          }
          byMargins[i] = byFirst;
          byMargins[size + i] = bySecond;
        }
        let origin = 0;
        let sum = 0;
        let squares = 0;
        for (let i = 0; i < list.length; i++) {
          const row = list[i]!;
          const at = row * cells;
          let fromFirst = 0;
          let fromSecond = 0;
          for (let k = 0; k < size; k++) {
            fromFirst += byMargins[k]! * rows[at + first + k]!;
            fromSecond += byMargins[size + k]! * rows[at + second + k]!;
          }
          const rest = n - ownCount[row]!;
          const room = allRoom - fromFirst - fromSecond + ownRoom[row]!;
          const value = room > 1e-12 * rest * rest ? 1 - (rest * (totals[0]! - rows[at]!)) / room : Number.NaN;
          if (i === 0) origin = value;
          const weighted = times[i]! * (value - origin);
          sum += weighted;
          squares += weighted * (value - origin);
        }
        return aboutMean(sum, squares, drawn);
      };
    },
    gradient(sums) {
      // κ = 1 − nD/R: D = Σ (1 − w), R = Σ (1 − wᵢⱼ) rᵢ cⱼ, n = Σ r.
      const n = count(sums);
      const room = expectedApart(sums);
      const gap = n * sums[0]!;
      const gradient = new Float64Array(1 + 2 * size);
      gradient[0] = -n / room;
      for (let i = 0; i < size; i++) {
        let byRow = 0;
        let byColumn = 0;
        for (let j = 0; j < size; j++) {
          byRow += apart[i * size + j]! * sums[second + j]!;
          byColumn += apart[j * size + i]! * sums[first + j]!;
        }
        gradient[first + i] = -sums[0]! / room + (gap * byRow) / (room * room);
        gradient[second + i] = (gap * byColumn) / (room * room);
      }
      return gradient;
    },
  };
}

function kappaDetails(
  ratings: Ratings,
  table: CrossTable['counts'],
  weights: Float64Array,
  asked: Weights,
  totals: Float64Array,
): Readonly<Record<string, number>> {
  const size = ratings.categories.length;
  const rows = totals.subarray(1, 1 + size);
  const columns = totals.subarray(1 + size);
  const n = rows.reduce((sum, count) => sum + count, 0);
  const apart = disagreements(weights);
  let room = 0;
  for (let i = 0; i < size; i++)
    for (let j = 0; j < size; j++) room += (apart[i * size + j]! * rows[i]! * columns[j]!) / (n * n);
  const twoByTwo =
    size === 2
      ? {
          prevalenceIndex: (table[0]![0]! - table[1]![1]!) / n,
          biasIndex: (table[0]![1]! - table[1]![0]!) / n,
        }
      : {};
  return {
    observedAgreement: 1 - totals[0]! / n,
    expectedAgreement: 1 - room,
    greatestAttainable: greatestKappa(rows, columns, apart, asked, room),
    nullStandardError: nullStandardError(rows, columns, apart, room, n),
    largestShare: commonestCategory(ratings).share,
    ...twoByTwo,
  };
}

/**
 * Kappa with the same margins and the most agreement they allow. Unweighted: Σ min(pᵢ₊, p₊ᵢ). Linear, quadratic and other
 * weights that fall off with distance in a concave-agreement (Monge) way: readings paired in rank order. Own weights: not given.
 */
function greatestKappa(
  rows: Float64Array,
  columns: Float64Array,
  apart: Float64Array,
  asked: Weights,
  room: number,
): number {
  const size = rows.length;
  const n = rows.reduce((sum, count) => sum + count, 0);
  let least = 0;
  if (asked === 'identity') {
    least = n;
    for (let i = 0; i < size; i++) least -= Math.min(rows[i]!, columns[i]!);
  } else if (asked === 'linear' || asked === 'quadratic' || asked === 'ordinal') {
    const row = rows.slice();
    const column = columns.slice();
    for (let i = 0, j = 0; i < size && j < size; ) {
      const moved = Math.min(row[i]!, column[j]!);
      least += moved * apart[i * size + j]!;
      row[i]! -= moved;
      column[j]! -= moved;
      if (row[i] === 0) i++;
      else j++;
    }
  } else return Number.NaN;
  return 1 - least / n / room;
}

/**
 * Standard error of kappa if it were 0 (Fleiss, Cohen, Everitt 1969, formula for the null case), in disagreements v = 1 − w, so that nothing
 * cancels: √(Σ pᵢ₊ p₊ⱼ (vᵢⱼ − v̄ᵢ₊ − v̄₊ⱼ + V)² / n) / V, V = Σ vᵢⱼ pᵢ₊ p₊ⱼ.
 */
function nullStandardError(
  rows: Float64Array,
  columns: Float64Array,
  apart: Float64Array,
  room: number,
  n: number,
): number {
  const size = rows.length;
  const rowMean = new Float64Array(size);
  const columnMean = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) {
      rowMean[i]! += (apart[i * size + j]! * columns[j]!) / n;
      columnMean[i]! += (apart[j * size + i]! * rows[j]!) / n;
    }
  }
  let sum = 0;
  for (let i = 0; i < size; i++)
    for (let j = 0; j < size; j++)
      sum += ((rows[i]! * columns[j]!) / (n * n)) * (apart[i * size + j]! - rowMean[i]! - columnMean[j]! + room) ** 2;
  return Math.sqrt(sum / n) / room;
}

function emptyDiagonalNote(ratings: Ratings, counts: CrossTable['counts']): Note[] {
  const never = ratings.categories.filter((_, code) => {
    const used = counts[code]!.some((count) => count > 0) || counts.some((row) => row[code]! > 0);
    return used && counts[code]![code] === 0;
  });
  if (never.length === 0) return [];
  const words = never.map((category) => `"${category.words}"`).join(', ');
  return [caution('never-agreed', `The two never agreed on ${words}.`)];
}
