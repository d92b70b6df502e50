import type { MadeFor } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import { InputError, refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { type ClassSession, readingOf } from './class-session.js';
import { gradingTendencies } from './grading-tendencies.js';

/** One limb on a learner's private page; grades are places in the scale's order, from 0. */
export interface LearnerLimb {
  readonly label: string;
  readonly own: number | undefined;
  /** From the experts' lower to their higher reading. */
  readonly experts: { readonly lower: number; readonly upper: number } | undefined;
  /** Where most of the others lie: without their lowest and their highest reading. `undefined` with fewer than 5 others. */
  readonly others: { readonly lower: number; readonly upper: number } | undefined;
}

/** What one learner sees of one sign in one round, and nobody else does: no total, no rank, no pass or fail. */
export interface LearnerCard extends MadeFor {
  readonly kind: 'learner-card';
  readonly learner: string;
  readonly round: string | undefined;
  readonly signLabel: string;
  readonly scaleLabel: string;
  readonly grades: readonly string[];
  readonly limbs: readonly LearnerLimb[];
  /** Only where an interval leaves no doubt: over all, and at single sites. */
  readonly sentences: readonly string[];
  readonly notes: readonly Note[];
}

/** Others who must have read a limb for their range to point at nobody. */
const FEWEST_OTHERS = 5;

/**
 * A learner's private card: own readings beside the experts' range and the range of the class, limb by limb in the order of the sheet.
 *
 * Sentences are those of `gradingTendencies`: for all limbs at the level asked for, for single sites at 1 − (1 − level)/sites, so that looking at
 * several sites does not find more. Where a class is not linked by shared limbs no sentence is said, and a note says why.
 *
 * Undefined: nothing. Missing values: a limb not read stays in the list without an own reading.
 *
 * @throws InputError `unknown-learner`, `bad-option`.
 * @example learnerCard(session, 'L05').sentences[0] // 'You tend to read high: …'
 * Source: common practice, no source.
 */
export function learnerCard(
  session: ClassSession,
  learner: string,
  options: { readonly confidenceLevel?: number } = {},
): LearnerCard {
  const { ratings, learners } = session;
  if (!learners.includes(learner))
    throw refuse('unknown-learner', ['learner'], 'No learner of this session has that code.');
  const level = options.confidenceLevel ?? 0.95;
  const sites = [...new Map(session.limbs.map(({ site, siteLabel }) => [site, siteLabel]))];
  const notes: Note[] = [];
  const all = sentenceFor(session, learner, level);
  if (all === 'unlinked')
    notes.push(
      information(
        'unconnected',
        'Too few limbs are shared with the others to tell a tendency from hard limbs, so no sentence is said.',
      ),
    );
  const bySite =
    sites.length < 2 || all === 'unlinked'
      ? []
      : sites.flatMap(([site, label]) => {
          const sentence = sentenceFor(session, learner, 1 - (1 - level) / sites.length, site);
          return sentence === undefined || sentence === 'unlinked' ? [] : [`At the ${label}, you ${spoken(sentence)}.`];
        });
  return {
    kind: 'learner-card',
    learner,
    round: session.round,
    signLabel: ratings.subject?.signLabel ?? 'Readings',
    scaleLabel: ratings.subject?.scaleLabel ?? '',
    grades: ratings.categories.map(gradeLabel),
    limbs: session.limbs.map(({ target, label, reference }): LearnerLimb => {
      const others = learners
        .filter((code) => code !== learner)
        .flatMap((code) => readingOf(ratings, target, code))
        .sort((a, b) => a - b);
      return {
        label,
        own: readingOf(ratings, target, learner)[0],
        experts: reference === undefined ? undefined : { lower: reference.lower, upper: reference.upper },
        others: others.length < FEWEST_OTHERS ? undefined : { lower: others[1]!, upper: others.at(-2)! },
      };
    }),
    sentences: [...(all === undefined || all === 'unlinked' ? [] : [`You ${spoken(all)}.`]), ...bySite],
    notes,
  };
}

/** "tends to grade high: …" as it is said to the person. */
function spoken(sentence: string): string {
  return sentence.replace(/^tends to grade/, 'tend to read');
}

function sentenceFor(
  session: ClassSession,
  learner: string,
  confidenceLevel: number,
  site?: string,
): string | 'unlinked' | undefined {
  try {
    return gradingTendencies(session, { confidenceLevel, ...(site === undefined ? {} : { site }) }).tendencies.find(
      (one) => one.learner === learner,
    )?.sentence;
  } catch (error) {
    if (error instanceof InputError && error.problems.every(({ code }) => code === 'unconnected')) return 'unlinked';
    throw error;
  }
}
