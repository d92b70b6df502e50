// Checks of src/progression, src/unit-quality, src/planning, src/teaching, and of shares of transitions.
import { eventStudy, numbers, random } from './data.mjs';

export function changeChecks(library) {
  const checks = [];
  const add = (statistic, words, call, input, ours, extra = {}) =>
    checks.push({ statistic, words, file: 'change.py', call, input, ours, ...extra });

  // Freireich and others 1963, remission in weeks (published in Gehan 1965): times and whether seen.
  const leukemia = {
    times: [
      6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35, 1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8,
      8, 11, 11, 12, 12, 15, 17, 22, 23,
    ],
    events: [...new Array(9).fill(true), ...new Array(12).fill(false), ...new Array(21).fill(true)],
    entries: new Array(42).fill(0),
    groups: [...new Array(21).fill('a'), ...new Array(21).fill('b')],
    x: [...new Array(21).fill(0), ...new Array(21).fill(1)],
    patients: Array.from({ length: 42 }, (_, at) => at),
  };
  const studies = [
    ['leukemia trial of 1963', leukemia],
    ...[201, 202].map((seed) => [`60 entries with ties (seed ${seed})`, eventStudy(seed, 60)]),
    ...[203, 204].map((seed) => [`60 entries, late entry (seed ${seed})`, eventStudy(seed, 60, { late: true })]),
    ['80 limbs of 40 patients (seed 205)', eventStudy(205, 80, { perPatient: 2 })],
  ];
  for (const [words, study] of studies) {
    const { times, events, entries } = study;
    const late = entries.some((entry) => entry > 0);
    const data = { times, events, ...(late ? { entries } : {}) };
    add(
      'kaplanMeier',
      words,
      'survival',
      study,
      () =>
        Object.fromEntries(
          library.kaplanMeier(data).steps.flatMap((step, at) => [
            [`survival ${at}`, step.survival],
            [`error ${at}`, step.standardError],
            [`lower ${at}`, step.interval.lower],
            [`upper ${at}`, step.interval.upper],
          ]),
        ),
      { figures: /^(survival|error|lower|upper)/ },
    );
    add(
      'nelsonAalen',
      words,
      'survival',
      study,
      () =>
        Object.fromEntries(
          library.nelsonAalen(data).flatMap((step, at) => [
            [`hazard ${at}`, step.cumulativeHazard],
            [`hazard error ${at}`, step.standardError],
          ]),
        ),
      { figures: /^hazard/ },
    );
    for (const rho of [0, 1]) {
      for (const strata of [undefined, times.map((_, at) => at % 3)])
        add(
          'logRankTest',
          `${words}, rho ${rho}${strata === undefined ? '' : ', stratified'}`,
          'log_rank',
          { ...study, rho, strata },
          () => {
            const test = library.logRankTest(data, study.groups, { rho, ...(strata === undefined ? {} : { strata }) });
            return { statistic: test.statistic.value, pValue: test.pValue };
          },
        );
    }
    const clustered = new Set(study.patients).size < times.length;
    for (const ties of ['efron', 'breslow'])
      add(
        'coxRegression',
        `${words}, ${ties}`,
        'cox',
        { ...study, ties, patients: clustered ? study.patients : null },
        () => {
          const fit = library.coxRegression(
            { ...data, ...(clustered ? { patients: study.patients } : {}) },
            { x: study.x },
            { ties },
          );
          const { logRatio, standardError, ratio } = fit.effects[0];
          return { logRatio, standardError, ratio, logLikelihood: fit.logLikelihood };
        },
      );
    if (late) continue;
    const uniform = random(times.length);
    const kinds = events.map((seen) => (seen ? (uniform() < 0.4 ? 'ulcer' : 'amputation') : null));
    add('cumulativeIncidence', words, 'incidence', { times, kinds }, () =>
      Object.fromEntries(
        library
          .cumulativeIncidence({ times, kinds })
          .flatMap(({ incidence }, at) => Object.entries(incidence).map(([kind, value]) => [`${kind} ${at}`, value])),
      ),
    );
  }
  for (const seed of [211, 212, 213]) {
    const uniform = random(seed);
    const left = [];
    const right = [];
    for (let at = 0; at < 40; at++) {
      const event = -Math.log(uniform()) * 12;
      const visits = Array.from({ length: 8 }, (_, visit) => 3 * visit + Math.floor(3 * uniform()));
      const before = visits.filter((visit) => visit < event);
      const after = visits.filter((visit) => visit >= event);
      left.push(Math.max(0, ...before));
      right.push(after.length === 0 ? null : Math.min(...after));
    }
    const usable = left.map((l, at) => right[at] === null || right[at] > l);
    const kept = (list) => list.filter((_, at) => usable[at]);
    add(
      'intervalCensoredCurve',
      `40 patients seen at visits (seed ${seed})`,
      'turnbull',
      { left: kept(left), right: kept(right) },
      () => {
        const curve = library.intervalCensoredCurve(kept(left), kept(right));
        return {
          logLikelihood: curve.logLikelihood,
          ...Object.fromEntries(
            curve.stretches.map(({ right: end, share }) => [
              `share up to ${Number.isFinite(end) ? end.toFixed(1) : '+inf'}`,
              share,
            ]),
          ),
        };
      },
    );
  }
  for (const seed of [221, 222, 223]) {
    const series = [numbers(seed, 12), numbers(seed + 10, 20), numbers(seed + 20, 9, { decimals: 1 })];
    const shaped = series.map((values) => ({ times: values.map((_, at) => at), values }));
    add('mannKendallTest', `three series with ties (seed ${seed})`, 'mann_kendall', { series }, () => {
      const { score, variance, z, pNormal } = library.mannKendallTest(shaped);
      return { score, variance, z, pNormal };
    });
    const times = series[1].map((_, at) => Math.floor(at * 1.4));
    add('theilSenSlope', `20 visits (seed ${seed})`, 'theil_sen', { times, values: series[1] }, () => ({
      slope: library.theilSenSlope(times, series[1]).slope,
    }));
    const far = series[1].map((x) => x + 1e9);
    add('theilSenSlope', `20 visits about 1e9 (seed ${seed})`, 'theil_sen', { times, values: far }, () => ({
      slope: library.theilSenSlope(times, far).slope,
    }));
    const [first, second] = [numbers(seed, 25), numbers(seed + 40, 30, { offset: 1 })];
    add('superiority', `25 and 30 values with ties (seed ${seed})`, 'superiority', { first, second }, () => {
      const made = library.superiority(first, second);
      return { delta: made.delta, probability: made.probability, variance: made.standardError ** 2 };
    });
  }
  for (const [mean, betweenLimbs, error, cutOff, readings] of [
    [10, 3, 2, 13, 1],
    [10, 3, 2, 13, 3],
    [0, 1, 0.1, 6, 1],
    [100, 0.01, 5, 90, 2],
  ])
    add(
      'regressionToTheMean',
      `${mean}, ${betweenLimbs}, ${error}, ${cutOff}, ${readings}`,
      'regression',
      { mean, betweenLimbs, error, cutOff, readings },
      () => ({
        expectedChange: library.regressionToTheMean({ mean, betweenLimbs, error, cutOff, baselineReadings: readings })
          .expectedChange,
      }),
    );
  const matrix = [
    [0.8, 0.15, 0.05],
    [0.1, 0.8, 0.1],
    [0.02, 0.18, 0.8],
  ];
  for (const [grades, consecutive] of [
    [1, 1],
    [1, 2],
    [2, 1],
    [1, 6],
  ])
    add(
      'falseProgressionRate',
      `${grades} grades, ${consecutive} times`,
      'false_progression',
      { mix: [0.5, 0.3, 0.2], matrix, grades, consecutive },
      () => ({ rate: library.falseProgressionRate([0.5, 0.3, 0.2], matrix, { grades, consecutive }) }),
    );

  for (const n of [2, 3, 5, 10, 25, 100])
    add('chartConstants', `n = ${n}`, 'chart_constants', { n }, () => library.chartConstants(n));
  for (const seed of [231, 232, 233]) {
    const uniform = random(seed);
    const sizes = Array.from({ length: 24 }, () => 40 + Math.floor(uniform() * 60));
    const counts = sizes.map((size) => Math.floor(size * (0.1 + 0.2 * uniform())));
    const values = numbers(seed, 30, { decimals: 2, offset: seed === 233 ? 1e9 : 10 });
    const last = (chart) => chart.points.at(-1);
    for (const limits of ['normal', 'spread'])
      add(
        'proportionChart',
        `24 periods, limits ${limits} (seed ${seed})`,
        'control',
        { chart: 'proportion', counts, sizes, limits },
        () => last(library.proportionChart(counts, sizes, { limits })),
      );
    add('rateChart', `24 periods (seed ${seed})`, 'control', { chart: 'rate', counts, sizes }, () =>
      last(library.rateChart(counts, sizes)),
    );
    add('individualsChart', `30 values (seed ${seed})`, 'control', { chart: 'individuals', values }, () =>
      last(library.individualsChart(values)),
    );
    const options = { target: seed === 233 ? 1e9 : 10, sigma: 4, lambda: 0.2, width: 2.962 };
    add(
      'movingAverageChart',
      `30 values (seed ${seed})`,
      'control',
      { chart: 'moving-average', values, ...options },
      () => last(library.movingAverageChart(values, options)),
    );
    const sums = { target: options.target, allowance: 2, decision: 20 };
    add('cumulativeSumChart', `30 values (seed ${seed})`, 'control', { chart: 'sum', values, ...sums }, () => {
      const chart = library.cumulativeSumChart(values, sums);
      return { up: chart.upward.at(-1), down: chart.downward.at(-1) };
    });
    add('funnel', `24 units (seed ${seed})`, 'funnel', { counts, sizes }, () => {
      const made = library.funnel(counts, sizes);
      return {
        target: made.target,
        overdispersion: made.overdispersion.plain,
        ...Object.fromEntries(made.units.map((unit, at) => [`z ${at}`, unit.z])),
      };
    });
  }
  for (const [shift, width] of [
    [0, 3],
    [1, 3],
    [0, 6],
    [3, 2],
  ])
    add('averageRunLength', `shift ${shift}, width ${width}`, 'run_length', { chart: 'fixed', shift, width }, () => ({
      average: library.averageRunLength(shift, width),
    }));
  for (const [shift, allowance, decision] of [
    [0, 0.5, 4],
    [1, 0.5, 5],
    [0.5, 0.25, 8],
  ])
    add(
      'cumulativeSumRunLength',
      `shift ${shift}, k ${allowance}, h ${decision}`,
      'run_length',
      { chart: 'cusum', shift, allowance, decision },
      () => ({ average: library.cumulativeSumRunLength(shift, allowance, decision) }),
    );
  for (const [shift, lambda, width] of [
    [0, 0.2, 2.962],
    [1, 0.25, 3],
    [0.5, 0.5, 3],
  ])
    add(
      'movingAverageRunLength',
      `shift ${shift}, weight ${lambda}, width ${width}`,
      'run_length',
      { chart: 'ewma', shift, lambda, width },
      () => ({ average: library.movingAverageRunLength(shift, lambda, width) }),
    );
  for (const n of [10, 18, 24, 30]) {
    const values = Array.from({ length: n }, (_, at) => (at % 2 === 0 ? 1 : -1) * (1 + (at % 5)));
    const chart = library.runChart(values, { middle: 0 });
    add(
      'runChart',
      `chance of a false signal, ${n} points, known line`,
      'false_signals',
      { n, longest: chart.longestRun.limit, least: chart.crossings.least },
      () => library.runChart(values, { middle: 0 }).falseSignal,
    );
  }

  for (const [failure, success, decision, rate, readings] of [
    [4, -1, 10, 0.1, 60],
    [1, -1, 8, 0.3, 200],
    [9, -1, 40, 0.02, 500],
  ])
    add(
      'bernoulliRunLength',
      `steps ${failure}/${success}, decision ${decision}, rate ${rate}`,
      'bernoulli',
      { failure, success, decision, rate, readings },
      () => {
        const made = library.bernoulliRunLength({ failure, success, decision }, rate, readings);
        return { average: made.average, within: made.within[readings - 1] };
      },
    );
  for (const [agree, readings] of [
    [0, 12],
    [12, 12],
    [7, 12],
    [399, 400],
    [1, 3000],
  ]) {
    const pairs = Array.from({ length: readings }, (_, at) => [1, at < agree ? 1 : 2]);
    add('cumulativeAgreement', `${agree} of ${readings}`, 'clopper', { agree, readings }, () =>
      library.cumulativeAgreement(pairs).steps.at(-1),
    );
  }
  for (const [acceptable, unacceptable, alpha, beta] of [
    [0.1, 0.2, 0.1, 0.1],
    [0.05, 0.0501, 0.05, 0.2],
    [0.001, 0.4, 0.01, 0.01],
  ])
    add(
      'cumulativeFailures',
      `${acceptable} against ${unacceptable}`,
      'wald_lines',
      { acceptable, unacceptable, alpha, beta },
      () => library.cumulativeFailures([true], { acceptable, unacceptable, alpha, beta }),
    );

  const sizeOf = (statistic, name, words, input) =>
    add(statistic, words, 'sample_size', input, () => {
      const { kind, ...options } = input;
      const made = library[name](options);
      return { exact: made.exact, ...made.details };
    });
  for (const [expected, ruledOut, rates] of [
    [0.7, 0.4, [0.5, 0.5]],
    [0.8, 0.79, [0.41, 0.45]],
    [0.3, 0, [0.02, 0.03]],
  ])
    for (const sides of [1, 2])
      sizeOf('kappaSampleSize', 'kappaSampleSize', `${expected} from ${ruledOut}, rates ${rates}, ${sides}-sided`, {
        kind: 'kappa',
        expected,
        ruledOut,
        rates,
        sides,
      });
  for (const [expected, ruledOut, readings] of [
    [0.75, 0.5, 2],
    [0.9, 0.8, 5],
    [0.2, 0, 3],
  ])
    sizeOf('intraclassSampleSize', 'intraclassSampleSize', `${expected} from ${ruledOut}, ${readings} readings`, {
      kind: 'intraclass',
      expected,
      ruledOut,
      readings,
    });
  for (const [expected, readings, width] of [
    [0.8, 3, 0.2],
    [0.8, 2, 0.1],
    [0.3, 2, 0.4],
  ])
    sizeOf(
      'intraclassPrecisionSampleSize',
      'intraclassPrecisionSampleSize',
      `${expected}, ${readings} readings, width ${width}`,
      { kind: 'precision', expected, readings, width },
    );
  for (const [expected, ruledOut, prevalence] of [
    [0.7, 0.4, 0.5],
    [0.6, 0.4, 0.3],
    [0.9, 0.88, 0.05],
  ])
    sizeOf(
      'kappaGoodnessOfFitSampleSize',
      'kappaGoodnessOfFitSampleSize',
      `${expected} from ${ruledOut}, prevalence ${prevalence}`,
      { kind: 'goodness of fit', expected, ruledOut, prevalence },
    );
  for (const [expected, lowerLimit, prevalence] of [
    [0.7, 0.5, 0.5],
    [0.9, 0.89, 0.1],
  ])
    sizeOf(
      'kappaPrecisionSampleSize',
      'kappaPrecisionSampleSize',
      `${expected}, lower limit ${lowerLimit}, prevalence ${prevalence}`,
      { kind: 'limit', expected, lowerLimit, prevalence },
    );
  for (const [shares, sides] of [
    [[0.2, 0.25, 0.55], 1],
    [[0.1, 0.3, 0.6], 2],
  ])
    add(
      'gradedKappaSampleSize',
      `shares ${shares}`,
      'graded_kappa',
      { expected: 0.6, ruledOut: 0.4, shares, sides },
      () => ({ exact: library.gradedKappaSampleSize({ expected: 0.6, ruledOut: 0.4, shares, sides }).exact }),
    );
  for (const [readingError, visitError, change] of [
    [0.5, 0, 1],
    [1, 0.2, 1],
    [3, 0.01, 2],
  ])
    add(
      'readingsPerVisit',
      `${readingError}, ${visitError}, ${change}`,
      'readings_per_visit',
      { readingError, visitError, change },
      () => library.readingsPerVisit({ readingError, visitError, change }),
    );
  for (const [findingsPerPatient, correlation] of [
    [4, 0.3],
    [8, 1],
    [1, 0],
  ]) {
    const options = { findingsPerPatient, correlation, gaps: 0.05, absent: 0.1 };
    add(
      'patientsNeeded',
      `${findingsPerPatient} findings, correlation ${correlation}`,
      'patients_needed',
      { findings: 64, ...options },
      () =>
        library.patientsNeeded(library.kappaSampleSize({ expected: 0.7, ruledOut: 0.4, rates: [0.5, 0.5] }), options),
    );
  }
  for (const seed of [241, 242]) {
    const uniform = random(seed);
    const subject = Array.from({ length: 300 }, (_, at) => Math.floor(at / 6));
    const time = subject.map((_, at) => at % 6);
    const category = subject.map(() => (uniform() < 0.7 ? 0 : uniform() < 0.9 ? 1 : 2));
    let count = 0;
    let of = 0;
    subject.forEach((own, at) => {
      if (subject[at + 1] !== own || category[at] !== 0) return;
      of++;
      if (category[at + 1] === 2) count++;
    });
    add('transitionShares', `300 readings (seed ${seed})`, 'transition_share', { count, of }, () => {
      const cell = library.transitionShares({ subject, time, category }, { states: 3 }).cells[0][2];
      return {
        share: cell.share,
        'score lower': cell.score.lower,
        'score upper': cell.score.upper,
        'exact lower': cell.exact.lower,
        'exact upper': cell.exact.upper,
      };
    });
  }
  return checks;
}
