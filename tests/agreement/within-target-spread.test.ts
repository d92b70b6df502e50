import { expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import {
  spreadAboutTargets,
  spreadAcrossRepeats,
  spreadOfRepeats,
  spreadOfResiduals,
} from '../../src/agreement/within-target-spread.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const random = seededRandom(12);
const ROWS = Array.from({ length: 8 }, () => {
  const target = 4 * random.normal();
  return [0, 0.8, -0.5].map((habit) => target + habit + random.normal());
});
const complete = ratingsOf(ROWS, { level: 'interval' });
const { subject: _none, ...rest } = complete;
/** A second reading of every target by one assessor or two. */
const REPEATS = ROWS.flatMap((row, target) =>
  [0, 1, 2]
    .filter((assessor) => assessor === target % 3 || target % 2 === 0)
    .map((assessor) => ({ target, assessor, replicate: 2, code: 0, number: row[assessor]! + random.normal() })),
);
const repeated = new Ratings({ ...rest, repeats: REPEATS });

/** The gradient is that of `of`, by central differences, at the data and away from them. */
function hasGradientOf(coefficient: Coefficient, of: (sums: Float64Array) => number, ratings: Ratings): void {
  const { totals } = clusterSums(ratings, coefficient);
  const away = totals.map((sum, cell) => sum * (1 + 0.02 * Math.sin(cell + 1)));
  for (const sums of [totals, away]) {
    const gradient = coefficient.gradient(sums);
    sums.forEach((sum, cell) => {
      if (sum === 0) return;
      const step = 1e-6 * Math.max(1, Math.abs(sum));
      const at = (moved: number): number => of(sums.map((value, one) => (one === cell ? value + moved : value)));
      expectNear(gradient[cell]!, (at(step) - at(-step)) / (2 * step), 1e-6);
    });
  }
}

it('about targets and of repeats: gradients are those of the value', () => {
  for (const { coefficient } of [spreadAboutTargets(complete, 's', 'repeats'), spreadOfRepeats(repeated, 's')])
    hasGradientOf(coefficient, (sums) => coefficient.value(sums), repeated);
});

it('of residuals: degrees (n − 1)(k − 1), and the gradient of √(SS/(n(k − 1)))', () => {
  const { coefficient, degrees } = spreadOfResiduals(complete, 's');
  expect(degrees).toBe(14);
  hasGradientOf(coefficient, (sums) => coefficient.value(sums) * Math.sqrt((sums[0]! - 1) / sums[0]!), complete);
  expect(spreadOfResiduals(ratingsOf([...ROWS.slice(1), [1, 2, null]], { level: 'interval' }), 's').degrees).toBe(
    undefined,
  );
});

it('of repeats: degrees are one for each repeat, and readings both of each pair', () => {
  const { degrees, readings } = spreadOfRepeats(repeated, 's');
  expect(degrees).toBe(REPEATS.length);
  expect(readings).toBe(2 * REPEATS.length);
});

// Every ordered pair of assessors by its definition, √(Σ(Σd² − (Σd)²/n)/2Σ(n − 1)) or √(Σd²/2Σn); the gradient with n for n − 1.
it('across repeats: value by the definition, and its gradient', () => {
  for (const habitsOut of [false, true]) {
    const { coefficient } = spreadAcrossRepeats(repeated, 's', habitsOut);
    let squares = 0;
    let degrees = 0;
    for (const first of [0, 1, 2])
      for (const second of [0, 1, 2]) {
        const d = REPEATS.filter(({ assessor }) => assessor === second && first !== second).map(
          ({ target, number }) => number - ROWS[target]![first]!,
        );
        if (d.length === 0) continue;
        const sum = d.reduce((total, one) => total + one, 0);
        squares += d.reduce((total, one) => total + one * one, 0) - (habitsOut ? (sum * sum) / d.length : 0);
        degrees += d.length - (habitsOut ? 1 : 0);
      }
    const { totals } = clusterSums(repeated, coefficient);
    expectNear(coefficient.value(totals), Math.sqrt(squares / (2 * degrees)), 1e-12);
    const plain = (sums: Float64Array): number => {
      let pairs = 0;
      let groups = 0;
      for (let at = 0; at < sums.length; at += 3) {
        pairs += sums[at]!;
        if (sums[at]! > 0) groups++;
      }
      return coefficient.value(sums) * Math.sqrt((pairs - (habitsOut ? groups : 0)) / pairs);
    };
    hasGradientOf(coefficient, plain, repeated);
  }
});

it('a repeat that is missing is none, and repeats need no first reading', () => {
  const missing = REPEATS.map((one) => ({ ...one, replicate: 3, code: -1, number: Number.NaN }));
  const more = new Ratings({ ...rest, repeats: [...missing, ...REPEATS, ...missing] });
  for (const spreadOf of [
    (of: Ratings) => spreadOfRepeats(of, 's'),
    (of: Ratings) => spreadAcrossRepeats(of, 's', false),
    (of: Ratings) => spreadAcrossRepeats(of, 's', true),
  ]) {
    const [plain, found] = [spreadOf(repeated), spreadOf(more)];
    const coefficientOf = ({ coefficient }: { coefficient: Coefficient }, of: Ratings): number =>
      coefficient.value(clusterSums(of, coefficient).totals);
    expectNear(coefficientOf(found, more), coefficientOf(plain, repeated), 1e-12);
    expect(found.readings).toBe(plain.readings);
    expect(found.degrees).toBe(plain.degrees);
  }
  // The first target has no first reading by the first assessor, and two again: 5 and 8, squares 4.5; the second 1 and 2: ½.
  const { subject: _unused, ...of } = ratingsOf([
    [null, 1],
    [1, 4],
    [null, 3],
  ]);
  const again = [
    { target: 0, number: 5 },
    { target: 0, number: 8 },
    { target: 1, number: 2 },
    { target: 2, number: 9 },
  ].map((one, at) => ({ ...one, assessor: 0, replicate: 2 + at, code: 0 }));
  const lone = new Ratings({ ...of, repeats: again });
  const { coefficient, degrees, readings } = spreadOfRepeats(lone, 's');
  expectNear(coefficient.value(clusterSums(lone, coefficient).totals), Math.sqrt(5 / 2), 1e-12);
  expect([degrees, readings]).toEqual([2, 4]);
  expect(clusterSums(lone, coefficient)).toMatchObject({ targets: 2, excluded: 1 });
});
