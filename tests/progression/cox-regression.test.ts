import { describe, expect, it } from 'vitest';
import { coxRegression } from '../../src/progression/cox-regression.ts';
import type { EventTimes } from '../../src/progression/event-times.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

/** Forty invented limbs, times in whole weeks so that many are tied, half of them entered late. */
function limbs() {
  const random = seededRandom(31);
  const data = { times: [] as number[], events: [] as boolean[], entries: [] as number[] };
  const covariates = { treated: [] as number[], age: [] as number[], girth: [] as number[] };
  for (let limb = 0; limb < 40; limb++) {
    const [treated, age, girth] = [random.below(2), 60 + 10 * random.normal(), 22 + random.normal()];
    const entry = random.below(2) * random.below(4);
    const time = entry + Math.ceil((-Math.log(1 - random.uniform()) * 9) / Math.exp(0.7 * treated - 0.03 * (age - 60)));
    const end = entry + 2 + random.below(14);
    data.times.push(Math.min(time, end));
    data.events.push(time <= end);
    data.entries.push(entry);
    covariates.treated.push(treated);
    covariates.age.push(age);
    covariates.girth.push(girth);
  }
  return { data, covariates };
}

/**
 * Partial likelihood, its gradient and its curvature written out row by row: the jth of d tied events leaves a risk set in which, by Efron's rule, each of the
 * tied ones counts 1 − j/d; by Breslow's rule all count whole.
 */
function byDefinition(
  data: EventTimes,
  columns: readonly (readonly number[])[],
  beta: readonly number[],
  ties: 'efron' | 'breslow',
) {
  const x = data.times.map((_, row) => columns.map((column) => column[row]! - column[0]!));
  const hazard = x.map((own) => Math.exp(own.reduce((sum, value, k) => sum + value * beta[k]!, 0)));
  const [score, information] = [columns.map(() => 0), columns.map(() => columns.map(() => 0))];
  let logLikelihood = 0;
  for (const time of new Set(data.times.filter((_, row) => data.events[row]))) {
    const risk = data.times.flatMap((until, row) => (until >= time && (data.entries?.[row] ?? -1) < time ? [row] : []));
    const tied = risk.filter((row) => data.times[row] === time && data.events[row]);
    tied.forEach((own, j) => {
      const part = (row: number): number =>
        hazard[row]! * (ties === 'efron' && tied.includes(row) ? 1 - j / tied.length : 1);
      const total = risk.reduce((sum, row) => sum + part(row), 0);
      const mean = columns.map((_, k) => risk.reduce((sum, row) => sum + (part(row) / total) * x[row]![k]!, 0));
      logLikelihood += Math.log(hazard[own]! / total);
      columns.forEach((_, k) => {
        score[k]! += x[own]![k]! - mean[k]!;
        columns.forEach((__, l) => {
          information[k]![l]! += risk.reduce(
            (sum, row) => sum + (part(row) / total) * (x[row]![k]! - mean[k]!) * (x[row]![l]! - mean[l]!),
            0,
          );
        });
      });
    });
  }
  return { logLikelihood, score, information };
}

/** Diagonal of the inverse, by elimination. */
function inverseDiagonal(matrix: readonly (readonly number[])[]): number[] {
  const size = matrix.length;
  const rows = matrix.map((row, at) => [...row, ...row.map((_, to) => (to === at ? 1 : 0))]);
  for (let at = 0; at < size; at++) {
    const pivot = rows[at]![at]!;
    rows[at] = rows[at]!.map((value) => value / pivot);
    for (let other = 0; other < size; other++) {
      if (other === at) continue;
      const factor = rows[other]![at]!;
      rows[other] = rows[other]!.map((value, to) => value - factor * rows[at]![to]!);
    }
  }
  return rows.map((row, at) => row[size + at]!);
}

describe('three covariates, late entry and ties', () => {
  it.each(['efron', 'breslow'] as const)('at the maximum of the %s likelihood, errors from its curvature', (ties) => {
    const { data, covariates } = limbs();
    const fit = coxRegression(data, covariates, { ties, confidenceLevel: 0.8 });
    const beta = fit.effects.map(({ logRatio }) => logRatio);
    const { logLikelihood, score, information } = byDefinition(data, Object.values(covariates), beta, ties);
    expectNear(fit.logLikelihood, logLikelihood, 1e-10);
    for (const slope of score) expectNear(slope, 0, 1e-7);
    const variances = inverseDiagonal(information);
    fit.effects.forEach(({ name, logRatio, standardError, ratio, interval }, k) => {
      expect(name).toBe(['treated', 'age', 'girth'][k]);
      expectNear(standardError, Math.sqrt(variances[k]!), 1e-7);
      expect(ratio).toBe(Math.exp(logRatio));
      // Normal quantile of .9 (any table).
      expectNear(interval.lower, Math.exp(logRatio - 1.2815515655446004 * standardError), 1e-9);
      expectNear(interval.upper, Math.exp(logRatio + 1.2815515655446004 * standardError), 1e-9);
      expect([interval.level, interval.method]).toEqual([0.8, 'normal, inverse information']);
    });
    const events = data.events.filter(Boolean).length;
    expect(fit).toMatchObject({ kind: 'cox-regression', converged: true });
    expect(fit.counts).toEqual({ entries: 40, patients: 40, events });
    expect(fit.notes.map(({ code }) => code)).toEqual(events < 30 ? ['few-events'] : []);
    // Newton's method: a handful of steps, with which it would not come to an end if its gradient or curvature were wrong.
    expect(fit.iterations).toBeGreaterThan(2);
    expect(fit.iterations).toBeLessThan(8);
  });

  it('takes no notice of the order of the rows, of the unit of a covariate, and of rows at risk at no event', () => {
    const { data, covariates } = limbs();
    const usual = coxRegression(data, covariates);
    const back = coxRegression(
      { times: [...data.times].reverse(), events: [...data.events].reverse(), entries: [...data.entries].reverse() },
      Object.fromEntries(Object.entries(covariates).map(([name, column]) => [name, [...column].reverse()])),
    );
    const months = coxRegression(data, { ...covariates, age: covariates.age.map((years) => 12 * (years + 3)) });
    const last = Math.max(...data.times);
    const more = coxRegression(
      {
        times: [...data.times, 0.5, last + 9, last + 9],
        events: [...data.events, false, false, false],
        entries: [...data.entries, 0, last, last + 1],
      },
      Object.fromEntries(Object.entries(covariates).map(([name, column]) => [name, [...column, 900, -900, 900]])),
    );
    usual.effects.forEach(({ logRatio, standardError }, k) => {
      expectNear(back.effects[k]!.logRatio, logRatio, 1e-9);
      expectNear(back.effects[k]!.standardError, standardError, 1e-9);
      expectNear(months.effects[k]!.logRatio, k === 1 ? logRatio / 12 : logRatio, 1e-9);
      expectNear(more.effects[k]!.logRatio, logRatio, 1e-6);
      expectNear(more.effects[k]!.standardError, standardError, 1e-6);
    });
  });

  it('has the same errors for one entry a patient, whatever the patients are called', () => {
    const { data, covariates } = limbs();
    const named = coxRegression({ ...data, patients: data.times.map((_, at) => `p${at}`) }, covariates);
    expect(named).toEqual(coxRegression(data, covariates));
  });
});

it('two entries of one patient turn the errors into those of patients, and the interval with them', () => {
  const { data, covariates } = limbs();
  const twice = { ...data, patients: data.times.map((_, at) => Math.max(1, at)) };
  const { effects, counts, notes, logLikelihood } = coxRegression(twice, covariates);
  const alone = coxRegression(data, covariates);
  expect(counts.patients).toBe(39);
  expect(notes.map(({ code }) => code)).toContain('patients-as-units');
  expect(logLikelihood).toBe(alone.logLikelihood);
  effects.forEach(({ logRatio, standardError, interval }, k) => {
    expect(logRatio).toBe(alone.effects[k]!.logRatio);
    expect(standardError).not.toBe(alone.effects[k]!.standardError);
    expectNear(Math.log(interval.upper) - logRatio, 1.959963984540054 * standardError, 1e-9);
    expectNear(logRatio - Math.log(interval.lower), 1.959963984540054 * standardError, 1e-9);
    expect(interval.method).toBe('normal, patients as units');
  });
});

it('finds a large but finite ratio, and one over a wide range of the covariate', () => {
  const random = seededRandom(5);
  const dose = Array.from({ length: 80 }, () => 1000 * random.uniform());
  const times = dose.map((value) => -Math.log(1 - random.uniform()) / Math.exp(0.012 * value));
  const data = { times, events: times.map(() => true) };
  const fit = coxRegression(data, { dose });
  expect(fit.converged).toBe(true);
  // More than eight e-folds between the ends of the covariate.
  expect(fit.effects[0]!.logRatio * 1000).toBeGreaterThan(8);
  expectNear(byDefinition(data, [dose], [fit.effects[0]!.logRatio], 'efron').score[0]! / 1000, 0, 1e-7);
  expect(fit.notes).toEqual([]);
});

it('shortens the step where a whole one would lower the likelihood', () => {
  // Two of 200 are treated; they have the event first and tenth. From β = 0 the gradient is about 2 − 20/200 and the curvature about 11/200, so a whole first step
  // goes to about 33, where the nine others in between have chances of e⁻³³.
  const x = Array.from({ length: 200 }, (_, at) => (at === 0 || at === 9 ? 1 : 0));
  const data = { times: x.map((_, at) => at + 1), events: x.map(() => true) };
  const fit = coxRegression(data, { x });
  expect(fit.converged).toBe(true);
  expect(fit.iterations).toBeLessThan(15);
  // It ends when a step gains less than 1e-12 of the likelihood of about 860, which leaves a gradient below √(2 · 8.6e-10 · curvature).
  expectNear(byDefinition(data, [x], [fit.effects[0]!.logRatio], 'efron').score[0]!, 0, 1e-5);
});

it('says so where no ratio is determined: a covariate that separates, or a copy of another', () => {
  const separated = coxRegression(
    { times: [1, 2, 3, 4, 5, 6], events: [true, true, true, false, false, false] },
    { x: [7, 7, 7, 5, 5, 5] },
  );
  expect(separated.converged).toBe(false);
  expect(separated.notes.map(({ code }) => code)).toEqual(['not-converged', 'few-events']);
  expect(separated.counts).toEqual({ entries: 6, patients: 6, events: 3 });
  const { data, covariates } = limbs();
  const copied = coxRegression(data, { one: covariates.treated, two: covariates.treated });
  expect(copied.converged).toBe(false);
  expect(copied.iterations).toBe(0);
  for (const { standardError } of copied.effects) expect(standardError).toBeNaN();
});

it('refuses, all at once, what is no covariate; and times without an event, and another rule of ties', () => {
  const data = { times: [1, 2, 3], events: [true, true, false] };
  expect(
    problemsIn(() => coxRegression(data, { good: [1, 0, 1], short: [1, 2], odd: [1, Number.NaN, 2], same: [4, 4, 4] })),
  ).toEqual(['bad-length covariates.short', 'bad-covariate covariates.odd', 'bad-covariate covariates.same']);
  const x = [1, 0, 1];
  expect(problemsIn(() => coxRegression({ ...data, events: [false, false, false] }, { x }))).toEqual([
    'no-events events',
  ]);
  expect(problemsIn(() => coxRegression(data, { x }, { ties: 'exact' as 'efron' }))).toEqual([
    'unknown-choice options.ties',
  ]);
  expect(problemsIn(() => coxRegression({ ...data, patients: [1] }, { x }))).toEqual(['bad-length patients']);
});
