import { describe, expect, it } from 'vitest';
import { targetShare, targetShareGradient, twoWaySums } from '../../src/agreement/two-way-table.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const random = seededRandom(31);
const ROWS = Array.from({ length: 9 }, () => {
  const target = 3 * random.normal();
  return [0, 0.7, -1.1].map((habit) => target + habit + random.normal());
});
const sums = twoWaySums(ratingsOf(ROWS, { level: 'interval' }));

/** The sums of rows drawn with unequal weights, as in a bootstrap: no assessor's total is 0 there. */
function reweighted(weights: readonly number[]): Float64Array {
  const totals = new Float64Array(sums.cells);
  ROWS.forEach((_, target) => {
    const own = new Float64Array(sums.cells);
    sums.add(target, own, 0);
    own.forEach((value, cell) => {
      totals[cell]! += weights[target]! * value;
    });
  });
  return totals;
}

describe('away from the data themselves, as in a bootstrap', () => {
  const totals = reweighted([3, 0, 1, 2, 0, 0, 1, 1, 1]);

  it('components are those of the rows drawn', () => {
    const drawn = [0, 0, 0, 2, 3, 3, 6, 7, 8].map((at) => ROWS[at]!);
    const again = twoWaySums(ratingsOf(drawn, { level: 'interval' }));
    const whole = reweightedOf(again, drawn.length);
    for (const part of ['target', 'assessor', 'residual'] as const) {
      expectNear(sums.components(totals)[part], again.components(whole)[part], 1e-11);
      expectNear(sums.derivatives(totals).components[part], again.derivatives(whole).components[part], 1e-11);
    }
  });

  it('derivatives are those of the components (central differences), and so is the gradient of the share', () => {
    const { by } = sums.derivatives(totals);
    const gradients = [false, true].map((agreement) => targetShareGradient(sums, totals, agreement));
    for (let cell = 0; cell < sums.cells; cell++) {
      const at = (step: number) => {
        const moved = totals.slice();
        moved[cell]! += step;
        return sums.derivatives(moved).components;
      };
      for (const part of ['target', 'assessor', 'residual'] as const)
        expectNear(by[part][cell]!, (at(1e-5)[part] - at(-1e-5)[part]) / 2e-5, 1e-7);
      [false, true].forEach((agreement, which) => {
        const slope = (targetShare(at(1e-5), agreement) - targetShare(at(-1e-5), agreement)) / 2e-5;
        expectNear(gradients[which]![cell]!, slope, 1e-7);
      });
    }
  });
});

it('mean squares are those of the textbook’s table, by hand', () => {
  // Grand mean 3; targets 1.5, 2.5, 5: 2(2.25 + .25 + 4)/2 = 6.5; assessors 2, 4: 3(1 + 1)/1 = 6.
  const table = twoWaySums(
    ratingsOf(
      [
        [1, 2],
        [2, 3],
        [3, 7],
      ],
      { level: 'interval' },
    ),
  );
  const totals = reweightedOf(table, 3);
  const squares = table.table(totals);
  expect(squares.targets).toBe(3);
  expectNear(squares.targetMeanSquare, 6.5, 1e-12);
  expectNear(squares.assessorMeanSquare, 6, 1e-12);
  // In all 76 − 6·9 = 22, less 13 and 6, over 2; within targets (6 + 3)/3.
  expectNear(squares.residualMeanSquare, 1.5, 1e-12);
  expectNear(squares.withinMeanSquare, 3, 1e-12);
});

function reweightedOf(one: typeof sums, rows: number): Float64Array {
  const totals = new Float64Array(one.cells);
  for (let target = 0; target < rows; target++) one.add(target, totals, 0);
  return totals;
}
