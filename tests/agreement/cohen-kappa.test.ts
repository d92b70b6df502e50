import { describe, expect, it } from 'vitest';
import { cohenKappa, kappaCoefficient } from '../../src/agreement/cohen-kappa.ts';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { agreementWeights } from '../../src/agreement/weights.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';

// Each case names its source: Cohen 1968; Fleiss, Cohen, Everitt 1969; Landis & Koch 1977; Feinstein & Cicchetti 1990; …
describe('published tables', () => {
  for (const one of publishedCases('agreement', /^kappa-|^landis-koch-1977-partial-credit/)) {
    const { expected, parameters, tolerance } = one;
    it(`${one.id}: ${one.source}`, () => {
      const weights =
        parameters.agreementWeights ?? (parameters.weights === 'unweighted' ? undefined : parameters.weights);
      const kappa = cohenKappa(ratingsOfCase(one), weights === undefined ? {} : { weights });
      expectNear(kappa.value, expected.kappa, tolerance);
      expectNear(kappa.standardError, expected.se, tolerance);
      expectNear(kappa.details.nullStandardError!, expected.se0, tolerance);
      const travelling: Record<string, string> = {
        po: 'observedAgreement',
        pe: 'expectedAgreement',
        kappaMax: 'greatestAttainable',
        prevalenceIndexSigned: 'prevalenceIndex',
        biasIndexSigned: 'biasIndex',
      };
      for (const [key, name] of Object.entries(travelling))
        if (key in expected) expectNear(kappa.details[name]!, expected[key], tolerance);
      if ('ciLower' in expected) {
        expectNear(kappa.interval.lower, expected.ciLower, tolerance);
        expectNear(kappa.interval.upper, expected.ciUpper, tolerance);
      }
      if ('kappaLinear' in expected) {
        const linear = cohenKappa(ratingsOfCase(one), { weights: 'linear' });
        expectNear(linear.value, expected.kappaLinear, tolerance);
        expectNear(linear.standardError, expected.seLinear, tolerance);
        expectNear(linear.details.nullStandardError!, expected.se0Linear, tolerance);
      }
    });
  }

  it('prints .507 with error .057 for the weighted example of Fleiss, Cohen and Everitt 1969, doi:10.1037/h0028106', () => {
    const table = [
      [106, 10, 4],
      [22, 28, 10],
      [2, 12, 6],
    ];
    const weights = [
      [1, 0, 0.4444],
      [0, 1, 0.6667],
      [0.4444, 0.6667, 1],
    ];
    const kappa = cohenKappa(ratingsOfTable(table, { categories: ['a', 'b', 'c'] }), { weights });
    expectPrinted(kappa.value, '0.507');
    expectPrinted(kappa.standardError, '0.057');
  });
});

// Yang & Zhou, Stat Med 2014;33:2612 (linearized error with factor K/(K − 1)); jackknife by delete-one-cluster recomputation.
describe('patients as clusters', () => {
  for (const one of publishedCases('agreement', /cluster-kappa-/)) {
    it(one.id, () => {
      const ratings =
        one.data.pairs === undefined
          ? ratingsOfCase(one, one.parameters.cluster ?? 'patient').ofAssessors('1', '2')
          : ratingsOf(
              one.data.subjectsByRaters.flatMap((row: number[]) =>
                one.data.pairs.map((pair: number[]) => pair.map((at) => row[at]!)),
              ),
              {
                clusters: one.data.subjectsByRaters.flatMap((_: number[], woman: number) =>
                  one.data.pairs.map(() => woman),
                ),
              },
            );
      const both = ratings.ofTargets(
        (target) => ratings.codes[2 * target]! >= 0 && ratings.codes[2 * target + 1]! >= 0,
      );
      const kappa = cohenKappa(both, { weights: one.parameters.weights, interval: 'cluster-robust' });
      expectNear(kappa.value, one.expected.kappa, one.tolerance);
      expectNear(kappa.details.linearizedStandardError!, one.expected.seCluster, one.tolerance);
      expectNear(kappa.standardError, one.expected.seDeleteOneClusterJackknife, one.tolerance);
      expect(kappa.counts.clusters).toBe(one.expected.clusters);
      const naive = cohenKappa(both, { weights: one.parameters.weights, interval: 'asymptotic' });
      expectNear(naive.standardError, one.expected.seNaive, one.tolerance);
    });
  }
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => cohenKappa(ratings, { weights }), { lowest: Number.NEGATIVE_INFINITY });
      hasItsGradient((ratings) => kappaCoefficient(ratings, agreementWeights(ratings, weights), weights), {
        assessors: 2,
      });
    });

  it('with quadratic weights equals the concordance coefficient with 1/n moments (second formula)', () => {
    const random = seededRandom(7);
    const rows = Array.from({ length: 60 }, () => {
      const truth = random.below(5);
      return [truth, Math.max(0, Math.min(4, truth + random.below(3) - 1))];
    });
    const mean = (values: number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
    const x = rows.map((row) => row[0]!);
    const y = rows.map((row) => row[1]!);
    const covariance = mean(x.map((value, at) => (value - mean(x)) * (y[at]! - mean(y))));
    const variance = (values: number[]): number => mean(values.map((value) => (value - mean(values)) ** 2));
    const concordance = (2 * covariance) / (variance(x) + variance(y) + (mean(x) - mean(y)) ** 2);
    const kappa = cohenKappa(ratingsOf(rows, { categories: [0, 1, 2, 3, 4] }), { weights: 'quadratic' });
    expect(kappa.value).toBeCloseTo(concordance, 12);
  });

  it('takes weights on scale scores, not on positions: grade 1 never used on 0–4', () => {
    const rows = [
      [0, 0],
      [2, 2],
      [2, 3],
      [3, 3],
      [4, 4],
      [4, 3],
      [0, 2],
    ];
    const declared = cohenKappa(ratingsOf(rows, { categories: [0, 1, 2, 3, 4] }), { weights: 'quadratic' });
    const observed = cohenKappa(ratingsOf(rows), { weights: 'quadratic' });
    expect(observed.value).toBeCloseTo(declared.value, 12);
  });
});

describe('when it is not defined', () => {
  it('is NaN with a note when both used one category throughout', () => {
    const kappa = cohenKappa(
      ratingsOfTable(
        [
          [10, 0],
          [0, 0],
        ],
        { categories: ['no', 'yes'] },
      ),
    );
    expect(kappa.value).toBeNaN();
    expect(kappa.interval.lower).toBeNaN();
    expect(kappa.notes.map((note) => note.code)).toContain('not-defined');
  });

  it('gives no interval when every reading agrees, and says so', () => {
    const rows = [
      [0, 0],
      [1, 1],
      [2, 2],
      [0, 0],
    ];
    const kappa = cohenKappa(ratingsOf(rows, { clusters: ['p', 'q', 'r', 's'] }));
    expect(kappa.value).toBe(1);
    expect(kappa.interval.lower).toBeNaN();
    expect(kappa.notes.map((note) => note.code)).toContain('no-variation');
  });

  it('says that the two never agreed on a grade, and that nearly all readings are alike', () => {
    const codes = cohenKappa(
      ratingsOfTable(
        [
          [90, 5],
          [5, 0],
        ],
        { categories: ['absent', 'present'] },
      ),
    ).notes.map((note) => note.code);
    expect(codes).toContain('never-agreed');
    expect(codes).toContain('nearly-all-alike');
  });
});

describe('refusals', () => {
  const three = ratingsOf(
    [
      [0, 1, 1],
      [1, 1, 0],
    ],
    { assessors: ['A', 'B', 'C'] },
  );
  const refused: [string, () => unknown, string][] = [
    ['three assessors and none named', () => cohenKappa(three), 'two-assessors-needed'],
    ['assessors unknown', () => cohenKappa(ratingsOfCounts([[1, 1]], { categories: [0, 1] })), 'two-assessors-needed'],
    ['an assessor that is not there', () => cohenKappa(three, { assessors: ['A', 'Z'] }), 'unknown-assessor'],
    [
      'an unknown word for weights',
      () => cohenKappa(three, { assessors: ['A', 'B'], weights: 'square' as 'linear' }),
      'unknown-choice',
    ],
    ['weights that are not square', () => cohenKappa(three, { assessors: ['A', 'B'], weights: [[1]] }), 'bad-weights'],
    ['a confidence level of 95', () => cohenKappa(three, { assessors: ['A', 'B'], confidenceLevel: 95 }), 'bad-option'],
    ['a measured sign', () => cohenKappa(ratingsOf([[1.2, 1.3]], { level: 'ratio' })), 'level-not-suited'],
    [
      'graded weights without an order',
      () => cohenKappa(ratingsOf([[0, 1]], { level: 'nominal' }), { weights: 'linear' }),
      'level-not-suited',
    ],
  ];
  for (const [what, call, code] of refused)
    it(what, () => {
      try {
        call();
        expect.unreachable('nothing was refused');
      } catch (error) {
        expect(error).toBeInstanceOf(InputError);
        expect((error as InputError).problems[0]?.code).toBe(code);
      }
    });
});

it('counts a target without both readings as excluded', () => {
  const kappa = cohenKappa(
    ratingsOf([
      [0, 0],
      [1, null],
      [1, 1],
      [null, null],
    ]),
  );
  expect(kappa.counts).toEqual({ targets: 2, clusters: 2, assessors: 2, ratings: 4, excluded: 2 });
});

it('gives the same digits for the same seed and others for another', () => {
  const random = seededRandom(3);
  const rows = Array.from({ length: 90 }, () => {
    const truth = random.below(4);
    return [truth, Math.min(3, truth + (random.uniform() < 0.3 ? 1 : 0))];
  });
  const ratings = ratingsOf(rows, { clusters: rows.map((_, at) => at % 15) });
  const lower = (seed: number): number => cohenKappa(ratings, { seed }).interval.lower;
  expect(lower(1)).toBe(lower(1));
  expect(lower(1)).not.toBe(lower(2));
});

it('shows who read what', () => {
  expect(
    crossTable(
      ratingsOf([
        [1, 1],
        [1, 2],
        [2, 2],
        [null, 1],
      ]),
    ).counts,
  ).toEqual([
    [1, 1],
    [0, 1],
  ]);
});

// By hand: margins 5, 3, 2 and 4, 4, 2 of ten. In rank order 4 pairs (0, 0), 1 (0, 1), 3 (1, 1), 2 (2, 2). Linear: pₒ = .95,
// pₑ = (5·6 + 3·7 + 2·4)/100 = .59; quadratic: pₒ = .975, pₑ = (5·7 + 3·8.5 + 2·5)/100 = .705; unweighted: pₒ = .9, pₑ = (20 + 12 + 4)/100.
it('the greatest weighted kappa pairs the readings in rank order', () => {
  const first = [0, 0, 0, 0, 0, 1, 1, 1, 2, 2];
  const second = [2, 0, 0, 1, 1, 0, 0, 1, 1, 2];
  const ratings = ratingsOf(first.map((grade, at) => [grade, second[at]!]));
  const greatest = (options: Parameters<typeof cohenKappa>[1]): number | undefined =>
    cohenKappa(ratings, options).details.greatestAttainable;
  expectNear(greatest({ weights: 'linear' })!, 0.36 / 0.41, 1e-12);
  expectNear(greatest({ weights: 'quadratic' })!, 0.27 / 0.295, 1e-12);
  expectNear(greatest({})!, 0.54 / 0.64, 1e-12);
});

// A table of 60 targets in four grades, of which the last was never used; everything by the definitions.
describe('every detail, written out', () => {
  const TABLE = [
    [9, 4, 1, 0],
    [3, 12, 6, 0],
    [2, 0, 23, 0],
    [0, 0, 0, 0],
  ];
  const SCORES = [0, 1, 2, 4];
  const n = 60;
  const first = TABLE.map((row) => row.reduce((sum, x) => sum + x, 0) / n);
  const second = SCORES.map((_, j) => TABLE.reduce((sum, row) => sum + row[j]!, 0) / n);
  const cells = SCORES.flatMap((_, i) => SCORES.map((__, j) => ({ i, j })));
  const weight: Readonly<Record<string, (i: number, j: number) => number>> = {
    identity: (i, j) => (i === j ? 1 : 0),
    linear: (i, j) => 1 - Math.abs(SCORES[i]! - SCORES[j]!) / 4,
    quadratic: (i, j) => 1 - (Math.abs(SCORES[i]! - SCORES[j]!) / 4) ** 2,
    ordinal: (i, j) => 1 - (Math.abs(i - j) * (Math.abs(i - j) + 1)) / 12,
    radical: (i, j) => 1 - Math.sqrt(Math.abs(SCORES[i]! - SCORES[j]!) / 4),
  };
  const ratings = ratingsOfTable(TABLE, { categories: SCORES });

  it.each(['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)('%s', (weights) => {
    const w = weight[weights]!;
    const { value, details, standardError, interval } = cohenKappa(ratings, { weights, confidenceLevel: 0.9 });
    const sum = (of: (i: number, j: number) => number): number =>
      cells.reduce((total, { i, j }) => total + of(i, j), 0);
    const seen = sum((i, j) => (w(i, j) * TABLE[i]![j]!) / n);
    const chance = sum((i, j) => w(i, j) * first[i]! * second[j]!);
    const kappa = (seen - chance) / (1 - chance);
    expectNear(value, kappa, 1e-12);
    expectNear(details.observedAgreement!, seen, 1e-12);
    expectNear(details.expectedAgreement!, chance, 1e-12);
    // Of 120 readings 55 are of the third grade.
    expectNear(details.largestShare!, 55 / 120, 1e-12);
    // Fleiss, Cohen, Everitt 1969, formulas 8 and 9 in weights; w̄ᵢ₊ the mean weight of row i over the columns' margin.
    const ofRow = (i: number): number => SCORES.reduce((total, _, j) => total + w(i, j) * second[j]!, 0);
    const ofColumn = (j: number): number => SCORES.reduce((total, _, i) => total + w(i, j) * first[i]!, 0);
    const nullVariance =
      (sum((i, j) => first[i]! * second[j]! * (w(i, j) - ofRow(i) - ofColumn(j)) ** 2) - chance ** 2) /
      (n * (1 - chance) ** 2);
    expectNear(details.nullStandardError!, Math.sqrt(nullVariance), 1e-12);
    const variance =
      (sum((i, j) => (TABLE[i]![j]! / n) * (w(i, j) * (1 - chance) - (ofRow(i) + ofColumn(j)) * (1 - seen)) ** 2) -
        (seen * chance - 2 * chance + seen) ** 2) /
      (n * (1 - chance) ** 4);
    expectNear(standardError, Math.sqrt(variance), 1e-12);
    expectNear(interval.upper, kappa + 1.6448536269514722 * Math.sqrt(variance), 1e-9);
    // The most agreement at these margins: the best of all tables. Rows 14, 21, 25 and columns 14, 16, 30: five of the second grade must move up.
    const most: Readonly<Record<string, number>> = {
      identity: 1 - 5 / n,
      linear: 1 - (5 / n) * (1 / 4),
      quadratic: 1 - (5 / n) * (1 / 16),
      ordinal: 1 - (5 / n) * (1 / 6),
      radical: Number.NaN,
    };
    if (weights === 'radical') expect(details.greatestAttainable).toBeNaN();
    else expectNear(details.greatestAttainable!, (most[weights]! - chance) / (1 - chance), 1e-12);
    expect(details).not.toHaveProperty('prevalenceIndex');
  });

  it('with own weights nothing is said of the most attainable, and symmetric weights need not be even', () => {
    const own = SCORES.map((_, i) => SCORES.map((__, j) => weight.ordinal!(i, j)));
    const asked = cohenKappa(ratings, { weights: own });
    const named = cohenKappa(ratings, { weights: 'ordinal' });
    expectNear(asked.value, named.value, 1e-12);
    expectNear(asked.standardError, named.standardError, 1e-12);
    expect(asked.details.greatestAttainable).toBeNaN();
  });

  it('of two categories: prevalence and bias', () => {
    const { details, notes } = cohenKappa(
      ratingsOfTable(
        [
          [40, 9],
          [6, 45],
        ],
        { categories: ['no', 'yes'] },
      ),
    );
    expectNear(details.prevalenceIndex!, -0.05, 1e-12);
    expectNear(details.biasIndex!, 0.03, 1e-12);
    expect(notes.map(({ code }) => code)).toEqual(['patients-not-given']);
  });

  it('names the grades on which the two never agreed, not those that nobody used', () => {
    const message = (table: number[][]): string | undefined =>
      cohenKappa(ratingsOfTable(table, { categories: SCORES })).notes.find(({ code }) => code === 'never-agreed')
        ?.message;
    expect(message(TABLE)).toBeUndefined();
    expect(
      message([
        [0, 4, 1, 0],
        [3, 12, 6, 0],
        [2, 0, 23, 1],
        [0, 0, 0, 0],
      ]),
    ).toBe('The two never agreed on "0", "4".');
    expect(
      message([
        [3, 0, 0, 0],
        [1, 0, 0, 0],
        [0, 0, 5, 0],
        [0, 0, 0, 0],
      ]),
    ).toBe('The two never agreed on "1".');
  });
});

// The errors of a bootstrap with named quadratic weights are made from moments; a table of the same weights goes the long way.
it('quadratic weights by name or as a table: the same bootstrap', () => {
  const random = seededRandom(8);
  const rows = Array.from({ length: 60 }, () => {
    const truth = random.below(4);
    return [truth, Math.min(3, truth + (random.uniform() < 0.3 ? 1 : 0))];
  });
  const ratings = ratingsOf(rows, { categories: [0, 1, 2, 3], clusters: rows.map((_, at) => at % 20) });
  const table = [0, 1, 2, 3].map((i) => [0, 1, 2, 3].map((j) => 1 - (i - j) ** 2 / 9));
  const of = (weights: 'quadratic' | number[][]) => cohenKappa(ratings, { weights, replicates: 500 }).interval;
  expectNear(of('quadratic').lower, of(table).lower, 1e-9);
  expectNear(of('quadratic').upper, of(table).upper, 1e-9);
});
