import { describe, expect, it } from 'vitest';
import { multiply, solveGeneral } from '../../src/models/linear-algebra.ts';
import { type LogisticGeeProblem, logisticGee } from '../../src/models/logistic-gee.ts';
import { studentT } from '../../src/shared/distributions.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { referenceData } from '../support/optional.ts';
import { type ReferenceFits, readReference, readTable } from '../support/reference-fits.ts';

const { data, marginal } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const { fits } = readReference<{
  fits: Record<
    'independence' | 'exchangeable',
    { coefficients: number[]; robust: number[]; corrected: number[]; correlation: number }
  >;
}>('logistic-gee.json');
const problem: LogisticGeeProblem = {
  response: data.grade.map((grade) => (grade >= 2 ? 1 : 0)),
  effects: { warm: data.warm, day: data.day },
  clusters: data.patient,
};

function values(fit: ReturnType<typeof logisticGee>): number[] {
  return fit.effects.map(({ value }) => value);
}

function errors(fit: ReturnType<typeof logisticGee>): number[] {
  return fit.effects.map(({ standardError }) => standardError);
}

describe('reference programs, patients with unequal numbers of rows', () => {
  it.each(['independence', 'exchangeable'] as const)(
    '%s: sandwich, and corrected after Mancl and DeRouen',
    (correlation) => {
      const plain = logisticGee({ ...problem, correlation, correction: 'none' });
      const corrected = logisticGee({ ...problem, correlation });
      expect(plain.convergence.converged).toBe(true);
      const expected = fits[correlation];
      expectAllNear(values(plain), expected.coefficients, 1e-9);
      expectNear(plain.correlation, expected.correlation, 1e-9);
      expectAllNear(errors(plain), expected.robust, 1e-9);
      expectAllNear(errors(corrected), expected.corrected, 1e-9);
      const degrees = 30 - 3;
      const { interval, value, standardError } = corrected.effects[1] as (typeof corrected.effects)[number];
      expectNear(interval.upper, value + studentT.quantile(0.975, degrees) * standardError, 1e-12);
      expect(interval.method).toBe('patient sandwich after Mancl and DeRouen, t on 27 degrees of freedom');
    },
  );

  it('a third program agrees where it takes the same moments', () => {
    // geepack 1.3.9; with independence there is no correlation to estimate.
    expectAllNear(
      errors(logisticGee({ ...problem, correlation: 'independence', correction: 'none' })),
      marginal.independence.errors,
      1e-8,
    );
    // Its correlation is estimated by other moments, so that effects differ in the third digit.
    expectAllNear(values(logisticGee(problem)), marginal.exchangeable.coefficients, 2e-3);
  });
});

describe('data beside the checkout', () => {
  const folder = referenceData();

  it.runIf(folder !== undefined)('wheeze in Ohio', () => {
    const table = readTable(`${folder}data/ohio.csv`);
    const age = (table.age as string[]).map(Number);
    const smoke = (table.smoke as string[]).map(Number);
    const wheeze: LogisticGeeProblem = {
      response: (table.resp as string[]).map(Number),
      effects: { age, smoke, both: age.map((value, row) => value * (smoke[row] as number)) },
      clusters: table.id as string[],
      correction: 'none',
    };
    const exchangeable = logisticGee(wheeze);
    expectAllNear(
      values(exchangeable),
      [-1.900495513131741, -0.14123592623363534, 0.31382591157120004, 0.0708318504720597],
      1e-9,
    );
    expectAllNear(
      errors(exchangeable),
      [0.11908697128820164, 0.05820089800786339, 0.187841811544731, 0.08827886761673956],
      1e-9,
    );
    expectNear(exchangeable.correlation, 0.35438459333225963, 1e-9);
    const independence = logisticGee({ ...wheeze, correlation: 'independence' });
    expectAllNear(
      values(independence),
      [-1.90084256848875, -0.141253129506309, 0.313953991721161, 0.0708441038388312],
      1e-9,
    );
    expectAllNear(
      errors(independence),
      [0.119076788488552, 0.0582141798805671, 0.187838526456261, 0.088294685595466],
      1e-9,
    );
  });

  it.runIf(folder !== undefined)('respiratory status in two centers, where patients are numbered afresh', () => {
    const table = readTable(`${folder}data/respiratory.csv`);
    const numbers = (name: string): number[] => (table[name] as string[]).map(Number);
    const age = numbers('age');
    const fit = logisticGee({
      response: numbers('outcome'),
      effects: {
        baseline: numbers('baseline'),
        center: numbers('center'),
        male: (table.sex as string[]).map((sex) => (sex === 'M' ? 1 : 0)),
        placebo: (table.treat as string[]).map((arm) => (arm === 'P' ? 1 : 0)),
        age,
        ageSquared: age.map((value) => value * value),
      },
      clusters: (table.id as string[]).map((id, row) => `${(table.center as string[])[row]}/${id}`),
      correction: 'none',
    });
    expect(fit.counts.clusters).toBe(111);
    expectAllNear(
      values(fit),
      [
        3.35797273993119, 1.88504210230331, 0.509924360101157, -0.451059507511152, -1.32315873121188,
        -0.207281464871441, 0.00256502154224323,
      ],
      1e-8,
    );
    expectAllNear(
      errors(fit),
      [
        1.46101537695485, 0.373820533457932, 0.376809670104333, 0.480549115417462, 0.37369826437215, 0.0588889727534071,
        0.000756045078173406,
      ],
      1e-8,
    );
    // The reference divides by the pairs, not pairs − 7; here by Liang and Zeger's moments.
    expectNear(fit.correlation, 0.305, 2e-3);
  });
});

describe('laws', () => {
  it('independence is logistic regression: a two by two table in closed form', () => {
    const fit = logisticGee({
      response: [0, 1, 1, 1, 0, 0, 1, 1],
      clusters: [1, 1, 2, 2, 3, 3, 4, 4],
      correlation: 'independence',
      correction: 'none',
    });
    expectNear(fit.effects[0]?.value as number, Math.log(5 / 3), 1e-12);
    // s = Σ(y − μ) per patient: −1/4, 3/4, −5/4, 3/4 over B = 8 · 15/64.
    expectNear(fit.effects[0]?.standardError as number, Math.sqrt((1 + 9 + 25 + 9) / 16) / (8 * (15 / 64)), 1e-12);
  });

  it('a row given twice to its patient leaves independence and its sandwich unchanged', () => {
    const twice = <T>(list: ArrayLike<T>): T[] => Array.from(list).flatMap((value) => [value, value]);
    const once = logisticGee({ ...problem, correlation: 'independence', correction: 'none' });
    const doubled = logisticGee({
      response: twice(problem.response),
      effects: { warm: twice(data.warm), day: twice(data.day) },
      clusters: twice(data.patient),
      correlation: 'independence',
      correction: 'none',
    });
    expectAllNear(values(doubled), values(once), 1e-9);
    expectAllNear(errors(doubled), errors(once), 1e-9);
  });

  it('the corrected intervals of 20 patients cover better than the plain ones', () => {
    let plain = 0;
    let corrected = 0;
    const studies = 300;
    for (let study = 0; study < studies; study++) {
      const random = seededRandom(131, study);
      const clusters = Array.from({ length: 100 }, (_, row) => Math.floor(row / 5));
      const patients = Array.from({ length: 20 }, () => random.normal());
      const arm = clusters.map((patient) => patient % 2);
      const response = clusters.map((patient) => ((patients[patient] as number) + 1.7 * random.normal() > 0 ? 1 : 0));
      if (new Set(response).size < 2) continue;
      const covers = (correction: 'none' | 'mancl-derouen'): boolean => {
        const effect = logisticGee({ response, effects: { arm }, clusters, correction }).effects[1];
        return (effect?.interval.lower as number) <= 0 && (effect?.interval.upper as number) >= 0;
      };
      if (covers('none')) plain++;
      if (covers('mancl-derouen')) corrected++;
    }
    expect(corrected).toBeGreaterThan(plain);
    // Nominal .95 less four Monte Carlo errors of .0126.
    expect(corrected / studies).toBeGreaterThan(0.9);
  });
});

describe('the formulas of the docstring with every matrix written out', () => {
  // Patients of 1, 2, 3, 4 rows, not one after another; three effects.
  const random = seededRandom(23);
  const clusters = Array.from({ length: 16 }, (_, i) => Array.from({ length: 1 + (i % 4) }, () => `p${i}`)).flat();
  const x = clusters.map(() => random.normal());
  const level = new Map(clusters.map((own) => [own, random.normal()]));
  const arm = clusters.map((own) => Number(own.slice(1)) % 2);
  const response = clusters.map((own, row) =>
    (level.get(own) as number) + 0.5 * (x[row] as number) + random.normal() > 0.3 ? 1 : 0,
  );
  const n = clusters.length;
  const p = 3;
  const columns = [clusters.map(() => 1), x, arm];
  const inverse = (a: Float64Array, order: number): Float64Array =>
    solveGeneral(
      a,
      order,
      Float64Array.from({ length: order * order }, (_, k) => (k % (order + 1) === 0 ? 1 : 0)),
      order,
    ) as Float64Array;
  const turned = (a: Float64Array, rows: number, count: number): Float64Array =>
    Float64Array.from(a, (_, k) => a[(k % rows) * count + Math.floor(k / rows)] as number);
  const plus = (a: Float64Array, b: Float64Array): Float64Array => a.map((value, k) => value + (b[k] as number));

  it.each([
    ['exchangeable', 'mancl-derouen'],
    ['exchangeable', 'none'],
    ['independence', 'mancl-derouen'],
  ] as const)('%s, %s', (correlation, correction) => {
    const fit = logisticGee({ response, effects: { x, arm }, clusters, correlation, correction, confidenceLevel: 0.9 });
    const beta = values(fit);
    const mu = clusters.map(
      (_, row) =>
        1 / (1 + Math.exp(-columns.reduce((sum, column, k) => sum + (column[row] as number) * (beta[k] as number), 0))),
    );
    const r = mu.map((m, row) => ((response[row] as number) - m) / Math.sqrt(m * (1 - m)));
    const phi = r.reduce((sum, own) => sum + own * own, 0) / (n - p);
    let products = 0;
    let pairs = 0;
    for (let j = 0; j < n; j++)
      for (let k = j + 1; k < n; k++)
        if (clusters[j] === clusters[k]) {
          products += (r[j] as number) * (r[k] as number);
          pairs++;
        }
    const alpha = correlation === 'independence' ? 0 : products / (phi * (pairs - p));
    expectNear(fit.dispersion, phi, 1e-12);
    expectNear(fit.correlation, alpha, 1e-9);
    expect(fit.counts).toEqual({ rows: n, clusters: 16, largestCluster: 4 });
    // V without φ, D and the pieces of every patient.
    const pieces = [...new Set(clusters)].map((own) => {
      const rows = clusters.flatMap((other, row) => (other === own ? [row] : []));
      const m = rows.length;
      const root = rows.map((row) => Math.sqrt((mu[row] as number) * (1 - (mu[row] as number))));
      const v = Float64Array.from({ length: m * m }, (_, at) => {
        const [i, j] = [Math.floor(at / m), at % m];
        return (root[i] as number) * (root[j] as number) * (i === j ? 1 : alpha);
      });
      const d = Float64Array.from({ length: m * p }, (_, at) => {
        const i = Math.floor(at / p);
        return (root[i] as number) ** 2 * ((columns[at % p] as number[])[rows[i] as number] as number);
      });
      const left = multiply(turned(d, m, p), inverse(v, m), p, m, m);
      const residual = Float64Array.from(rows, (row) => (response[row] as number) - (mu[row] as number));
      return { m, d, left, residual, score: multiply(left, residual, p, m, 1), b: multiply(left, d, p, m, p) };
    });
    const total = pieces.reduce<Float64Array>((sum, { b }) => plus(sum, b), new Float64Array(p * p));
    const equation = pieces.reduce<Float64Array>((sum, { score }) => plus(sum, score), new Float64Array(p));
    expect(Math.max(...equation.map(Math.abs))).toBeLessThan(1e-8);
    expect(fit.convergence.equationNorm).toBeLessThan(1e-8);
    expect(fit.convergence.lastStep).toBeLessThanOrEqual(1e-10);
    const bread = inverse(total, p);
    const meat = pieces.reduce<Float64Array>(
      (sum, { m, d, left, residual }) => {
        // (I − Hᵢ)⁻¹(y − μ), Hᵢ = Dᵢ B⁻¹ DᵢᵀVᵢ⁻¹.
        const h = multiply(multiply(d, bread, m, p, p), left, m, p, m);
        const rest = h.map((value, at) => (at % (m + 1) === 0 ? 1 : 0) - value);
        const moved = correction === 'none' ? residual : multiply(inverse(rest, m), residual, m, m, 1);
        const score = multiply(left, moved, p, m, 1);
        return plus(sum, multiply(score, score, p, 1, p));
      },
      new Float64Array(p * p),
    );
    const sandwich = multiply(multiply(bread, meat, p, p, p), bread, p, p, p);
    const naive = bread.map((value) => value * phi);
    for (let k = 0; k < p * p; k++) {
      expectNear(fit.covariance[k] as number, sandwich[k] as number, 1e-9);
      expectNear(fit.modelBasedCovariance[k] as number, naive[k] as number, 1e-9);
    }
    fit.effects.forEach(({ name, standardError, modelBasedError, value, interval }, k) => {
      expect(name).toBe(['intercept', 'x', 'arm'][k]);
      expectNear(standardError, Math.sqrt(sandwich[k * (p + 1)] as number), 1e-9);
      expectNear(modelBasedError, Math.sqrt(naive[k * (p + 1)] as number), 1e-9);
      const reach = studentT.quantile(0.95, 16 - p) * standardError;
      expectNear(interval.lower, value - reach, 1e-12);
      expectNear(interval.upper, value + reach, 1e-12);
      expect(interval.level).toBe(0.9);
    });
    expect(fit.notes.map(({ code }) => code)).toEqual(['few-patients']);
  });

  it('neither the order of rows nor the names of patients matter', () => {
    const order = clusters.map((_, row) => (row * 7) % n);
    expect(new Set(order).size).toBe(n);
    const fit = logisticGee({ response, effects: { x, arm }, clusters });
    const other = logisticGee({
      response: order.map((row) => response[row] as number),
      effects: { x: order.map((row) => x[row] as number), arm: order.map((row) => arm[row] as number) },
      clusters: order.map((row) => Number((clusters[row] as string).slice(1)) + 100),
    });
    expectAllNear(values(other), values(fit), 1e-10);
    expectAllNear(errors(other), errors(fit), 1e-10);
    const none = logisticGee({ response, effects: { x, one: clusters.map(() => 1) }, intercept: false, clusters });
    expect(none.effects.map(({ name }) => name)).toEqual(['x', 'one']);
  });
});

describe('edges', () => {
  it('says that the correlation found is impossible for so many rows', () => {
    // Every patient 0, 1 alike: pairs are correlated as negatively as pairs can be, and moments overshoot −1.
    const fit = logisticGee({ response: [0, 1, 1, 0, 0, 1, 1, 0], clusters: [1, 1, 2, 2, 3, 3, 4, 4] });
    expect(fit.correlation).toBeLessThan(-1);
    expect(fit.convergence.converged).toBe(false);
    expect(fit.notes.map(({ code }) => code)).toEqual(['impossible-correlation']);
    expect(fit.covariance.every(Number.isNaN)).toBe(true);
    expect(fit.modelBasedCovariance.every(Number.isNaN)).toBe(true);
  });

  it('needs more pairs than effects for a correlation', () => {
    const response = [0, 1, 1, 0, 1, 0, 0, 1];
    const notes = (clusters: number[], x: number[]): string[] =>
      logisticGee({ response, effects: { x }, clusters }).notes.map(({ code }) => code);
    const x = [0, 1, 0, 1, 1, 0, 1, 0.5];
    // Two pairs for two effects, then three.
    expect(notes([1, 1, 2, 2, 3, 4, 5, 6], x)).toEqual(['too-few-pairs', 'few-patients']);
    expect(notes([1, 1, 2, 2, 3, 3, 5, 6], x)).not.toContain('too-few-pairs');
  });

  it('warns below 40 patients, whatever the correction', () => {
    const of = (patients: number, correction: 'none' | 'mancl-derouen'): string[] =>
      logisticGee({
        response: Array.from({ length: 2 * patients }, (_, row) => ((row * row) % 3) % 2),
        clusters: Array.from({ length: 2 * patients }, (_, row) => row % patients),
        correlation: 'independence',
        correction,
      }).notes.map(({ message }) => message);
    expect(of(40, 'none')).toEqual([]);
    expect(of(39, 'none')[0]).toContain('39 patients');
    expect(of(39, 'none')[0]).toContain('no correction was asked for');
    expect(of(39, 'mancl-derouen')[0]).toContain('even when corrected');
  });

  it('names every fault of a problem in order', () => {
    try {
      logisticGee({
        response: [0, 2, 1],
        effects: { intercept: [1, 1, 1], x: [0, Number.NaN, 1] },
        clusters: [1, Number.NaN],
      });
      expect.unreachable();
    } catch (error) {
      expect((error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`)).toEqual([
        'not-binary response',
        'not-finite effects.x',
        'reserved-name effects.intercept',
        'wrong-length clusters',
        'missing-group clusters',
        'too-few-clusters clusters',
      ]);
    }
    for (const part of [{ correlation: 'ar1' }, { correction: 'most' }, { confidenceLevel: 1 }])
      expect(() => logisticGee({ ...problem, ...(part as object) })).toThrowError(InputError);
    for (const gap of [undefined, null])
      expect(() => logisticGee({ response: [0, 1, 1, 0], clusters: [1, 2, 3, gap as unknown as number] })).toThrowError(
        /no patient/,
      );
  });

  it('says that outcomes are separated, and gives no standard errors', () => {
    const fit = logisticGee({
      response: [0, 0, 0, 0, 1, 1, 1, 1],
      effects: { x: [0, 0, 0, 0, 1, 1, 1, 1] },
      clusters: [1, 1, 2, 2, 3, 3, 4, 4],
    });
    expect(fit.convergence.converged).toBe(false);
    expect(fit.notes.map(({ code }) => code)).toEqual(['separated']);
    expect(fit.effects[1]?.standardError).toBeNaN();
  });

  it('uses independence where no patient has two rows, and says so', () => {
    const fit = logisticGee({ ...problem, clusters: data.patient.map((_, row) => row) });
    expect(fit.correlation).toBe(0);
    expect(fit.notes.map(({ code }) => code)).toEqual(['too-few-pairs']);
  });

  it('does not define the correction where one patient carries an effect', () => {
    const clusters = Array.from({ length: 24 }, (_, row) => Math.floor(row / 4));
    const fit = logisticGee({
      response: clusters.map((_, row) => (row * row) % 3),
      effects: { only: clusters.map((patient) => (patient === 0 ? 1 : 0)) },
      clusters,
      correlation: 'independence',
    });
    expect(fit.convergence.converged).toBe(true);
    expect(fit.effects[1]?.standardError).toBeNaN();
    expect(fit.notes.map(({ code }) => code)).toEqual(['one-patient-carries-an-effect', 'few-patients']);
  });

  it.each<[string, Partial<LogisticGeeProblem>, string[]]>([
    ['grades', { response: data.grade }, ['not-binary']],
    ['one outcome', { response: data.grade.map(() => 1) }, ['one-outcome']],
    ['too few patients', { clusters: data.patient.map((_, row) => row % 3) }, ['too-few-clusters']],
    [
      'wrong lengths together',
      { effects: { warm: [1] }, clusters: [1, 2] },
      ['wrong-length', 'wrong-length', 'too-few-clusters'],
    ],
  ])('refuses %s', (_, part, codes) => {
    try {
      logisticGee({ ...problem, ...part });
      expect.unreachable();
    } catch (error) {
      expect(error).toBeInstanceOf(InputError);
      expect((error as InputError).problems.map(({ code }) => code)).toEqual(codes);
    }
  });
});
