import { describe, expect, it } from 'vitest';
import { mannKendallTest, type TrendSeries } from '../../src/progression/mann-kendall-test.ts';
import { normal } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

/** Every order of a list. */
function orders<T>(list: readonly T[]): T[][] {
  if (list.length < 2) return [[...list]];
  return list.flatMap((first, at) => orders(list.filter((_, other) => other !== at)).map((rest) => [first, ...rest]));
}

const scoreOf = (times: readonly number[], values: readonly number[]): number => {
  let score = 0;
  for (let i = 0; i < values.length; i++)
    for (let j = 0; j < values.length; j++) if (times[j]! > times[i]!) score += Math.sign(values[j]! - values[i]!);
  return score;
};

const variance = (list: readonly number[]): number => {
  const mean = list.reduce((sum, one) => sum + one, 0) / list.length;
  return list.reduce((sum, one) => sum + (one - mean) ** 2, 0) / list.length;
};

const meanProduct = (one: readonly number[], two: readonly number[]): number =>
  one.reduce((sum, value, at) => sum + value * two[at]!, 0) / one.length;

describe('what it gives back', () => {
  it('every field of two series with ties, a gap and a series that never changes, by hand', () => {
    const result = mannKendallTest([
      // Pairs in order of time: 0–2 rises, 0–1 rises, 0–1 rises, 2–1 falls, 2–1 falls, 1–1 is tied.
      { times: [1, 2, 3, 4], values: [0, 2, 1, 1] },
      // The gap is left out; at one time two figures: 3–5 and 3–4 rise, 5–4 is tied in time.
      { times: [1, 2, 3, 3], values: [3, null, 5, 4] },
      { times: [1, 2], values: [7, 7] },
    ]);
    // n = 4, one pair tied in value: (4·3·13 − 2·1·9)/18 = 138/18; n = 3, one pair tied in time: (3·2·11 − 2·1·9)/18 = 48/18. The third: (18 − 18)/18 = 0
    // and the terms of two ties, Σt(t−1)(t−2) = 0 and Σt(t−1) Σu(u−1) = 0.
    const spread = 138 / 18 + 48 / 18;
    expect(result).toEqual({
      kind: 'mann-kendall',
      rising: 5,
      falling: 2,
      score: 3,
      variance: expect.closeTo(spread, 12),
      // Pairs untied in time 6 + 2 + 1, in value 5 + 3 + 0.
      tau: expect.closeTo(3 / Math.sqrt(9 * 8), 12),
      z: expect.closeTo(2 / Math.sqrt(spread), 12),
      pNormal: expect.closeTo(2 * normal.upper(2 / Math.sqrt(spread)), 12),
      pExact: Number.NaN,
      counts: { series: 3, withVariation: 2, figures: 4 + 3 + 2 },
      notes: [
        {
          code: 'unchanged-series',
          severity: 'information',
          message: '1 of 3 series never change and add nothing to the test.',
        },
      ],
    });
  });

  it('a fall has the z of the same rise with the other sign, and the same p', () => {
    const times = [1, 2, 3, 4, 5];
    const up = mannKendallTest([{ times, values: [1, 2, 4, 3, 5] }]);
    const down = mannKendallTest([{ times, values: [5, 4, 2, 3, 1] }]);
    expect(up.notes).toEqual([]);
    expect([down.rising, down.falling]).toEqual([up.falling, up.rising]);
    expect(down.z).toBeCloseTo(-up.z, 12);
    expect(up.z).toBeGreaterThan(0);
    expect(down.tau).toBeCloseTo(-up.tau, 12);
    expect([down.pNormal, down.pExact]).toEqual([up.pNormal, up.pExact]);
  });

  it('a score of 1 or less is no evidence at all: z 0, p 1', () => {
    // 1, 3, 2 rises twice and falls once.
    const result = mannKendallTest([{ times: [1, 2, 3], values: [1, 3, 2] }]);
    expect([result.score, result.z, result.pNormal]).toEqual([1, 0, 1]);
    const none = mannKendallTest([
      { times: [1, 2, 3, 4], values: [2, 1, 4, 3] },
      { times: [1, 2], values: [2, 1] },
    ]);
    expect([none.score, Math.abs(none.z), none.pNormal]).toEqual([1, 0, 1]);
    const even = mannKendallTest([{ times: [1, 2, 3, 4], values: [2, 4, 1, 3] }]);
    expect([even.score, Math.abs(even.z), even.pNormal]).toEqual([0, 0, 1]);
    expectNear(even.pExact, 1, 1e-12);
  });

  it('a series that never changes has no variance at all, however its times are tied', () => {
    // Six figures on each of two days, and 5, 3, 2 and 6 on four: the terms of the formula cancel only but for rounding.
    for (const sizes of [
      [6, 6],
      [5, 3, 2, 6],
      [4, 3, 6],
    ]) {
      const times = sizes.flatMap((size, day) => new Array<number>(size).fill(day));
      const still = mannKendallTest([{ times, values: times.map(() => 2) }]);
      expect([still.variance, still.counts.withVariation, still.pNormal]).toEqual([0, 0, 1]);
      expect(still.notes.map(({ code }) => code)).toEqual(['no-variation']);
      expect(mannKendallTest([{ times: times.map(() => 2), values: times }]).variance).toBe(0);
    }
  });

  it('series of one figure or none are no trend', () => {
    const result = mannKendallTest([
      { times: [1], values: [3] },
      { times: [], values: [] },
    ]);
    expect(result).toMatchObject({ score: 0, variance: 0, z: 0, pNormal: 1, counts: { figures: 1, withVariation: 0 } });
    expect(result.notes.map(({ code }) => code)).toEqual(['no-variation']);
  });
});

describe('its variance and exact p are those of all orders of the figures', () => {
  it.each([
    ['no ties', [1, 2, 3, 4, 5, 6], [3, 1, 4, 6, 5, 2]],
    ['ties in value', [1, 2, 3, 4, 5, 6], [0, 1, 1, 2, 1, 2]],
    ['ties in time', [1, 1, 2, 3, 3, 3], [4, 1, 2, 6, 5, 3]],
    ['one pair tied in value', [1, 2, 3, 4, 5], [2, 1, 1, 3, 4]],
    ['one pair tied in time', [1, 2, 2, 3, 4], [2, 1, 5, 3, 4]],
    ['threes tied in both', [1, 1, 1, 2, 3, 3], [0, 0, 1, 1, 1, 2]],
    ['pairs of two', [1, 2], [2, 1]],
  ] as const)('%s', (_, times, values) => {
    const all = orders(values).map((order) => scoreOf(times, order));
    const result = mannKendallTest([{ times, values }]);
    expect(result.score).toBe(scoreOf(times, values));
    expectNear(result.variance, variance(all), 1e-12);
    const ties = new Set(times).size < times.length || new Set(values).size < values.length;
    if (ties) expect(result.pExact).toBeNaN();
    else
      expectNear(
        result.pExact,
        all.filter((score) => Math.abs(score) >= Math.abs(result.score)).length / all.length,
        1e-12,
      );
  });

  it('gives the exact p of one series of at most 40 figures', () => {
    const rising = (n: number): TrendSeries => ({
      times: Array.from({ length: n }, (_, at) => at),
      values: Array.from({ length: n }, (_, at) => (at === 0 ? 1 : at === 1 ? 0 : at)),
    });
    // Of n! orders one rises throughout and n − 1 have one inversion; as many fall.
    expectNear(mannKendallTest([rising(5)]).pExact, (2 * 5) / 120, 1e-12);
    expect(mannKendallTest([rising(40)]).pExact).toBeGreaterThan(0);
    expect(mannKendallTest([rising(41)]).pExact).toBeNaN();
    expect(mannKendallTest([rising(5), rising(5)]).pExact).toBeNaN();
  });
});

describe('sites of the same visits', () => {
  /** What the covariance of two sites adds to the variance, halved. */
  const covariance = (one: readonly (number | null)[], two: readonly (number | null)[]): number => {
    const times = one.map((_, at) => at);
    const series = [one, two].map((values) => ({ times, values }));
    const together = mannKendallTest(series, { series: 'same visits' }).variance;
    return (together - mannKendallTest(series).variance) / 2;
  };

  it('a site turned round has the covariance of the site with the other sign', () => {
    const one = [1, 4, 2, 3, 5, 7];
    const two = [2, 1, 5, 3, 4, 4];
    expectNear(
      covariance(
        one,
        two.map((value) => -value),
      ),
      -covariance(one, two),
      1e-10,
    );
    expectNear(covariance(two, one), covariance(one, two), 1e-10);
    // With ties the formula for a series and itself is the variance with ties.
    expectNear(covariance(two, two), mannKendallTest([{ times: [0, 1, 2, 3, 4, 5], values: two }]).variance, 1e-10);
  });

  it('with gaps: the formula written out, pairs with a gap left out and gaps at the middle rank', () => {
    const random = seededRandom(11);
    for (let turn = 0; turn < 5; turn++) {
      const draw = (): (number | null)[] =>
        Array.from({ length: 7 }, () => (random.uniform() < 0.25 ? null : random.below(4)));
      const [one, two] = [draw(), draw()];
      let k = 0;
      for (let i = 0; i < 7; i++)
        for (let j = i + 1; j < 7; j++)
          if (![one[i], one[j], two[i], two[j]].includes(null))
            k += Math.sign((one[j]! - one[i]!) * (two[j]! - two[i]!));
      const ranks = (values: readonly (number | null)[]): number[] => {
        const known = values.filter((value) => value !== null).sort((a, b) => a - b);
        return values.map((value) =>
          value === null ? (known.length + 1) / 2 : (known.indexOf(value) + known.lastIndexOf(value)) / 2 + 1,
        );
      };
      const count = (values: readonly (number | null)[]): number => values.filter((value) => value !== null).length;
      const expected = (k + 4 * 7 * meanProduct(ranks(one), ranks(two)) - 7 * (count(one) + 1) * (count(two) + 1)) / 3;
      expectNear(covariance(one, two), expected, 1e-10);
    }
  });

  it('three sites add the covariance of each two, twice', () => {
    const sites = [
      [1, 3, 2, 4, 5],
      [2, 1, 3, 5, 4],
      [5, 3, 4, 1, 2],
    ];
    const times = [1, 2, 3, 4, 5];
    const all = mannKendallTest(
      sites.map((values) => ({ times, values })),
      { series: 'same visits' },
    );
    const [a, b, c] = sites as [number[], number[], number[]];
    const alone = mannKendallTest([{ times, values: a }]).variance;
    expectNear(all.variance, 3 * alone + 2 * (covariance(a, b) + covariance(a, c) + covariance(b, c)), 1e-10);
  });
});

it('refuses, all at once, lengths, figures that are none, and other visits', () => {
  expect(
    problemsIn(() =>
      mannKendallTest(
        [
          { times: [1, 2], values: [0, 1] },
          { times: [1, 2], values: [0] },
          { times: [1, Number.NaN], values: [0, Number.POSITIVE_INFINITY] },
          { times: [1, 2, 3], values: [0, null, 1] },
        ],
        { series: 'same visits' },
      ),
    ),
  ).toEqual([
    'bad-length series.1',
    'bad-value series.2',
    'bad-value series.2',
    'different-visits series.2',
    'different-visits series.3',
  ]);
  expect(
    mannKendallTest([
      { times: [1, 2], values: [0, null] },
      { times: [3], values: [1] },
    ]).counts.figures,
  ).toBe(2);
});
