import { describe, expect, it } from 'vitest';
import {
  type LinearMixedProblem,
  linearMixedModel,
  linearMixedModelLong,
} from '../../src/models/linear-mixed-model.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { referenceData } from '../support/optional.ts';
import { type ReferenceFits, readReference, readTable } from '../support/reference-fits.ts';
import { SHROUT_FLEISS } from '../support/shrout-fleiss.ts';

const reference = readReference<ReferenceFits>('mixed-ordinal-models.json');
const { data } = reference;

/** Davies & Goldsmith 1972, table 6.3, six batches of dyestuff: yield in grams. */
const DYESTUFF = [
  [1545, 1440, 1440, 1520, 1580],
  [1540, 1555, 1490, 1560, 1495],
  [1595, 1550, 1605, 1510, 1560],
  [1445, 1440, 1595, 1465, 1545],
  [1595, 1630, 1515, 1635, 1625],
  [1520, 1455, 1450, 1480, 1445],
];

/** Bland & Altman, Stat Methods Med Res 1999;8:135–160, doi:10.1177/096228029900800204: RV − IC cardiac output, in hundredths, by subject. */
const CARDIAC = [
  [126, 180, 99, 55, 153],
  [210, 297, 245, 245],
  [4, -26, -22, -24, 4, -25],
  [7, -59, -89, -81, -112],
  [10, 12, 8, 71, 77, 69],
  [2, 61, 22, 51],
  [204, 199, 197, 184],
  [-18, 20, 75, 109, 103, 137],
  [131, 180, 101],
  [-13, 3, 158, 91, 97],
  [-42, -2, -48, -68, -99, -104],
  [56, 52, 110, 100, 70, 60],
];

function oneWay(table: readonly (readonly number[])[]): LinearMixedProblem {
  return {
    response: table.flat(),
    random: [{ name: 'group', groups: table.flatMap((row, group) => row.map(() => group)) }],
  };
}

describe('published examples', () => {
  it('gives the variances of the dyestuff batches', () => {
    const fit = linearMixedModel(oneWay(DYESTUFF));
    expectNear(fit.components[0]?.variance as number, 1764.05, 1e-9);
    expectNear(fit.residual.variance, 2451.25, 1e-9);
    expectNear(fit.criterion, 319.654276842257, 1e-12);
    expectNear(fit.logLikelihood, -319.654276842257 / 2, 1e-12);
    expectNear(fit.fixed[0]?.value as number, 1527.5, 1e-12);
    // The textbook's ML value: (1 − 1/6) of the mean square between, less the mean square within, over 5.
    const full = linearMixedModel({ ...oneWay(DYESTUFF), method: 'ML' });
    expectPrinted(full.components[0]?.variance as number, '1388.3333');
  });

  it('gives the analysis-of-variance components of a balanced two-way table', () => {
    const fit = linearMixedModel({
      response: SHROUT_FLEISS.flat(),
      random: [
        { name: 'target', groups: SHROUT_FLEISS.flatMap((row, target) => row.map(() => target)) },
        { name: 'judge', groups: SHROUT_FLEISS.flatMap((row) => row.map((_, judge) => judge)) },
      ],
    });
    expect(fit.convergence.converged).toBe(true);
    expectNear(fit.components[0]?.variance as number, 2.5555555555555567, 1e-9);
    expectNear(fit.components[1]?.variance as number, 5.244444444444445, 1e-9);
    expectNear(fit.residual.variance, 1.019444444444442, 1e-9);
  });

  it('gives the limits of agreement of replicated pairs with unequal numbers', () => {
    const fit = linearMixedModel(oneWay(CARDIAC.map((row) => row.map((value) => value / 100))));
    expectNear(fit.components[0]?.variance as number, 0.8728062654082298, 1e-9);
    expectNear(fit.residual.variance, 0.17080225107351682, 1e-9);
    const bias = fit.fixed[0]?.value as number;
    const deviation = Math.sqrt((fit.components[0]?.variance as number) + fit.residual.variance);
    expectNear(bias, 0.7045210098590144, 1e-9);
    expectNear(bias - 1.96 * deviation, -1.2977593094060673, 1e-9);
    expectNear(bias + 1.96 * deviation, 2.7068013291240964, 1e-9);
  });
});

describe('degrees of freedom of fixed effects', () => {
  // The curvature of the criterion comes from differences of its gradient.
  const digits = 5e-6;

  it('are the groups less one for the mean of a balanced one-way table, and the interval is by t', () => {
    const [mean] = linearMixedModel(oneWay(DYESTUFF)).fixed;
    expectNear(mean!.degreesOfFreedom, 5, digits);
    // Table of t, 5 degrees of freedom, 5 % on both sides: 2.571 (from memory), here to all digits.
    const reach = 2.570581835636314 * mean!.standardError;
    expectNear(mean!.interval.lower, 1527.5 - reach, digits);
    expectNear(mean!.interval.upper, 1527.5 + reach, digits);
    expect(mean!.interval.level).toBe(0.95);
    expect(mean!.interval.method).toBe('t with 5.0 degrees of freedom (Satterthwaite)');
    const [narrow] = linearMixedModel({ ...oneWay(DYESTUFF), confidenceLevel: 0.5 }).fixed;
    // t of 5 degrees of freedom, upper quarter: .7267 (the same table).
    expect((narrow!.interval.upper - 1527.5) / narrow!.standardError).toBeCloseTo(0.7267, 4);
  });

  it('are those of the mean squares behind an effect of balanced data: patients, limbs, or readings', () => {
    // Twelve patients, two limbs, four readings: a treatment of patients, a side, an hour.
    const random = seededRandom(5);
    const rows = {
      patient: [] as number[],
      limb: [] as number[],
      treated: [] as number[],
      left: [] as number[],
      late: [] as number[],
      response: [] as number[],
    };
    for (let patient = 0; patient < 12; patient++) {
      const own = 2 * random.normal();
      for (let limb = 0; limb < 2; limb++) {
        const ofLimb = 1.5 * random.normal();
        for (let reading = 0; reading < 4; reading++) {
          rows.patient.push(patient);
          rows.limb.push(2 * patient + limb);
          rows.treated.push(patient % 2);
          rows.left.push(limb);
          rows.late.push(reading % 2);
          rows.response.push(own + ofLimb + random.normal());
        }
      }
    }
    const { fixed, components } = linearMixedModel({
      response: rows.response,
      fixed: { treated: rows.treated, left: rows.left, late: rows.late },
      random: [
        { name: 'patient', groups: rows.patient },
        { name: 'limb', groups: rows.limb },
      ],
    });
    expect(components.every(({ variance }) => variance > 0.1)).toBe(true);
    const degrees = Object.fromEntries(fixed.map(({ name, degreesOfFreedom }) => [name, degreesOfFreedom]));
    expectNear(degrees.treated!, 12 - 2, digits);
    expectNear(degrees.left!, 12 - 1, digits);
    expectNear(degrees.late!, 96 - 24 - 1, digits);
  });

  it('refuses a confidence level that is none', () => {
    expect(() => linearMixedModel({ ...oneWay(DYESTUFF), confidenceLevel: 95 })).toThrowError(InputError);
  });

  it('leave out a variance that is zero', () => {
    const [mean] = linearMixedModel({
      response: [1, 2, 3, 4, 1.1, 1.9, 3.1, 3.9, 0.9, 2.1, 2.9, 4.1],
      random: [{ name: 'group', groups: [1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3] }],
    }).fixed;
    expectNear(mean!.degreesOfFreedom, 11, digits);
  });
});

describe('the reference program on crossed, nested and sloped terms with gaps', () => {
  const patient = { name: 'patient', groups: data.patient };
  const crossed = {
    response: data.length,
    fixed: { warm: data.warm, day: data.day },
    random: [
      patient,
      { name: 'limb', groups: data.limb, within: 'patient' },
      { name: 'assessor', groups: data.assessor },
    ],
  };
  const sloped = {
    ...crossed,
    random: [
      { ...patient, slope: { name: 'day', values: data.day } },
      { name: 'assessor', groups: data.assessor },
    ],
  };

  // lme4 1.1-31 stops where its own search does: variances agree to its tolerance, the criterion to 1e-6 and better.
  it.each(['REML', 'ML'] as const)('crossed and nested intercepts, %s', (method) => {
    const expected = reference.linear[`crossed${method}`];
    const fit = linearMixedModel({ ...crossed, method });
    expect(fit.convergence).toMatchObject({ converged: true, hessianPositiveDefinite: true });
    expectNear(fit.criterion, expected.criterion, 1e-9);
    expect(fit.criterion).toBeLessThanOrEqual(expected.criterion + 1e-9);
    expectAllNear(
      fit.fixed.map(({ value }) => value),
      expected.fixed,
      1e-6,
    );
    expectAllNear(
      fit.fixed.map(({ standardError }) => standardError),
      expected.fixedErrors,
      1e-5,
    );
    // lmerTest 3.1-3 takes its curvature from differences.
    expectAllNear(
      fit.fixed.map(({ degreesOfFreedom }) => degreesOfFreedom),
      expected.fixedDegrees,
      1e-3,
    );
    const { P, L, A } = expected.covariances;
    expectAllNear(
      fit.components.map(({ variance }) => variance),
      [P as number, L as number, A as number],
      3e-5,
    );
    expectNear(fit.residual.variance, expected.residual, 1e-5);
    expect(fit.counts).toEqual({ rows: 146, groups: { patient: 30, limb: 60, assessor: 5 } });
    const effects = fit.effects.assessor;
    const order = [1, 2, 3, 4, 5].map((assessor) => effects?.levels.indexOf(assessor) as number);
    expectAllNear(
      order.map((at) => effects?.intercepts[at] as number),
      expected.firstEffects.A as number[],
      1e-5,
    );
    expectAllNear(
      order.map((at) => effects?.interceptDeviations[at] as number),
      expected.firstDeviations.A as number[],
      1e-5,
    );
  });

  it.each(['REML', 'ML'] as const)('a slope correlated with its intercept, %s', (method) => {
    const expected = reference.linear[`sloped${method}`];
    const fit = linearMixedModel({ ...sloped, method });
    expect(fit.convergence.converged).toBe(true);
    expectNear(fit.criterion, expected.criterion, 1e-9);
    expectAllNear(
      fit.fixed.map(({ value }) => value),
      expected.fixed,
      1e-6,
    );
    expectAllNear(
      fit.fixed.map(({ degreesOfFreedom }) => degreesOfFreedom),
      expected.fixedDegrees,
      1e-3,
    );
    const [variance, covariance, slopeVariance] = expected.covariances.P as number[];
    const component = fit.components[0];
    expectNear(component?.variance as number, variance as number, 3e-5);
    expectNear(component?.slope?.covariance as number, covariance as number, 1e-6);
    expectNear((component?.slope?.variance as number) * 1e4, (slopeVariance as number) * 1e4, 1e-4);
    const effects = fit.effects.patient;
    const order = Array.from({ length: 30 }, (_, at) => effects?.levels.indexOf(at + 1) as number);
    expectAllNear(
      order.map((at) => effects?.intercepts[at] as number),
      expected.firstEffects.P as number[],
      2e-5,
    );
    expectAllNear(
      order.map((at) => effects?.interceptDeviations[at] as number),
      expected.firstDeviations.P as number[],
      2e-5,
    );
    // A slope is about .01 a day: compared in hundredths.
    const hundred = (values: ArrayLike<number>): number[] => Array.from(values, (value) => 100 * value);
    expectAllNear(hundred(order.map((at) => effects?.slopes?.[at] as number)), hundred(expected.slopes), 2e-5);
    expectAllNear(
      hundred(order.map((at) => effects?.slopeDeviations?.[at] as number)),
      hundred(expected.slopeDeviations),
      2e-5,
    );
  });

  it('counts its parameters, and each variance has the error that its covariance says', () => {
    const plain = linearMixedModel(crossed);
    expect(plain.parameters).toBe(3 + 3 + 1);
    const diagonal = (fit: typeof plain, at: number): number =>
      Math.sqrt(fit.componentCovariance[at * (Math.sqrt(fit.componentCovariance.length) + 1)]!);
    expect(plain.components.map(({ standardError }) => standardError)).toEqual(
      [0, 1, 2].map((at) => diagonal(plain, at)),
    );
    expect(plain.residual.standardError).toBe(diagonal(plain, 3));
    const withSlope = linearMixedModel(sloped);
    expect(withSlope.parameters).toBe(3 + 4 + 1);
    const [own, assessor] = withSlope.components;
    expect(own!.standardError).toBe(diagonal(withSlope, 0));
    expect(own!.slope!.standardError).toBe(diagonal(withSlope, 2));
    expect(assessor!.standardError).toBe(diagonal(withSlope, 3));
    expect(new Set([0, 1, 2, 3, 4].map((at) => diagonal(withSlope, at))).size).toBe(5);
  });

  it('does not mind the unit of the slope, the order of rows or where zero lies', () => {
    const fit = linearMixedModel(sloped);
    const years = data.day.map((day) => day / 365.25);
    const inYears = linearMixedModel({
      ...sloped,
      fixed: { warm: data.warm, year: years },
      random: [{ ...patient, slope: { name: 'year', values: years } }, ...sloped.random.slice(1)],
    });
    // REML depends on the unit of a fixed column by ln of its scale, twice.
    expectNear(inYears.criterion + 2 * Math.log(365.25), fit.criterion, 1e-9);
    expectNear(inYears.components[0]?.variance as number, fit.components[0]?.variance as number, 1e-6);
    const back = <T>(list: readonly T[]): T[] => [...list].reverse();
    const reversed = linearMixedModel({
      response: back(data.length).map((value) => value + 1e6),
      fixed: { warm: back(data.warm), day: back(data.day) },
      random: [
        { name: 'patient', groups: back(data.patient), slope: { name: 'day', values: back(data.day) } },
        { name: 'assessor', groups: back(data.assessor) },
      ],
    });
    expectNear(reversed.criterion, fit.criterion, 1e-9);
    expectNear(reversed.components[1]?.variance as number, fit.components[1]?.variance as number, 1e-6);
  });

  it('gives large-sample errors that match differences of the criterion', () => {
    // Balanced one-way layout: var(residual variance) = 2σ⁴/(n − k) exactly.
    const fit = linearMixedModel(oneWay(DYESTUFF));
    expectNear(fit.residual.standardError, Math.sqrt(2 / 24) * 2451.25, 1e-6);
    // Variance between: var = (2/m²)(MSB²/(k − 1) + MSW²/(n − k)).
    const between = 5 * 1764.05 + 2451.25;
    expectNear(
      fit.components[0]?.standardError as number,
      Math.sqrt((2 / 25) * (between ** 2 / 5 + 2451.25 ** 2 / 24)),
      1e-6,
    );
  });
});

describe('data beside the checkout', () => {
  const folder = referenceData();

  it.runIf(folder !== undefined)('sleep deprivation: random slope and intercept', () => {
    const table = readTable(`${folder}data/sleepstudy.csv`);
    const days = (table.Days as string[]).map(Number);
    const problem: LinearMixedProblem = {
      response: (table.Reaction as string[]).map(Number),
      fixed: { days },
      random: [{ name: 'subject', groups: table.Subject as string[], slope: { name: 'days', values: days } }],
    };
    const fit = linearMixedModel(problem);
    expectAllNear(
      fit.fixed.map(({ value }) => value),
      [251.405104848484, 10.4672859595959],
      1e-7,
    );
    expectAllNear(
      fit.fixed.map(({ standardError }) => standardError),
      [6.82455577032695, 1.54578893547556],
      1e-4,
    );
    expectNear(fit.criterion, 1743.62827195849, 1e-6 / 1743);
    expectNear(fit.components[0]?.standardDeviation as number, 24.7404475872924, 1e-4);
    expectNear(fit.components[0]?.slope?.standardDeviation as number, 5.92213330390798, 1e-4);
    expectNear(fit.components[0]?.slope?.correlation as number, 0.065551333526992, 1e-4);
    expectNear(fit.residual.standardDeviation, 25.5918158922605, 1e-4);
    expectNear(linearMixedModel({ ...problem, method: 'ML' }).criterion, 1751.9393444632, 1e-6 / 1751);
    const intercepts = linearMixedModel({
      ...problem,
      random: [{ name: 'subject', groups: table.Subject as string[] }],
    });
    expectNear(intercepts.criterion, 1786.46508539492, 1e-9);
    expectNear(intercepts.components[0]?.standardDeviation as number, 37.1238267667686, 1e-5);
    expectNear(intercepts.residual.standardDeviation, 30.9912338986441, 1e-5);
    expectAllNear(
      intercepts.fixed.map(({ standardError }) => standardError),
      [9.74671626920939, 0.80422142894524],
      1e-5,
    );
  });

  it.runIf(folder !== undefined)('growth of the jaw: intercepts by child', () => {
    const table = readTable(`${folder}data/orthodont.csv`);
    const age = (table.age as string[]).map(Number);
    const girl = (table.Sex as string[]).map((sex) => (sex === 'Female' ? 1 : 0));
    const fit = linearMixedModel({
      response: (table.distance as string[]).map(Number),
      fixed: { age, girl, both: age.map((value, row) => value * (girl[row] as number)) },
      random: [{ name: 'child', groups: table.Subject as string[] }],
    });
    expectAllNear(
      fit.fixed.map(({ value }) => value),
      [16.340625, 0.784375, 1.03210227272727, -0.304829545454545],
      1e-9,
    );
    expectAllNear(
      fit.fixed.map(({ standardError }) => standardError),
      [0.981312236680399, 0.0775011049176894, 1.5374208052977, 0.121420896102432],
      1e-5,
    );
    expectPrinted(fit.components[0]?.standardDeviation as number, '1.816214');
    expectNear(fit.residual.standardDeviation, 1.38638191141837, 1e-5);
    expectNear(fit.logLikelihood, -216.878624600568, 1e-9);
  });
});

describe('the edge of the possible', () => {
  it('says that a variance is zero, and gives the criterion of the model without it', () => {
    const { group, y, criterion } = reference.linear.edge;
    const fit = linearMixedModel({ response: y, random: [{ name: 'group', groups: group }] });
    expect(fit.components[0]).toMatchObject({ variance: 0, onBoundary: true, standardError: Number.NaN });
    expect(fit.convergence.converged).toBe(true);
    expect(fit.notes.map(({ code }) => code)).toEqual(['variance-at-zero']);
    expectNear(fit.criterion, criterion, 1e-9);
    const mean = y.reduce((sum, value) => sum + value, 0) / y.length;
    expectNear(fit.residual.variance, y.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (y.length - 1), 1e-12);
  });

  it('says that intercept and slope are perfectly correlated', () => {
    const random = seededRandom(11);
    const patient: number[] = [];
    const day: number[] = [];
    const response: number[] = [];
    for (let p = 0; p < 12; p++) {
      const own = random.normal();
      for (let t = 0; t < 3; t++) {
        patient.push(p);
        day.push(t);
        response.push(own * (1 + 0.5 * t) + 0.5 * random.normal());
      }
    }
    const fit = linearMixedModel({
      response,
      fixed: { day },
      random: [{ name: 'patient', groups: patient, slope: { name: 'day', values: day } }],
    });
    expect(fit.convergence.converged).toBe(true);
    expect(fit.notes.map(({ code }) => code)).toEqual(['correlation-at-one']);
    expect(Math.abs(fit.components[0]?.slope?.correlation as number)).toBe(1);
    expect(fit.components[0]?.onBoundary).toBe(true);
  });

  it('does not call a model converged that leaves no residual', () => {
    const fit = linearMixedModel({
      response: [1, 1, 2, 2, 5, 5],
      random: [{ name: 'patient', groups: [1, 1, 2, 2, 3, 3] }],
    });
    expect(fit.convergence.converged).toBe(false);
    expect(fit.notes.map(({ code }) => code)).toEqual(['no-residual-variance']);
    for (const { degreesOfFreedom, interval } of fit.fixed) {
      expect([degreesOfFreedom, interval.lower, interval.upper]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
      expect(interval.method).toBe('t, degrees of freedom not defined');
    }
  });

  it('recovers a variance 10⁸ times that of the residual', () => {
    const random = seededRandom(3);
    const groups = Array.from({ length: 400 }, (_, row) => Math.floor(row / 4));
    const own = Array.from({ length: 100 }, () => random.normal());
    const noise = groups.map(() => random.normal());
    const response = groups.map((group, row) => 1e4 * (own[group] as number) + (noise[row] as number));
    const fit = linearMixedModel({ response, random: [{ name: 'g', groups }] });
    // var(own) of these 100 draws, as estimated without noise in the limit.
    const mean = own.reduce((sum, value) => sum + value, 0) / 100;
    const exact = own.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 99;
    expect(fit.convergence.converged).toBe(true);
    expectNear((fit.components[0]?.variance as number) / 1e8, exact, 1e-3);
  });
});

describe('recovery', () => {
  it('is right on average: 300 studies of 20 patients, two limbs each, crossed with 4 assessors', () => {
    const truth = { patient: 1, limb: 0.5, assessor: 0.25, residual: 0.6 };
    const sums = new Map<string, { sum: number; squares: number }>();
    const studies = 300;
    for (let study = 0; study < studies; study++) {
      const random = seededRandom(71, study);
      const draw = (count: number, variance: number): number[] =>
        Array.from({ length: count }, () => Math.sqrt(variance) * random.normal());
      const [patients, limbs, assessors] = [draw(20, truth.patient), draw(40, truth.limb), draw(4, truth.assessor)];
      const rows = Array.from({ length: 160 }, (_, row) => ({ limb: row >> 2, assessor: row & 3 }));
      const fit = linearMixedModel({
        response: rows.map(
          ({ limb, assessor }) =>
            (patients[limb >> 1] as number) +
            (limbs[limb] as number) +
            (assessors[assessor] as number) +
            Math.sqrt(truth.residual) * random.normal(),
        ),
        random: [
          { name: 'patient', groups: rows.map(({ limb }) => limb >> 1) },
          { name: 'limb', groups: rows.map(({ limb }) => limb & 1), within: 'patient' },
          { name: 'assessor', groups: rows.map(({ assessor }) => assessor) },
        ],
      });
      expect(fit.convergence.converged).toBe(true);
      for (const [name, value] of [
        ...fit.components.map(({ term, variance }) => [term, variance] as const),
        ['residual', fit.residual.variance] as const,
      ]) {
        const seen = sums.get(name) ?? { sum: 0, squares: 0 };
        sums.set(name, { sum: seen.sum + value, squares: seen.squares + value * value });
      }
    }
    for (const [name, { sum, squares }] of sums) {
      const mean = sum / studies;
      const error = Math.sqrt((squares / studies - mean ** 2) / studies);
      // REML is unbiased in a balanced layout but for the few studies cut off at zero; 4 Monte Carlo errors.
      expect(Math.abs(mean - truth[name as keyof typeof truth]), name).toBeLessThan(4 * error);
    }
  });
});

describe('awaited', () => {
  const problem: LinearMixedProblem = {
    response: data.length,
    fixed: { warm: data.warm },
    random: [
      { name: 'patient', groups: data.patient },
      { name: 'assessor', groups: data.assessor },
    ],
  };

  it('gives the same digits and reports', async () => {
    const shares: number[] = [];
    const fit = await linearMixedModelLong(problem, { progress: (share) => shares.push(share) });
    expect(fit).toEqual(linearMixedModel(problem));
    expect(shares.length).toBeGreaterThan(2);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
  });

  it('stops when asked, and says that it did not arrive', async () => {
    const controller = new AbortController();
    const fit = await linearMixedModelLong(problem, {
      signal: controller.signal,
      progress: (share) => share > 0 && controller.abort(),
    });
    expect(fit.convergence).toMatchObject({ converged: false, stoppedBy: 'signal' });
    expect(fit.notes.map(({ code }) => code)).toEqual(['not-converged']);
    expect(fit.residual.standardError).toBeNaN();
  });
});

describe('what is refused', () => {
  const codes = (problem: LinearMixedProblem): string[] => {
    try {
      linearMixedModel(problem);
    } catch (error) {
      if (error instanceof InputError) return error.problems.map(({ code }) => code);
      throw error;
    }
    return [];
  };
  const groups = [1, 1, 2, 2, 3, 3];
  const response = [1, 2, 3, 4, 5, 7];

  it.each<[string, LinearMixedProblem, string[]]>([
    ['no random term', { response, random: [] }, ['no-random-term']],
    [
      'several faults at once',
      {
        response: [1, Number.NaN, 3, 4, 5, 6],
        fixed: { day: [1, 2] },
        random: [{ name: 'a', groups: [1, 1, 1, 1, 1, 1] }],
      },
      ['not-finite', 'wrong-length', 'one-group'],
    ],
    ['a group for every row', { response, random: [{ name: 'a', groups: [1, 2, 3, 4, 5, 6] }] }, ['one-row-a-group']],
    [
      'the same groups twice',
      {
        response,
        random: [
          { name: 'a', groups },
          { name: 'b', groups: groups.map((g) => `x${g}`) },
        ],
      },
      ['same-groups'],
    ],
    ['an unknown outer term', { response, random: [{ name: 'a', groups, within: 'b' }] }, ['unknown-term']],
    [
      'a fixed column that is constant',
      { response, fixed: { one: [2, 2, 2, 2, 2, 2] }, random: [{ name: 'a', groups }] },
      ['collinear-column'],
    ],
    [
      'a response without variation',
      { response: [3, 3, 3, 3, 3, 3], random: [{ name: 'a', groups }] },
      ['no-variation'],
    ],
    [
      'as many rows as one effect and two variances',
      { response: [1, 2, 4], random: [{ name: 'a', groups: [1, 1, 2] }] },
      [],
    ],
    ['two rows', { response: [1, 2], random: [{ name: 'a', groups: [1, 2] }] }, ['one-row-a-group', 'too-few-rows']],
    ['tiny data', { response: [1, 2], random: [{ name: 'a', groups: [1, 1] }] }, ['one-group', 'too-few-rows']],
    [
      'a constant slope',
      { response, random: [{ name: 'a', groups, slope: { name: 's', values: [1, 1, 1, 1, 1, 1] } }] },
      ['constant-slope'],
    ],
    [
      'one name for two terms',
      {
        response,
        random: [
          { name: 'a', groups },
          { name: 'a', groups: [1, 2, 1, 2, 1, 2] },
        ],
      },
      ['repeated-name'],
    ],
    [
      'a row without a group',
      { response, random: [{ name: 'a', groups: [1, 1, 2, 2, 3, Number.NaN] }] },
      ['missing-group'],
    ],
  ])('%s', (_, problem, expected) => {
    expect(codes(problem)).toEqual(expected);
  });

  it('the example of the docstring', () => {
    const fit = linearMixedModel({
      response: [1, 2, 3, 4, 5, 6],
      random: [{ name: 'patient', groups: [1, 1, 2, 2, 3, 3] }],
    });
    expectNear(fit.components[0]?.variance as number, 3.75, 1e-9);
  });
});
