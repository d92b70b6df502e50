import { seededRandom } from '../shared/random.js';
import { checkPlanning } from './sample-size.js';

export interface AssessorOrderOptions {
  /** Codes of the assessors. */
  readonly assessors: readonly string[];
  /** How many orders are needed: one a patient and occasion. */
  readonly orders: number;
  readonly seed: number;
  /** Streams of one seed are different draws. Default 0. */
  readonly stream?: number;
}

/**
 * Random orders of assessors, balanced: within each complete set every assessor takes every turn equally often, and follows every other assessor equally often.
 *
 * Latin squares balanced for what came just before: with n assessors the first order is 0, 1, n − 1, 2, n − 2, …, the others add 1, 2, … modulo n; with odd n a second square
 * has each order reversed. A complete set is n orders (2n with odd n). Assessors are assigned to the numbers at random in each set, and the orders of each square are
 * shuffled. The n orders of a square can run at once: no assessor is at two patients in the same turn.
 *
 * The last set is cut where fewer orders are left than it holds.
 *
 * @throws InputError `bad-option`: fewer than two assessors, one twice, or no order.
 * @example assessorOrder({ assessors: ['A', 'B'], orders: 2, seed: 1 }).length // 2
 * Source: Williams EJ. Aust J Sci Res A 1949;2:149–168, doi:10.1071/CH9490149 (DOI from memory).
 */
export function assessorOrder(options: AssessorOrderOptions): readonly (readonly string[])[] {
  const { assessors, orders, seed } = options;
  const count = assessors.length;
  checkPlanning([
    ['assessors', count, count >= 2 && new Set(assessors).size === count, 'two codes or more, all different'],
    ['orders', orders, Number.isInteger(orders) && orders >= 1, 'a whole number, at least 1'],
    ['seed', seed, Number.isSafeInteger(seed), 'a whole number'],
  ]);
  const random = seededRandom(seed, options.stream ?? 0);
  const shuffled = <T>(values: readonly T[]): T[] => {
    const list = [...values];
    for (let at = list.length - 1; at > 0; at--) {
      const other = random.below(at + 1);
      [list[at], list[other]] = [list[other]!, list[at]!];
    }
    return list;
  };
  const square = Array.from({ length: count }, (_, shift) => zigzag(count).map((number) => (number + shift) % count));
  const made: string[][] = [];
  while (made.length < orders) {
    const names = shuffled(assessors);
    const squares = count % 2 === 0 ? [square] : shuffled([square, square.map((order) => [...order].reverse())]);
    for (const one of squares) for (const order of shuffled(one)) made.push(order.map((number) => names[number]!));
  }
  return made.slice(0, orders);
}

/** 0, 1, n − 1, 2, n − 2, …: neighbors differ by every number once. */
function zigzag(count: number): number[] {
  return Array.from({ length: count }, (_, at) => (at % 2 === 1 ? (at + 1) / 2 : (count - at / 2) % count));
}
