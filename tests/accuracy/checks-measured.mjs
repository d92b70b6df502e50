// Checks of src/agreement on measured numbers and ranks, of tolerance factors, and of the NIST data sets.
import { measuredStudy, normalNumbers, random } from './data.mjs';

const figures = (estimate) => ({
  value: estimate.value,
  standardError: estimate.standardError,
  lower: estimate.interval.lower,
  upper: estimate.interval.upper,
  ...estimate.details,
});
const prefixed = (name, estimate) => ({
  [name]: estimate.value,
  [`${name} standardError`]: estimate.standardError,
  [`${name} lower`]: estimate.interval.lower,
  [`${name} upper`]: estimate.interval.upper,
});

export function measuredChecks(library) {
  const checks = [];
  const add = (statistic, words, call, input, ours, extra = {}) =>
    checks.push({ statistic, words, file: 'measured.py', call, input, ours, ...extra });

  // Shrout and Fleiss 1979, table 2; Bland and Altman 1986: two flow meters, first readings.
  const shroutFleiss = { rows: library.SHROUT_FLEISS, clusters: [0, 1, 2, 3, 4, 5] };
  const flow = {
    rows: [
      [494, 512],
      [395, 430],
      [516, 520],
      [434, 428],
      [476, 500],
      [557, 600],
      [413, 364],
      [442, 380],
      [650, 658],
      [433, 445],
      [417, 432],
      [656, 626],
      [267, 260],
      [478, 477],
      [178, 259],
      [423, 350],
      [427, 451],
    ],
    clusters: Array.from({ length: 17 }, (_, at) => at),
  };
  const own = (study) => ({ rows: study.rows, clusters: study.rows.map((_, at) => at) });
  const complete = [
    ['Shrout and Fleiss 1979', shroutFleiss],
    ['flow meters of 1986', flow],
    ...[101, 102, 103].map((seed) => [
      `random (seed ${seed})`,
      measuredStudy(seed, { targets: 24, assessors: 2 + (seed % 3) }),
    ]),
    ['numbers about 1e9 (seed 104)', measuredStudy(104, { targets: 20, assessors: 3, offset: 1e9 })],
    ['numbers about 1e9, two assessors (seed 105)', measuredStudy(105, { targets: 20, assessors: 2, offset: 1e9 })],
    [
      'nearly perfect agreement (seed 106)',
      measuredStudy(106, { targets: 20, assessors: 2, spread: 100, error: 0.01, decimals: 4 }),
    ],
    [
      'error 1,000 times the spread (seed 107)',
      measuredStudy(107, { targets: 30, assessors: 3, spread: 0.001, error: 1, decimals: 6 }),
    ],
    ['tiny numbers (seed 108)', { ...measuredStudy(108, { targets: 16, assessors: 2, decimals: 3 }) }],
  ];
  complete.at(-1)[1].rows = complete.at(-1)[1].rows.map((row) => row.map((x) => x * 1e-12));
  const gaps = [109, 110].map((seed) => [
    `with gaps (seed ${seed})`,
    measuredStudy(seed, { targets: 30, assessors: 4, gaps: 0.2 }),
  ]);

  const forms = {
    'one-way': { model: 'one-way' },
    agreement: { model: 'two-way', definition: 'agreement' },
    consistency: { model: 'two-way', definition: 'consistency' },
  };
  for (const [words, study] of [...complete, ...gaps]) {
    const clustered = () => library.ratingsOf(study.rows, { clusters: study.clusters });
    const alone = () => library.ratingsOf(study.rows);
    const hasGaps = study.rows.some((row) => row.includes(null));
    for (const [form, options] of Object.entries(forms)) {
      if (hasGaps && form !== 'one-way') continue;
      for (const unit of ['single', 'average'])
        for (const interval of ['asymptotic', 'cluster-robust'])
          add(
            'intraclassCorrelation',
            `${words}, ${form}, ${unit}, ${interval}`,
            'intraclass',
            { ...study, form, unit, interval },
            () =>
              figures(
                library.intraclassCorrelation(interval === 'asymptotic' ? alone() : clustered(), {
                  ...options,
                  unit,
                  interval,
                }),
              ),
          );
      for (const nullValue of [0, 0.6])
        add(
          'intraclassCorrelationTest',
          `${words}, ${form}, against ${nullValue}`,
          'intraclass_test',
          { ...study, form, null: nullValue },
          () => {
            const test = library.intraclassCorrelationTest(alone(), {
              ...options,
              unit: 'single',
              nullValue,
              interval: 'asymptotic',
            });
            return { statistic: test.statistic.value, pValue: test.pValue, ...test.details };
          },
        );
    }
    for (const model of ['one-way', 'two-way']) {
      if (hasGaps && model === 'two-way') continue;
      add('varianceComponents', `${words}, ${model}`, 'components', { ...study, model }, () => {
        const made = library.varianceComponents(clustered(), { model, interval: 'cluster-robust' });
        return {
          ...prefixed('target', made.target),
          ...prefixed('residual', made.residual),
          ...(made.assessor === undefined ? {} : prefixed('assessor', made.assessor)),
        };
      });
    }
    const spreads = [
      ['standardErrorOfMeasurement', 'standardErrorOfMeasurement', 'agreement', 'assessors', 'one', {}],
      [
        'standardErrorOfMeasurement',
        'standardErrorOfMeasurement',
        'consistency',
        'assessors',
        'one',
        { definition: 'consistency' },
      ],
      ['smallestDetectableChange', 'smallestDetectableChange', 'agreement', 'assessors', 'change', {}],
      ['repeatability', 'repeatability', 'agreement', 'repeats', 'change', { columnsAre: 'repeats' }],
      ['reproducibility', 'reproducibility', 'agreement', 'assessors', 'change', {}],
    ];
    for (const [statistic, name, definition, columns, multiple, options] of spreads) {
      if (hasGaps && definition === 'consistency') continue;
      for (const interval of ['asymptotic', 'cluster-robust'])
        add(
          statistic,
          `${words}, ${definition}, ${interval}`,
          'spread',
          { ...study, definition, columns, multiple, interval },
          () => figures(library[name](interval === 'asymptotic' ? alone() : clustered(), { ...options, interval })),
        );
    }
    if (!hasGaps)
      for (const divisor of ['n', 'n − 1'])
        for (const interval of ['asymptotic', 'cluster-robust']) {
          if (interval === 'asymptotic' && (divisor !== 'n' || study.rows[0].length > 2)) continue;
          add(
            'concordanceCorrelation',
            `${words}, divisor ${divisor}, ${interval}`,
            'concordance',
            { ...study, divisor, interval },
            () =>
              figures(
                library.concordanceCorrelation(interval === 'asymptotic' ? alone() : clustered(), {
                  divisor,
                  interval,
                }),
              ),
          );
        }
    if (study.rows[0].length === 2)
      for (const limitInterval of ['exact', '1999', '1986'])
        add(
          'limitsOfAgreement',
          `${words}, intervals ${limitInterval}`,
          'limits',
          { ...own(study), limitInterval },
          () => {
            const made = library.limitsOfAgreement(alone(), { limitInterval, interval: 'asymptotic' });
            return {
              ...prefixed('bias', made.bias),
              spread: made.standardDeviation.value,
              ...prefixed('lower', made.lower),
              ...prefixed('upper', made.upper),
              slope: made.proportionalBias.value,
              'slope error': made.proportionalBias.standardError,
              intercept: made.details.intercept,
              'slope p': made.details.slopePValue,
            };
          },
        );
    add('kendallW', words, 'kendall_w', study, () => figures(library.kendallW(clustered())));
    add('kendallW', `${words}, targets alone`, 'kendall_w', { rows: study.rows }, () =>
      figures(library.kendallW(alone())),
    );
    const pairs = { rows: study.rows.map((row) => row.slice(0, 2)), clusters: study.clusters };
    add('kendallTau', words, 'kendall_tau', pairs, () =>
      figures(library.kendallTau(library.ratingsOf(pairs.rows, { clusters: pairs.clusters }))),
    );
    add('kendallTau', `${words}, targets alone`, 'kendall_tau', { rows: pairs.rows }, () =>
      figures(library.kendallTau(library.ratingsOf(pairs.rows))),
    );
    add(
      'measurementErrorOf',
      words,
      'spread',
      { ...study, definition: 'agreement', columns: 'assessors', multiple: 'change', interval: 'cluster-robust' },
      () =>
        figures(
          library.measurementErrorOf(clustered(), { as: 'lengths', interval: 'cluster-robust' })
            .smallestDetectableChange.differentAssessor,
        ),
    );
  }
  for (const seed of [111, 112]) {
    // All different: the null distribution is counted out.
    const x = normalNumbers(seed, 40);
    const rows = x.map((value, at) => [value, value * 0.4 + normalNumbers(seed + 50, 40)[at]]);
    add('kendallTau', `40 pairs without ties (seed ${seed})`, 'kendall_tau', { rows }, () =>
      figures(library.kendallTau(library.ratingsOf(rows))),
    );
  }

  // One-way sets of the NIST Statistical Reference Datasets: our F against that of the doubles as they are stored, 50 digits.
  for (const { name, difficulty, groups } of library.NIST_ONE_WAY) {
    add(
      'intraclassCorrelation',
      `NIST ${name} (${difficulty}), one-way`,
      'intraclass',
      { rows: groups, clusters: [], form: 'one-way', unit: 'single', interval: 'asymptotic' },
      () =>
        figures(
          library.intraclassCorrelation(library.ratingsOf(groups), {
            model: 'one-way',
            unit: 'single',
            interval: 'asymptotic',
          }),
        ),
    );
  }

  for (const [n, content, confidence] of [
    [3, 0.95, 0.95],
    [5, 0.9, 0.025],
    [10, 0.975, 0.975],
    [17, 0.95, 0.95],
    [30, 0.99, 0.99],
    [60, 0.975, 0.025],
  ])
    add(
      'tolerance factors',
      `n = ${n}, content ${content}, confidence ${confidence}`,
      'tolerance',
      { n, content, confidence },
      () => ({
        'one-sided': library.oneSidedToleranceFactor(n, content, confidence),
        'two-sided': library.twoSidedToleranceFactor(n, content, confidence),
      }),
    );

  // NIST univariate sets: those that follow a rule, and Michelson's 100 measurements (www.itl.nist.gov/div898/strd/univ/michelso.html).
  const alternating = (first, low, high) => [
    first,
    ...Array.from({ length: 1000 }, (_, at) => (at % 2 === 0 ? low : high)),
  ];
  // Michelson's speed of light in air, 1879, in hundredths of a thousand km/s above 299.
  const michelson = (
    '85 74 90 107 93 85 95 98 98 88 100 98 93 65 76 81 100 100 96 96 96 94 96 94 88 80 85 88 90 84 83 79 81 88 88 83 ' +
    '80 79 76 80 88 88 88 86 72 72 62 86 97 95 88 91 85 87 84 84 85 84 84 84 89 81 81 82 80 77 76 74 75 76 91 92 89 ' +
    '86 88 72 84 85 85 78 89 84 78 81 76 81 79 81 82 85 87 87 81 74 81 94 95 80 81 87'
  )
    .split(' ')
    .map((hundredths) => Number(`${299 + Math.floor(hundredths / 100)}.${String(hundredths % 100).padStart(2, '0')}`));
  const univariate = [
    ['Michelso', michelson],
    ['NumAcc1', [10000001, 10000003, 10000002]],
    ['NumAcc2', alternating(1.2, 1.1, 1.3)],
    ['NumAcc3', alternating(1000000.2, 1000000.1, 1000000.3)],
    ['NumAcc4', alternating(10000000.2, 10000000.1, 10000000.3)],
  ];
  for (const [name, values] of univariate) {
    add(
      'autocorrelation',
      `NIST ${name}`,
      'univariate',
      { values },
      () => ({ autocorrelation: library.autocorrelation(values).value }),
      { figures: /^(autocorrelation)$/ },
    );
    // One target read once a column is no data set; the values as repeats of one finding give their standard deviation.
    add(
      'repeatability',
      `NIST ${name}: standard deviation`,
      'univariate',
      { values },
      () => ({
        standardDeviation: library.repeatability(library.ratingsOf([values]), {
          columnsAre: 'repeats',
          interval: 'asymptotic',
        }).details.withinFinding,
      }),
      { figures: /^(standardDeviation)$/ },
    );
    add(
      'limitsOfAgreement',
      `NIST ${name}: mean and standard deviation of differences from 0`,
      'univariate',
      { values },
      () => {
        const made = library.limitsOfAgreement(library.ratingsOf(values.map((x) => [x, 0])), {
          limitInterval: '1986',
          interval: 'asymptotic',
        });
        return { mean: made.bias.value, standardDeviation: made.standardDeviation.value };
      },
      { figures: /^(mean|standardDeviation)$/ },
    );
  }
  for (const seed of [121, 122, 123]) {
    const uniform = random(seed);
    const values = Array.from({ length: 60 }, () => Number((1e6 + 10 * uniform()).toFixed(3)));
    add(
      'autocorrelation',
      `60 values about a million (seed ${seed})`,
      'univariate',
      { values },
      () => ({ autocorrelation: library.autocorrelation(values).value }),
      { figures: /^(autocorrelation)$/ },
    );
  }
  return checks;
}
