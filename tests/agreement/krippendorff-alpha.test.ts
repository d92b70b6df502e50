import { describe, expect, it } from 'vitest';
import { alphaCoefficient, krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^krippendorff|^gwet-15x6-alpha|^limb-krippendorff/)) {
    const { expected, tolerance } = one;
    it(`${one.id}: ${one.source}`, () => {
      const metric = one.parameters.metric ?? 'nominal';
      const alpha = krippendorffAlpha(ratingsOfCase(one), { metric, interval: 'asymptotic' });
      expectNear(alpha.value, expected.alpha ?? expected.coefficient, tolerance);
      const error = expected.se ?? expected.seThisImplementation;
      if (error !== undefined) expectNear(alpha.standardError, error, tolerance);
      if (expected.Do !== undefined) {
        expectNear(alpha.details.observedDisagreement!, expected.Do, tolerance);
        expectNear(alpha.details.expectedDisagreement!, expected.De, tolerance);
      }
      if (expected.pairableValues !== undefined) expect(alpha.counts.ratings).toBe(expected.pairableValues);
    });
  }

  it('prints .743, .815, .849 and .797 for the 4 × 12 example (Krippendorff 2011)', () => {
    const [one] = publishedCases('agreement', /^krippendorff-4x12-nominal$/);
    const ratings = ratingsOfCase(one!);
    const print = { nominal: '0.743', ordinal: '0.815', interval: '0.849', ratio: '0.797' } as const;
    for (const [metric, printed] of Object.entries(print))
      expectPrinted(krippendorffAlpha(ratings, { metric: metric as keyof typeof print }).value, printed);
  });
});

describe('laws', () => {
  for (const metric of ['nominal', 'ordinal', 'interval', 'ratio'] as const)
    describe(metric, () => {
      hasItsGradient((ratings) => alphaCoefficient(ratings, { metric }), {
        of(coefficient, sums) {
          const n = coefficient.disagreements(sums).pairableReadings;
          return 1 - ((1 - coefficient.value(sums)) * n) / (n - 1);
        },
      });
      keepsTheLaws((ratings) => krippendorffAlpha(ratings, { metric, interval: 'asymptotic' }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
        reversible: metric !== 'ratio',
        duplicable: false,
      });
    });

  it('ordinal equals interval on pooled mid-ranks of the pairable readings (second formula)', () => {
    const rows = [
      [0, 1, 1],
      [2, 2, null],
      [3, 1, 2],
      [0, 0, 0],
      [2, 3, 3],
      [1, null, 1],
    ];
    const pooled = rows.flat().filter((grade) => grade !== null);
    const midRank = (grade: number): number =>
      pooled.filter((other) => other < grade).length + (pooled.filter((other) => other === grade).length + 1) / 2;
    const ranked = rows.map((row) => row.map((grade) => (grade === null ? null : midRank(grade))));
    const ordinal = krippendorffAlpha(ratingsOf(rows, { categories: [0, 1, 2, 3] }), { metric: 'ordinal' });
    expect(krippendorffAlpha(ratingsOf(ranked), { metric: 'interval' }).value).toBeCloseTo(ordinal.value, 12);
  });

  it('is not moved by a large offset of measured numbers', () => {
    const rows = [
      [1.2, 1.4],
      [2.9, 3.1],
      [4.4, 4.1],
      [0.3, 0.9],
    ];
    const far = rows.map((row) => row.map((value) => value + 1e9));
    const near = krippendorffAlpha(ratingsOf(rows), { metric: 'interval' }).value;
    // 1e9 leaves about seven decimals of each reading, so as many of the coefficient.
    expect(krippendorffAlpha(ratingsOf(far), { metric: 'interval' }).value).toBeCloseTo(near, 6);
  });
});

// Jackknife errors of the ordinal alpha of one data set with sites, limbs or patients as clusters: the conventions page of
// the reference cases (.0557, .0640, .0836), computed by delete-one-cluster recomputation.
it('widens as the cluster grows from site to limb to patient', () => {
  const [one] = publishedCases('agreement', /^limb-krippendorff-nominal$/);
  const error = (cluster: 'site' | 'limb' | 'patient'): number =>
    krippendorffAlpha(ratingsOfCase(one!, cluster), { metric: 'ordinal', interval: 'cluster-robust' }).standardError;
  expectPrinted(krippendorffAlpha(ratingsOfCase(one!), { metric: 'ordinal' }).value, '0.7279');
  expectPrinted(error('site'), '0.0557');
  expectPrinted(error('limb'), '0.0640');
  expectPrinted(error('patient'), '0.0836');
});

it('is not defined when the readings do not vary', () => {
  const alpha = krippendorffAlpha(
    ratingsOf([
      [1, 1],
      [1, 1],
    ]),
    { metric: 'nominal' },
  );
  expect(alpha.value).toBeNaN();
  expect(alpha.notes.map((note) => note.code)).toContain('not-defined');
});

it('asks for the metric when the level is not known, and refuses a metric that does not suit', () => {
  expect(() => krippendorffAlpha(ratingsOf([[1, 2]]))).toThrow(/name the metric/);
  expect(() => krippendorffAlpha(ratingsOf([[1, 2]], { level: 'nominal' }), { metric: 'interval' })).toThrow(
    /no order/,
  );
  expect(() => krippendorffAlpha(ratingsOf([[-1, 2]]), { metric: 'ratio' })).toThrow(/true zero/);
});

it('leaves out targets with one reading and counts them', () => {
  const alpha = krippendorffAlpha(
    ratingsOf([
      [1, 1, null],
      [null, 2, null],
      [2, 2, 1],
    ]),
    { metric: 'nominal' },
  );
  expect(alpha.counts.targets).toBe(2);
  expect(alpha.counts.excluded).toBe(1);
  expect(alpha.counts.ratings).toBe(5);
});
