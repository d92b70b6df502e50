/**
 * Sum with Neumaier's correction, so that a large offset does not swallow small terms.
 * Source: Neumaier A. ZAMM 1974;54:39–51, doi:10.1002/zamm.19740540106.
 */
export function compensatedSum(values: Iterable<number>): number {
  let sum = 0;
  let correction = 0;
  for (const value of values) {
    const next = sum + value;
    correction += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  return sum + correction;
}
