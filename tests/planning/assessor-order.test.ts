import { describe, expect, it } from 'vitest';
import { assessorOrder } from '../../src/planning/assessor-order.ts';
import { refuses } from '../support/refusals.ts';

describe('assessorOrder', () => {
  for (const assessors of [
    ['A', 'B'],
    ['A', 'B', 'C'],
    ['A', 'B', 'C', 'D'],
    ['A', 'B', 'C', 'D', 'E'],
  ]) {
    const count = assessors.length;
    const set = count % 2 === 0 ? count : 2 * count;
    const orders = assessorOrder({ assessors, orders: 3 * set, seed: 11 });

    it(`gives each of ${count} assessors each turn equally often in every set`, () => {
      for (let start = 0; start < orders.length; start += set)
        for (let turn = 0; turn < count; turn++)
          for (const assessor of assessors)
            expect(orders.slice(start, start + set).filter((order) => order[turn] === assessor)).toHaveLength(
              set / count,
            );
    });

    it(`lets each of ${count} follow each other equally often in every set`, () => {
      for (let start = 0; start < orders.length; start += set)
        for (const first of assessors)
          for (const second of assessors)
            if (first !== second)
              expect(
                orders.slice(start, start + set).filter((order) => order.indexOf(second) === order.indexOf(first) + 1),
              ).toHaveLength(set / count);
    });

    it(`sends no one of ${count} to two patients in one turn of a square`, () => {
      for (let start = 0; start < orders.length; start += count)
        for (let turn = 0; turn < count; turn++)
          expect(new Set(orders.slice(start, start + count).map((order) => order[turn])).size).toBe(count);
    });
  }

  it('is the same for the same seed and another for another', () => {
    const of = (seed: number): string =>
      JSON.stringify(assessorOrder({ assessors: ['A', 'B', 'C'], orders: 22, seed }));
    expect(of(1)).toBe(of(1));
    expect(of(1)).not.toBe(of(2));
  });
});

refuses([
  ['one assessor', () => assessorOrder({ assessors: ['A'], orders: 4, seed: 1 }), 'bad-option'],
  ['an assessor twice', () => assessorOrder({ assessors: ['A', 'A'], orders: 4, seed: 1 }), 'bad-option'],
]);
