import type { StudyPlan } from '../planning/plan-study.js';
import { checkIntervalOptions } from '../shared/options.js';
import { formatCount } from '../shared/table.js';
import { planSentences } from '../study/agreement-plan.js';
import type { AgreementStudy } from '../study/agreement-study.js';

/** What a report can say beyond the study itself. */
export interface ReportBackground {
  /** The plan that the study was carried out by. */
  readonly plan?: StudyPlan;
  /** How the number of people was set, in a sentence: `String(patientsNeeded(…))`, or what a simulation said. */
  readonly sampleSize?: string | undefined;
  /** SHA-256 of the plan's file, as `loadPlan` gives it. */
  readonly planFingerprint?: string;
}

/**
 * The methods of a study as a paragraph for a paper: who read what how often, when readings count as of the same finding, gaps, coefficient, weights, interval, replicates, seed, conventions,
 * version and fingerprint of the data.
 *
 * Every sentence comes from the study or the plan; nothing is assumed. What only a person knows is not in it: see `reportingGuideline`.
 *
 * @example methodsText(study, { plan, sampleSize: String(needed) })
 */
export function methodsText(study: AgreementStudy, background: ReportBackground = {}): string {
  const { plan: design, sampleSize } = background;
  const { plan } = study;
  const { interval } = checkIntervalOptions(plan);
  const signs = plan.signs.map((sign) => {
    const ratings = study.ratings(sign);
    const subject = ratings.subject;
    const grades =
      ratings.level === 'interval' || ratings.level === 'ratio' ? '' : `, ${ratings.categories.length} grades`;
    return `${subject?.signLabel ?? sign} (${subject?.scaleLabel ?? ''}, ${subject?.scale ?? ''}${grades}) was read by ${ratings.assessors.length} assessors on ${formatCount(ratings.targets)} findings of ${formatCount(ratings.clusters)} people, ${formatCount(ratings.readings)} readings${ratings.repeats.length === 0 ? '' : ` and ${formatCount(ratings.repeats.length)} repeat readings`}.`;
  });
  const graded = study.results.some((result) => result.exact !== undefined);
  const measured = study.results.some((result) => result.standardErrorOfMeasurement !== undefined);
  return [
    ...(design === undefined ? [] : [designSentence(design)]),
    ...(sampleSize === undefined ? [] : [`Sample size: ${sampleSize}`]),
    ...signs,
    `Readings were taken as of the same finding when they were of one sign on one limb and site of one person ${windowWords(plan.window)}.`,
    'A finding entered with the readings it had; findings without a second reading were left out and are counted.',
    ...planSentences(plan).slice(1),
    `Primary coefficient computed: ${[...new Set(study.results.filter((result) => result.asked !== 'amended').map((result) => `${study.ratings(result.sign).subject?.signLabel ?? result.sign}: ${result.primary.statistic}`))].join('; ')}.`,
    ...replacedIntervals(study),
    ...(interval === 'asymptotic'
      ? ['Intervals take findings as independent.']
      : [
          'The person is the unit of independence, so findings of one person were drawn or left out together; the intervals take these assessors as they are.',
        ]),
    ...(graded
      ? [
          'Agreement weights are taken on the scores of the scale, grades nobody used included; specific agreement is given for each grade.',
        ]
      : []),
    ...(measured
      ? ['For measured signs the error of one reading is that between assessors, in the unit of the sign.']
      : []),
    `Computed with limb-perfusion ${study.packageVersion} from data with the fingerprint (SHA-256) ${study.fingerprint}.`,
    ...(study.complete ? [] : ['The computation was stopped before its end; only finished results are given.']),
  ].join(' ');
}

function designSentence({ design, findings }: StudyPlan): string {
  const { assessors, replicates, restMinutes, occasions, seed, pilotPatients } = design;
  return `By the plan ${assessors.length} assessors each examine every person ${replicates === 2 ? 'twice' : 'once'}${occasions > 1 ? ` on each of ${occasions} occasions` : ''}, apart from each other, in a balanced random order (Latin squares, seed ${seed}), with ${restMinutes} minutes of rest in between; ${findings.length} findings a person${pilotPatients > 0 ? `, and ${pilotPatients} people of a pilot kept apart` : ''}.`;
}

/** When readings count as of the same finding. */
export function windowWords(window: AgreementStudy['plan']['window']): string {
  if (typeof window === 'object') return `at most ${window.days} days apart`;
  if (window === 'day') return 'on the same day';
  return window === 'occasion'
    ? 'on the same occasion'
    : 'on the same occasion, or the same day where occasions are not recorded';
}

/** Where few people differ, the bootstrap fails and an estimate says that the jackknife took its place. */
function replacedIntervals(study: AgreementStudy): string[] {
  const asked = checkIntervalOptions(study.plan).interval ?? 'bootstrap';
  const replaced = study.results.filter(
    ({ primary }) => asked === 'bootstrap' && !/bootstrap/.test(primary.interval.method),
  );
  return replaced.length === 0
    ? []
    : [
        `For ${replaced.length} of ${study.results.length} results the bootstrap could not be used and another interval is given (${[...new Set(replaced.map(({ primary }) => primary.interval.method.replace(/ with [\d.]+ degrees of freedom/, '')))].join('; ')}); the results file names the method of each.`,
      ];
}
