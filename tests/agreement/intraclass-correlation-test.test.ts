import { describe, expect, it } from 'vitest';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { intraclassCorrelationTest } from '../../src/agreement/intraclass-correlation-test.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { fisherF } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

const FORM = { ICC1: 'one-way', ICC2: 'agreement', ICC3: 'consistency' } as const;

describe('against 0: published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^icc-sf1979-ICC/))
    it(`${one.id}: ${one.source}`, () => {
      const form = one.parameters.form as string;
      const definition = FORM[form.slice(0, 4) as keyof typeof FORM];
      const test = intraclassCorrelationTest(ratingsOfCase(one), {
        ...(definition === 'one-way' ? { model: 'one-way' } : { model: 'two-way', definition }),
        unit: form.endsWith('k') ? 'average' : 'single',
        interval: 'asymptotic',
      });
      expectNear(test.statistic.value, one.expected.F, one.tolerance);
      expect(test.degreesOfFreedom).toBe(one.expected.df1);
      expectNear(test.details.denominatorDegrees!, one.expected.df2, one.tolerance);
      expectNear(test.pValue, one.expected.p, one.tolerance);
      expectNear(test.effect.interval.lower, one.expected.lower, one.tolerance);
    });
});

const RATINGS = ratingsOf([
  [9, 7, 8, 8],
  [6, 5, 5, 4],
  [8, 7, 6, 8],
  [7, 6, 5, 6],
  [10, 9, 8, 9],
  [6, 4, 5, 5],
]);

describe('against another value', () => {
  // The lower limit of a 95 % interval is the value that a one-sided test at 2.5 % just does not reject.
  for (const unit of ['single', 'average'] as const)
    for (const form of [{ model: 'one-way' }, { model: 'two-way', definition: 'consistency' }] as const)
      it(`has p = .025 at the lower limit of the 95 % interval: ${form.model}, ${unit}`, () => {
        const { interval } = intraclassCorrelation(RATINGS, { ...form, unit, interval: 'asymptotic' });
        const test = intraclassCorrelationTest(RATINGS, {
          ...form,
          unit,
          nullValue: interval.lower,
          interval: 'asymptotic',
        });
        expectNear(test.pValue, 0.025, 1e-9);
      });

  it('agreement: the average is tested through the single reading it stands for', () => {
    const ask = { model: 'two-way', definition: 'agreement', interval: 'asymptotic' } as const;
    const single = intraclassCorrelationTest(RATINGS, { ...ask, unit: 'single', nullValue: 0.5 });
    const average = intraclassCorrelationTest(RATINGS, { ...ask, unit: 'average', nullValue: 0.8 });
    expectNear(average.pValue, single.pValue, 1e-12);
  });

  // True agreement .5 (variances 2, 1, 1), 25 targets, 8 assessors, seeded: a share of .05 must be rejected at 5 %, Monte Carlo error .0049.
  it('agreement: rejects a true null as often as it says', () => {
    const random = seededRandom(7);
    let rejected = 0;
    for (let study = 0; study < 2000; study++) {
      const habits = Array.from({ length: 8 }, () => random.normal());
      const rows = Array.from({ length: 25 }, () => {
        const level = Math.SQRT2 * random.normal();
        return habits.map((habit) => level + habit + random.normal());
      });
      const test = intraclassCorrelationTest(ratingsOf(rows), {
        model: 'two-way',
        definition: 'agreement',
        unit: 'single',
        nullValue: 0.5,
        interval: 'asymptotic',
      });
      if (test.pValue < 0.05) rejected++;
    }
    expect(Math.abs(rejected / 2000 - 0.05)).toBeLessThan(0.015);
  });
});

it('cautions where patients have several targets, and refuses gaps and values out of range', () => {
  const form = { model: 'two-way', definition: 'agreement', unit: 'single' } as const;
  const clustered = ratingsOf(
    [
      [1, 2],
      [3, 3],
      [5, 4],
      [2, 2],
    ],
    { clusters: ['a', 'a', 'b', 'b'] },
  );
  const codes = intraclassCorrelationTest(clustered, form).notes.map((note) => note.code);
  expect(codes).toContain('assumes-independent-targets');
  expect(() =>
    intraclassCorrelationTest(
      ratingsOf([
        [1, 2],
        [3, null],
        [4, 4],
      ]),
      form,
    ),
  ).toThrow(/needs every reading/);
  expect(() => intraclassCorrelationTest(clustered, { ...form, nullValue: 1 })).toThrow(/less than 1/);
});

// McGraw, Wong 1996, table 8, on the mean squares of the ratings above: F, both degrees of freedom and p of every form, against .2.
describe('every form, written out', () => {
  const rows = [
    [9, 7, 8, 8],
    [6, 5, 5, 4],
    [8, 7, 6, 8],
    [7, 6, 5, 6],
    [10, 9, 8, 9],
    [6, 4, 5, 5],
  ];
  const [n, k, rho] = [6, 4, 0.2];
  const details = (definition: 'agreement' | 'consistency') =>
    intraclassCorrelation(RATINGS, { model: 'two-way', definition, unit: 'single', interval: 'asymptotic' }).details;
  const { targetMeanSquare, assessorMeanSquare, residualMeanSquare, withinMeanSquare } = details('agreement') as Record<
    string,
    number
  >;
  const [t, a, e, w] = [targetMeanSquare!, assessorMeanSquare!, residualMeanSquare!, withinMeanSquare!];
  const toOne = (average: number): number => average / (k - (k - 1) * average);
  const cases = (['single', 'average'] as const).flatMap((unit) => {
    const r = unit === 'single' ? rho : toOne(rho);
    const toAgreement = (k * r) / (n * (1 - r));
    const b = 1 + (k * r * (n - 1)) / (n * (1 - r));
    const v = (toAgreement * a + b * e) ** 2 / ((toAgreement * a) ** 2 / (k - 1) + (b * e) ** 2 / ((n - 1) * (k - 1)));
    const share = (1 - r) / (1 + (k - 1) * r);
    return [
      { unit, form: { model: 'one-way' } as const, f: (t / w) * share, g: n * (k - 1) },
      {
        unit,
        form: { model: 'two-way', definition: 'consistency' } as const,
        f: (t / e) * share,
        g: (n - 1) * (k - 1),
      },
      { unit, form: { model: 'two-way', definition: 'agreement' } as const, f: t / (toAgreement * a + b * e), g: v },
    ];
  });
  it.each(cases)('$form.model $form.definition, $unit', ({ unit, form, f, g }) => {
    expect(rows).toHaveLength(n);
    const made = intraclassCorrelationTest(RATINGS, { ...form, unit, nullValue: rho });
    expectNear(made.statistic.value, f, 1e-12);
    expect(made.statistic.name).toBe('F');
    expect(made.degreesOfFreedom).toBe(n - 1);
    expectNear(made.details.denominatorDegrees!, g, 1e-9);
    expect(made.details.numeratorDegrees).toBe(n - 1);
    expectNear(made.pValue, fisherF.upper(f, n - 1, g), 1e-12);
    const estimate = intraclassCorrelation(RATINGS, { ...form, unit });
    expect(made.effect).toEqual({ name: estimate.statistic, value: estimate.value, interval: estimate.interval });
    expect(made.options).toEqual({ ...estimate.options, nullValue: rho });
    expect(made.counts).toEqual(estimate.counts);
    expect(made.notes).toEqual(estimate.notes);
  });
  const asked =
    (nullValue: number): (() => unknown) =>
    () =>
      intraclassCorrelationTest(RATINGS, { model: 'one-way', unit: 'single', nullValue });
  refuses([
    ['1', asked(1), 'bad-option'],
    ['less than 0', asked(-0.1), 'bad-option'],
    ['no number', asked(Number.NaN), 'bad-option'],
  ]);
  it('0 is the value where none is said', () => {
    const form = { model: 'one-way', unit: 'single' } as const;
    expect(intraclassCorrelationTest(RATINGS, form).options.nullValue).toBe(0);
    expectNear(intraclassCorrelationTest(RATINGS, form).statistic.value, t / w, 1e-12);
  });
});
