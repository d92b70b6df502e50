import { describe, expect, it } from 'vitest';
import { falseProgressionRate } from '../../src/progression/false-progression-rate.ts';
import { regressionToTheMean } from '../../src/progression/regression-to-the-mean.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const MIX = [0.5, 0.3, 0.2];
const READ = [
  [0.8, 0.15, 0.05],
  [0.2, 0.6, 0.2],
  [0.1, 0.3, 0.6],
];

describe('falseProgressionRate', () => {
  it.each([
    [1, 1, 'higher'],
    [1, 3, 'higher'],
    [2, 1, 'higher'],
    [1, 2, 'lower'],
    [2, 2, 'lower'],
  ] as const)(
    '%d grades on %d readings, %s: the chance of every sequence of readings that the rule calls worse',
    (grades, consecutive, worse) => {
      // Every sequence of a baseline and the later readings, by its chance.
      let rate = 0;
      MIX.forEach((share, truth) => {
        const follow = (chance: number, baseline: number, left: number): void => {
          if (left === 0) rate += chance;
          else
            READ[truth]!.forEach((next, grade) => {
              const by = worse === 'higher' ? grade - baseline : baseline - grade;
              if (by >= grades) follow(chance * next, baseline, left - 1);
            });
        };
        READ[truth]!.forEach((first, baseline) => {
          follow(share * first, baseline, consecutive);
        });
      });
      expectNear(falseProgressionRate(MIX, READ, { grades, consecutive, worse }), rate, 1e-14);
      if (worse === 'higher') expectNear(falseProgressionRate(MIX, READ, { grades, consecutive }), rate, 1e-14);
    },
  );

  it('is 0 where nobody misreads and where no scale reaches so far', () => {
    const sure = [
      [1, 0],
      [0, 1],
    ];
    expect(falseProgressionRate([0.5, 0.5], sure, { grades: 1, consecutive: 1 })).toBe(0);
    expect(falseProgressionRate(MIX, READ, { grades: 3, consecutive: 1 })).toBe(0);
  });

  it('refuses shares and rules that are none, all at once', () => {
    const rule = { grades: 1, consecutive: 1 };
    expect(problemsIn(() => falseProgressionRate([0.5, 0.6], READ, { grades: 0, consecutive: 1.5 }))).toEqual([
      'bad-shares mix',
      'bad-shares matrix',
      'bad-shares matrix.0',
      'bad-shares matrix.1',
      'bad-shares matrix.2',
      'bad-option rule.grades',
      'bad-option rule.consecutive',
    ]);
    // A row too short that adds up to 1, one that does not add up, and one with a share below 0 that does.
    expect(
      problemsIn(() =>
        falseProgressionRate(
          MIX,
          [
            [0.5, 0.5],
            [0.2, 0.6, 0.3],
            [1.2, -0.2, 0],
          ],
          rule,
        ),
      ),
    ).toEqual(['bad-shares matrix.0', 'bad-shares matrix.1', 'bad-shares matrix.2']);
    expect(problemsIn(() => falseProgressionRate([1.2, -0.3, 0.1], READ, rule))).toEqual(['bad-shares mix']);
    expect(problemsIn(() => falseProgressionRate([1.2, -0.1, -0.1], READ, rule))).toEqual(['bad-shares mix']);
    expect(problemsIn(() => falseProgressionRate([0.5, 0.2, 0.2], READ, rule))).toEqual(['bad-shares mix']);
    // Ten shares of a tenth add up to 1 but for rounding.
    const tenths = new Array<number>(10).fill(0.1);
    expect(
      falseProgressionRate(
        tenths,
        tenths.map(() => tenths),
        rule,
      ),
    ).toBeCloseTo(0.45, 12);
  });
});

describe('regressionToTheMean', () => {
  it('is what simulated limbs show that are chosen by the mean of two readings and read again', () => {
    const random = seededRandom(41);
    const [mean, betweenLimbs, error, cutOff, baselineReadings] = [10, 3, 2, 12, 2];
    let [chosen, first, second] = [0, 0, 0];
    for (let limb = 0; limb < 200_000; limb++) {
      const truth = mean + betweenLimbs * random.normal();
      const read = truth + (error * (random.normal() + random.normal())) / 2;
      const next = truth + error * random.normal();
      if (read <= cutOff) continue;
      chosen++;
      first += read;
      second += next;
    }
    const expected = regressionToTheMean({ mean, betweenLimbs, error, cutOff, baselineReadings });
    // About 54,000 limbs are chosen; readings scatter by at most 3.6, so four standard errors are below .07.
    expect(Math.abs(first / chosen - expected.expectedFirst)).toBeLessThan(0.07);
    expect(Math.abs(second / chosen - expected.expectedSecond)).toBeLessThan(0.07);
    expectNear(expected.expectedChange, expected.expectedFirst - expected.expectedSecond, 1e-12);
    expectNear(expected.intraclassCorrelation, 9 / 13, 1e-12);
  });

  it('is nothing without error, and the same for one reading as by default', () => {
    const input = { mean: 10, betweenLimbs: 3, error: 0, cutOff: 12 };
    expect(regressionToTheMean(input).expectedChange).toBe(0);
    expect(regressionToTheMean(input).intraclassCorrelation).toBe(1);
    const usual = { ...input, error: 2 };
    expect(regressionToTheMean({ ...usual, baselineReadings: 1 })).toEqual(regressionToTheMean(usual));
  });

  it('refuses spreads and numbers of readings that are none', () => {
    const input = { mean: 10, betweenLimbs: 3, error: 2, cutOff: 12 };
    for (const [more, place] of [
      [{ betweenLimbs: 0 }, 'betweenLimbs'],
      [{ betweenLimbs: -1 }, 'betweenLimbs'],
      [{ error: -1 }, 'betweenLimbs'],
      [{ error: Number.NaN }, 'betweenLimbs'],
      [{ baselineReadings: 0 }, 'baselineReadings'],
      [{ baselineReadings: 1.5 }, 'baselineReadings'],
    ] as const)
      expect(problemsIn(() => regressionToTheMean({ ...input, ...more }))).toEqual([`bad-option ${place}`]);
  });
});
