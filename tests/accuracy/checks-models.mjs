// Checks of src/models: likelihoods at given numbers and short fits against 50 digits, fits against R.
import { eventStudy, measuredStudy, normalNumbers, random } from './data.mjs';

export function modelChecks(library) {
  const checks = [];
  const add = (statistic, words, file, call, input, ours, extra = {}) =>
    checks.push({ statistic, words, file, call, input, ours, ...extra });
  const flat = (matrix) => Object.fromEntries(matrix.flatMap((row, r) => row.map((value, s) => [`${r} ${s}`, value])));

  const chains = [
    [
      'three states, one way',
      [
        [0, 0.3, 0],
        [0, 0, 0.2],
        [0, 0, 0],
      ],
    ],
    [
      'equal rates, defective',
      [
        [0, 0.1, 0],
        [0, 0, 0.1],
        [0, 0, 0],
      ],
    ],
    [
      'round and round, complex',
      [
        [0, 0.9, 0.1],
        [0.05, 0, 0.75],
        [0.7, 0.1, 0],
      ],
    ],
    [
      'rates from 1e-6 to 30',
      [
        [0, 30, 1e-6],
        [2, 0, 0.001],
        [0.5, 1e-4, 0],
      ],
    ],
  ];
  for (const [words, rates] of chains)
    for (const time of [1e-6, 0.3, 2, 40])
      add('transitionProbabilities', `${words}, t = ${time}`, 'models.py', 'transition', { rates, time }, () =>
        flat(library.transitionProbabilities(rates, time)),
      );

  for (const seed of [301, 302, 303]) {
    const uniform = random(seed);
    const data = { subject: [], time: [], category: [] };
    for (let subject = 1; subject <= 40; subject++) {
      let time = 0;
      let state = 0;
      for (let visit = 0; visit < 6; visit++) {
        data.subject.push(subject);
        data.time.push(Number(time.toFixed(2)));
        data.category.push(state);
        time += 0.3 + 2 * uniform();
        const u = uniform();
        if (u < 0.35) state = Math.min(2, state + 1);
        else if (u < 0.5) state = Math.max(0, state - 1);
      }
    }
    const rates = [
      [0, 0.3, 0],
      [0.1, 0, 0.25],
      [0, 0.1, 0],
    ];
    const errors = [
      [0.9, 0.08, 0.02],
      [0.1, 0.8, 0.1],
      [0.01, 0.09, 0.9],
    ];
    const initial = [0.7, 0.2, 0.1];
    add('markovLogLikelihood', `40 subjects (seed ${seed})`, 'models.py', 'hidden', { ...data, rates }, () => ({
      logLikelihood: library.markovLogLikelihood(data, { intensities: rates }),
    }));
    const model = { intensities: rates, initial, readings: [errors] };
    add(
      'hiddenMarkovLogLikelihood',
      `40 subjects (seed ${seed})`,
      'models.py',
      'hidden',
      { ...data, rates, readings: errors, initial },
      () => ({ logLikelihood: library.hiddenMarkovLogLikelihood(data, model) }),
      { figures: /^(logLikelihood)$/ },
    );
    add(
      'hiddenStates',
      `40 subjects (seed ${seed})`,
      'models.py',
      'hidden',
      { ...data, rates, readings: errors, initial },
      () => {
        const made = library.hiddenStates(data, model);
        const last = made.subject.lastIndexOf(1);
        return Object.fromEntries(
          [0, 1, 2].flatMap((s) => [
            [`smoothed first ${s}`, made.smoothed[s]],
            [`filtered last ${s}`, made.filtered[3 * last + s]],
          ]),
        );
      },
      { figures: /^(smoothed|filtered)/ },
    );
    const allowed = rates.map((row) => row.map((rate) => rate > 0));
    if (seed < 303)
      add('markovFit', `40 subjects (seed ${seed})`, 'models.R', 'markov', { data, rates }, async () => {
        const fit = await library.markovFit(data, { allowed });
        return {
          logLikelihood: fit.logLikelihood,
          'rate 0 1': fit.intensities[0][1].value,
          'rate 1 2': fit.intensities[1][2].value,
        };
      });
    const misread = { subject: [], time: [], category: [] };
    for (let subject = 1; subject <= 80; subject++) {
      let state = 0;
      for (let visit = 0; visit < 8; visit++) {
        const off =
          visit > 0 && uniform() < 0.12 ? (state === 1 ? (uniform() < 0.5 ? -1 : 1) : state === 0 ? 1 : -1) : 0;
        misread.subject.push(subject);
        misread.time.push(visit);
        misread.category.push(state + off);
        if (uniform() < 0.25) state = Math.min(2, state + 1);
      }
    }
    if (seed < 303)
      add(
        'hiddenMarkovFit',
        `80 subjects, misread (seed ${seed})`,
        'models.R',
        'markov',
        {
          data: misread,
          rates: [
            [0, 0.3, 0],
            [0, 0, 0.25],
            [0, 0, 0],
          ],
          errors: [
            [0, 0.1, 0],
            [0.1, 0, 0.1],
            [0, 0.1, 0],
          ],
          initial: [1, 0, 0],
        },
        async () => {
          const fit = await library.hiddenMarkovFit(misread, {
            allowed: [
              [false, true, false],
              [false, false, true],
              [false, false, false],
            ],
            misreadings: [
              [false, true, false],
              [true, false, true],
              [false, true, false],
            ],
            initial: [1, 0, 0],
          });
          return {
            logLikelihood: fit.logLikelihood,
            'rate 0 1': fit.intensities[0][1].value,
            'rate 1 2': fit.intensities[1][2].value,
          };
        },
      );
  }

  // Patients crossed with assessors, with gaps.
  for (const seed of [311, 312, 313]) {
    const uniform = random(seed);
    const patients = normalNumbers(seed + 1, 10);
    const assessors = normalNumbers(seed + 2, 4).map((x) => 0.7 * x);
    const noise = normalNumbers(seed + 3, 80);
    const data = { patient: [], assessor: [], warm: [], length: [], grade: [] };
    for (let at = 0; at < 60; at++) {
      if (uniform() < 0.3) continue;
      const [p, a] = [at % 10, Math.floor(uniform() * 4)];
      const warm = uniform() < 0.5 ? 0 : 1;
      const y = 5 + 0.5 * warm + 1.5 * patients[p] + assessors[a] + 0.6 * noise[at];
      data.patient.push(p);
      data.assessor.push(a);
      data.warm.push(warm);
      data.length.push(Number(y.toFixed(2)));
      data.grade.push(y < 4.2 ? 0 : y < 5.6 ? 1 : 2);
    }
    const problem = (offset = 0) => ({
      response: data.length.map((y) => y + offset),
      fixed: { warm: data.warm },
      random: [
        { name: 'patient', groups: data.patient },
        { name: 'assessor', groups: data.assessor },
      ],
    });
    const figures = (fit) => ({
      'variance 0': fit.components[0].variance,
      'variance 1': fit.components[1].variance,
      'variance 2': fit.residual.variance,
      'fixed 0': fit.fixed[0].value,
      'fixed 1': fit.fixed[1].value,
      criterion: fit.criterion,
    });
    const rows = { response: data.length, fixed: [data.warm], groups: [data.patient, data.assessor] };
    add(
      'linearMixedModel',
      `patients crossed with assessors (seed ${seed})`,
      'models.py',
      'linear_mixed',
      { ...rows, start: [1.5, 0.4, 0.4] },
      () => figures(library.linearMixedModel(problem())),
    );
    if (seed === 311)
      add(
        'linearMixedModel',
        `numbers about 1e6 (seed ${seed})`,
        'models.py',
        'linear_mixed',
        { ...rows, response: problem(1e6).response, start: [1.5, 0.4, 0.4] },
        () => figures(library.linearMixedModel(problem(1e6))),
      );
    add('linearMixedModel', `patients crossed with assessors (seed ${seed})`, 'models.R', 'linear', { data }, () =>
      figures(library.linearMixedModel(problem())),
    );
    add(
      'linearMixedCriterion',
      `at given variances (seed ${seed})`,
      'models.py',
      'linear_mixed',
      { ...rows, variances: [1.1, 0.3, 0.5] },
      () => ({ criterion: library.linearMixedCriterion(problem(), { patient: 1.1, assessor: 0.3 }, 0.5) }),
    );
    const link = (name) => ({ response: data.grade, effects: { warm: data.warm }, link: name });
    for (const name of ['logit', 'probit']) {
      const weights = data.grade.map(() => 1);
      add(
        'cumulativeLinkModel',
        `${name} (seed ${seed})`,
        'models.py',
        'cumulative_link',
        { response: data.grade, x: data.warm, weights, link: name, start: [-0.5, 0.7, 0.3] },
        () => {
          const fit = library.cumulativeLinkModel(link(name));
          return {
            logLikelihood: fit.logLikelihood,
            'parameter 0': fit.thresholds[0],
            'parameter 1': fit.thresholds[1],
            'parameter 2': fit.effects[0].value,
            'error 0': fit.thresholdErrors[0],
            'error 1': fit.thresholdErrors[1],
            'error 2': fit.effects[0].standardError,
          };
        },
      );
      add(
        'cumulativeLinkLogLikelihood',
        `${name} (seed ${seed})`,
        'models.py',
        'cumulative_link',
        { response: data.grade, x: data.warm, weights, link: name, parameters: [-0.7, 0.4, 0.2] },
        () => ({ logLikelihood: library.cumulativeLinkLogLikelihood(link(name), [-0.7, 0.4, 0.2]) }),
      );
    }
    const grouped = { ...link('logit'), random: [{ name: 'patient', groups: data.patient }] };
    for (const points of [1, 9])
      add(
        'cumulativeLinkMixedModel',
        `${points} points (seed ${seed})`,
        'models.R',
        'ordinal',
        { data, points, link: 'logit' },
        () => {
          const fit = library.cumulativeLinkMixedModel({ ...grouped, quadraturePoints: points });
          return {
            logLikelihood: fit.logLikelihood,
            deviation: fit.components[0].standardDeviation,
            'parameter 0': fit.thresholds[0],
            'parameter 1': fit.thresholds[1],
            'parameter 2': fit.effects[0].value,
          };
        },
      );
    for (const deviation of [0.3, 1.7])
      add(
        'cumulativeLinkMixedLogLikelihood',
        `Laplace, deviation ${deviation} (seed ${seed})`,
        'models.py',
        'laplace',
        { response: data.grade, x: data.warm, patient: data.patient, parameters: [-0.7, 0.9, 0.2], deviation },
        () => ({
          logLikelihood: library.cumulativeLinkMixedLogLikelihood(grouped, [-0.7, 0.9, 0.2], { patient: deviation }),
        }),
      );
    add('proportionalOddsCheck', `one effect (seed ${seed})`, 'models.R', 'odds', { data }, () => {
      const [one] = library.proportionalOddsCheck(link('logit')).single;
      return { statistic: one.statistic, pValue: one.pValue };
    });
    const order = data.patient.map((_, at) => at).sort((a, b) => data.patient[a] - data.patient[b]);
    const sorted = Object.fromEntries(
      Object.entries(data).map(([name, column]) => [name, order.map((at) => column[at])]),
    );
    for (const correlation of ['independence'])
      add('logisticGee', `${correlation} (seed ${seed})`, 'models.R', 'marginal', { data: sorted, correlation }, () => {
        const fit = library.logisticGee({
          response: sorted.grade.map((grade) => (grade >= 1 ? 1 : 0)),
          effects: { warm: sorted.warm },
          clusters: sorted.patient,
          correlation,
          correction: 'none',
        });
        return Object.fromEntries(
          fit.effects.flatMap(({ value, standardError }, k) => [
            [`effect ${k}`, value],
            [`error ${k}`, standardError],
          ]),
        );
      });
    if (seed === 311)
      add(
        'linearMixedProfile',
        `limits of a fixed effect (seed ${seed})`,
        'models.R',
        'profile_limits',
        { data },
        async () => {
          const made = await library.linearMixedProfile({ ...problem(), method: 'ML' }, { parameters: ['fixed.warm'] });
          const { interval } = made.intervals.find(({ name }) => name === 'fixed.warm');
          return { lower: interval.lower, upper: interval.upper };
        },
      );
  }

  // Least squares through the fixed part of the mixed model, with groups between which the variance comes out as 0. Longley's, Norris's and Wampler's data
  // (NIST Statistical Reference Datasets, public domain, www.itl.nist.gov/div898/strd/lls): the certified values stand in models.py, which
  // compares them with its own from exact arithmetic, so that a slip in retyping shows.
  const longley = [
    [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
    [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
    [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
    [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
    [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
    [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
    [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
    [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
    [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
    [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
    [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
    [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
    [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
    [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
    [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
    [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
  ];
  // Norris: an ozone monitor against the instrument that calibrates it.
  const norris = [
    [0.1, 0.2],
    [338.8, 337.4],
    [118.1, 118.2],
    [888, 884.6],
    [9.2, 10.1],
    [228.1, 226.5],
    [668.5, 666.3],
    [998.5, 996.3],
    [449.1, 448.6],
    [778.9, 777],
    [559.2, 558.2],
    [0.3, 0.4],
    [0.1, 0.6],
    [778.1, 775.5],
    [668.8, 666.9],
    [339.3, 338],
    [448.9, 447.5],
    [10.8, 11.6],
    [557.7, 556],
    [228.3, 228.1],
    [998, 995.8],
    [888.8, 887.6],
    [119.6, 120.2],
    [0.3, 0.3],
    [0.6, 0.3],
    [557.6, 556.8],
    [339.3, 339.1],
    [888, 887.2],
    [998.5, 999],
    [778.9, 779],
    [10.2, 11.1],
    [117.6, 118.3],
    [228.9, 229.2],
    [668.4, 669.1],
    [449.2, 448.9],
    [0.2, 0.5],
  ];
  const places = Array.from({ length: 21 }, (_, at) => at);
  const powers = (degree) => Array.from({ length: degree }, (_, power) => places.map((x) => x ** (power + 1)));
  // Wampler4: 1 + x + … + x⁵ + 100 δ; the errors δ repeat with opposite signs.
  const delta = [
    759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 2523, -2048,
    2048, -2048, 759,
  ];
  const polynomial = places.map((x) => 1 + x + x ** 2 + x ** 3 + x ** 4 + x ** 5);
  const linear = [
    ['Longley', longley.map(([y]) => y), [1, 2, 3, 4, 5, 6].map((column) => longley.map((row) => row[column]))],
    ['Norris', norris.map(([y]) => y), [norris.map(([, x]) => x)]],
    ['Wampler3', polynomial.map((y, at) => y + delta[at]), powers(5)],
    ['Wampler4', polynomial.map((y, at) => y + 100 * delta[at]), powers(5)],
    ['Wampler5', polynomial.map((y, at) => y + 10000 * delta[at]), powers(5)],
  ];
  for (const [name, response, columns] of linear) {
    const fixed = Object.fromEntries(columns.map((column, at) => [`x${at + 1}`, column]));
    add(
      'linearMixedModel',
      `least squares, NIST ${name}`,
      'models.py',
      'least_squares',
      { name, response, columns },
      () => {
        for (let size = 2; size <= 7; size++) {
          const fit = library.linearMixedModel({
            response,
            fixed,
            random: [{ name: 'group', groups: response.map((_, at) => at % size) }],
          });
          if (fit.components[0].variance > 0) continue;
          return {
            residual: fit.residual.variance,
            ...Object.fromEntries(
              fit.fixed.flatMap(({ value, standardError }, k) => [
                [`fixed ${k}`, value],
                [`error ${k}`, standardError],
              ]),
            ),
          };
        }
        throw new Error('every grouping varies');
      },
    );
  }
  for (const [name, degree, of] of [['Wampler1', 5, (x) => 1 + x + x ** 2 + x ** 3 + x ** 4 + x ** 5]]) {
    const x = Array.from({ length: 21 }, (_, at) => at);
    const response = x.map((value, at) => of(value) + (at % 2 === 0 ? 3 : 0));
    const columns = Array.from({ length: degree }, (_, power) => x.map((value) => value ** (power + 1)));
    const fixed = Object.fromEntries(columns.map((column, power) => [`x${power + 1}`, column]));
    const groups = x.map((value) => value % 3);
    add(
      'linearMixedModel',
      `NIST ${name} with errors added, criterion at given variances`,
      'models.py',
      'linear_mixed',
      { response, fixed: columns, groups: [groups], variances: [2, 1] },
      () => ({
        criterion: library.linearMixedCriterion(
          { response, fixed, random: [{ name: 'group', groups }] },
          { group: 2 },
          1,
        ),
      }),
    );
  }

  const E = [
    [0.8, 0.15, 0.05],
    [0.1, 0.8, 0.1],
    [0.02, 0.18, 0.8],
  ];
  const T = [
    [0.9, 0.08, 0.02],
    [0.1, 0.8, 0.1],
    [0.01, 0.09, 0.9],
  ];
  for (const observed of [
    [0, 0],
    [0, 2],
    [2, 1],
  ])
    add(
      'gradeChange',
      `read ${observed}`,
      'models.py',
      'grade_change',
      { prior: [0.5, 0.3, 0.2], transitions: T, errors: [E, E], observed },
      () => library.gradeChange({ prior: [0.5, 0.3, 0.2], transitions: T, errors: [E, E] }, observed),
    );

  // The same statistics once more by the packages of R.
  for (const [seed, options] of [
    [204, { late: true }],
    [206, {}],
  ]) {
    const study = eventStudy(seed, 60, options);
    for (const ties of ['efron', 'breslow'])
      add(
        'coxRegression',
        `60 entries (seed ${seed}), ${ties}`,
        'models.R',
        'cox',
        { ...study, ties },
        () => {
          const fit = library.coxRegression(
            { times: study.times, events: study.events, entries: study.entries },
            { x: study.x },
            { ties },
          );
          return { logRatio: fit.effects[0].logRatio, logLikelihood: fit.logLikelihood };
        },
        { figures: /^(logRatio|logLikelihood)$/ },
      );
  }
  for (const seed of [101, 103]) {
    const { rows } = measuredStudy(seed, { targets: 24, assessors: 4 });
    add('intraclassCorrelation', `24 × 4 (seed ${seed})`, 'models.R', 'reliability', { rows }, () => {
      const ratings = library.ratingsOf(rows);
      const of = (options) =>
        library.intraclassCorrelation(ratings, { ...options, unit: 'single', interval: 'asymptotic' });
      const agreement = of({ model: 'two-way', definition: 'agreement' });
      return {
        'one-way': of({ model: 'one-way' }).value,
        agreement: agreement.value,
        consistency: of({ model: 'two-way', definition: 'consistency' }).value,
        'agreement lower': agreement.interval.lower,
        'agreement upper': agreement.interval.upper,
      };
    });
  }
  return checks;
}
