import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type LimitsOfAgreement,
  type LimitsOfAgreementOptions,
  limitsOfAgreement,
} from '../../src/agreement/limits-of-agreement.ts';
import { oneSidedToleranceFactor, twoSidedToleranceFactor } from '../../src/agreement/tolerance-factors.ts';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { chiSquare, normal, studentT } from '../../src/shared/distributions.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { type PublishedCase, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';
import { withRepeats } from '../support/with-repeats.ts';

function pairsOf(one: PublishedCase): [number, number][] {
  return (one.data.x as number[]).map((x, at) => [x, one.data.y[at] as number]);
}

/** One target a subject, its readings by each method as first reading and repeats. */
function repeatsOf(one: PublishedCase): Ratings {
  const subjects = [...new Set(one.data.subject as number[])];
  return withRepeats(
    subjects.map((subject) =>
      (['x', 'y'] as const).map((method) =>
        (one.data[method] as number[]).filter((_, at) => one.data.subject[at] === subject),
      ),
    ),
  );
}

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^bland-altman-pefr$/)) {
    const { expected, tolerance } = one;
    const ratings = ratingsOf(pairsOf(one));
    it(`${one.id}: ${one.source}`, () => {
      const limits = limitsOfAgreement(ratings);
      expect(limits.counts.targets).toBe(expected.n);
      expectNear(limits.bias.value, expected.bias, tolerance);
      expectNear(limits.bias.standardError, expected.seBias, tolerance);
      expectNear(limits.bias.interval.lower, expected.biasLo, tolerance);
      expectNear(limits.bias.interval.upper, expected.biasHi, tolerance);
      expectNear(limits.standardDeviation.value, expected.sd, tolerance);
      expectNear(limits.lower.value, expected.lower, tolerance);
      expectNear(limits.upper.value, expected.upper, tolerance);
      expectNear(limits.lower.standardError, expected.seLoaBA1999, tolerance);
      expectNear(limits.lower.interval.lower, expected.lowerExactCI[0], tolerance);
      expectNear(limits.lower.interval.upper, expected.lowerExactCI[1], tolerance);
      expectNear(limits.upper.interval.lower, expected.upperExactCI[0], tolerance);
      expectNear(limits.upper.interval.upper, expected.upperExactCI[1], tolerance);
    });

    it(`${one.id}, intervals of 1999 and 1986, and two standard deviations`, () => {
      const of1999 = limitsOfAgreement(ratings, { limitInterval: '1999' });
      expectNear(of1999.lower.interval.lower, expected.lowerBA1999CI[0], tolerance);
      expectNear(of1999.lower.interval.upper, expected.lowerBA1999CI[1], tolerance);
      const of1986 = limitsOfAgreement(ratings, { limitInterval: '1986' });
      expectNear(of1986.lower.standardError, expected.seLoaApprox3, tolerance);
      expectNear(of1986.lower.interval.lower, expected.lowerApprox3CI[0], tolerance);
      expectNear(of1986.lower.interval.upper, expected.lowerApprox3CI[1], tolerance);
      const twice = limitsOfAgreement(ratings, { limitInterval: '1986', multiplier: 2 });
      expectNear(twice.lower.value, expected.lower2sd, tolerance);
      expectNear(twice.upper.value, expected.upper2sd, tolerance);
      for (const [side, limits] of [
        ['lower', twice.lower],
        ['upper', twice.upper],
      ] as const) {
        expectNear(limits.interval.lower, expected[`${side}2sdCI`][0], tolerance);
        expectNear(limits.interval.upper, expected[`${side}2sdCI`][1], tolerance);
      }
    });

    it(`${one.id}, both limits at once: two-sided factors`, () => {
      const limits = limitsOfAgreement(ratings, { limitInterval: 'exact pair' });
      const s = limits.standardDeviation.value;
      expectNear(limits.upper.interval.upper, limits.bias.value + s * twoSidedToleranceFactor(17, 0.95, 0.975), 1e-9);
      expectNear(limits.lower.interval.upper, limits.bias.value - s * twoSidedToleranceFactor(17, 0.95, 0.025), 1e-9);
    });

    it(`${one.id}, proportional bias`, () => {
      const { proportionalBias, details } = limitsOfAgreement(ratings);
      expectNear(proportionalBias.value, expected.slope, tolerance);
      expectNear(proportionalBias.standardError, expected.slopeSE, tolerance);
      expectNear(details.slopePValue!, expected.slopeP, tolerance);
      expectNear(details.intercept!, expected.intercept, tolerance);
    });
  }

  for (const one of publishedCases('progression', /^mdc-pefr$/))
    it(`${one.id}, limits: ${one.source}`, () => {
      const rows = (one.data.wright1 as number[]).map((x, at) => [x, one.data.mini1[at] as number]);
      const limits = limitsOfAgreement(ratingsOf(rows), { multiplier: 2 });
      expectNear(limits.bias.value, one.expected.meanDiff, 1e-9);
      expectNear(limits.standardDeviation.value, one.expected.sdDiff, 1e-9);
      expectNear(limits.lower.value, one.expected.loaLower2, 1e-9);
      expectNear(limits.upper.value, one.expected.loaUpper2, 1e-9);
    });

  for (const one of publishedCases('agreement', /^bland-altman-cardiac-true-value-constant$/)) {
    const { expected, tolerance } = one;
    it(`${one.id}: ${one.source}`, () => {
      const ratings = repeatsOf(one);
      const targets = limitsOfAgreement(ratings, { multiplier: 1.96 });
      expectNear(targets.details.repeatVarianceFirst!, expected.varWithinX, tolerance);
      expectNear(targets.details.repeatVarianceSecond!, expected.varWithinY, tolerance);
      expectNear(targets.details.varianceOfTargetMeans!, expected.varSubjectDiffs, tolerance);
      expectNear(targets.details.multiplierFirst!, expected.multiplierX, tolerance);
      expectNear(targets.details.multiplierSecond!, expected.multiplierY, tolerance);
      expectNear(targets.standardDeviation.value, expected.sd, tolerance);
      expectNear(targets.standardDeviation.value ** 2, expected.varTotal, tolerance);
      expectNear(targets.bias.value, expected.meanOfSubjectDiffs, tolerance);
      expectNear(targets.lower.value, expected.lowerSubjMean, tolerance);
      expectNear(targets.upper.value, expected.upperSubjMean, tolerance);
      const readings = limitsOfAgreement(ratings, { multiplier: 1.96, center: 'readings' });
      expectNear(readings.bias.value, expected.grandMeanDiff, tolerance);
      expectNear(readings.lower.value, expected.lowerGrand, tolerance);
      expectNear(readings.upper.value, expected.upperGrand, tolerance);
      expectPrinted(readings.standardDeviation.value, '1.0518506');
    });

    // Conventions page of the reference cases: standard deviation .9906, between .8106, within .1707.
    it('cardiac output, true value varying: pairs by replicate, the same as pairs with the subject as patient', () => {
      const varying = limitsOfAgreement(repeatsOf(one), { trueValue: 'varying' });
      expectPrinted(varying.standardDeviation.value, '0.9906');
      expectPrinted(varying.details.betweenVariance!, '0.8106');
      expectPrinted(varying.details.withinVariance!, '0.1707');
      const grouped = limitsOfAgreement(ratingsOf(pairsOf(one), { clusters: one.data.subject }));
      expectNear(grouped.lower.value, varying.lower.value, 1e-12);
      expect(grouped.lower.interval.method).toMatch(/^studentized patient bootstrap/);
    });
  }

  for (const one of publishedCases('agreement', /^bland-altman-cardiac-ignoring-subjects$/))
    it(`${one.id}: ${one.source}`, () => {
      const limits = limitsOfAgreement(ratingsOf(pairsOf(one)), { multiplier: 1.96 });
      expectNear(limits.bias.value, one.expected.bias, one.tolerance);
      expectNear(limits.standardDeviation.value, one.expected.sd, one.tolerance);
      expectNear(limits.lower.value, one.expected.lower, one.tolerance);
      expectNear(limits.upper.value, one.expected.upper, one.tolerance);
      expect(limits.notes.map((note) => note.code)).toContain('patients-not-given');
    });

  for (const one of publishedCases('agreement', /^bland-altman-cardiac-reml$/))
    it(`${one.id}: ${one.source}`, () => {
      const limits = limitsOfAgreement(ratingsOf(pairsOf(one), { clusters: one.data.subject }), {
        multiplier: 1.96,
        components: 'restricted likelihood',
      });
      expectNear(limits.details.betweenVariance!, one.expected.between, one.tolerance);
      expectNear(limits.details.withinVariance!, one.expected.within, one.tolerance);
      expectNear(limits.bias.value, one.expected.bias, one.tolerance);
      expectNear(limits.standardDeviation.value, one.expected.sd, one.tolerance);
      expectNear(limits.lower.value, one.expected.lower, one.tolerance);
      expectNear(limits.upper.value, one.expected.upper, one.tolerance);
    });
});

/** Findings of some patients read by two, with a patient's own bias. */
function clustered(patients: number, sites: number, seed: number): { rows: number[][]; clusters: number[] } {
  const random = seededRandom(seed);
  const rows: number[][] = [];
  const clusters: number[] = [];
  for (let patient = 0; patient < patients; patient++) {
    const own = 2 * random.normal();
    for (let site = 0; site < sites; site++) {
      const level = 50 + 10 * random.normal();
      rows.push([level + own + random.normal(), level + random.normal()]);
      clusters.push(patient);
    }
  }
  return { rows, clusters };
}

describe('patients with several findings', () => {
  it('adds the variance between and within patients, and widens the limits’ intervals', () => {
    const { rows, clusters } = clustered(30, 6, 4);
    const limits = limitsOfAgreement(ratingsOf(rows, { clusters }));
    const naive = limitsOfAgreement(ratingsOf(rows));
    // Made with 4 between patients and 2 within: the limits are 1.96 · √6 apart from the bias.
    expect(limits.details.betweenVariance!).toBeGreaterThan(2);
    expect(limits.details.withinVariance!).toBeCloseTo(2, 0);
    const width = ({ lower }: LimitsOfAgreement): number => lower.interval.upper - lower.interval.lower;
    expect(width(limits)).toBeGreaterThan(1.3 * width(naive));
    expect(limits.counts).toMatchObject({ targets: 180, clusters: 30, ratings: 360 });
  });

  it('balanced: the restricted likelihood is the analysis of variance; unbalanced: that of the general mixed model', () => {
    const { rows, clusters } = clustered(12, 4, 9);
    const by = (components: 'analysis of variance' | 'restricted likelihood', keep = rows.length) =>
      limitsOfAgreement(ratingsOf(rows.slice(0, keep), { clusters: clusters.slice(0, keep) }), {
        components,
        interval: 'cluster-robust',
      });
    expectNear(by('restricted likelihood').lower.value, by('analysis of variance').lower.value, 1e-9);
    const fit = linearMixedModel({
      response: rows.slice(0, 41).map(([x, y]) => x! - y!),
      random: [{ name: 'patient', groups: clusters.slice(0, 41) }],
    });
    const restricted = by('restricted likelihood', 41);
    expectNear(restricted.details.betweenVariance!, fit.components[0]!.variance, 1e-6);
    expectNear(restricted.details.withinVariance!, fit.residual.variance, 1e-6);
    expectNear(restricted.bias.value, fit.fixed[0]!.value, 1e-6);
  });

  // 200 seeded studies of 25 patients with 4 findings; Monte Carlo error .015. The true upper limit is 1.96 · √6.
  it('covers the limit about as often as it says', () => {
    let covered = 0;
    const studies = 200;
    const truth = 1.959963984540054 * Math.sqrt(6);
    for (let study = 0; study < studies; study++) {
      const { rows, clusters } = clustered(25, 4, 100 + study);
      const { interval } = limitsOfAgreement(ratingsOf(rows, { clusters }), { replicates: 200 }).upper;
      if (interval.lower <= truth && truth <= interval.upper) covered++;
    }
    expect(covered / studies).toBeGreaterThan(0.9);
    expect(covered / studies).toBeLessThan(0.99);
  });
});

const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
const squaresAbout = (values: readonly number[]): number => values.reduce((sum, x) => sum + (x - mean(values)) ** 2, 0);

describe('independent pairs, written out', () => {
  const rows = [
    [494, 512],
    [395, 430],
    [516, 520],
    [434, 428],
    [476, 500],
    [557, 600],
    [413, 364],
  ];
  const differences = rows.map(([x, y]) => x! - y!);
  const n = rows.length;
  const bias = mean(differences);
  const s = Math.sqrt(squaresAbout(differences) / (n - 1));
  const made = (options: LimitsOfAgreementOptions = {}): LimitsOfAgreement =>
    limitsOfAgreement(ratingsOf(rows), { confidenceLevel: 0.9, ...options });
  const t = studentT.quantile(0.95, n - 1);
  const z = 1.959963984540054;
  const is = (
    { standardError, interval }: Estimate,
    error: number,
    lower: number,
    upper: number,
    method: string,
  ): void => {
    expectNear(standardError, error, 1e-12);
    expectNear(interval.lower, lower, 1e-9);
    expectNear(interval.upper, upper, 1e-9);
    expect(interval.method).toBe(`${method}, targets taken as independent`);
    expect(interval.level).toBe(0.9);
  };

  it('bias by t, spread by χ²', () => {
    const limits = made();
    expectNear(limits.bias.value, bias, 1e-12);
    expectNear(limits.standardDeviation.value, s, 1e-12);
    const error = s / Math.sqrt(n);
    is(limits.bias, error, bias - t * error, bias + t * error, 't');
    is(
      limits.standardDeviation,
      s / Math.sqrt(2 * (n - 1)),
      s * Math.sqrt((n - 1) / chiSquare.quantile(0.95, n - 1)),
      s * Math.sqrt((n - 1) / chiSquare.quantile(0.05, n - 1)),
      'χ²',
    );
    expect(limits.details).toMatchObject({ betweenVariance: 0 });
    expectNear(limits.details.withinVariance!, s * s, 1e-12);
  });

  it('limits as in 1999, 1986 and exactly, for a multiplier of one’s own too', () => {
    for (const [options, m] of [
      [{}, z] as const,
      [{ multiplier: 2 }, 2] as const,
      [{ coverage: 0.8 }, 1.2815515655446004] as const,
    ]) {
      const error = s * Math.sqrt(1 / n + m ** 2 / (2 * (n - 1)));
      const of1999 = made({ ...options, limitInterval: '1999' });
      expectNear(of1999.upper.value, bias + m * s, 1e-12);
      expectNear(of1999.lower.value, bias - m * s, 1e-12);
      for (const { value, ...one } of [of1999.lower, of1999.upper])
        is(one as Estimate, error, value - t * error, value + t * error, 't (Bland, Altman 1999)');
      const of1986 = made({ ...options, limitInterval: '1986' });
      const early = Math.sqrt((3 * s * s) / n);
      for (const { value, ...one } of [of1986.lower, of1986.upper])
        is(one as Estimate, early, value - t * early, value + t * early, 't, √(3s²/n) (Bland, Altman 1986)');
      // One-sided factors hold the content below one limit: for 1.96 standard deviations .975.
      const content = normal.cdf(m);
      const exact = made(options);
      const [inner, outer] = [0.05, 0.95].map((p) => s * oneSidedToleranceFactor(n, content, p));
      is(exact.lower, error, bias - outer!, bias - inner!, 'exact, each limit (Carkeet 2015)');
      is(exact.upper, error, bias + inner!, bias + outer!, 'exact, each limit (Carkeet 2015)');
      const pair = made({ ...options, limitInterval: 'exact pair' });
      const [near, far] = [0.05, 0.95].map((p) => s * twoSidedToleranceFactor(n, 2 * content - 1, p));
      is(pair.lower, error, bias - far!, bias - near!, 'exact, both limits at once (Carkeet 2015)');
      is(pair.upper, error, bias + near!, bias + far!, 'exact, both limits at once (Carkeet 2015)');
    }
  });

  it('says who the patients are, that the limits are for these two, and nothing else', () => {
    const codes = (limits: LimitsOfAgreement): string[] => limits.notes.map(({ code }) => code);
    expect(codes(made())).toEqual(['patients-not-given']);
    const rowsOf = (count: number) => Array.from({ length: count }, (_, at) => [at, at + Math.sin(at)]);
    const known = (count: number, options: LimitsOfAgreementOptions = {}): string[] =>
      codes(limitsOfAgreement(ratingsOf(rowsOf(count), { clusters: rowsOf(count).map((_, at) => at) }), options));
    expect(known(12)).toEqual(['these-assessors']);
    expect(known(11)).toEqual(['few-patients', 'these-assessors']);
    expect(known(12, { interval: 'asymptotic' })).toEqual([]);
    expect(known(2, { interval: 'cluster-robust' })).toEqual(['few-patients', 'these-assessors']);
    // Two differences of one patient that are farther apart than patients are: variance between patients below 0.
    const below = limitsOfAgreement(
      ratingsOf(
        [
          [0, 5],
          [5, 0],
          [0, 5],
          [5, 0],
        ],
        { clusters: [1, 1, 2, 2] },
      ),
      { interval: 'cluster-robust' },
    );
    expect(codes(below)).toContain('negative-variance');
    expect(codes(made())).not.toContain('negative-variance');
  });

  it('nothing varies: no limits of limits', () => {
    const limits = limitsOfAgreement(
      ratingsOf([
        [1, 2],
        [3, 4],
        [6, 7],
      ]),
    );
    expect(limits.standardDeviation.value).toBe(0);
    expect([limits.lower.value, limits.upper.value]).toEqual([-1, -1]);
    expect(
      [limits.lower.interval.lower, limits.bias.interval.upper, limits.bias.standardError].every(Number.isNaN),
    ).toBe(true);
  });

  it('the bootstrap is taken where patients are known, in the order of the findings', () => {
    const known = limitsOfAgreement(ratingsOf(rows, { clusters: rows.map((_, at) => at) }), { replicates: 300 });
    expect(known.options.interval).toBe('bootstrap');
    expect(known.bias.interval.method).toMatch(/bootstrap/);
    expect(limitsOfAgreement(ratingsOf(rows), {}).options.interval).toBe('asymptotic');
    expect(limitsOfAgreement(ratingsOf(rows), { components: 'restricted likelihood' }).options.interval).toBe(
      'cluster-robust',
    );
  });

  it('reads as a table: bias, spread, limits and slope, each with its interval', () => {
    const limits = made();
    const table = limits.toTable();
    expect(table.rows).toEqual(
      [limits.bias, limits.standardDeviation, limits.lower, limits.upper, limits.proportionalBias].map(
        ({ statistic, value, interval }) => ({
          statistic,
          value,
          lower: interval.lower,
          upper: interval.upper,
          method: interval.method,
        }),
      ),
    );
  });
});

describe('options that are not there', () => {
  const ratings = ratingsOf([
    [1, 2],
    [5, 3],
    [4, 4],
  ]);
  const asked =
    (options: object): (() => unknown) =>
    () =>
      limitsOfAgreement(ratings, options);
  refuses([
    ['an interval of limits', asked({ limitInterval: '1983' }), 'unknown-choice'],
    ['a true value', asked({ trueValue: 'rising' }), 'unknown-choice'],
    ['a center', asked({ center: 'patients' }), 'unknown-choice'],
    ['components', asked({ components: 'likelihood' }), 'unknown-choice'],
    ['a coverage of 0', asked({ coverage: 0 }), 'bad-option'],
    ['a coverage of 1', asked({ coverage: 1 }), 'bad-option'],
    ['a multiplier of 0', asked({ multiplier: 0 }), 'bad-option'],
    ['a multiplier without end', asked({ multiplier: Number.POSITIVE_INFINITY }), 'bad-option'],
    [
      'an asymptotic interval with repeats',
      () =>
        limitsOfAgreement(
          withRepeats([
            [[1, 2], [2]],
            [[3], [4]],
            [[5], [4]],
          ]),
          { interval: 'asymptotic' },
        ),
      'interval-not-available',
    ],
    ['grades', () => limitsOfAgreement(ratingsOf([[1, 2]], { level: 'ordinal' })), 'grades-not-numbers'],
  ]);
});

describe('laws', () => {
  const rows = fc.array(fc.tuple(fc.integer({ min: 0, max: 40 }), fc.integer({ min: 0, max: 40 })), {
    minLength: 3,
    maxLength: 20,
  });
  const figures = (given: readonly (readonly (number | null)[])[]): number[] => {
    const { bias, standardDeviation, lower, upper } = limitsOfAgreement(ratingsOf(given), { limitInterval: '1999' });
    return [bias.value, standardDeviation.value, lower.value, upper.value];
  };

  it('turns round when the assessors do, keeps with shift, and grows with scale', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const [bias, s, lower, upper] = figures(given);
        const swapped = figures(given.map(([x, y]) => [y, x]));
        expectNear(swapped[0]!, -bias!, 1e-9);
        expectNear(swapped[2]!, -upper!, 1e-9);
        const moved = figures(given.map(([x, y]) => [3 * x + 100, 3 * y + 100]));
        expectNear(moved[1]!, 3 * s!, 1e-9);
        expectNear(moved[2]!, 3 * lower!, 1e-9);
        expectNear(figures([...given].reverse())[3]!, upper!, 1e-9);
      }),
    );
  });

  it('is not moved by an offset of a thousand million', () => {
    const given = [
      [1.25, 1.5],
      [2.5, 2.25],
      [4, 4.75],
      [0.5, 1],
    ];
    const far = figures(given.map((row) => row.map((x) => x + 1e9)));
    figures(given).forEach((figure, at) => expectNear(far[at]!, figure, 1e-9));
  });
});

describe('refused and undefined', () => {
  it('refuses asymptotic intervals where pairs are not independent', () => {
    const ratings = ratingsOf(
      [
        [1, 2],
        [2, 2],
        [4, 3],
      ],
      { clusters: ['a', 'a', 'b'] },
    );
    expect(() => limitsOfAgreement(ratings, { interval: 'asymptotic' })).toThrow(/one finding a patient/);
    expect(() => limitsOfAgreement(ratingsOf([[1, 2, 3]]))).toThrow(/compares two/);
    expect(() => limitsOfAgreement(ratings, { coverage: 95 })).toThrow(/fraction/);
    expect(() => limitsOfAgreement(ratings, { multiplier: -1 })).toThrow(/multiplier/);
  });

  it('is not defined for one pair, and leaves out pairs with a gap', () => {
    const limits = limitsOfAgreement(
      ratingsOf([
        [1, 2],
        [null, 3],
      ]),
    );
    expect(limits.lower.value).toBeNaN();
    expect(limits.counts.excluded).toBe(1);
    expect(limits.notes.map((note) => note.code)).toContain('not-defined');
  });

  it('prints as a line and as a table', () => {
    const limits = limitsOfAgreement(
      ratingsOf([
        [1, 2],
        [5, 3],
        [4, 4],
      ]),
    );
    expect(limits.toString()).toMatch(/^bias 0\.33 \(/);
    expect(limits.toTable().toText()).toMatch(/lower limit of agreement/);
  });
});
