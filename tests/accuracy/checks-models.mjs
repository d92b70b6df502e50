// Checks of src/models: likelihoods at given numbers and short fits against 50 digits, fits against R.
import { eventStudy, measuredStudy, normalNumbers, random } from './data.mjs';

export function modelChecks(library) {
  const checks = [];
  const add = (statistic, words, file, call, input, ours, extra = {}) => checks.push({ statistic, words, file, call, input, ours, ...extra });
  const flat = (matrix) => Object.fromEntries(matrix.flatMap((row, r) => row.map((value, s) => [`${r} ${s}`, value])));

  const chains = [
    ['three states, one way', [[0, 0.3, 0], [0, 0, 0.2], [0, 0, 0]]],
    ['equal rates, defective', [[0, 0.1, 0], [0, 0, 0.1], [0, 0, 0]]],
    ['round and round, complex', [[0, 0.9, 0.1], [0.05, 0, 0.75], [0.7, 0.1, 0]]],
    ['rates from 1e-6 to 30', [[0, 30, 1e-6], [2, 0, 0.001], [0.5, 1e-4, 0]]],
  ];
  for (const [words, rates] of chains)
    for (const time of [1e-6, 0.3, 2, 40]) add('transitionProbabilities', `${words}, t = ${time}`, 'models.py', 'transition', { rates, time }, () => flat(library.transitionProbabilities(rates, time)));

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
    const rates = [[0, 0.3, 0], [0.1, 0, 0.25], [0, 0.1, 0]];
    const errors = [[0.9, 0.08, 0.02], [0.1, 0.8, 0.1], [0.01, 0.09, 0.9]];
    const initial = [0.7, 0.2, 0.1];
    add('markovLogLikelihood', `40 subjects (seed ${seed})`, 'models.py', 'hidden', { ...data, rates }, () => ({ logLikelihood: library.markovLogLikelihood(data, { intensities: rates }) }));
    const model = { intensities: rates, initial, readings: [errors] };
    add('hiddenMarkovLogLikelihood', `40 subjects (seed ${seed})`, 'models.py', 'hidden', { ...data, rates, readings: errors, initial }, () => ({ logLikelihood: library.hiddenMarkovLogLikelihood(data, model) }), { names: ['logLikelihood'] });
    add('hiddenStates', `40 subjects (seed ${seed})`, 'models.py', 'hidden', { ...data, rates, readings: errors, initial }, () => {
      const made = library.hiddenStates(data, model);
      const last = made.subject.lastIndexOf(1);
      return Object.fromEntries([0, 1, 2].flatMap((s) => [[`smoothed first ${s}`, made.smoothed[s]], [`filtered last ${s}`, made.filtered[3 * last + s]]]));
    }, { only: /^(smoothed|filtered)/ });
    const allowed = rates.map((row) => row.map((rate) => rate > 0));
    if (seed < 303)
      add('markovFit', `40 subjects (seed ${seed})`, 'models.R', 'markov', { data, rates }, async () => {
        const fit = await library.markovFit(data, { allowed });
        return { logLikelihood: fit.logLikelihood, 'rate 0 1': fit.intensities[0][1].value, 'rate 1 2': fit.intensities[1][2].value };
      });
    if (seed === 301)
      add('hiddenMarkovFit', `40 subjects (seed ${seed})`, 'models.R', 'markov', { data, rates: [[0, 0.3, 0], [0, 0, 0.25], [0, 0, 0]], errors: [[0, 0.1, 0], [0.1, 0, 0.1], [0, 0.1, 0]], initial: [1, 0, 0] }, async () => {
        const fit = await library.hiddenMarkovFit(data, { allowed: [[false, true, false], [false, false, true], [false, false, false]], misreadings: [[false, true, false], [true, false, true], [false, true, false]], initial: [1, 0, 0] });
        return { logLikelihood: fit.logLikelihood, 'rate 0 1': fit.intensities[0][1].value, 'rate 1 2': fit.intensities[1][2].value };
      });
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
    const problem = (offset = 0) => ({ response: data.length.map((y) => y + offset), fixed: { warm: data.warm }, random: [{ name: 'patient', groups: data.patient }, { name: 'assessor', groups: data.assessor }] });
    const figures = (fit) => ({
      'variance 0': fit.components[0].variance,
      'variance 1': fit.components[1].variance,
      'variance 2': fit.residual.variance,
      'fixed 0': fit.fixed[0].value,
      'fixed 1': fit.fixed[1].value,
      criterion: fit.criterion,
    });
    const rows = { response: data.length, fixed: [data.warm], groups: [data.patient, data.assessor] };
    add('linearMixedModel', `patients crossed with assessors (seed ${seed})`, 'models.py', 'linear_mixed', { ...rows, start: [1.5, 0.4, 0.4] }, () => figures(library.linearMixedModel(problem())));
    if (seed === 311) add('linearMixedModel', `numbers about 1e6 (seed ${seed})`, 'models.py', 'linear_mixed', { ...rows, response: problem(1e6).response, start: [1.5, 0.4, 0.4] }, () => figures(library.linearMixedModel(problem(1e6))));
    add('linearMixedModel', `patients crossed with assessors (seed ${seed})`, 'models.R', 'linear', { data }, () => figures(library.linearMixedModel(problem())));
    add('linearMixedCriterion', `at given variances (seed ${seed})`, 'models.py', 'linear_mixed', { ...rows, variances: [1.1, 0.3, 0.5] }, () => ({ criterion: library.linearMixedCriterion(problem(), { patient: 1.1, assessor: 0.3 }, 0.5) }));
    const link = (name) => ({ response: data.grade, effects: { warm: data.warm }, link: name });
    for (const name of ['logit', 'probit']) {
      const weights = data.grade.map(() => 1);
      add('cumulativeLinkModel', `${name} (seed ${seed})`, 'models.py', 'cumulative_link', { response: data.grade, x: data.warm, weights, link: name, start: [-0.5, 0.7, 0.3] }, () => {
        const fit = library.cumulativeLinkModel(link(name));
        return { logLikelihood: fit.logLikelihood, 'parameter 0': fit.thresholds[0], 'parameter 1': fit.thresholds[1], 'parameter 2': fit.effects[0].value, 'error 0': fit.thresholdErrors[0], 'error 1': fit.thresholdErrors[1], 'error 2': fit.effects[0].standardError };
      });
      add('cumulativeLinkLogLikelihood', `${name} (seed ${seed})`, 'models.py', 'cumulative_link', { response: data.grade, x: data.warm, weights, link: name, parameters: [-0.7, 0.4, 0.2] }, () => ({ logLikelihood: library.cumulativeLinkLogLikelihood(link(name), [-0.7, 0.4, 0.2]) }));
    }
    const grouped = { ...link('logit'), random: [{ name: 'patient', groups: data.patient }] };
    for (const points of [1, 9])
      add('cumulativeLinkMixedModel', `${points} points (seed ${seed})`, 'models.R', 'ordinal', { data, points, link: 'logit' }, () => {
        const fit = library.cumulativeLinkMixedModel({ ...grouped, quadraturePoints: points });
        return { logLikelihood: fit.logLikelihood, deviation: fit.components[0].standardDeviation, 'parameter 0': fit.thresholds[0], 'parameter 1': fit.thresholds[1], 'parameter 2': fit.effects[0].value };
      });
    add('proportionalOddsCheck', `one effect (seed ${seed})`, 'models.R', 'odds', { data }, () => {
      const [one] = library.proportionalOddsCheck(link('logit')).single;
      return { statistic: one.statistic, pValue: one.pValue };
    });
    const order = data.patient.map((_, at) => at).sort((a, b) => data.patient[a] - data.patient[b]);
    const sorted = Object.fromEntries(Object.entries(data).map(([name, column]) => [name, order.map((at) => column[at])]));
    for (const correlation of ['independence'])
      add('logisticGee', `${correlation} (seed ${seed})`, 'models.R', 'marginal', { data: sorted, correlation }, () => {
        const fit = library.logisticGee({ response: sorted.grade.map((grade) => (grade >= 1 ? 1 : 0)), effects: { warm: sorted.warm }, clusters: sorted.patient, correlation, correction: 'none' });
        return Object.fromEntries(fit.effects.flatMap(({ value, standardError }, k) => [[`effect ${k}`, value], [`error ${k}`, standardError]]));
      });
    if (seed === 311)
      add('linearMixedProfile', `limits of a fixed effect (seed ${seed})`, 'models.R', 'profile_limits', { data }, async () => {
        const made = await library.linearMixedProfile({ ...problem(), method: 'ML' }, { parameters: ['fixed.warm'] });
        const { interval } = made.intervals.find(({ name }) => name === 'fixed.warm');
        return { lower: interval.lower, upper: interval.upper };
      });
  }

  // Least squares of the NIST data sets that follow a rule (Wampler 1 and 2) and Longley's, through the fixed part of the mixed model with
  // a group a row: the variance between groups cannot be told from the residual, and their sum is that of least squares.
  for (const [name, degree, of] of [['Wampler1', 5, (x) => 1 + x + x ** 2 + x ** 3 + x ** 4 + x ** 5], ['Wampler2', 5, (x) => [5, 4, 3, 2, 1, 0].reduce((sum, power) => sum * 0.1 * x + (power >= 0 ? 1 : 0), 0)]]) {
    const x = Array.from({ length: 21 }, (_, at) => at);
    const response = x.map((value, at) => Number(of(value).toFixed(5)) + (name === 'Wampler1' && at % 2 === 0 ? 3 : 0));
    const columns = Array.from({ length: degree }, (_, power) => x.map((value) => value ** (power + 1)));
    const fixed = Object.fromEntries(columns.map((column, power) => [`x${power + 1}`, column]));
    const groups = x.map((value) => value % 3);
    add('linearMixedModel', `NIST ${name}'s powers with errors added, fixed effects at a given spread`, 'models.py', 'linear_mixed', { response, fixed: columns, groups: [groups], variances: [2, 1] }, () => ({ criterion: library.linearMixedCriterion({ response, fixed, random: [{ name: 'group', groups }] }, { group: 2 }, 1) }));
  }

  const E = [[0.8, 0.15, 0.05], [0.1, 0.8, 0.1], [0.02, 0.18, 0.8]];
  const T = [[0.9, 0.08, 0.02], [0.1, 0.8, 0.1], [0.01, 0.09, 0.9]];
  for (const observed of [[0, 0], [0, 2], [2, 1]])
    add('gradeChange', `read ${observed}`, 'models.py', 'grade_change', { prior: [0.5, 0.3, 0.2], transitions: T, errors: [E, E], observed }, () => library.gradeChange({ prior: [0.5, 0.3, 0.2], transitions: T, errors: [E, E] }, observed));

  // The same statistics once more by the packages of R.
  for (const [seed, options] of [[204, { late: true }], [206, {}]]) {
    const study = eventStudy(seed, 60, options);
    for (const ties of ['efron', 'breslow'])
      add('coxRegression', `60 entries (seed ${seed}), ${ties}`, 'models.R', 'cox', { ...study, ties }, () => {
        const fit = library.coxRegression({ times: study.times, events: study.events, entries: study.entries }, { x: study.x }, { ties });
        return { logRatio: fit.effects[0].logRatio, logLikelihood: fit.logLikelihood };
      }, { names: ['logRatio', 'logLikelihood'] });
  }
  for (const seed of [101, 103]) {
    const { rows } = measuredStudy(seed, { targets: 24, assessors: 4 });
    add('intraclassCorrelation', `24 × 4 (seed ${seed})`, 'models.R', 'reliability', { rows }, () => {
      const ratings = library.ratingsOf(rows);
      const of = (options) => library.intraclassCorrelation(ratings, { ...options, unit: 'single', interval: 'asymptotic' });
      const agreement = of({ model: 'two-way', definition: 'agreement' });
      return { 'one-way': of({ model: 'one-way' }).value, agreement: agreement.value, consistency: of({ model: 'two-way', definition: 'consistency' }).value, 'agreement lower': agreement.interval.lower, 'agreement upper': agreement.interval.upper };
    });
  }
  return checks;
}
