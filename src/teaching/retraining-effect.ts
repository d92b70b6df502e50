import type { MadeFor } from '../shared/audience.js';
import { studentT } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { type ClassLimb, type ClassSession, readingOf } from './class-session.js';

export interface RetrainingEffectOptions {
  /** Learners who were chosen for retraining by how they read before; they seem to improve anyway. Default: the whole class. */
  readonly chosen?: readonly string[];
  readonly confidenceLevel?: number;
}

/** How often the class reads as the experts, before and after, on some limbs. */
export interface BeforeAndAfter {
  readonly limbs: { readonly before: number; readonly after: number };
  readonly before: number;
  readonly after: number;
  /** After minus before, averaged over learners. */
  readonly change: Estimate;
}

/** Before and after retraining, on limbs nobody had seen and on limbs seen twice. */
export interface RetrainingEffect extends MadeFor {
  readonly kind: 'retraining-effect';
  readonly signLabel: string;
  readonly learners: number;
  readonly newLimbs: BeforeAndAfter;
  /** Volunteers read in both rounds: they tell how far knowing the limb goes. `undefined` without such. */
  readonly controlLimbs: BeforeAndAfter | undefined;
  /** Change on new limbs expected with no effect at all, because of how the learners were chosen. */
  readonly expectedAnyway: number;
  readonly sentence: string;
  readonly notes: readonly Note[];
}

/**
 * Before and after retraining: did readings come closer to the experts' on new limbs, beyond what was to be expected anyway?
 *
 * For each learner the share of readings within the experts' range, before on limbs of the first round and after on limbs of volunteers nobody had read; change = mean over
 * learners of after − before, with a t interval over learners. Limbs of volunteers read in both rounds are the control: there a gain may be memory. Expected anyway: learners chosen for a low
 * (or high) share lie nearer the class mean the next time; expected change = (m − m_c)(1 − ρ), m the mean share of the class, m_c of the chosen, ρ = σ_b²/(σ_b² + σ_w²) with σ_w² the mean binomial
 * variance of a share and σ_b² what is left of the variance between learners. For a whole class it is 0.
 *
 * Undefined (`NaN` with a note): intervals below 3 learners. Missing values: a learner without a reading in either round does not enter a comparison.
 *
 * @throws InputError `other-scale`, `no-references`, `no-new-limbs`, `unknown-learner`, `bad-option`: all at once.
 * @example retrainingEffect(first, second).newLimbs.change.value // 0.12
 * Source: Barnett AG, van der Pols JC, Dobson AJ. Int J Epidemiol 2005;34:215–220, doi:10.1093/ije/dyh299 (regression to the mean).
 */
export function retrainingEffect(
  before: ClassSession,
  after: ClassSession,
  options: RetrainingEffectOptions = {},
): RetrainingEffect {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const both = new Set(before.limbs.map(({ volunteer }) => volunteer).filter((code) => volunteersIn(after).has(code)));
  check(before, after, both, options.chosen ?? []);
  const everyone = before.learners.filter((code) => after.learners.includes(code));
  const chosen = options.chosen ?? everyone;
  const judged = (session: ClassSession, control: boolean): readonly ClassLimb[] =>
    session.limbs.filter(({ volunteer, reference }) => reference !== undefined && both.has(volunteer) === control);
  const compare = (control: boolean): BeforeAndAfter => {
    const [first, second] = [judged(before, control), judged(after, control)];
    const shares = chosen.flatMap((code) => {
      const [was, is] = [shareOn(before, first, code), shareOn(after, second, code)];
      return was === undefined || is === undefined ? [] : [{ was: was.share, is: is.share }];
    });
    return {
      limbs: { before: first.length, after: second.length },
      before: mean(shares.map(({ was }) => was)),
      after: mean(shares.map(({ is }) => is)),
      change: changeOf(
        shares.map(({ was, is }) => is - was),
        second.length,
        confidenceLevel,
      ),
    };
  };
  const newLimbs = compare(false);
  const controlLimbs = both.size === 0 ? undefined : compare(true);
  const expectedAnyway =
    options.chosen === undefined ? 0 : expectedChange(before, judged(before, false), everyone, chosen);
  const notes: Note[] = [
    information(
      'limbs-differ',
      'New limbs may be easier or harder than the first ones; the change holds that too. The control limbs are the same in both rounds, and a gain there may be memory.',
    ),
    ...(controlLimbs === undefined
      ? [caution('no-control-limbs', 'No volunteer was read in both rounds, so there is no control.')]
      : []),
  ];
  return {
    kind: 'retraining-effect',
    signLabel: before.ratings.subject?.signLabel ?? 'Readings',
    learners: newLimbs.change.counts.assessors,
    newLimbs,
    controlLimbs,
    expectedAnyway,
    sentence: sentenceOf(newLimbs.change, expectedAnyway),
    notes,
  };
}

function volunteersIn(session: ClassSession): ReadonlySet<string> {
  return new Set(session.limbs.map(({ volunteer }) => volunteer));
}

function check(before: ClassSession, after: ClassSession, both: ReadonlySet<string>, chosen: readonly string[]): void {
  const problems: Problem[] = [];
  if (before.ratings.subject?.scale !== after.ratings.subject?.scale)
    problems.push({ code: 'other-scale', path: ['after'], message: 'The two rounds were read on different scales.' });
  for (const [name, session] of [
    ['before', before],
    ['after', after],
  ] as const)
    if (session.references.length === 0)
      problems.push({
        code: 'no-references',
        path: [name],
        message: 'No expert read the limbs of this round.',
        mend: 'have two experts read them, apart from each other.',
      });
  if (
    ![...volunteersIn(after)].some((code) => !both.has(code)) ||
    ![...volunteersIn(before)].some((code) => !both.has(code))
  )
    problems.push({
      code: 'no-new-limbs',
      path: ['after'],
      message: 'All limbs of one of the rounds were read in both; a gain on known limbs may be memory.',
      mend: 'invite at least one new volunteer to the second round, and have one who comes only to the first.',
    });
  const unknown = chosen.filter((code) => !before.learners.includes(code) || !after.learners.includes(code)).length;
  if (unknown > 0)
    problems.push({
      code: 'unknown-learner',
      path: ['options', 'chosen'],
      message: `${unknown} of the chosen did not take part in both rounds.`,
    });
  if (problems.length > 0) throw new InputError(problems);
}

function shareOn(
  session: ClassSession,
  limbs: readonly ClassLimb[],
  code: string,
): { share: number; readings: number } | undefined {
  const judged = limbs.flatMap(({ target, reference }) =>
    readingOf(session.ratings, target, code).map((reading) =>
      Number(reading >= reference!.lower && reading <= reference!.upper),
    ),
  );
  return judged.length === 0 ? undefined : { share: mean(judged), readings: judged.length };
}

function changeOf(changes: readonly number[], limbs: number, level: number): Estimate {
  const n = changes.length;
  const value = mean(changes);
  const standardError =
    n < 3 ? Number.NaN : Math.sqrt(changes.reduce((sum, change) => sum + (change - value) ** 2, 0) / (n * (n - 1)));
  const reach = n < 3 ? Number.NaN : studentT.quantile(0.5 + level / 2, n - 1) * standardError;
  return new Estimate({
    statistic: 'change of the share read as the experts',
    value,
    standardError,
    interval: { lower: value - reach, upper: value + reach, level, method: 't over learners' },
    counts: { targets: limbs, clusters: n, assessors: n, ratings: 2 * n, excluded: 0 },
    options: {},
    notes: n < 3 ? [caution('few-learners', 'With fewer than 3 learners there is no interval.')] : [],
  });
}

function expectedChange(
  before: ClassSession,
  limbs: readonly ClassLimb[],
  everyone: readonly string[],
  chosen: readonly string[],
): number {
  const all = everyone.flatMap((code) => {
    const own = shareOn(before, limbs, code);
    return own === undefined ? [] : [{ code, ...own }];
  });
  const middle = mean(all.map(({ share }) => share));
  const spread = all.reduce((sum, { share }) => sum + (share - middle) ** 2, 0) / (all.length - 1);
  const within = mean(all.map(({ readings }) => (middle * (1 - middle)) / readings));
  const reliability = spread > 0 ? Math.max(0, spread - within) / spread : 0;
  const own = mean(all.filter(({ code }) => chosen.includes(code)).map(({ share }) => share));
  return (middle - own) * (1 - reliability);
}

function sentenceOf({ value, interval }: Estimate, anyway: number): string {
  const points = (share: number): string => `${Math.round(100 * Math.abs(share))} in a hundred`;
  if (Number.isNaN(interval.lower)) return 'Too few learners to say whether readings came closer to the experts’.';
  const beyond = `${points(value)} ${value >= 0 ? 'more' : 'fewer'} readings were those of the experts (interval ${Math.round(100 * interval.lower)} to ${Math.round(100 * interval.upper)})`;
  if (interval.lower > anyway)
    return `On new limbs ${beyond}${anyway === 0 ? '' : `, more than the ${Math.round(100 * anyway)} expected anyway`}.`;
  if (interval.upper < anyway)
    return `On new limbs ${beyond}${anyway === 0 ? '' : `, less than the ${Math.round(100 * anyway)} expected anyway`}.`;
  return `On new limbs no change is clear${anyway === 0 ? '' : ` beyond the ${Math.round(100 * anyway)} in a hundred expected anyway`}: ${beyond}.`;
}

function mean(values: readonly number[]): number {
  return values.length === 0 ? Number.NaN : values.reduce((sum, value) => sum + value, 0) / values.length;
}
