import { cholesky, logDeterminant, solveLower } from '../../src/models/linear-algebra.ts';

/** −2 ln of the restricted likelihood but for a constant, by the whole covariance matrix V of the readings: ln|V| + ln(1ᵀV⁻¹1) + squares. */
export function restrictedCriterion(
  y: readonly number[],
  target: readonly number[],
  assessor: readonly number[],
  [ofTarget, ofAssessor, residual]: readonly [number, number, number],
): number {
  const n = y.length;
  const v = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++)
      v[i * n + j] =
        (target[i] === target[j] ? ofTarget : 0) +
        (assessor[i] === assessor[j] ? ofAssessor : 0) +
        (i === j ? residual : 0);
  cholesky(v, n);
  const readings = Float64Array.from(y);
  const ones = new Float64Array(n).fill(1);
  solveLower(v, n, readings);
  solveLower(v, n, ones);
  const dot = (a: Float64Array, b: Float64Array): number => a.reduce((sum, x, at) => sum + x * b[at]!, 0);
  const whole = dot(ones, ones);
  return logDeterminant(v, n) + Math.log(whole) + dot(readings, readings) - dot(ones, readings) ** 2 / whole;
}
