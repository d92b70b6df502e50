import type { Audience, FullRelease, MadeFor } from '../shared/audience.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { releaseSquare, type Square, squareNotes } from '../shared/release-square.js';
import { Table } from '../shared/table.js';
import type { CrossTable } from './cross-table.js';

export interface ReleaseOptions {
  /** Who will see it: oneself, people inside the hospital, or anybody. */
  readonly audience: Audience;
  /** Shows every count in spite of the audience. Recorded in the notes. */
  readonly release?: FullRelease;
  /** Joins neighboring grades before hiding. Default true; false for kinds without an order. */
  readonly joinsGrades?: boolean;
}

/** A cross-table as its audience may see it. */
export interface ReleasedCrossTable extends MadeFor {
  readonly kind: 'released-cross-table';
  readonly audience: Audience;
  readonly assessors: readonly [string, string];
  /** The grades, or joined grades such as "0–1", in the scale's order. */
  readonly grades: readonly string[];
  /** `null` where a count is hidden. */
  readonly counts: readonly (readonly (number | null)[])[];
  /** Targets that both have read, and their patients. */
  readonly targets: number;
  readonly clusters: number;
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * The cross-table of two assessors with what could point at a person joined or hidden, by who will see it.
 *
 * Own eyes: unchanged, marked "not for sharing". Others: while a count is from 1 to 4, the two neighboring grades whose joining
 * leaves the fewest small counts are joined, down to two grades; what is still small is hidden, with as many others as are
 * needed so that nothing can be had by subtraction from the totals. Referees ask for the full table: `release` gives it out by
 * a decision that is recorded with its reason.
 *
 * Missing values: targets that only one assessor read are not in the cross-table.
 *
 * @throws InputError `unknown-choice`, `reason-missing` (a release without a reason).
 * @example releasedCrossTable(crossTable(ratings), { audience: 'outside' }).grades // ['0–1', '2–3']
 * Source: a least count of five, common practice, no source.
 */
export function releasedCrossTable(cross: CrossTable, options: ReleaseOptions): ReleasedCrossTable {
  const audience = checkChoice('audience', options.audience, ['own', 'inside', 'outside'] as const);
  const { release } = options;
  if (release !== undefined && (typeof release.reason !== 'string' || release.reason.trim() === '')) {
    throw refuse(
      'reason-missing',
      ['options', 'release', 'reason'],
      'The release gives no reason.',
      'say who asked for the full table, and why.',
    );
  }
  const isFull = audience === 'own' || release !== undefined;
  const whole = { grades: cross.categories.map(({ value }) => String(value)), counts: cross.counts };
  const square: Square = isFull ? whole : releaseSquare(whole.grades, whole.counts, options.joinsGrades !== false);
  const notes = isFull ? fullNotes(release) : squareNotes(whole.grades.length, square);
  const madeFor: MadeFor = { audience, ...(release === undefined ? {} : { release }) };
  return Object.freeze({
    kind: 'released-cross-table',
    assessors: cross.assessors,
    ...square,
    targets: cross.targets,
    clusters: cross.clusters,
    ...madeFor,
    audience,
    table: tableOf(cross.assessors, square, notes, madeFor),
    notes,
  });
}

function fullNotes(release: FullRelease | undefined): readonly Note[] {
  return [
    release === undefined
      ? caution('not-for-sharing', 'Every count is shown: not for sharing.')
      : caution('released-in-full', `Every count is shown by decision: ${release.reason.trim()}.`),
  ];
}

function tableOf(
  [first, second]: readonly [string, string],
  { grades, counts }: Square,
  notes: readonly Note[],
  madeFor: MadeFor,
): Table {
  return new Table(
    `Who read what: ${first} down, ${second} across`,
    [
      { key: 'grade', label: first, kind: 'text' },
      ...grades.map((grade, at) => ({ key: `read${at}`, label: `${second} ${grade}`, kind: 'count' as const })),
    ],
    grades.map((grade, i) => ({
      grade,
      ...Object.fromEntries(grades.map((_, j) => [`read${j}`, counts[i]?.[j] ?? 'hidden'])),
    })),
    notes,
    madeFor,
  );
}
