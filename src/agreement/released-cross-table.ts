import { FEWEST_SHOWN, hideSmallCounts } from '../shared/hide-small-counts.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { Table } from '../shared/table.js';
import type { CrossTable } from './cross-table.js';

/** Somebody's decision to give out every count, with the reason to be read later: "asked for by the second referee". */
export interface FullRelease {
  readonly reason: string;
}

export interface ReleaseOptions {
  /** Who will see it: oneself, people inside the hospital, or anybody. */
  readonly audience: 'own' | 'inside' | 'outside';
  /** Shows every count in spite of the audience. Recorded in the notes. */
  readonly release?: FullRelease;
  /** Joins neighboring grades before hiding. Default true; false for kinds without an order. */
  readonly joinsGrades?: boolean;
}

/** A cross-table as its audience may see it. */
export interface ReleasedCrossTable {
  readonly kind: 'released-cross-table';
  readonly audience: ReleaseOptions['audience'];
  /** The grades, or joined grades such as "0–1", in the scale's order. */
  readonly grades: readonly string[];
  /** `null` where a count is hidden. */
  readonly counts: readonly (readonly (number | null)[])[];
  readonly release?: FullRelease;
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
  const joined = isFull || options.joinsGrades === false ? whole : joinSmall(whole);
  const counts = isFull ? joined.counts : hideSmallCounts(joined.counts);
  const notes = notesOf(cross, audience, release, joined.grades.length, counts);
  return Object.freeze({
    kind: 'released-cross-table',
    audience,
    grades: joined.grades,
    counts,
    ...(release === undefined ? {} : { release }),
    table: tableOf(cross.assessors, joined.grades, counts, notes),
    notes,
  });
}

interface Square {
  readonly grades: readonly string[];
  readonly counts: readonly (readonly number[])[];
}

function joinSmall(square: Square): Square {
  let best = square;
  while (smallCounts(best) > 0 && best.grades.length > 2) {
    const current = best;
    const candidates = current.grades.slice(1).map((_, first) => joinAt(current, first));
    best = candidates.reduce((least, candidate) => (smallCounts(candidate) < smallCounts(least) ? candidate : least));
  }
  return best;
}

/** Small counts in the cells and in the totals of rows and columns. */
function smallCounts({ counts }: Square): number {
  const rows = counts.map((row) => row.reduce((sum, count) => sum + count, 0));
  const columns = counts.map((_, j) => counts.reduce((sum, row) => sum + (row[j] ?? 0), 0));
  return [...counts.flat(), ...rows, ...columns].filter((count) => count > 0 && count < FEWEST_SHOWN).length;
}

function joinAt({ grades, counts }: Square, first: number): Square {
  const from = grades[first]?.split('–')[0] ?? '';
  const to = grades[first + 1]?.split('–').at(-1) ?? '';
  const joinLine = (line: readonly number[]): number[] =>
    line.flatMap((count, at) => (at === first + 1 ? [] : [at === first ? count + (line[at + 1] ?? 0) : count]));
  const below = counts[first + 1] ?? [];
  const rows = counts.flatMap((row, at) =>
    at === first + 1 ? [] : [at === first ? row.map((count, j) => count + (below[j] ?? 0)) : row],
  );
  return {
    grades: grades.flatMap((grade, at) => (at === first + 1 ? [] : [at === first ? `${from}–${to}` : grade])),
    counts: rows.map(joinLine),
  };
}

function notesOf(
  cross: CrossTable,
  audience: ReleaseOptions['audience'],
  release: FullRelease | undefined,
  grades: number,
  counts: readonly (readonly (number | null)[])[],
): readonly Note[] {
  if (release !== undefined)
    return [caution('released-in-full', `Every count is shown by decision: ${release.reason.trim()}.`)];
  if (audience === 'own') return [caution('not-for-sharing', 'Every count is shown: not for sharing.')];
  const hidden = counts.flat().filter((count) => count === null).length;
  const notes: Note[] = [];
  if (grades < cross.categories.length)
    notes.push(
      information('grades-joined', `Grades were joined because counts under ${FEWEST_SHOWN} could point at somebody.`),
    );
  if (hidden > 0)
    notes.push(
      information(
        'counts-hidden',
        `${hidden} counts are hidden: those under ${FEWEST_SHOWN}, and others from which they could be had by subtraction.`,
      ),
    );
  return notes;
}

function tableOf(
  [first, second]: readonly [string, string],
  grades: readonly string[],
  counts: readonly (readonly (number | null)[])[],
  notes: readonly Note[],
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
  );
}
