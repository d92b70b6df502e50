import { CategoryEstimates } from '../agreement/category-estimates.js';
import type { SpecificAgreement } from '../agreement/specific-agreement.js';
import { AUDIENCES, type Audience } from '../shared/audience.js';
import { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { roundedEstimate } from '../shared/rounded-estimate.js';
import type { AgreementStudy, StudyResult } from './agreement-study.js';
import { shownEstimate } from './shown-estimate.js';

/**
 * The same study for an audience: groups of fewer than 5 people are left out, and a second group where one alone would follow from the total. For outside the hospital also: values are
 * rounded to three decimals and travel without the figures behind them, the specific agreement of a grade is left out where 1 to 4 pairs of readings agree or do not, and notes with figures
 * of their own are left out.
 *
 * What it does not do: coefficients of all people together are given out, as journals ask for them; with percent agreement, kappa and the number of findings somebody can try which cross-tables of
 * two grades fit.
 *
 * @throws InputError `unknown-choice`, `too-few-people` (the whole study rests on fewer than 5 people).
 * Source: a least group of five, common practice, no source.
 */
export function studyForAudience(study: AgreementStudy, audience: Audience): AgreementStudy {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  if (chosen === 'own') return study;
  const whole = study.results.find(
    ({ group, primary }) => group === undefined && primary.counts.clusters < FEWEST_SHOWN,
  );
  if (whole !== undefined)
    throw refuse(
      'too-few-people',
      ['study'],
      `The study of ${whole.sign} rests on fewer than ${FEWEST_SHOWN} people; nothing of it can be given to others.`,
      'show it to yourself only, or collect more.',
    );
  const kept = study.results.filter((result) => !isLeftOut(result, study.results));
  const left = study.results.length - kept.length;
  const outside = chosen === 'outside';
  const notes = [
    ...study.notes.filter((note) => !outside || SAFE.has(note.code) || !/\d/.test(note.message)),
    ...(left === 0
      ? []
      : [
          information(
            'groups-left-out',
            `${left} results are left out: groups of fewer than ${FEWEST_SHOWN} people, and others from which they could be had by subtraction.`,
          ),
        ]),
  ];
  return study.released(
    {
      results: kept.map((result) => changed(result, (estimate) => estimateShownTo(chosen, estimate))),
      specific: (agreement) => specificFor(agreement, outside, chosen),
      notes,
    },
    { audience: chosen },
  );
}

/** Notes whose figures are numbers of results, not of people. */
const SAFE: ReadonlySet<string> = new Set(['these-assessors', 'not-accuracy', 'stopped', 'explored', 'amended']);

function isSmall({ primary }: StudyResult): boolean {
  return primary.counts.clusters < FEWEST_SHOWN;
}

function isLeftOut(result: StudyResult, all: readonly StudyResult[]): boolean {
  if (result.group === undefined) return false;
  if (isSmall(result)) return true;
  const siblings = all.filter(
    (other) =>
      other.sign === result.sign && other.group?.name === result.group?.name && other.amendment === result.amendment,
  );
  if (siblings.filter(isSmall).length !== 1) return false;
  const [fewest] = siblings
    .filter((other) => !isSmall(other))
    .sort((a, b) => a.primary.counts.targets - b.primary.counts.targets);
  return fewest === result;
}

function changed(result: StudyResult, change: (estimate: Estimate) => Estimate): StudyResult {
  const of = (estimate: Estimate | undefined): Estimate | undefined =>
    estimate === undefined ? undefined : change(estimate);
  return {
    ...result,
    primary: change(result.primary),
    exact: of(result.exact),
    withinOneGrade: of(result.withinOneGrade),
    standardErrorOfMeasurement: of(result.standardErrorOfMeasurement),
  };
}

/** An estimate as an audience may see it: outside rounded and alone, inside without numbers of few people in its notes. */
export function estimateShownTo(audience: Audience, estimate: Estimate): Estimate {
  if (audience === 'own') return estimate;
  return audience === 'outside' ? roundedEstimate(estimate) : shownEstimate(estimate);
}

/** Specific agreement without grades that few pairs of readings agree, or disagree, on; never one alone. */
export function specificFor(agreement: SpecificAgreement, outside: boolean, audience: Audience): SpecificAgreement {
  const { categories } = agreement;
  const few = (pairs: number): boolean => pairs > 0.5 && pairs < FEWEST_SHOWN - 0.5;
  // Of the readings of a grade, so many have the same grade beside them: each pair is counted from both sides.
  const isFew = ({ estimate }: (typeof categories)[number]): boolean => {
    const opportunities = estimate.details.opportunities ?? 0;
    const agreeing = opportunities === 0 ? 0 : estimate.value * opportunities;
    return outside
      ? few(agreeing / 2) || few(opportunities - agreeing)
      : (estimate.details.readings ?? 0) > 0 && (estimate.details.readings ?? 0) < FEWEST_SHOWN;
  };
  const left = new Set(categories.filter(isFew));
  if (left.size === 1) {
    const [fewest] = categories
      .filter((one) => !left.has(one) && (one.estimate.details.readings ?? 0) > 0)
      .sort((a, b) => (a.estimate.details.readings ?? 0) - (b.estimate.details.readings ?? 0));
    if (fewest !== undefined) left.add(fewest);
  }
  const kept = categories
    .filter((one) => !left.has(one))
    .map(({ category, estimate }) => ({
      category,
      estimate: outside
        ? new Estimate({ ...roundedEstimate(estimate), details: { readings: estimate.details.readings ?? 0 } })
        : estimate,
    }));
  return new CategoryEstimates(
    agreement.kind,
    agreement.caption,
    agreement.valueLabel,
    kept,
    left.size === 0
      ? agreement.notes
      : [
          ...agreement.notes,
          information(
            'grades-left-out',
            `${left.size} grades are left out, because few readings of them agree or differ.`,
          ),
        ],
    { audience },
  );
}
