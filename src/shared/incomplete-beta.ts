import { deviance, stirlingError, type Tails } from './incomplete-gamma.js';

const MOST_TURNS = 1_000_000;
const TINY = 1e-300;

/**
 * Tails of the beta distribution at x = r/(1 + r), given by x and y = 1 − x so that neither is rounded away; `slope` is the density by
 * ln r. Continued fraction on the side of the mean where its terms are positive, by Lentz's method.
 * Source: Didonato AR, Morris AH. ACM Trans Math Softw 1992;18:360–373, doi:10.1145/131766.131776; prefactor: Loader C, 2000 (both from memory).
 */
export function betaTails(x: number, y: number, a: number, b: number): Tails {
  if (!(a > 0 && b > 0 && x >= 0 && y >= 0)) return { lower: Number.NaN, upper: Number.NaN, slope: Number.NaN };
  if (x === 0) return { lower: 0, upper: 1, slope: 0 };
  if (y === 0) return { lower: 1, upper: 0, slope: 0 };
  const n = a + b;
  // x^a y^b / B(a, b).
  const slope =
    Math.sqrt((a / n) * (b / (2 * Math.PI))) *
    Math.exp(stirlingError(n) - stirlingError(a) - stirlingError(b) - deviance(a, n * x) - deviance(b, n * y));
  // Which side of the mean, without rounding either away.
  const past = b * x - a * y;
  if (past < 0) {
    const lower = Math.min(1, slope / fraction(x, a, b, -past));
    return { lower, upper: 1 - lower, slope };
  }
  const upper = Math.min(1, slope / fraction(y, b, a, past));
  return { lower: 1 - upper, upper, slope };
}

/** The continued fraction for x below the mean; `short` = a(1 − x) − bx, which a difference of rounded numbers would spoil. */
function fraction(x: number, a: number, b: number, short: number): number {
  const over = (m: number): number => (((a + m - 1) * (a + b + m - 1)) / (a + 2 * m - 1) ** 2) * m * (b - m) * x * x;
  const plus = (m: number): number =>
    m + (m * (b - m) * x) / (a + 2 * m - 1) + ((a + m) * (short + 1 + m * (2 - x))) / (a + 2 * m + 1);
  let result = (a * (short + 1)) / (a + 1);
  let c = result;
  let d = 0;
  for (let m = 1; m < MOST_TURNS; m++) {
    const [numerator, term] = [over(m), plus(m)];
    d = 1 / away(term + numerator * d);
    c = away(term + numerator / c);
    result *= c * d;
    if (Math.abs(c * d - 1) < 2e-16) break;
  }
  return result;
}

function away(value: number): number {
  return Math.abs(value) < TINY ? TINY : value;
}
