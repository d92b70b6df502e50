import { describe, expect, it } from 'vitest';
import { type AgreementCoefficient, agreementCoefficient } from '../../src/agreement/agreement-coefficient.ts';
import { brennanPrediger } from '../../src/agreement/brennan-prediger.ts';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { congerKappa } from '../../src/agreement/conger-kappa.ts';
import { fleissKappa } from '../../src/agreement/fleiss-kappa.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { lightKappa } from '../../src/agreement/light-kappa.ts';
import { percentAgreement } from '../../src/agreement/percent-agreement.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import { specificAgreement } from '../../src/agreement/specific-agreement.ts';
import type { Weights } from '../../src/agreement/weights.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { studentT } from '../../src/shared/distributions.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { expectNear } from '../support/expect-near.ts';
import { refuses } from '../support/refusals.ts';
import { SHROUT_FLEISS } from '../support/shrout-fleiss.ts';

// Every coefficient once more, plainly and from its definition, on readings with all kinds of gaps: read by three, two, one and nobody; one
// patient who was read by nobody at all; a grade that nobody used; steps between grades that are not equal.
const SCORES = [0, 1, 2, 4];
const ROWS: (number | null)[][] = [
  [0, 0, 1],
  [1, 1, 1],
  [4, null, 4],
  [null, 1, null],
  [null, null, null],
  [0, 1, null],
  [4, 4, 1],
  [0, 0, 0],
];
const PATIENTS = ['a', 'a', 'b', 'b', 'c', 'd', 'e', 'e'];
const ratings = ratingsOf(ROWS, { categories: SCORES, clusters: PATIENTS, level: 'ordinal' });

const OWN = [
  [1, 0.5, 0.25, 0],
  [0.5, 1, 0.75, 0.125],
  [0.25, 0.75, 1, 0.5],
  [0, 0.125, 0.5, 1],
];
const WEIGHTS: readonly Weights[] = ['identity', 'linear', 'quadratic', 'radical', 'ordinal', OWN];

/** The weight of two readings by the formulas of the docstring; 4 the range of the scores, 4 the number of grades. */
function weight(asked: Weights, a: number, b: number): number {
  const [i, j] = [SCORES.indexOf(a), SCORES.indexOf(b)];
  if (typeof asked !== 'string') return asked[i]![j]!;
  const apart = Math.abs(a - b) / 4;
  const steps = Math.abs(i - j);
  switch (asked) {
    case 'identity':
      return i === j ? 1 : 0;
    case 'linear':
      return 1 - apart;
    case 'quadratic':
      return 1 - apart ** 2;
    case 'radical':
      return 1 - Math.sqrt(apart);
    default:
      // 1 − C(steps + 1, 2) / C(4, 2)
      return 1 - ((steps + 1) * steps) / 2 / 6;
  }
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const read = (row: readonly (number | null)[]): number[] => row.filter((x): x is number => x !== null);
/** Mean weight of the ordered pairs of a target's readings. */
const shareOf = (w: Weights, readings: readonly number[]): number =>
  mean(readings.flatMap((a, i) => readings.flatMap((b, j) => (i === j ? [] : [weight(w, a, b)]))));
const sharesOf = (readings: readonly number[]): number[] =>
  SCORES.map((score) => readings.filter((x) => x === score).length / readings.length);
/** Σ wₖₗ aₖ bₗ. */
const chance = (w: Weights, a: readonly number[], b: readonly number[]): number =>
  SCORES.reduce((sum, k, i) => sum + SCORES.reduce((inner, l, j) => inner + weight(w, k, l) * a[i]! * b[j]!, 0), 0);

type Rows = readonly (readonly (number | null)[])[];
const observed = (w: Weights, rows: Rows): number =>
  mean(
    rows
      .map(read)
      .filter(({ length }) => length > 1)
      .map((readings) => shareOf(w, readings)),
  );
/** Mean over targets of the shares of their readings. */
const pooled = (rows: Rows): number[] => {
  const each = rows.map(read).filter(({ length }) => length > 0);
  return SCORES.map((_, k) => mean(each.map((readings) => sharesOf(readings)[k]!)));
};
const columnOf = (rows: Rows, column: number): number[] => read(rows.map((row) => row[column]!));
const both = (rows: Rows, g: number, h: number): Rows =>
  rows.filter((row) => row[g] !== null && row[h] !== null).map((row) => [row[g]!, row[h]!]);
const corrected = (seen: number, byChance: number): number => (seen - byChance) / (1 - byChance);
const cohen = (w: Weights, rows: Rows): number =>
  corrected(observed(w, rows), chance(w, sharesOf(columnOf(rows, 0)), sharesOf(columnOf(rows, 1))));

const CHANCES: Readonly<Record<string, (w: Weights, rows: Rows) => number>> = {
  conger: (w, rows) => {
    const margins = [0, 1, 2].map((g) => sharesOf(columnOf(rows, g)));
    return mean(margins.flatMap((a, g) => margins.flatMap((b, h) => (g === h ? [] : [chance(w, a, b)]))));
  },
  fleiss: (w, rows) => chance(w, pooled(rows), pooled(rows)),
  brennan: (w) => chance(w, [0.25, 0.25, 0.25, 0.25], [0.25, 0.25, 0.25, 0.25]),
  gwet: (w, rows) =>
    (chance(w, [1, 1, 1, 1], [1, 1, 1, 1]) / 12) * pooled(rows).reduce((sum, share) => sum + share * (1 - share), 0),
};

const options = { interval: 'cluster-robust' } as const;
const wordsOf = (w: Weights, plain: string, weighted: string): string =>
  w === 'identity' ? plain : `${weighted}, ${typeof w === 'string' ? w : 'own table'} weights`;

describe.each(WEIGHTS.map((weights) => ({ weights })))('by the definition, weights $weights', ({ weights }) => {
  const parts = (estimate: Estimate) => {
    const { observedAgreement, expectedAgreement, targetsReadTwice } = estimate.details;
    return { observedAgreement: observedAgreement!, expectedAgreement: expectedAgreement!, targetsReadTwice };
  };
  it.each([
    ['conger', congerKappa, 'Conger kappa', 'Conger kappa'],
    ['fleiss', fleissKappa, 'Fleiss kappa', 'Fleiss kappa'],
    ['brennan', brennanPrediger, 'Brennan–Prediger coefficient', 'Brennan–Prediger coefficient'],
    ['gwet', gwetAgreement, 'Gwet first coefficient', 'Gwet second coefficient'],
  ] as const)('%s', (name, coefficient, plain, weighted) => {
    const estimate = coefficient(ratings, { weights, ...options });
    const seen = observed(weights, ROWS);
    const byChance = CHANCES[name]!(weights, ROWS);
    expectNear(estimate.value, corrected(seen, byChance), 1e-12);
    const { observedAgreement, expectedAgreement, targetsReadTwice } = parts(estimate);
    expectNear(observedAgreement, seen, 1e-12);
    expectNear(expectedAgreement, byChance, 1e-12);
    expect(targetsReadTwice).toBe(6);
    expect(estimate.statistic).toBe(wordsOf(weights, plain, weighted));
    expect(estimate.counts).toEqual({ targets: 7, clusters: 4, assessors: 3, ratings: 17, excluded: 1 });
    expect(estimate.options.weights).toBe(weights);
  });

  it('Fleiss, every pair of readings counted once', () => {
    const estimate = fleissKappa(ratings, { weights, counting: 'pair-weighted', ...options });
    const all = ROWS.map(read);
    const agreeing = all.reduce(
      (sum, r) => sum + (r.length > 1 ? shareOf(weights, r) * r.length * (r.length - 1) : 0),
      0,
    );
    const pairs = all.reduce((sum, { length }) => sum + length * (length - 1), 0);
    const shares = sharesOf(all.flat());
    expectNear(estimate.value, corrected(agreeing / pairs, chance(weights, shares, shares)), 1e-12);
    expect(estimate.counts).toMatchObject({ targets: 7, ratings: 17, excluded: 1 });
    expect(estimate.options.counting).toBe('pair-weighted');
  });

  it('Cohen and Scott, of the targets that both have read', () => {
    const two = both(ROWS, 0, 1);
    const pair = ratings.ofAssessors('1', '2');
    const kappa = cohenKappa(pair, { weights, ...options });
    expectNear(kappa.value, cohen(weights, two), 1e-12);
    expect(kappa.statistic).toBe(wordsOf(weights, 'Cohen kappa', 'Cohen kappa'));
    const pi = scottPi(pair, { weights, ...options });
    const shares = sharesOf(two.flatMap(read));
    expectNear(pi.value, corrected(observed(weights, two), chance(weights, shares, shares)), 1e-12);
    expect(pi.statistic).toBe(wordsOf(weights, 'Scott pi', 'Scott pi'));
    for (const { counts } of [kappa, pi])
      expect(counts).toEqual({ targets: 5, clusters: 3, assessors: 2, ratings: 10, excluded: 3 });
    expect(cohenKappa(ratings, { weights, assessors: ['1', '2'], ...options }).value).toBe(kappa.value);
    expect(scottPi(ratings, { weights, assessors: ['1', '2'], ...options }).value).toBe(pi.value);
  });

  it('Light, pair by pair or of the targets that all have read', () => {
    const kappas = (rows: Rows): number[] => [
      cohen(weights, both(rows, 0, 1)),
      cohen(weights, both(rows, 0, 2)),
      cohen(weights, both(rows, 1, 2)),
    ];
    const pairwise = lightKappa(ratings, { weights, ...options });
    expectNear(pairwise.value, mean(kappas(ROWS)), 1e-12);
    expect(pairwise.counts).toEqual({ targets: 6, clusters: 4, assessors: 3, ratings: 17, excluded: 2 });
    expect(pairwise.details).toMatchObject({ pairs: 3, undefinedPairs: 0 });
    expectNear(pairwise.details.lowestPair!, Math.min(...kappas(ROWS)), 1e-12);
    expectNear(pairwise.details.highestPair!, Math.max(...kappas(ROWS)), 1e-12);
    expect(pairwise.statistic).toBe(wordsOf(weights, 'Light kappa', 'Light kappa'));
    expect(pairwise.options.missing).toBe('pairwise');
    const whole = ROWS.filter((row) => read(row).length === 3);
    const listwise = lightKappa(ratings, { weights, missing: 'listwise', ...options });
    expectNear(listwise.value, mean(kappas(whole)), 1e-12);
    expect(listwise.counts).toMatchObject({ targets: 4, clusters: 2, excluded: 4 });
  });

  it('by its name', () => {
    const of = (name: AgreementCoefficient): Estimate =>
      agreementCoefficient(name).estimate(ratings, { weights, ...options });
    expect(of('conger-kappa').value).toBe(congerKappa(ratings, { weights, ...options }).value);
    expect(of('fleiss-kappa').value).toBe(fleissKappa(ratings, { weights, ...options }).value);
    expect(of('brennan-prediger').value).toBe(brennanPrediger(ratings, { weights, ...options }).value);
    expect(of('gwet-agreement').value).toBe(gwetAgreement(ratings, { weights, ...options }).value);
    expect(of('light-kappa').value).toBe(lightKappa(ratings, { weights, ...options }).value);
  });
});

describe('by the definition, without weights', () => {
  it.each([0, 1, 2, 3])('percent agreement within %i grades', (within) => {
    const shares = ROWS.map(read)
      .filter(({ length }) => length > 1)
      .map((readings) =>
        mean(
          readings.flatMap((a, i) =>
            readings.slice(0, i).map((b) => (Math.abs(SCORES.indexOf(a) - SCORES.indexOf(b)) <= within ? 1 : 0)),
          ),
        ),
      );
    const estimate = percentAgreement(ratings, { within, ...options });
    expectNear(estimate.value, mean(shares), 1e-12);
    expect(estimate.counts).toEqual({ targets: 6, clusters: 4, assessors: 3, ratings: 17, excluded: 2 });
    expect(estimate.statistic).toBe(
      ['percent agreement', 'percent agreement within 1 grade', 'percent agreement within 2 grades'][within] ??
        'percent agreement within 3 grades',
    );
  });

  it('specific agreement', () => {
    const { categories } = specificAgreement(ratings, options);
    SCORES.forEach((score, at) => {
      const each = ROWS.map(read).filter(({ length }) => length > 1);
      const of = (readings: readonly number[]): number => readings.filter((x) => x === score).length;
      const above = each.reduce((sum, readings) => sum + of(readings) * (of(readings) - 1), 0);
      const below = each.reduce((sum, readings) => sum + of(readings) * (readings.length - 1), 0);
      const { estimate, category } = categories[at]!;
      expect(category.value).toBe(score);
      if (below === 0) expect(estimate.value).toBeNaN();
      else expectNear(estimate.value, above / below, 1e-12);
      expect(estimate.details).toMatchObject({
        readings: each.reduce((sum, readings) => sum + of(readings), 0),
        opportunities: below,
      });
      expect(estimate.counts).toEqual({ targets: 6, clusters: 4, assessors: 3, ratings: 17, excluded: 2 });
    });
  });

  it.each(['nominal', 'ordinal', 'interval', 'ratio'] as const)(
    'Krippendorff’s alpha, %s, by its coincidences',
    (metric) => {
      const units = ROWS.map(read).filter(({ length }) => length > 1);
      const all = units.flat();
      const n = all.length;
      const count = (score: number): number => all.filter((x) => x === score).length;
      const distance = (c: number, k: number): number => {
        if (c === k) return 0;
        if (metric === 'nominal') return 1;
        if (metric === 'interval') return (c - k) ** 2;
        if (metric === 'ratio') return ((c - k) / (c + k)) ** 2;
        const [low, high] = [Math.min(c, k), Math.max(c, k)];
        const between = SCORES.filter((g) => g >= low && g <= high).reduce((sum, g) => sum + count(g), 0);
        return (between - (count(c) + count(k)) / 2) ** 2;
      };
      let seen = 0;
      for (const unit of units)
        unit.forEach((c, i) => {
          for (const k of unit.filter((_, j) => j !== i)) seen += distance(c, k) / (unit.length - 1) / n;
        });
      let byChance = 0;
      all.forEach((c, i) => {
        for (const k of all.filter((_, j) => j !== i)) byChance += distance(c, k) / (n * (n - 1));
      });
      const estimate = krippendorffAlpha(ratings, { metric, ...options });
      expectNear(estimate.value, 1 - seen / byChance, 1e-12);
      expectNear(estimate.details.observedDisagreement!, seen, 1e-12);
      expectNear(estimate.details.expectedDisagreement!, byChance, 1e-12);
      expect(estimate.details.pairableReadings).toBe(16);
      expect(estimate.counts).toEqual({ targets: 6, clusters: 4, assessors: 3, ratings: 16, excluded: 2 });
      expect(estimate.statistic).toBe(`Krippendorff alpha, ${metric}`);
      // The sign's own level where no metric is named.
      if (metric === 'ordinal') expect(krippendorffAlpha(ratings, options).value).toBe(estimate.value);
    },
  );
});

const CHOICES: readonly (readonly [AgreementCoefficient, object])[] = [
  ['percent-agreement', { within: 1 }],
  ['conger-kappa', { weights: 'linear' }],
  ['fleiss-kappa', { weights: 'linear' }],
  ['light-kappa', { weights: 'radical' }],
  ['brennan-prediger', { weights: 'ordinal' }],
  ['gwet-agreement', { weights: 'quadratic' }],
  ['krippendorff-alpha', { metric: 'ratio' }],
];

/** More readings, so that every patient can be left out. */
const many = ratingsOf([...ROWS, [1, 1, 2], [2, 1, 2], [0, 0, null], [4, 4, 4], [2, 2, 2], [1, 0, 0]], {
  categories: SCORES,
  clusters: [...PATIENTS, 'f', 'f', 'g', 'g', 'h', 'i'],
  level: 'ordinal',
});

describe.each(CHOICES)('%s: its interval without each patient', (name, choice) => {
  const of = (given: Ratings): Estimate =>
    agreementCoefficient(name).estimate(given, { ...choice, ...options, confidenceLevel: 0.9 });
  it('is t on the coefficient’s scale with the degrees of freedom of the kurtosis', () => {
    const whole = of(many);
    const patients = [0, 1, 3, 4, 5, 6, 7, 8];
    const without = patients.map((patient) => of(many.ofTargets((target) => many.clusterOf[target] !== patient)).value);
    const center = mean(without);
    const squares = without.map((value) => (value - center) ** 2);
    const k = patients.length;
    const error = Math.sqrt(((k - 1) / k) * squares.reduce((sum, x) => sum + x, 0));
    expectNear(whole.standardError, error, 1e-12);
    const kurtosis = mean(squares.map((x) => x * x)) / mean(squares) ** 2;
    const degrees = Math.min(k - 1, (2 * (k - 1)) / (kurtosis - 1));
    const isShare = name === 'percent-agreement';
    const to = (x: number): number => (isShare ? Math.log(x / (1 - x)) : Math.atanh(x));
    const back = (z: number): number => (isShare ? 1 / (1 + Math.exp(-z)) : Math.tanh(z));
    const slope = isShare ? 1 / (whole.value * (1 - whole.value)) : 1 / (1 - whole.value ** 2);
    const reach = studentT.quantile(0.95, degrees) * error * slope;
    expectNear(whole.interval.lower, back(to(whole.value) - reach), 1e-9);
    expectNear(whole.interval.upper, back(to(whole.value) + reach), 1e-9);
    expect(whole.interval.level).toBe(0.9);
    expect(whole.interval.method).toBe(
      `patient jackknife, t with ${degrees.toFixed(1)} degrees of freedom, ${isShare ? 'logit' : 'Fisher'} scale`,
    );
    expect(whole.counts).toMatchObject({ clusters: k, assessors: 3 });
  });
});

// Gwet 2008 (formulas from memory): κ*ᵢ = κᵢ − 2(1 − κ)(pₑᵢ − pₑ)/(1 − pₑ), κᵢ = (n/n₂)(pₐᵢ − pₑ)/(1 − pₑ), 0 for a target read once, n₂ targets
// read twice; variance Σ (κ*ᵢ − κ)² / (n(n − 1)).
describe.each(['identity', 'linear', 'quadratic'] as const)(
  'Gwet’s published error with gaps, weights %s',
  (weights) => {
    const rows = [...ROWS, [1, 1, 2], [2, 1, 2], [0, 0, null], [4, 4, 4]].filter((row) => read(row).length > 0);
    const given = ratingsOf(rows, { categories: SCORES });
    const pi = pooled(rows);
    const CASES = [
      ['fleiss', fleissKappa, (readings: number[]) => chance(weights, sharesOf(readings), pi)],
      [
        'gwet',
        gwetAgreement,
        (readings: number[]) =>
          (chance(weights, [1, 1, 1, 1], [1, 1, 1, 1]) / 12) *
          sharesOf(readings).reduce((sum, share, k) => sum + share * (1 - pi[k]!), 0),
      ],
      ['brennan', brennanPrediger, () => CHANCES.brennan!(weights, rows)],
    ] as const;
    it.each(CASES)('%s', (name, coefficient, ownChance) => {
      const estimate = coefficient(given, { weights, confidenceLevel: 0.8 });
      const byChance = CHANCES[name]!(weights, rows);
      const n = rows.length;
      const twice = rows.filter((row) => read(row).length > 1).length;
      const own = rows.map((row) => {
        const readings = read(row);
        const k = readings.length > 1 ? ((n / twice) * (shareOf(weights, readings) - byChance)) / (1 - byChance) : 0;
        return k - (2 * (1 - estimate.value) * (ownChance(readings) - byChance)) / (1 - byChance);
      });
      const squares = own.reduce((sum, x) => sum + (x - estimate.value) ** 2, 0);
      const error = Math.sqrt(squares / (n * (n - 1)));
      expectNear(estimate.standardError, error, 1e-12);
      expectNear(estimate.details.standardErrorDivisorN!, error * Math.sqrt((n - 1) / n), 1e-12);
      const reach = studentT.quantile(0.9, n - 1) * error;
      expectNear(estimate.interval.upper, estimate.value + reach, 1e-9);
      expectNear(estimate.interval.lower, estimate.value - reach, 1e-9);
      expect(estimate.interval.method).toBe('asymptotic, targets taken as independent (Gwet 2008)');
      expect(estimate.options.interval).toBe('asymptotic');
    });
  },
);

describe('for measured signs', () => {
  const rows = SHROUT_FLEISS;
  // Shrout, Fleiss, Psychol Bull 1979;86:420: .2898 for agreement of single readings.
  it('the intraclass correlation is that for agreement of single readings, with the options of its interval', () => {
    const given = ratingsOf(rows, { clusters: [1, 2, 3, 4, 5, 6], level: 'ratio' });
    const { estimate } = agreementCoefficient('intraclass-correlation');
    const made = estimate(given, { interval: 'bootstrap', replicates: 300, seed: 4, confidenceLevel: 0.7 });
    expect(made.value).toBeCloseTo(0.2898, 4);
    expect(made.options).toMatchObject({
      model: 'two-way',
      definition: 'agreement',
      unit: 'single',
      interval: 'bootstrap',
      replicates: 300,
      seed: 4,
      confidenceLevel: 0.7,
    });
    expect(estimate(given, { interval: 'cluster-robust' }).options).toMatchObject({
      interval: 'cluster-robust',
      confidenceLevel: 0.95,
    });
  });
});

describe('refusals', () => {
  const unknownWho = ratingsOf([[1, 2]], { assessors: ['A', 'B'] });
  refuses([
    ['a name that is no coefficient', () => agreementCoefficient('kappa' as 'cohen-kappa'), 'unknown-choice'],
    ['half a grade', () => percentAgreement(ratings, { within: 0.5 }), 'bad-option'],
    ['fewer than no grades', () => percentAgreement(ratings, { within: -1 }), 'bad-option'],
    [
      'neighboring grades where there is no order',
      () => percentAgreement(ratingsOf([[0, 1]], { level: 'nominal' }), { within: 1 }),
      'level-not-suited',
    ],
    [
      'an unknown interval of a proportion',
      () => percentAgreement(unknownWho, { proportionInterval: 'wald' as 'wilson' }),
      'unknown-choice',
    ],
    ['an unknown counting', () => fleissKappa(ratings, { counting: 'all' as 'pair-weighted' }), 'unknown-choice'],
    ['an unknown way with gaps', () => lightKappa(ratings, { missing: 'none' as 'listwise' }), 'unknown-choice'],
    ['an unknown metric', () => krippendorffAlpha(ratings, { metric: 'grades' as 'ordinal' }), 'unknown-choice'],
    [
      'a ratio of negative scores',
      () => krippendorffAlpha(ratingsOf([[-1, 1]], { level: 'ratio' }), {}),
      'negative-on-ratio',
    ],
    [
      'an order on a sign without one',
      () => krippendorffAlpha(ratingsOf([[0, 1]], { level: 'nominal' }), { metric: 'ordinal' }),
      'level-not-suited',
    ],
    ...(
      [
        ['Conger', congerKappa],
        ['Fleiss', fleissKappa],
        ['Gwet', gwetAgreement],
        ['Brennan', brennanPrediger],
        ['Light', lightKappa],
        ['Scott', scottPi],
      ] as const
    ).flatMap(([who, coefficient]): [string, () => unknown, string][] => [
      [`a measured sign, ${who}`, () => coefficient(ratingsOf([[1, 2]], { level: 'ratio' })), 'level-not-suited'],
      [
        `an unknown word for weights, ${who}`,
        () => coefficient(unknownWho, { weights: 'square' as 'linear' }),
        'unknown-choice',
      ],
      [
        `a weight above 1, ${who}`,
        () =>
          coefficient(unknownWho, {
            weights: [
              [1, 2],
              [2, 1],
            ],
          }),
        'bad-weights',
      ],
      [
        `graded weights without an order, ${who}`,
        () => coefficient(ratingsOf([[0, 1]], { level: 'nominal' }), { weights: 'linear' }),
        'level-not-suited',
      ],
      [`a level of 95, ${who}`, () => coefficient(unknownWho, { confidenceLevel: 95 }), 'bad-option'],
    ]),
  ]);
});
