import { solveGeneral } from '../models/linear-algebra.js';
import type { Ratings } from '../ratings/ratings.js';
import { studentT } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { formatNumber } from '../shared/table.js';
import { type ClassSession, readBy } from './class-session.js';
import { gradeVariety, NEARLY_ALIKE } from './grade-variety.js';

export interface GradingTendenciesOptions {
  /** Only the limbs of one site. */
  readonly site?: string;
  readonly confidenceLevel?: number;
}

/** One learner against this class, on the same limbs. */
export interface GradingTendency {
  readonly learner: string;
  /** Grades above the class (below, when negative), hard limbs taken out. */
  readonly estimate: Estimate;
  /** Only where the interval leaves no doubt about the direction. */
  readonly sentence: string | undefined;
}

/** Who tends to grade high or low, each by code in the order of the codes: for private pages, never for a screen. */
export interface GradingTendencies {
  readonly kind: 'grading-tendencies';
  readonly tendencies: readonly GradingTendency[];
  readonly notes: readonly Note[];
}

/** Limbs that a learner shares with another for the two to be linked, and how many such others each needs. */
const SHARED_LIMBS = 6;
const LINKED_OTHERS = 2;

/**
 * Tends to grade high or low: how many grades above or below the class a learner reads on the same limbs.
 *
 * score = limb + learner + rest by least squares, with a free effect for every limb, so that hard or strong limbs do not count for or against whoever happened to
 * read them; the learners' effects sum to 0. Learners only: the experts do not move the class. The interval is a delete-one-limb jackknife (a volunteer's arm or leg with all its sites
 * is left out at a time), t with limbs − 1 degrees of freedom. Nothing is said about a learner's own consistency: a session holds too few limbs for it.
 *
 * Holds against this class only: another class has another middle, and who differs from the others is not therefore wrong.
 * Undefined (`NaN`): the interval where fewer than 4 limbs were read. Missing values: gaps do not enter.
 *
 * @throws InputError `unconnected` (a learner shares 6 limbs with fewer than 2 others, so that tendencies and hard limbs cannot be told apart), `unknown-site`, `bad-option`.
 * @example gradingTendencies(session).tendencies[0].sentence // 'tends to grade high: 0.56 grades above the class on the same limbs (95 % interval 0.37 to 0.77, 27 read)'
 * Source: two-way additive model, Searle SR. Linear Models, 1971, ch. 7 (from memory); jackknife, Miller RG. Biometrika 1974;61:1–15, doi:10.1093/biomet/61.1.1.
 */
export function gradingTendencies(session: ClassSession, options: GradingTendenciesOptions = {}): GradingTendencies {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const { learners } = session;
  const { site } = options;
  const here = session.limbs.filter((limb) => site === undefined || limb.site === site);
  if (here.length === 0) throw refuse('unknown-site', ['options', 'site'], 'The class read no limb at that site.');
  const targets = here.map(({ target }) => target);
  requireLinked(session.ratings, learners, targets);
  const whole = here.map(({ volunteer, limb }) => `${volunteer}/${limb}`);
  const limbNames = [...new Set(whole)];
  const effects = effectsOf(session.ratings, learners, targets)!;
  const without = limbNames.map((name) =>
    effectsOf(
      session.ratings,
      learners,
      targets.filter((_, at) => whole[at] !== name),
    ),
  );
  const variety = gradeVariety(session);
  const alike = variety.commonest > NEARLY_ALIKE;
  const limbs = limbNames.length;
  const jackknives = without.filter((each) => each !== undefined);
  const enough = jackknives.length === limbs && limbs >= 4;
  const quantile = studentT.quantile(0.5 + confidenceLevel / 2, limbs - 1);
  const tendencies = learners.map((learner, at): GradingTendency => {
    const value = effects[at]!;
    const mean = jackknives.reduce((sum, each) => sum + each[at]!, 0) / limbs;
    const squares = jackknives.reduce((sum, each) => sum + (each[at]! - mean) ** 2, 0);
    const standardError = enough ? Math.sqrt((squares * (limbs - 1)) / limbs) : Number.NaN;
    const read = readBy(session.ratings, learner).filter((target) => targets.includes(target));
    const estimate = new Estimate({
      statistic: 'tendency (grades above this class)',
      value,
      standardError,
      interval: {
        lower: value - quantile * standardError,
        upper: value + quantile * standardError,
        level: confidenceLevel,
        method: 'jackknife over limbs, t',
      },
      counts: {
        targets: read.length,
        clusters: new Set(read.map((target) => session.ratings.clusterOf[target])).size,
        assessors: learners.length,
        ratings: read.length,
        excluded: targets.length - read.length,
      },
      options: site === undefined ? {} : { site },
    });
    return { learner, estimate, sentence: alike ? undefined : sentenceOf(estimate) };
  });
  return {
    kind: 'grading-tendencies',
    tendencies,
    notes: [
      information(
        'this-class-only',
        `Against this class of ${learners.length} on these limbs only; the experts do not enter, and nothing is said about anybody's consistency.`,
      ),
      information(
        'many-looks',
        `${learners.length} learners are looked at: with no tendency at all, about ${formatNumber(learners.length * (1 - confidenceLevel), 1)} of them would still get a sentence by chance.`,
      ),
      ...(alike ? [caution('nearly-alike', 'Over 80 % of the readings are one grade: no tendency is said.')] : []),
    ],
  };
}

function sentenceOf({ value, interval, counts }: Estimate): string | undefined {
  if (!(interval.lower > 0 || interval.upper < 0)) return undefined;
  const [near, far] = value > 0 ? [interval.lower, interval.upper] : [-interval.upper, -interval.lower];
  return `tends to grade ${value > 0 ? 'high' : 'low'}: ${formatNumber(Math.abs(value))} grades ${value > 0 ? 'above' : 'below'} the class on the same limbs (${formatNumber(100 * interval.level, 0)} % interval ${formatNumber(near)} to ${formatNumber(far)}, ${counts.targets} read)`;
}

/** Learners' effects with a free effect for every limb, summing to 0; `undefined` where they are not determined. */
function effectsOf(
  ratings: Ratings,
  learners: readonly string[],
  targets: readonly number[],
): Float64Array | undefined {
  const columns = learners.map((code) => ratings.columnOf(code));
  const size = columns.length;
  const left = new Float64Array(size * size);
  const right = new Float64Array(size);
  for (const target of targets) {
    const scores = columns.map((column) =>
      ratings.codes[target * ratings.columns + column]! < 0
        ? Number.NaN
        : ratings.numbers[target * ratings.columns + column]!,
    );
    const there = scores.flatMap((score, at) => (Number.isNaN(score) ? [] : [at]));
    if (there.length < 2) continue;
    const mean = there.reduce((sum, at) => sum + scores[at]!, 0) / there.length;
    for (const at of there) {
      right[at]! += scores[at]! - mean;
      left[at * size + at]!++;
      for (const other of there) left[at * size + other]! -= 1 / there.length;
    }
  }
  // The equations leave the sum free; adding 1 to every entry fixes it at 0.
  for (let entry = 0; entry < left.length; entry++) left[entry]!++;
  return solveGeneral(left, size, right, 1);
}

function requireLinked(ratings: Ratings, learners: readonly string[], targets: readonly number[]): void {
  const read = learners.map((code) => new Set(readBy(ratings, code).filter((target) => targets.includes(target))));
  const links = read.map((own, at) =>
    read.flatMap((other, to) =>
      to !== at && [...own].filter((target) => other.has(target)).length >= SHARED_LIMBS ? [to] : [],
    ),
  );
  const lonely = links.filter((others) => others.length < LINKED_OTHERS).length;
  const reached = new Set([0]);
  const waiting = [0];
  for (let at = waiting.pop(); at !== undefined; at = waiting.pop())
    for (const to of links[at]!) {
      if (reached.has(to)) continue;
      reached.add(to);
      waiting.push(to);
    }
  if (lonely === 0 && reached.size === learners.length) return;
  throw refuse(
    'unconnected',
    ['session'],
    lonely > 0
      ? `${lonely} of ${learners.length} learners share ${SHARED_LIMBS} limbs with fewer than ${LINKED_OTHERS} others, so who grades high and which limbs are hard cannot be told apart.`
      : 'The class falls into groups that share no limbs, so they cannot be compared.',
    `plan the rota so that each learner shares at least ${SHARED_LIMBS} limbs with at least ${LINKED_OTHERS} others.`,
  );
}
