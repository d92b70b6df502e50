import { changeCallsChart } from '../../src/charts/change-calls-chart.ts';
import type { Chart } from '../../src/charts/chart.ts';
import { intervalCensoredChart } from '../../src/charts/interval-censored-chart.ts';
import { survivalChart } from '../../src/charts/survival-chart.ts';
import type { ChartOptions } from '../../src/charts/theme.ts';
import { transitionsChart } from '../../src/charts/transitions-chart.ts';
import { trueGradeChart } from '../../src/charts/true-grade-chart.ts';
import type { GradeError } from '../../src/measurement-error/measurement-error-of.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { type ChangeCall, ChangeCalls, type LimbChange } from '../../src/progression/change-calls.ts';
import { intervalCensoredCurve } from '../../src/progression/interval-censored.ts';
import { kaplanMeier } from '../../src/progression/kaplan-meier.ts';
import type { TransitionCounts } from '../../src/progression/transition-counts.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { Table } from '../../src/shared/table.ts';
import { scaleOf } from '../../src/signs/codebook.ts';

/** Pictures of change: calls by site, and two curves of limbs still free of an event. */
export const changeExamples: Readonly<Record<string, (options?: ChartOptions) => Chart>> = {
  'change-calls': (options) => changeCallsChart(calls(), options),
  survival: (options) =>
    survivalChart(
      [
        { name: 'once', curve: curve(1) },
        { name: 'twice in a row', curve: curve(2) },
      ],
      { ...options, event: 'edema that grew' },
    ),
  'interval-censored': (options) =>
    intervalCensoredChart(
      // Invented visits: some regular, some late, some limbs not seen with the event.
      intervalCensoredCurve(
        [0, 0, 60, 60, 75, 90, 120, 120, 150, 180, 180, 200, 240, 270, 300, 300],
        [60, 90, 120, 150, 120, 180, 200, 180, null, 240, null, 270, null, null, null, null],
      ),
      { ...options, event: 'edema that grew' },
    ),
  transitions: (options) => transitionsChart(pulseTransitions(), { ...options, error: pulseError() }),
  'transitions-first-and-last': (options) =>
    transitionsChart({ ...pulseTransitions(), pairs: 'first and last' }, options),
  'true-grade': (options) =>
    trueGradeChart(
      {
        patient: 'p1',
        limb: 'right-leg',
        site: 'posterior-tibial',
        visits: [
          {
            day: 0,
            chances: [0, 0.02, 0.9, 0.08],
            readings: [
              { assessor: 'A', words: 'normal', grade: 2 },
              { assessor: 'B', words: 'increased', grade: 3 },
            ],
          },
          { day: 40, chances: [0, 0.25, 0.75, 0], readings: [{ assessor: 'A', words: 'normal', grade: 2 }] },
          { day: 130, chances: [0.12, 0.86, 0.02, 0], readings: [{ assessor: 'C', words: 'absent', grade: 0 }] },
          {
            day: 300,
            chances: [0.05, 0.91, 0.04, 0],
            readings: [
              { assessor: 'A', words: 'diminished', grade: 1 },
              { assessor: 'B', words: 'diminished', grade: 1 },
            ],
          },
        ],
      },
      {
        ...options,
        signLabel: 'Pulse strength',
        scaleLabel: '0 to 4, where 2 is normal',
        grades: ['absent', 'diminished', 'normal', 'increased'],
      },
    ),
};

function calls(): ChangeCalls {
  const counts: Record<string, readonly [ChangeCall, number][]> = {
    popliteal: [
      ['same reading', 18],
      ['within error', 19],
      ['beyond error, lower', 3],
      ['beyond error, higher', 1],
    ],
    'dorsalis-pedis': [
      ['same reading', 25],
      ['within error', 11],
      ['beyond error, lower', 6],
      ['beyond error, higher', 0],
    ],
  };
  const limbs = Object.entries(counts).flatMap(([site, each]) =>
    each.flatMap(([call, count]) =>
      Array.from(
        { length: count },
        (_, at): LimbChange => ({
          series: { patient: `${site}-${call}-${at}`, limb: 'left-leg', site, readings: [] },
          later: [],
          call,
          chance: undefined,
        }),
      ),
    ),
  );
  return new ChangeCalls('Pulse strength', scaleOf('pulse.0-4.normal2'), limbs, 3.2, 0, undefined, []);
}

function curve(visits: number): ReturnType<typeof kaplanMeier> {
  const random = seededRandom(visits);
  const times = Array.from({ length: 80 }, () => 20 + random.below(400));
  return kaplanMeier({
    times,
    events: times.map(() => random.uniform() < 0.6 / visits),
    patients: times.map((_, at) => at >> 1),
  });
}

/** Invented: 205 pairs of pulse grades, more lower than higher. */
export function pulseTransitions(): TransitionCounts {
  const scale = scaleOf('pulse.0-4.normal2');
  return {
    scale,
    categories: scale.categories!,
    counts: [
      [11, 3, 0, 0, 0],
      [9, 24, 6, 0, 0],
      [4, 31, 88, 9, 0],
      [0, 1, 12, 6, 0],
      [0, 0, 1, 0, 0],
    ],
    pairs: 'successive',
    transitions: 205,
    patients: 41,
    courses: 82,
    gapDays: { median: 91, lowest: 60, highest: 140 },
    table: new Table('', [], []),
    notes: [],
  };
}

/** Invented: 60 findings of 30 patients read by two; of them nobody read "bounding". */
export function pulseError(): GradeError {
  const scale = scaleOf('pulse.0-4.normal2');
  const pairs: readonly (readonly [number, number, number])[] = [
    [0, 0, 6],
    [0, 1, 2],
    [1, 1, 12],
    [1, 2, 6],
    [2, 2, 28],
    [2, 3, 4],
    [3, 3, 2],
  ];
  const codes = pairs.flatMap(([first, second, count]) =>
    Array.from({ length: count }, () => [first, second] as const).flat(),
  );
  const error = measurementErrorOf(
    new Ratings({
      level: 'ordinal',
      categories: scale.categories!,
      assessors: ['A', 'B'],
      codes: Int32Array.from(codes),
      numbers: Float64Array.from(codes),
      targets: codes.length / 2,
      columns: 2,
      clusterOf: Int32Array.from({ length: codes.length / 2 }, (_, target) => target >> 1),
      clusters: codes.length / 4,
      clustersKnown: true,
      subject: { sign: 'pulse-grade', signLabel: 'Pulse grade', scale: scale.id, scaleLabel: scale.label },
    }),
  );
  if (error.kind !== 'grades') throw new TypeError('The pulse is graded.');
  return error;
}
