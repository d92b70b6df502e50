import { AUDIENCES, type Audience } from '../shared/audience.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { information } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import {
  type GradesByPeriod,
  type GradesByPeriodResult,
  type GradesSegment,
  gradesResultOf,
} from './grades-by-period.js';
import { isFew, joinedLabel, joinPeriods } from './join-periods.js';
import { suppressionNotes } from './share-for-audience.js';

export interface GradesForAudienceOptions {
  /** A grade from which a share is given out too: grades below it are not joined with it, so that the two say the same. */
  readonly atLeast?: string;
}

/**
 * Grades by period with what could point at a person joined or hidden, by who will see it.
 *
 * Inside the hospital periods with 1 to 4 people assessed are joined as in `shareForAudience`. Outside, neighboring grades are joined first, over all periods of a scale, as long as
 * a period would have 1 to 4 people in a grade and joining leaves fewer such periods (two groups stay); then periods; what is left is hidden.
 *
 * A share that is given out beside it and begins within joined grades gives the grades it splits by subtraction: name it in `atLeast`.
 *
 * @throws InputError `unknown-choice`.
 */
export function gradesForAudience(
  result: GradesByPeriod,
  audience: Audience,
  options: GradesForAudienceOptions = {},
): GradesByPeriodResult {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  if (chosen === 'own') return gradesResultOf(result, []);
  const outside = chosen === 'outside';
  const wide = result.segments.map((segment) => (outside ? joinGrades(segment, options.atLeast) : segment));
  const isSmall = (counts: readonly number[], notAssessed: number): boolean =>
    outside ? [...counts, notAssessed].some(isFew) : isFew(sum(counts));
  const segments = wide.map((segment): GradesSegment => {
    const { periods } = segment;
    const sumOf = (from: number, to: number): GradesSegment['periods'][number] => {
      const own = periods.slice(from, to);
      const label = joinedLabel(own.map((period) => period.label));
      if (own.some(({ counts }) => counts === null)) return { label, counts: null, notAssessed: Number.NaN };
      return {
        label,
        counts: segment.grades.map((_, grade) => sum(own.map(({ counts }) => counts![grade] ?? 0))),
        notAssessed: sum(own.map(({ notAssessed }) => notAssessed)),
      };
    };
    const small = (from: number, to: number): boolean => {
      const { counts, notAssessed } = sumOf(from, to);
      return counts === null || isSmall(counts, notAssessed);
    };
    return {
      ...segment,
      periods: joinPeriods(periods.length, small).map(({ from, to, hidden }) => {
        const joined = sumOf(from, to);
        return hidden ? { label: joined.label, counts: null, notAssessed: Number.NaN } : joined;
      }),
    };
  });
  const isJoined = wide.some((segment, at) => segment.grades.length < result.segments[at]!.grades.length);
  return gradesResultOf({ ...result, segments, audience: chosen }, [
    ...(isJoined
      ? [
          information(
            'grades-joined',
            `Grades were joined because numbers under ${FEWEST_SHOWN} could point at somebody.`,
          ),
        ]
      : []),
    ...suppressionNotes(result.segments, segments),
  ]);
}

/** Joins two neighboring grades at a time, those whose joining leaves the fewest small numbers, down to two groups. */
function joinGrades(segment: GradesSegment, atLeast: string | undefined): GradesSegment {
  const smallOf = ({ periods }: GradesSegment): number =>
    sum(periods.map(({ counts }) => (counts ?? []).filter(isFew).length));
  let best: GradesSegment = { ...segment, values: segment.values ?? segment.grades };
  while (smallOf(best) > 0 && best.grades.length > 2) {
    const current = best;
    const candidates = current.grades
      .slice(1)
      .map((_, first) => first)
      .filter((first) => current.values![first + 1]!.split('–')[0] !== atLeast)
      .map((first) => joinAt(current, first));
    const least = candidates.reduce<GradesSegment | undefined>(
      (found, one) => (smallOf(one) < smallOf(found ?? current) ? one : found),
      undefined,
    );
    if (least === undefined) break;
    best = least;
  }
  return { ...best, grades: best.values!.map((value) => joinedWords(segment, value)) };
}

/** The words of joined grades: those of the lowest and of the highest. */
function joinedWords({ grades, values = grades }: GradesSegment, joined: string): string {
  const at = values.indexOf(joined);
  if (at >= 0) return grades[at]!;
  const ends = values.filter((value) => joined.startsWith(`${value}–`) || joined.endsWith(`–${value}`));
  return ends.map((value) => grades[values.indexOf(value)]).join(' through ');
}

function joinAt(segment: GradesSegment, first: number): GradesSegment {
  const { grades, values } = segment;
  const pair = <T>(list: readonly T[], join: (a: T, b: T) => T): T[] =>
    list.flatMap((each, at) => (at === first + 1 ? [] : [at === first ? join(each, list[first + 1]!) : each]));
  return {
    ...segment,
    grades: pair(grades, (a) => a),
    values: pair(values!, (a, b) => `${a.split('–')[0]}–${b.split('–').at(-1)}`),
    periods: segment.periods.map((period) => ({
      ...period,
      counts: period.counts === null ? null : pair(period.counts, (a, b) => a + b),
    })),
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
