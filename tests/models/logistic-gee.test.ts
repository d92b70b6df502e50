import { describe, expect, it } from 'vitest';
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

describe('edges', () => {
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
