import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { PairwiseAgreement } from '../../src/agreement/pairwise-agreement.ts';
import { agreementByPeriodChart } from '../../src/charts/agreement-by-period-chart.ts';
import { agreementBySiteChart } from '../../src/charts/agreement-by-site-chart.ts';
import { arrivalAndStayChart } from '../../src/charts/arrival-and-stay-chart.ts';
import type { Chart } from '../../src/charts/chart.ts';
import { controlLimitsChart } from '../../src/charts/control-limits-chart.ts';
import { differencesChart, type PairLimits } from '../../src/charts/differences-chart.ts';
import { funnelChart } from '../../src/charts/funnel-chart.ts';
import { gradesByPeriodChart } from '../../src/charts/grades-by-period-chart.ts';
import { habitBarsChart } from '../../src/charts/habit-bars-chart.ts';
import { limbCourseChart } from '../../src/charts/limb-course-chart.ts';
import { limbCoursesChart } from '../../src/charts/limb-courses-chart.ts';
import { linkedCharts } from '../../src/charts/linked-charts.ts';
import { pairwiseAgreementChart } from '../../src/charts/pairwise-agreement-chart.ts';
import { shareByPeriodChart } from '../../src/charts/share-by-period-chart.ts';
import type { ChartOptions } from '../../src/charts/theme.ts';
import { whoReadWhatChart } from '../../src/charts/who-read-what-chart.ts';
import { withinAndBetweenChart } from '../../src/charts/within-and-between-chart.ts';
import type { LimbCourse } from '../../src/progression/limb-course.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { Estimate } from '../../src/shared/estimate.ts';
import { gradeLabel } from '../../src/shared/grade-label.ts';
import { caution } from '../../src/shared/note.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { Table } from '../../src/shared/table.ts';
import { TestResult } from '../../src/shared/test-result.ts';
import { signOf } from '../../src/signs/codebook.ts';
import { siteOf } from '../../src/signs/site.ts';
import type { AgreementByGroup } from '../../src/study/agreement-study.ts';
import type { ArrivalAndStay } from '../../src/unit-quality/arrival-and-stay.ts';
import { funnel } from '../../src/unit-quality/funnel.ts';
import type { GradesByPeriod } from '../../src/unit-quality/grades-by-period.ts';
import { proportionChart } from '../../src/unit-quality/proportion-chart.ts';
import { runChart } from '../../src/unit-quality/run-chart.ts';
import type { ShareByPeriod } from '../../src/unit-quality/share-by-period.ts';
import { changeExamples } from './change-examples.ts';
import { classExamples } from './class-examples.ts';
import { planningExamples } from './planning-examples.ts';

/** Invented results, one chart each, drawn by the tests and by the gallery. */
export const examples: Readonly<Record<string, (options?: ChartOptions) => Chart>> = {
  ...changeExamples,
  ...planningExamples,
  ...classExamples,
  'agreement-by-site': (options) => agreementBySiteChart(pulseAgreement(), options),
  'within-and-between': (options) => withinAndBetweenChart(pulseWithin(), pulseAgreement(), options),
  'agreement-by-period': (options) => agreementByPeriodChart(pulseByRound(), options),
  'pairwise-agreement': (options) => pairwiseAgreementChart(pulseRatings(), pulsePairs(), options),
  'linked-by-assessor': (options) =>
    linkedCharts(
      [habitBarsChart(pulseRatings(), options), pairwiseAgreementChart(pulseRatings(), pulsePairs(), options)],
      { follow: 'assessor' },
    ),
  'linked-by-site': (options) =>
    linkedCharts(
      [
        agreementBySiteChart(pulseAgreement(), options),
        withinAndBetweenChart(pulseWithin(), pulseAgreement(), options),
      ],
      { follow: 'site' },
    ),
  differences: (options) => differencesChart(girthRatings(), [girthLimits('A', 'B')], options),
  'differences-of-pairs': (options) =>
    differencesChart(girthRatings(), [girthLimits('A', 'B'), girthLimits('A', 'C'), girthLimits('B', 'C')], options),
  'who-read-what': (options) => whoReadWhatChart(pulseRatings(), { ...options, assessors: ['A', 'C'] }),
  'habit-bars': (options) => habitBarsChart(pulseRatings(), { ...options, marginalTest: marginalTest() }),
  'grades-by-period': (options) => gradesByPeriodChart(edemaGrades(), options),
  'grades-by-period-one-scale': (options) =>
    gradesByPeriodChart({ ...edemaGrades(), segments: edemaGrades().segments.slice(1) }, options),
  'share-by-period': (options) => shareByPeriodChart(edemaShare(), options),
  'share-by-period-with-run': (options) => shareByPeriodChart(...shareWithRun(options)),
  'control-limits': (options) => controlLimitsChart(...edemaControl(options)),
  funnel: (options) => funnelChart(...edemaFunnel(options)),
  'arrival-and-stay': (options) => arrivalAndStayChart(edemaArrivals(), options),
  'limb-course': (options) => limbCourseChart(edemaCourse(), options),
  'limb-course-girth': (options) => limbCourseChart(girthCourse(), options),
  'limb-courses': (options) => limbCoursesChart(edemaCourses(), options),
  'limb-courses-girth': (options) =>
    limbCoursesChart([{ ...girthCourse(), limbLabel: 'Left leg, ankle' }, girthCourse()], options),
};

export function estimateOf(
  statistic: string,
  value: number,
  lower: number,
  upper: number,
  counts: { targets: number; clusters: number; assessors?: number },
): Estimate {
  return new Estimate({
    statistic,
    value,
    standardError: (upper - lower) / 3.92,
    interval: { lower, upper, level: 0.95, method: 'studentized patient bootstrap' },
    counts: { assessors: 3, ratings: counts.targets * 3, excluded: 0, ...counts },
    options: {},
  });
}

export function pulseAgreement(): AgreementByGroup {
  const site = (value: string, agreement: number, half: number, clusters: number) => ({
    value,
    label: siteOf(value).label,
    estimate: estimateOf(
      'quadratic weighted kappa',
      agreement,
      agreement - half * 1.15,
      Math.min(1, agreement + half * 0.85),
      { targets: 2 * clusters - 3, clusters },
    ),
  });
  return {
    signLabel: 'Pulse grade',
    scaleLabel: '0 to 4, where 2 is normal',
    chanceCorrected: true,
    rows: [
      site('brachial', 0.72, 0.11, 40),
      site('radial', 0.78, 0.09, 40),
      {
        ...site('ulnar', 0.49, 0.2, 38),
        estimate: new Estimate({
          ...site('ulnar', 0.49, 0.2, 38).estimate,
          notes: [caution('nearly-all-alike', 'Nearly all readings are alike (84 % are "normal").')],
        }),
      },
      site('femoral', 0.7, 0.12, 36),
      site('popliteal', 0.21, 0.21, 31),
      site('posterior-tibial', 0.62, 0.14, 39),
      {
        ...site('dorsalis-pedis', 0, 0, 6),
        estimate: new Estimate({
          ...estimateOf('quadratic weighted kappa', Number.NaN, Number.NaN, Number.NaN, { targets: 9, clusters: 6 }),
          notes: [caution('not-defined', 'All readings that could be compared are of one category.')],
        }),
      },
    ],
    pooled: estimateOf('quadratic weighted kappa', 0.64, 0.56, 0.71, { targets: 512, clusters: 40 }),
  };
}

/** The same assessors reading again, at all sites but one. */
export function pulseWithin(): AgreementByGroup {
  const between = pulseAgreement();
  return {
    ...between,
    rows: between.rows.slice(0, -1).map((row) => ({
      ...row,
      estimate: estimateOf(
        'quadratic weighted kappa',
        row.estimate.value + 0.12,
        row.estimate.interval.lower + 0.05,
        Math.min(0.99, row.estimate.interval.upper + 0.14),
        { targets: 44, clusters: 22, assessors: 3 },
      ),
    })),
    pooled: estimateOf('quadratic weighted kappa', 0.81, 0.73, 0.87, { targets: 240, clusters: 22 }),
  };
}

/** Eighty invented pulse grades read by three assessors, of whom C tends to grade high. */
export function pulseRatings(): Ratings {
  const random = seededRandom(7);
  const targets = 80;
  const tendency = [0, 0.05, 0.45];
  const codes = new Int32Array(targets * 3);
  for (let target = 0; target < targets; target++) {
    const truth = 1.9 + 0.85 * random.normal();
    tendency.forEach((shift, column) => {
      const read = Math.round(truth + shift + 0.35 * random.normal());
      codes[target * 3 + column] = random.uniform() < 0.04 ? -1 : Math.max(0, Math.min(3, read));
    });
  }
  const scale = signOf('pulse-grade').scales.find(({ id }) => id === 'pulse.0-4.normal2')!;
  return new Ratings({
    level: 'ordinal',
    categories: scale.categories!,
    assessors: ['A', 'B', 'C'],
    codes,
    numbers: Float64Array.from(codes, (code) => (code < 0 ? Number.NaN : code)),
    targets,
    columns: 3,
    clusterOf: Int32Array.from({ length: targets }, (_, target) => target >> 1),
    clusters: targets / 2,
    clustersKnown: true,
    subject: { sign: 'pulse-grade', signLabel: 'Pulse grade', scale: scale.id, scaleLabel: scale.label },
  });
}

export function marginalTest(): TestResult {
  return new TestResult({
    test: 'Stuart–Maxwell test',
    effect: {
      name: 'greatest shift in mean grade',
      value: 0.41,
      interval: { lower: 0.26, upper: 0.55, level: 0.95, method: 'patient bootstrap' },
    },
    statistic: { name: 'chi-square', value: 31.2 },
    degreesOfFreedom: 3,
    pValue: 0.0001,
    counts: { targets: 73, clusters: 39, assessors: 3, ratings: 219, excluded: 7 },
    options: {},
  });
}

function depthGrades(): readonly string[] {
  const scale = signOf('pitting-edema').scales.find(({ id }) => id === 'pit.0-4.bands-2-4-6-8.long')!;
  return scale.categories!.map(gradeLabel);
}

/** Edema of an invented ward: a change of scale after six months, one month with many left out. */
export function edemaGrades(): GradesByPeriod {
  const period = (label: string, counts: number[] | null, notAssessed: number) => ({ label, counts, notAssessed });
  return {
    signLabel: 'Pitting edema',
    counted: 'patients',
    rule: 'worst reading of each patient in the period',
    segments: [
      {
        scaleLabel: 'none to severe, by eye',
        grades: ['none', 'mild', 'moderate', 'severe'],
        periods: [
          period('Jan', [6, 5, 3, 2], 2),
          period('Feb', [7, 4, 4, 1], 3),
          period('Mar', [5, 6, 3, 2], 1),
          period('Apr', null, 0),
          period('May', [4, 3, 2, 1], 9),
          period('Jun', [6, 5, 4, 1], 2),
        ],
      },
      {
        scaleLabel: '0 to 4+, by depth of the pit',
        grades: depthGrades(),
        periods: [
          period('Jul', [5, 4, 4, 2, 1], 2),
          period('Aug', [6, 5, 3, 1, 0], 1),
          period('Sep', [4, 4, 5, 2, 1], 3),
          period('Oct', [6, 6, 3, 1, 1], 1),
          period('Nov', [5, 5, 4, 2, 0], 0),
        ],
      },
    ],
  };
}

export function edemaShare(): ShareByPeriod {
  const period = (label: string, count: number | null, assessed: number, due: number, signal?: string) => {
    const share = (count ?? 0) / assessed;
    const half = 1.96 * Math.sqrt((share * (1 - share)) / assessed);
    return {
      label,
      count,
      assessed,
      due,
      ...(count === null
        ? {}
        : { interval: { lower: Math.max(0, share - half), upper: share + half, level: 0.95, method: 'Wilson' } }),
      ...(signal === undefined ? {} : { signal }),
    };
  };
  return {
    signLabel: 'Pitting edema',
    counted: 'patients',
    rule: 'worst reading of each patient in the period',
    segments: [
      {
        scaleLabel: 'none to severe, by eye',
        finding: 'moderate or severe edema',
        periods: [
          period('Jan', 6, 16, 18),
          period('Feb', 5, 16, 19),
          period('Mar', 4, 16, 17),
          period('Apr', null, 3, 12),
          period('May', 3, 10, 19),
          period('Jun', 5, 16, 18),
        ],
      },
      {
        scaleLabel: '0 to 4+, by depth of the pit',
        finding: '2+ or more',
        middle: 0.4,
        periods: [
          period('Jul', 7, 16, 18),
          period('Aug', 4, 15, 16),
          period('Sep', 8, 16, 19),
          period('Oct', 5, 17, 18),
          period('Nov', 6, 16, 16),
        ],
      },
    ],
    actions: [{ label: 'Sep', words: 'legs raised at rest: agreed on the ward' }],
  };
}

export function edemaCourse(): LimbCourse {
  const days = [0, 3, 7, 10, 14, 18, 21, 28];
  const values = [1, 2, 1, 1, null, 3, 3, 2];
  const codes = ['A', 'C', 'A', 'B', 'B', 'C', 'A', 'A'];
  const readings = days.map((day, at) => ({
    day,
    value: values[at]!,
    assessor: codes[at]!,
    ...(values[at] === null ? { missing: 'covered by a dressing' } : {}),
  }));
  return {
    signLabel: 'Pitting edema',
    scaleLabel: '0 to 4+ by depth of the pit',
    limbLabel: 'Left leg, shin',
    grades: depthGrades(),
    readings,
    changes: changesOf(readings, 1, 0, 4),
    errorSentence:
      'Band: two assessors differ by one grade on an unchanged limb often enough that one grade is no evidence of change (40 patients, 3 assessors)',
  };
}

/** Invented: seven places of two legs and a back, one never read. */
export function edemaCourses(): readonly LimbCourse[] {
  const of = (limbLabel: string, values: readonly (number | null)[]): LimbCourse => {
    const readings = [0, 7, 14, 28].map((day, at) => ({
      day,
      value: values[at]!,
      assessor: 'ABAC'[at]!,
      ...(values[at] === null ? { missing: 'not-assessed' } : {}),
    }));
    return { ...edemaCourse(), limbLabel, readings, changes: changesOf(readings, 1, 0, 4) };
  };
  return [
    of('sacrum', [0, 0, null, 1]),
    of('left leg, shin', [1, 1, 3, 3]),
    of('right leg, shin', [1, 2, 2, 1]),
    of('left leg, behind the inner ankle bone', [2, 2, 2, 4]),
    of('right leg, behind the inner ankle bone', [2, 1, 2, 2]),
    of('left leg, top of the foot', [0, 1, 1, 1]),
    of('right leg, top of the foot', [null, null, null, null]),
  ];
}

export function girthCourse(): LimbCourse {
  const readings = [0, 5, 12, 20, 33, 47].map((day, at) => ({
    day,
    value: [24.6, 25.1, 24.4, 26.9, 27.3, 26.8][at]!,
    assessor: ['A', 'B', 'A', 'B', 'B', 'C'][at]!,
  }));
  return {
    signLabel: 'Ankle girth',
    scaleLabel: 'tape, 5 cm above the inner ankle bone',
    limbLabel: 'Right leg, ankle',
    unitLabel: 'cm',
    decimals: 1,
    readings,
    changes: changesOf(readings, 1.4, -Infinity, Infinity),
    errorSentence: 'Band: smallest detectable change between assessors 1.4 cm (1.1 to 1.9), 36 patients, 3 assessors',
  };
}

function changesOf(
  readings: readonly { day: number; value: number | null }[],
  error: number,
  lowest: number,
  highest: number,
): LimbCourse['changes'] {
  const written = readings.filter((reading) => reading.value !== null);
  return written.slice(1).map((reading, at) => {
    const before = written[at]!;
    const [from, to] = [before.value!, reading.value!];
    return {
      fromDay: before.day,
      toDay: reading.day,
      from,
      to,
      call: Math.abs(to - from) > error ? 'beyond error' : 'within error',
      explained: { lower: Math.max(lowest, from - error), upper: Math.min(highest, from + error) },
    };
  });
}

export function pulseByRound(): AgreementByGroup {
  const round = (value: string, agreement: number, half: number, clusters: number) => ({
    value,
    label: `round ${value}`,
    estimate: estimateOf('quadratic weighted kappa', agreement, agreement - 1.1 * half, agreement + 0.9 * half, {
      targets: 4 * clusters,
      clusters,
    }),
  });
  return {
    ...pulseAgreement(),
    rows: [
      round('1', 0.38, 0.14, 20),
      round('2', 0.61, 0.12, 22),
      round('3', 0.69, 0.11, 21),
      round('4', 0.66, 0.13, 18),
    ],
    pooled: estimateOf('quadratic weighted kappa', 0.6, 0.53, 0.67, { targets: 324, clusters: 81 }),
  };
}

export function pulsePairs(): PairwiseAgreement {
  const codes = ['A', 'B', 'C', 'D'];
  const values = [0.71, 0.52, 0.66, 0.49, 0.7, 0.55];
  const pairs = codes.flatMap((first, at) => codes.slice(at + 1).map((second) => [first, second] as const));
  return new PairwiseAgreement(
    codes,
    pairs.map((assessors, at) => ({
      assessors,
      estimate: estimateOf('quadratic weighted kappa', values[at]!, values[at]! - 0.13, values[at]! + 0.1, {
        targets: 180 - 7 * at,
        clusters: 38 - at,
        assessors: 2,
      }),
    })),
    [],
  );
}

/** Ankle girths of 36 people, both legs, in half centimeters; C draws the tape tighter. */
function girthRatings(): Ratings {
  const random = seededRandom(11);
  const targets = 72;
  const tendency = [0, 0.1, -0.7];
  const numbers = new Float64Array(targets * 3);
  for (let target = 0; target < targets; target++) {
    const truth = 25 + 2.4 * random.normal();
    tendency.forEach((shift, column) => {
      numbers[target * 3 + column] = Math.round(2 * (truth + shift + 0.55 * random.normal())) / 2;
    });
  }
  return new Ratings({
    level: 'ratio',
    categories: [],
    assessors: ['A', 'B', 'C'],
    codes: new Int32Array(targets * 3),
    numbers,
    targets,
    columns: 3,
    clusterOf: Int32Array.from({ length: targets }, (_, target) => target >> 1),
    clusters: targets / 2,
    clustersKnown: true,
    subject: {
      sign: 'ankle-girth',
      signLabel: 'Ankle girth',
      scale: 'girth.cm',
      scaleLabel: 'tape, 5 cm above the inner ankle bone',
      unit: 'cm',
    },
  });
}

function girthLimits(first: string, second: string): PairLimits {
  return {
    assessors: [first, second],
    limits: limitsOfAgreement(girthRatings(), { assessors: [first, second], interval: 'cluster-robust' }),
  };
}

/** Twenty-four invented months whose last nine lie above the middle. */
export function shareWithRun(options: ChartOptions = {}): Parameters<typeof shareByPeriodChart> {
  const counts = [6, 4, 7, 5, 3, 6, 4, 5, 7, 4, 3, 5, 6, 4, 5, 9, 8, 10, 8, 9, 8, 9, 10, 8];
  const share: ShareByPeriod = {
    signLabel: 'Pitting edema',
    counted: 'patients',
    rule: 'worst reading of each patient in the period',
    segments: [
      {
        scaleLabel: '0 to 4+ by depth alone',
        finding: 'grade 2 or more',
        middle: 6 / 18,
        periods: counts.map((count, at) => ({ label: String(at + 1), count, assessed: 18, due: 18 + (at % 4) })),
      },
    ],
  };
  return [share, { ...options, runs: [runChart(counts.map((count) => count / 18))] }];
}

export function edemaControl(options: ChartOptions = {}): Parameters<typeof controlLimitsChart> {
  const counts = [6, 4, 7, 5, 3, 6, 4, 5, 7, 4, 3, 5, 6, 4, 5, 6, 5, 7, 4, 5, 6, 3, 5, 6, 7, 16];
  const sizes = counts.map((_, at) => 18 + ((at * 5) % 7));
  return [
    proportionChart(counts, sizes, { baseline: { from: 0, to: 23 } }),
    {
      ...options,
      what: 'Pitting edema of grade 2 or more, share of patients',
      labels: counts.map((_, at) => String(at + 1)),
      counts: counts.map((count, at) => [count, sizes[at]!] as const),
      scale: 'percent',
      actions: [{ label: '20', words: 'legs raised at rest: agreed on the ward' }],
    },
  ];
}

export function edemaFunnel(options: ChartOptions = {}): Parameters<typeof funnelChart> {
  const counts = [8, 21, 13, 33, 5, 17];
  const sizes = [20, 64, 41, 58, 12, 52];
  return [
    funnel(counts, sizes),
    {
      ...options,
      units: ['U1', 'U2', 'U3', 'U4', 'U5', 'U6'],
      what: 'Pitting edema of grade 2 or more',
      counted: 'patients',
    },
  ];
}

export function edemaArrivals(): ArrivalAndStay {
  const share = (count: number, outOf: number) => {
    const value = count / outOf;
    const half = 1.96 * Math.sqrt((value * (1 - value)) / outOf) + 0.05;
    return {
      count,
      outOf,
      interval: { lower: Math.max(0, value - half), upper: Math.min(1, value + half), level: 0.95, method: 'Wilson' },
    };
  };
  const period = (label: string, arrived: [number, number], fresh: [number, number], unknownOnArrival: number) => ({
    label,
    onArrival: share(...arrived),
    newDuringStay: share(...fresh),
    unknownOnArrival,
  });
  return {
    kind: 'arrival-and-stay',
    signLabel: 'Pitting edema',
    segments: [
      {
        scaleLabel: '0 to 4+ by depth alone',
        finding: 'grade 2 or more',
        periods: [
          period('Jan', [7, 14], [1, 9], 1),
          period('Feb', [6, 15], [2, 10], 0),
          period('Mar', [8, 16], [1, 8], 2),
          period('Apr', [7, 13], [3, 11], 0),
          period('May', [6, 15], [2, 9], 1),
          period('Jun', [9, 17], [2, 12], 0),
        ],
      },
    ],
    table: new Table('', [], []),
    notes: [],
  };
}
