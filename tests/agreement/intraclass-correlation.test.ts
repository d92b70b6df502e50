import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import {
  type IntraclassCorrelationOptions,
  intraclassAnalysis,
  intraclassCorrelation,
} from '../../src/agreement/intraclass-correlation.ts';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { fisherF } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { exactF, NIST_ONE_WAY } from '../support/nist-one-way.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';
import { restrictedCriterion } from '../support/restricted-criterion.ts';
import { meanSquares, SHROUT_FLEISS } from '../support/shrout-fleiss.ts';

const FORMS: Readonly<Record<string, IntraclassCorrelationOptions>> = {
  ICC1: { model: 'one-way', unit: 'single' },
  ICC2: { model: 'two-way', definition: 'agreement', unit: 'single' },
  ICC3: { model: 'two-way', definition: 'consistency', unit: 'single' },
  ICC1k: { model: 'one-way', unit: 'average' },
  ICC2k: { model: 'two-way', definition: 'agreement', unit: 'average' },
  ICC3k: { model: 'two-way', definition: 'consistency', unit: 'average' },
};

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^icc-sf1979-ICC/))
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance, parameters } = one;
      const estimate = intraclassCorrelation(ratingsOfCase(one), {
        ...FORMS[parameters.form]!,
        interval: 'asymptotic',
      });
      expectNear(estimate.value, expected.icc, tolerance);
      expectNear(estimate.interval.lower, expected.lower, tolerance);
      expectNear(estimate.interval.upper, expected.upper, tolerance);
      expectNear(estimate.details.targetMeanSquare!, expected.MSR, tolerance);
      expectNear(estimate.details.withinMeanSquare!, expected.MSW, tolerance);
      expectNear(estimate.details.f!, expected.F, tolerance);
      expect(estimate.details.denominatorDegrees).toBe(expected.df2);
      if (estimate.details.assessorMeanSquare === undefined) return;
      expectNear(estimate.details.assessorMeanSquare, expected.MSC, tolerance);
      expectNear(estimate.details.residualMeanSquare!, expected.MSE, tolerance);
    });

  for (const one of [...publishedCases('agreement', /^icc-all-/), ...casesBeside('agreement', /^icc-all-/)])
    it(`${one.id}: ${one.source}`, () => {
      for (const [form, options] of Object.entries(FORMS)) {
        const { value, interval } = intraclassCorrelation(ratingsOfCase(one), { ...options, interval: 'asymptotic' });
        expectNear(value, one.expected[`${form}_est`], one.tolerance);
        expectNear(interval.lower, one.expected[`${form}_lo`], one.tolerance);
        expectNear(interval.upper, one.expected[`${form}_hi`], one.tolerance);
      }
    });

  // Table 4 of Shrout and Fleiss 1979, doi:10.1037/0033-2909.86.2.420 (printed digits from memory).
  it('prints .17, .29, .71, .44, .62 and .91 as the paper does', () => {
    const printed = { ICC1: '0.17', ICC2: '0.29', ICC3: '0.71', ICC1k: '0.44', ICC2k: '0.62', ICC3k: '0.91' };
    for (const [form, text] of Object.entries(printed))
      expectPrinted(intraclassCorrelation(ratingsOf(SHROUT_FLEISS), FORMS[form]!).value, text);
  });

  for (const one of casesBeside('agreement', /^icc-reml-dyestuff/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = intraclassCorrelation(ratingsOfCase(one), FORMS.ICC1!);
      expectNear(value, one.expected.anovaICC, 1e-9);
      expectNear(details.targetVariance!, one.expected.between, 1e-9);
      expectNear(details.withinVariance!, one.expected.within, 1e-9);
    });
});

describe('NIST one-way sets', () => {
  const one = FORMS.ICC1!;
  for (const { name, difficulty, groups, certifiedF } of NIST_ONE_WAY)
    if (difficulty !== 'higher')
      it(`${name} (${difficulty}): certified F to nine digits, and the coefficient that F implies`, () => {
        const { value, details } = intraclassCorrelation(ratingsOf(groups), { ...one, interval: 'asymptotic' });
        expect(Math.abs(details.f! / certifiedF - 1)).toBeLessThan(1e-9);
        const m = groups[0]!.length;
        expectNear(value, (certifiedF - 1) / (certifiedF + m - 1), 1e-9);
      });

  // 10¹² + 0.4 is stored to the nearest double, up to 6·10⁻⁵ off: the numbers themselves have another F than the certified one.
  for (const { name, difficulty, groups, certifiedF } of NIST_ONE_WAY)
    if (difficulty === 'higher')
      it(`${name} (higher): F of the stored doubles to twelve digits; they are within 0.2 % of the certified F`, () => {
        const { details } = intraclassCorrelation(ratingsOf(groups), { ...one, interval: 'asymptotic' });
        const stored = exactF(groups, 13);
        expect(Math.abs(details.f! / stored - 1)).toBeLessThan(1e-12);
        expect(Math.abs(stored / certifiedF - 1)).toBeLessThan(2e-3);
        expect(Math.abs(stored / certifiedF - 1)).toBeGreaterThan(1e-9);
      });
});

// lme4 1.1-31 (R 4.2.2), lmer with crossed random intercepts, REML, on the table below: tests/reference/two_way_gaps.R.
const LME4_GAPS = { target: 2.64899598104, assessor: 5.2233453532, residual: 1.42163057535 };

describe('gaps', () => {
  const rows = [
    [9, 2, null, 8],
    [6, 1, 3, 2],
    [8, null, 6, 8],
    [7, 1, 2, null],
    [10, 5, 6, 9],
    [6, null, null, 7],
  ];
  it('gives the restricted likelihood of the reference program', () => {
    const { details } = intraclassCorrelation(ratingsOf(rows), FORMS.ICC2!);
    expectNear(details.targetVariance!, LME4_GAPS.target, 1e-5);
    expectNear(details.assessorVariance!, LME4_GAPS.assessor, 1e-5);
    expectNear(details.residualVariance!, LME4_GAPS.residual, 1e-5);
  });

  it('equals the general mixed model on rows (second formula)', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.array(fc.option(fc.integer({ min: 0, max: 20 }), { nil: null, freq: 4 }), { minLength: 3, maxLength: 3 }),
          { minLength: 6, maxLength: 15 },
        ),
        (given) => {
          const response: number[] = [];
          const target: number[] = [];
          const assessor: number[] = [];
          for (const [at, row] of given.entries()) {
            for (const [column, x] of row.entries()) {
              if (x === null) continue;
              response.push(x);
              target.push(at);
              assessor.push(column);
            }
          }
          const enough =
            new Set(assessor).size === 3 && new Set(target).size >= 4 && response.length >= new Set(target).size + 4;
          fc.pre(enough && given.flat().includes(null) && new Set(response).size > 3);
          const { details } = intraclassCorrelation(ratingsOf(given), FORMS.ICC2!);
          const own = [details.targetVariance!, details.assessorVariance!, details.residualVariance!] as const;
          fc.pre(own.every((variance) => !Number.isNaN(variance)));
          const fit = linearMixedModel({
            response,
            random: [
              { name: 'target', groups: target },
              { name: 'assessor', groups: assessor },
            ],
          });
          const general = [fit.components[0]!.variance, fit.components[1]!.variance, fit.residual.variance] as const;
          const all = own[0] + own[1] + own[2];
          if (own.every((variance, at) => Math.abs(variance - general[at]!) < 1e-5 * all)) return;
          // The likelihood can have two maxima: then ours must be the higher one.
          const criterion = (of: readonly [number, number, number]): number =>
            restrictedCriterion(response, target, assessor, of);
          expect(criterion(own)).toBeLessThan(criterion(general));
        },
      ),
      { numRuns: 40 },
    );
  });

  it('is continuous with the analysis of variance: no gap is the same as complete data', () => {
    const complete = intraclassCorrelation(ratingsOf(SHROUT_FLEISS), FORMS.ICC2!).value;
    // A seventh row that nobody read is no gap; a seventh that one assessor read makes it the likelihood's.
    expect(intraclassCorrelation(ratingsOf([...SHROUT_FLEISS, [null, null, null, null]]), FORMS.ICC2!).value).toBe(
      complete,
    );
    const notes = intraclassCorrelation(ratingsOf([...SHROUT_FLEISS, [8, null, null, null]]), FORMS.ICC2!).notes;
    expect(notes.map((note) => note.code)).toContain('gaps');
  });

  it('has a patient-jackknife interval, and a bootstrap when asked; F intervals are refused', () => {
    const clusters = rows.map((_, at) => at);
    const estimate = intraclassCorrelation(ratingsOf(rows, { clusters }), FORMS.ICC2!);
    expect(estimate.interval.method).toMatch(/jackknife/);
    expect(estimate.interval.lower).toBeLessThan(estimate.value);
    expect(estimate.interval.upper).toBeGreaterThan(estimate.value);
    const bootstrap = intraclassCorrelation(ratingsOf(rows, { clusters }), {
      ...FORMS.ICC2!,
      interval: 'bootstrap',
      replicates: 200,
    });
    expect(bootstrap.interval.method).toMatch(/bootstrap|jackknife/);
    expect(() => intraclassCorrelation(ratingsOf(rows), { ...FORMS.ICC2!, interval: 'asymptotic' })).toThrow(
      /need every reading/,
    );
  });
});

describe('gaps where nothing is left', () => {
  it('gives 1 where assessors agree throughout', () => {
    const rows = [
      [1, 1, null],
      [4, 4, 4],
      [null, 6, 6],
      [2, null, 2],
    ];
    const { value, details } = intraclassCorrelation(ratingsOf(rows), FORMS.ICC2!);
    expect(value).toBe(1);
    // Variance of 1, 4, 6, 2.
    expect(details.targetVariance).toBeCloseTo(59 / 12, 12);
  });

  it('is not defined where targets and assessors explain every reading: the likelihood has no maximum', () => {
    const rows = [
      [2, null, null],
      [1, 1, 0],
      [null, null, 2],
      [1, null, null],
      [null, 2, 1],
      [1, 1, 0],
    ];
    expect(intraclassCorrelation(ratingsOf(rows), FORMS.ICC2!).value).toBeNaN();
  });

  it('finds the higher of two maxima', () => {
    // The other one, at variances .42, .48 and .11, has a criterion .43 higher.
    const rows = [
      [1, 1, null],
      [0, null, null],
      [0, null, null],
      [0, 0, null],
      [1, 1, 0],
      [2, null, 0],
    ];
    const { details } = intraclassCorrelation(ratingsOf(rows), FORMS.ICC2!);
    expect(details.targetVariance).toBe(0);
    expect(details.residualVariance).toBeCloseTo(0.472727, 5);
  });
});

describe('unequal numbers of readings, one-way', () => {
  // Snedecor and Cochran's n₀ written out: N = 9, sizes 2, 3, 4, n₀ = (9 − 29/9)/2; mean squares by hand below.
  it('uses n₀, not the mean number', () => {
    const rows = [
      [1, 3, null, null],
      [4, 5, 6, null],
      [8, 8, 9, 7],
    ];
    const { details, value } = intraclassCorrelation(ratingsOf(rows), FORMS.ICC1!);
    // Means 2, 5, 8; grand mean 51/9; between 2(2 − 17/3)² + 3(5 − 17/3)² + 4(8 − 17/3)²; within 2 + 2 + 2.
    const between = (2 * (11 / 3) ** 2 + 3 * (2 / 3) ** 2 + 4 * (7 / 3) ** 2) / 2;
    const n0 = (9 - 29 / 9) / 2;
    expectNear(details.targetMeanSquare!, between, 1e-12);
    expectNear(details.effectiveReadings!, n0, 1e-12);
    expectNear(value, (between - 1) / (between - 1 + n0), 1e-12);
  });

  it('says that the F interval is approximate', () => {
    const rows = [
      [1, 3],
      [4, null],
      [8, 8],
    ];
    const codes = intraclassCorrelation(ratingsOf(rows), FORMS.ICC1!).notes.map((note) => note.code);
    expect(codes).toContain('unequal-readings');
  });
});

describe('laws', () => {
  const rows = fc.array(fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 3, maxLength: 3 }), {
    minLength: 4,
    maxLength: 20,
  });
  const values = (given: readonly (readonly (number | null)[])[]): number[] =>
    Object.values(FORMS).map((form) => intraclassCorrelation(ratingsOf(given), form).value);
  const alike = (a: number[], b: number[], digits = 9): void => {
    for (const [at, value] of a.entries()) {
      if (Number.isNaN(value)) expect(b[at]).toBeNaN();
      else expectNear(b[at]!, value, 10 ** -digits);
    }
  };

  it('does not change with shift, scale, order of targets or order of assessors', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const plain = values(given);
        alike(plain, values(given.map((row) => row.map((x) => 7 - 2.5 * x))));
        alike(plain, values([...given].reverse()));
        alike(plain, values(given.map((row) => [...row].reverse())));
      }),
    );
  });

  it('is not moved by an offset of a thousand million', () => {
    const given = [
      [1.25, 1.5, 1.75],
      [2.5, 2.25, 3],
      [4, 4.5, 4.25],
      [0.5, 1, 0.25],
      [3, 3.5, 2.75],
    ];
    // Quarters stay exact at 10⁹, so nothing but the arithmetic could move the figures.
    alike(values(given), values(given.map((row) => row.map((x) => x + 1e9))), 12);
    const gap = given.map((row, at) => (at === 1 ? [null, ...row.slice(1)] : row));
    alike(values(gap), values(gap.map((row) => row.map((x) => (x === null ? null : x + 1e9)))), 8);
  });

  it('agreement is at most consistency when assessors differ, and one-way at most agreement', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const [oneWay, agreement, consistency] = values(given);
        if ([oneWay, agreement, consistency].some((value) => Number.isNaN(value)) || !(consistency! > 0)) return;
        const { details } = intraclassCorrelation(ratingsOf(given), FORMS.ICC2!);
        if (!(details.assessorVariance! >= 0)) return;
        expect(agreement!).toBeLessThanOrEqual(consistency! + 1e-12);
        expect(oneWay!).toBeLessThanOrEqual(agreement! + 1e-12);
      }),
    );
  });

  it('tends to the quadratic kappa of the same grades as targets grow in number (second formula)', () => {
    const pairs = [
      [0, 0],
      [1, 2],
      [2, 2],
      [3, 2],
      [4, 4],
      [1, 1],
      [0, 1],
    ];
    const many = Array.from({ length: 4000 }, () => pairs).flat();
    const ratings = ratingsOf(many, { categories: [0, 1, 2, 3, 4] });
    const icc = intraclassCorrelation(ratings, FORMS.ICC2!).value;
    expect(icc).toBeCloseTo(cohenKappa(ratings, { weights: 'quadratic' }).value, 4);
    // The same with n for n − 1 in the small: kappa = (nρ-form) of the mean squares.
    const few = ratingsOf(pairs, { categories: [0, 1, 2, 3, 4] });
    const {
      targetMeanSquare: r,
      assessorMeanSquare: c,
      residualMeanSquare: e,
    } = intraclassCorrelation(few, FORMS.ICC2!).details;
    const n = pairs.length;
    expectNear(
      cohenKappa(few, { weights: 'quadratic' }).value,
      ((n - 1) * (r! - e!)) / ((n - 1) * (r! + e!) + 2 * c!),
      1e-12,
    );
  });

  for (const [form, options] of Object.entries(FORMS))
    if (options.unit === 'single')
      describe(form, () =>
        hasItsGradient((ratings) => intraclassAnalysis(ratings, options, 'test').coefficient, {
          gaps: options.model === 'one-way',
          // With every sum taken a thousand million times, n − 1 is as good as n, which is what the gradient is of.
          of: (coefficient, sums) => coefficient.value(sums.map((sum) => 1e9 * sum)),
        }),
      );
});

describe('patients', () => {
  const patients = Array.from({ length: 20 }, (_, p) =>
    [0, 1, 2].map((site) => [p, site, ((p * 7 + site * 3) % 11) + p / 4] as const),
  ).flat();
  const rows = patients.map(([p, site, level]) => [
    level,
    level + ((p * 5 + site) % 7) / 5,
    level - ((p + site) % 3) / 4,
  ]);
  const ratings = ratingsOf(rows, { clusters: patients.map(([p]) => p) });

  it('takes the studentized patient bootstrap as default, the same digits every time', () => {
    const once = intraclassCorrelation(ratings, FORMS.ICC2!);
    expect(once.interval.method).toMatch(/^studentized patient bootstrap/);
    expect(intraclassCorrelation(ratings, FORMS.ICC2!).interval).toEqual(once.interval);
    expect(once.counts).toMatchObject({ targets: 60, clusters: 20, assessors: 3, ratings: 180, excluded: 0 });
    expect(once.notes.map((note) => note.code)).toContain('these-assessors');
  });

  it('labels the F interval as for independent targets', () => {
    const asymptotic = intraclassCorrelation(ratings, { ...FORMS.ICC2!, interval: 'asymptotic' });
    expect(asymptotic.interval.method).toMatch(/independent/);
    const codes = asymptotic.notes.map((note) => note.code);
    expect(codes).toContain('assumes-independent-targets');
    expect(codes).toContain('any-assessor');
  });

  it('keeps value and divides the jackknife error by about √2 when every patient is there twice', () => {
    const twice = ratingsOf([...rows, ...rows], {
      clusters: [...patients.map(([p]) => p), ...patients.map(([p]) => 100 + p)],
    });
    const error = (given: typeof ratings): number =>
      intraclassCorrelation(given, { ...FORMS.ICC3!, interval: 'cluster-robust' }).standardError;
    expect(error(twice) / error(ratings)).toBeCloseTo(Math.SQRT1_2, 1);
  });

  it('steps the interval of one reading up to that of an average', () => {
    const single = intraclassCorrelation(ratings, FORMS.ICC3!);
    const average = intraclassCorrelation(ratings, { ...FORMS.ICC3!, unit: 'average', averagedOver: 5 });
    const up = (rho: number): number => (5 * rho) / (1 + 4 * rho);
    expectNear(average.value, up(single.value), 1e-12);
    expectNear(average.interval.lower, up(single.interval.lower), 1e-12);
    expect(average.details.averagedOver).toBe(5);
    const ofOne = intraclassCorrelation(ratings, { ...FORMS.ICC3!, unit: 'average', averagedOver: 1 });
    expectNear(ofOne.value, single.value, 1e-12);
  });
});

describe('every figure of the analysis of variance, by hand', () => {
  const n = 6;
  const k = 4;
  const { targets, assessors, within, residual } = meanSquares();
  const ratings = ratingsOf(SHROUT_FLEISS);
  const oneWay = {
    targetMeanSquare: targets,
    withinMeanSquare: within,
    targetVariance: (targets - within) / k,
    withinVariance: within,
    effectiveReadings: k,
    f: targets / within,
    numeratorDegrees: n - 1,
    denominatorDegrees: n * (k - 1),
  };
  const twoWay = {
    targetMeanSquare: targets,
    assessorMeanSquare: assessors,
    residualMeanSquare: residual,
    withinMeanSquare: within,
    targetVariance: (targets - residual) / k,
    assessorVariance: (assessors - residual) / n,
    residualVariance: residual,
    f: targets / residual,
    numeratorDegrees: n - 1,
    denominatorDegrees: (n - 1) * (k - 1),
  };
  const values: Readonly<Record<string, number>> = {
    ICC1: oneWay.targetVariance / (oneWay.targetVariance + within),
    ICC2: twoWay.targetVariance / (twoWay.targetVariance + twoWay.assessorVariance + residual),
    ICC3: twoWay.targetVariance / (twoWay.targetVariance + residual),
  };
  /** McGraw and Wong 1996, tables 4 and 7, the agreement limits as corrected on page 390: from F* of each tail. */
  const limits = (form: string, level: number): [number, number] => {
    const tail = 1 - (1 - level) / 2;
    if (form !== 'ICC2') {
      const [f, g, ratio] = form === 'ICC1' ? [n - 1, n * (k - 1), oneWay.f] : [n - 1, (n - 1) * (k - 1), twoWay.f];
      const low = ratio / fisherF.quantile(tail, f, g);
      const high = ratio * fisherF.quantile(tail, g, f);
      return [(low - 1) / (low + k - 1), (high - 1) / (high + k - 1)];
    }
    const rho = values.ICC2!;
    const a = (k * rho) / (n * (1 - rho));
    const b = 1 + (k * rho * (n - 1)) / (n * (1 - rho));
    const v =
      (a * assessors + b * residual) ** 2 /
      ((a * assessors) ** 2 / (k - 1) + (b * residual) ** 2 / ((n - 1) * (k - 1)));
    const low = fisherF.quantile(tail, n - 1, v);
    const high = fisherF.quantile(tail, v, n - 1);
    return [
      (n * (targets - low * residual)) / (low * (k * assessors + (k * n - k - n) * residual) + n * targets),
      (n * (high * targets - residual)) / (k * assessors + (k * n - k - n) * residual + n * high * targets),
    ];
  };

  it.each(['ICC1', 'ICC2', 'ICC3'])('%s: value, limits, details, counts, options and notes', (form) => {
    const estimate = intraclassCorrelation(ratings, { ...FORMS[form]!, confidenceLevel: 0.9 });
    expectNear(estimate.value, values[form]!, 1e-12);
    const [lower, upper] = limits(form, 0.9);
    expectNear(estimate.interval.lower, lower, 1e-9);
    expectNear(estimate.interval.upper, upper, 1e-9);
    expect(estimate.interval.level).toBe(0.9);
    const expected: Readonly<Record<string, number>> = form === 'ICC1' ? oneWay : twoWay;
    expect(Object.keys(estimate.details).sort()).toEqual(Object.keys(expected).sort());
    for (const [key, value] of Object.entries(expected)) expectNear(estimate.details[key]!, value, 1e-12);
    expect(estimate.counts).toEqual({ targets: 6, clusters: 6, assessors: 4, ratings: 24, excluded: 0 });
    const { model, definition, unit } = FORMS[form]!;
    const { confidenceLevel, interval, ...asked } = estimate.options;
    expect([confidenceLevel, interval]).toEqual([0.9, 'asymptotic']);
    expect(asked).toMatchObject(model === 'one-way' ? { model, unit } : { model, definition, unit });
    expect(Object.keys(asked)).not.toContain('gradesAsNumbers');
    expect('definition' in asked).toBe(model === 'two-way');
    expect(estimate.notes.map(({ code }) => code)).toEqual([
      { ICC1: 'assessors-interchanged', ICC2: 'any-assessor', ICC3: 'these-assessors' }[form],
      'patients-not-given',
    ]);
    expect(estimate.statistic).toBe(
      {
        ICC1: 'intraclass correlation of one reading, one-way',
        ICC2: 'intraclass correlation of one reading, two-way agreement',
        ICC3: 'intraclass correlation of one reading, two-way consistency',
      }[form],
    );
  });

  it.each(['ICC1', 'ICC2', 'ICC3'])('%s of an average: stepped up, with the error of the step', (form) => {
    const up = (rho: number, m: number): number => (m * rho) / (1 + (m - 1) * rho);
    const single = intraclassCorrelation(ratings, FORMS[form]!);
    for (const averagedOver of [undefined, 3]) {
      const m = averagedOver ?? 4;
      const estimate = intraclassCorrelation(ratings, {
        ...FORMS[form]!,
        unit: 'average',
        ...(averagedOver === undefined ? {} : { averagedOver }),
      });
      expectNear(estimate.value, up(single.value, m), 1e-12);
      expectNear(estimate.interval.lower, up(single.interval.lower, m), 1e-12);
      expectNear(estimate.interval.upper, up(single.interval.upper, m), 1e-12);
      // d/dρ of mρ/(1 + (m − 1)ρ).
      expectNear(estimate.standardError, (m * single.standardError) / (1 + (m - 1) * single.value) ** 2, 1e-12);
      expect(estimate.details.averagedOver).toBe(m);
      expect(estimate.statistic).toMatch(/^intraclass correlation of an average, /);
    }
    expect(single.details).not.toHaveProperty('averagedOver');
  });
});

/** Patients with one to three targets; gaps of every kind where asked. */
function ofPatients(gaps: boolean): Ratings {
  const random = seededRandom(41);
  const clusters = [0, 0, 1, 2, 2, 2, 3, 4, 4, 5, 6, 6, 7, 8];
  const rows = clusters.map((_, at) => {
    const level = 20 + 4 * random.normal();
    return [0, 1.2, -0.7].map((habit, j) => {
      const x = level + habit + random.normal();
      return gaps && (at + j * 2) % 5 === 0 ? null : x;
    });
  });
  if (gaps) rows[3] = [null, null, null];
  return ratingsOf(rows, { clusters, level: 'ratio' });
}

describe('the patient jackknife of every form', () => {
  for (const [form, options] of Object.entries(FORMS).filter(([name]) => !name.endsWith('k')))
    for (const gaps of [false, true])
      it(`${form}${gaps ? ' with gaps' : ''}`, () => {
        const ratings = ofPatients(gaps);
        expectJackknife(
          ratings,
          (given) => intraclassCorrelation(given, { ...options, interval: 'cluster-robust', confidenceLevel: 0.8 }),
          'fisher',
          gaps ? 1e-6 : 1e-9,
        );
        const { counts, notes } = intraclassCorrelation(ratings, { ...options, interval: 'cluster-robust' });
        expect(counts).toEqual({
          targets: gaps ? 13 : 14,
          clusters: 9,
          assessors: 3,
          ratings: ratings.readings,
          excluded: gaps ? 1 : 0,
        });
        expect(notes.map(({ code }) => code)).toEqual([
          ...(gaps && options.model === 'two-way' ? ['gaps'] : []),
          options.model === 'one-way' ? 'assessors-interchanged' : 'these-assessors',
          'few-patients',
        ]);
      });
});

describe('unequal readings and averages', () => {
  const ratings = ofPatients(true);
  it('an average is taken over n₀ readings one-way, over the columns two-way', () => {
    const m = Array.from(
      { length: 14 },
      (_, t) => [0, 1, 2].filter((j) => !Number.isNaN(ratings.numbers[3 * t + j]!)).length,
    );
    const all = m.reduce((sum, x) => sum + x, 0);
    const effective = (all - m.reduce((sum, x) => sum + x * x, 0) / all) / (13 - 1);
    const average = intraclassCorrelation(ratings, { ...FORMS.ICC1k!, interval: 'cluster-robust' });
    expectNear(average.details.averagedOver!, effective, 1e-12);
    expectNear(average.details.effectiveReadings!, effective, 1e-12);
    expect(average.details).toMatchObject({ numeratorDegrees: 12, denominatorDegrees: all - 13 });
    expect(intraclassCorrelation(ratings, { ...FORMS.ICC2k!, interval: 'cluster-robust' }).details.averagedOver).toBe(
      3,
    );
    const codes = (interval: 'asymptotic' | 'cluster-robust'): string[] =>
      intraclassCorrelation(ratings, { ...FORMS.ICC1!, interval }).notes.map(({ code }) => code);
    expect(codes('asymptotic')).toContain('unequal-readings');
    expect(codes('cluster-robust')).not.toContain('unequal-readings');
    const whole = intraclassCorrelation(ofPatients(false), { ...FORMS.ICC1!, interval: 'asymptotic' });
    expect(whole.notes.map(({ code }) => code)).not.toContain('unequal-readings');
  });

  it('with gaps the details are the variances alone, and a variance on its edge is named', () => {
    const gaps = intraclassCorrelation(ratings, FORMS.ICC2!);
    expect(Object.keys(gaps.details).sort()).toEqual(['assessorVariance', 'residualVariance', 'targetVariance']);
    expect(gaps.options.interval).toBe('cluster-robust');
    expect(
      intraclassCorrelation(ratings, { ...FORMS.ICC2!, interval: 'bootstrap', replicates: 200 }).options.interval,
    ).toBe('bootstrap');
    const atZero = (rows: (number | null)[][]): string[] =>
      intraclassCorrelation(ratingsOf(rows), { ...FORMS.ICC3! })
        .notes.filter(({ code }) => code === 'at-zero')
        .map(({ message }) => message);
    // Targets alike and assessors apart; then the other way round.
    const messages = atZero([
      [1, 9],
      [2, 8.5],
      [1.5, 9.5],
      [null, 9],
    ]);
    expect(messages).toHaveLength(1);
    expect(messages[0]).toMatch(/between targets/);
    const others = atZero([
      [1, 1.5],
      [9, 8.5],
      [5, 5.2],
      [3, 2.8],
      [null, 7],
    ]);
    expect(others).toHaveLength(1);
    expect(others[0]).toMatch(/between assessors/);
  });
});

describe('options that are not there', () => {
  const ratings = ratingsOf(SHROUT_FLEISS);
  const asked =
    (options: object): (() => unknown) =>
    () =>
      intraclassCorrelation(ratings, { ...FORMS.ICC2!, ...options } as IntraclassCorrelationOptions);
  refuses([
    ['a model', asked({ model: 'three-way' }), 'unknown-choice'],
    ['a definition', asked({ definition: 'both' }), 'unknown-choice'],
    ['a unit', asked({ unit: 'mean' }), 'unknown-choice'],
    ['a unit one-way', asked({ model: 'one-way', unit: 'mean' }), 'unknown-choice'],
    ['an average over half a reading', asked({ unit: 'average', averagedOver: 0.5 }), 'bad-option'],
    ['an average without end', asked({ unit: 'average', averagedOver: Number.POSITIVE_INFINITY }), 'bad-option'],
    ['one assessor', () => intraclassCorrelation(ratingsOf([[1], [2]]), FORMS.ICC2!), 'two-assessors-needed'],
    [
      'F intervals with gaps',
      () =>
        intraclassCorrelation(
          ratingsOf([
            [1, 2],
            [2, null],
            [3, 3],
          ]),
          { ...FORMS.ICC2!, interval: 'asymptotic' },
        ),
      'complete-readings-needed',
    ],
  ]);
  it('grades asked for as numbers are said among the options', () => {
    const grades = ratingsOf(SHROUT_FLEISS, { level: 'ordinal' });
    expect(intraclassCorrelation(grades, { ...FORMS.ICC1!, gradesAsNumbers: true }).options.gradesAsNumbers).toBe(true);
  });
});

it('leaves out an assessor who read nothing', () => {
  const wider = SHROUT_FLEISS.map((row) => [...row.slice(0, 2), null, ...row.slice(2)]);
  const without = intraclassCorrelation(ratingsOf(SHROUT_FLEISS), FORMS.ICC2k!);
  const estimate = intraclassCorrelation(ratingsOf(wider), FORMS.ICC2k!);
  expect(estimate.value).toBe(without.value);
  expect(estimate.interval).toEqual(without.interval);
  expect(estimate.counts.assessors).toBe(4);
});

it('gives an average no lower limit where that of one reading lies below −1/(k − 1)', () => {
  const random = seededRandom(6);
  const rows = Array.from({ length: 6 }, () => Array.from({ length: 4 }, () => random.normal()));
  const clusters = rows.map((_, at) => at);
  const ask = { model: 'one-way', unit: 'single', interval: 'cluster-robust' } as const;
  const single = intraclassCorrelation(ratingsOf(rows, { clusters }), ask);
  expect(single.interval.lower).toBeLessThan(-1 / 3);
  const average = intraclassCorrelation(ratingsOf(rows, { clusters }), { ...ask, unit: 'average' });
  expect(average.interval.lower).toBe(Number.NEGATIVE_INFINITY);
  expect(average.interval.upper).toBeGreaterThan(average.value);
});

describe('refused and undefined', () => {
  it('has no coefficient of an average where the means of the targets are equal', () => {
    const rows = [
      [1, 3],
      [2, 2],
      [3, 1],
    ];
    const average = intraclassCorrelation(ratingsOf(rows), FORMS.ICC1k!);
    expect(average.value).toBeNaN();
    expect(average.notes.map((note) => note.code)).toContain('not-defined');
    expect(intraclassCorrelation(ratingsOf(rows), FORMS.ICC1!).value).toBeCloseTo(-1, 12);
  });

  it('asks for the definition, for assessors and for a level that suits', () => {
    const ratings = ratingsOf(SHROUT_FLEISS);
    expect(() => intraclassCorrelation(ratings, { model: 'two-way', unit: 'single' })).toThrow(/two definitions/);
    expect(() => intraclassCorrelation(ratingsOf(SHROUT_FLEISS, { level: 'nominal' }), FORMS.ICC1!)).toThrow(
      /no order/,
    );
    const ordinal = ratingsOf(SHROUT_FLEISS, { level: 'ordinal' });
    expect(() => intraclassCorrelation(ordinal, FORMS.ICC1!)).toThrow(/gradesAsNumbers/);
    const asked = intraclassCorrelation(ordinal, { ...FORMS.ICC1!, gradesAsNumbers: true });
    expect(asked.value).toBe(intraclassCorrelation(ratings, FORMS.ICC1!).value);
    expect(asked.notes.map((note) => note.code)).toContain('grades-as-numbers');
    const counts = ratingsOfCounts(
      [
        [0, 3],
        [2, 1],
        [3, 0],
      ],
      { categories: [0, 1] },
    );
    expect(() => intraclassCorrelation(counts, FORMS.ICC2!)).toThrow(/who gave which reading/);
    expect(intraclassCorrelation(counts, FORMS.ICC1!).value).toBeGreaterThan(0);
    expect(() => intraclassCorrelation(ratingsOf([['no', 'yes']]), FORMS.ICC1!)).toThrow(/grades/);
  });

  it('is not defined when nothing varies or nothing was read twice', () => {
    const same = ratingsOf([
      [5, 5],
      [5, 5],
      [5, 5],
    ]);
    const once = ratingsOf([
      [5, null],
      [null, 3],
      [4, null],
    ]);
    for (const form of ['ICC1', 'ICC2', 'ICC3', 'ICC2k']) {
      for (const ratings of [same, once]) {
        const estimate = intraclassCorrelation(ratings, FORMS[form]!);
        expect(estimate.value, form).toBeNaN();
        expect(estimate.notes.map((note) => note.code)).toContain('not-defined');
      }
    }
  });

  it('says so when the estimate is negative', () => {
    const estimate = intraclassCorrelation(
      ratingsOf([
        [1, 9],
        [9, 1],
        [2, 8],
      ]),
      FORMS.ICC1!,
    );
    expect(estimate.value).toBeLessThan(0);
    expect(estimate.notes.map((note) => note.code)).toContain('negative-estimate');
  });
});
