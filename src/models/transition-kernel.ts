import { generalEigen, matrixExponential, multiply } from './linear-algebra.js';

/**
 * P(t) = exp(Q t) of one intensity matrix Q for as many times t as needed, and the way back: from the
 * derivatives of a function by the entries of P(t) to its derivatives by the entries of Q.
 */
export interface TransitionKernel {
  /** `'eigenvalues'`: one decomposition serves every t. `'matrix exponential'`: Q is defective or nearly so. */
  readonly method: 'eigenvalues' | 'matrix exponential';
  /** Writes P(t), row by row, into `out` from `offset` on. */
  probabilities(time: number, out: Float64Array, offset: number): void;
  /** Takes up the matrix W = ∂ℓ/∂P(t), row by row in `weights` from `offset` on. */
  addWeights(time: number, weights: Float64Array, offset: number): void;
  /** ∂ℓ/∂Q (every entry taken as free) from the weights taken up so far, which are then forgotten. */
  takeGradient(): Float64Array;
}

/** Largest ‖v‖‖w‖ of a right and a left eigenvector with wᵀv = 1 at which the sum over eigenvalues still keeps about ten digits. */
const LARGEST_EIGENVALUE_CONDITION = 1e5;

/**
 * The kernel of an intensity matrix.
 * P(t) = Σₖ e^(λₖ t) vₖ wₖᵀ with λₖ the eigenvalues (complex pairs allowed), vₖ and wₖ right and left
 * eigenvectors. With U the matrix of the vₖ and D = U⁻¹ dQ U, dP = U (Φ ∘ D) U⁻¹ where
 * Φᵢⱼ = (e^(λᵢt) − e^(λⱼt)) / (λᵢ − λⱼ), so that ∂ℓ/∂Q = U⁻ᵀ (Σₜ Φ ∘ (Uᵀ W U⁻ᵀ)) Uᵀ: two products a time and two in all,
 * however many parameters Q has. Where an eigenvector's condition passes 10⁵ (Q defective, or close to
 * it: equal exit rates in a chain of one-way steps), the matrix exponential is taken instead, and its derivative from the
 * exponential of a block triangular matrix.
 * Sources: Kalbfleisch JD, Lawless JF. J Am Stat Assoc 1985;80:863–871, doi:10.1080/01621459.1985.10478195;
 * Van Loan CF. IEEE Trans Automat Contr 1978;23:395–404, doi:10.1109/TAC.1978.1101743.
 */
export function transitionKernel(intensities: Float64Array, states: number): TransitionKernel {
  const eigen = generalEigen(intensities, states);
  const { inverse } = eigen;
  if (inverse === undefined) return exponentialKernel(intensities, states);
  const right = eigen.vectors;
  if (!(largestCondition(right, inverse, eigen.imaginary, states) <= LARGEST_EIGENVALUE_CONDITION))
    return exponentialKernel(intensities, states);
  return eigen.imaginary.some((part) => part !== 0)
    ? complexKernel(eigen.real, eigen.imaginary, right, inverse, states)
    : realKernel(eigen.real, right, inverse, states);
}

/** The largest ‖vₖ‖‖wₖ‖; a complex pair counts as one, with both its columns. It does not depend on how the vectors are scaled. */
function largestCondition(right: Float64Array, left: Float64Array, imaginary: Float64Array, states: number): number {
  let largest = 0;
  for (let k = 0; k < states; k++) {
    const last = imaginary[k] === 0 ? k : k + 1;
    let columns = 0;
    let rows = 0;
    for (let c = k; c <= last; c++) {
      for (let i = 0; i < states; i++) {
        columns += (right[i * states + c] as number) ** 2;
        rows += (left[c * states + i] as number) ** 2;
      }
    }
    const condition = Math.sqrt(columns * rows);
    if (!(condition <= largest)) largest = condition;
    k = last;
  }
  return largest;
}

function realKernel(values: Float64Array, right: Float64Array, left: Float64Array, states: number): TransitionKernel {
  const exponentials = new Float64Array(states);
  const half = new Float64Array(states * states);
  const gathered = new Float64Array(states * states);
  return {
    method: 'eigenvalues',
    probabilities(time, out, offset) {
      for (let k = 0; k < states; k++) exponentials[k] = Math.exp((values[k] as number) * time);
      for (let i = 0; i < states; i++) {
        const row = offset + i * states;
        for (let j = 0; j < states; j++) {
          let sum = 0;
          for (let k = 0; k < states; k++)
            sum += (right[i * states + k] as number) * (exponentials[k] as number) * (left[k * states + j] as number);
          // Rounding leaves entries a little below zero where the true one is zero or tiny.
          out[row + j] = Math.max(sum, 0);
        }
      }
    },
    addWeights(time, weights, offset) {
      for (let k = 0; k < states; k++) exponentials[k] = Math.exp((values[k] as number) * time);
      half.fill(0);
      for (let i = 0; i < states; i++) {
        for (let b = 0; b < states; b++) {
          let sum = 0;
          for (let j = 0; j < states; j++)
            sum += (weights[offset + i * states + j] as number) * (left[b * states + j] as number);
          if (sum === 0) continue;
          for (let a = 0; a < states; a++) {
            const at = a * states + b;
            half[at] = (half[at] as number) + (right[i * states + a] as number) * sum;
          }
        }
      }
      for (let a = 0; a < states; a++) {
        const own = a * states + a;
        const growth = exponentials[a] as number;
        gathered[own] = (gathered[own] as number) + (half[own] as number) * growth * time;
        for (let b = 0; b < a; b++) {
          const difference = (values[a] as number) - (values[b] as number);
          const apart = Math.abs(difference * time);
          // Close together, (e^a − e^b)/(a − b) = e^max (1 − e^−|a−b|)/|a − b| keeps the digits that the difference would lose.
          const slope =
            apart > 0.5
              ? (growth - (exponentials[b] as number)) / difference
              : Math.max(growth, exponentials[b] as number) *
                (apart === 0 ? time : (-Math.expm1(-apart) / apart) * time);
          const below = a * states + b;
          const above = b * states + a;
          gathered[below] = (gathered[below] as number) + (half[below] as number) * slope;
          gathered[above] = (gathered[above] as number) + (half[above] as number) * slope;
        }
      }
    },
    takeGradient() {
      const gradient = backTransform(left, gathered, right, states);
      gathered.fill(0);
      return gradient;
    },
  };
}

/** Lᵀ S Rᵀ. */
function backTransform(left: Float64Array, middle: Float64Array, right: Float64Array, states: number): Float64Array {
  return multiply(
    transpose(left, states),
    multiply(middle, transpose(right, states), states, states, states),
    states,
    states,
    states,
  );
}

function transpose(a: Float64Array, order: number): Float64Array {
  const turned = new Float64Array(order * order);
  for (let i = 0; i < order; i++) for (let j = 0; j < order; j++) turned[j * order + i] = a[i * order + j] as number;
  return turned;
}

function complexKernel(
  real: Float64Array,
  imaginary: Float64Array,
  vectors: Float64Array,
  inverse: Float64Array,
  states: number,
): TransitionKernel {
  const size = states * states;
  // Complex eigenvectors from the real pairs: v± = x ± iy, and w± = (u ∓ iz)/2 from the rows u, z of the inverse.
  const rightReal = Float64Array.from(vectors);
  const rightImaginary = new Float64Array(size);
  const leftReal = Float64Array.from(inverse);
  const leftImaginary = new Float64Array(size);
  for (let k = 0; k < states; k++) {
    if (imaginary[k] === 0) continue;
    for (let i = 0; i < states; i++) {
      const x = vectors[i * states + k] as number;
      const y = vectors[i * states + k + 1] as number;
      const u = inverse[k * states + i] as number;
      const z = inverse[(k + 1) * states + i] as number;
      rightReal[i * states + k + 1] = x;
      rightImaginary[i * states + k] = y;
      rightImaginary[i * states + k + 1] = -y;
      leftReal[k * states + i] = u / 2;
      leftReal[(k + 1) * states + i] = u / 2;
      leftImaginary[k * states + i] = -z / 2;
      leftImaginary[(k + 1) * states + i] = z / 2;
    }
    k++;
  }
  const gatheredReal = new Float64Array(size);
  const gatheredImaginary = new Float64Array(size);
  const square = (x: Float64Array, y: Float64Array): Float64Array => multiply(x, y, states, states, states);
  return {
    method: 'eigenvalues',
    probabilities(time, out, offset) {
      for (let i = 0; i < states; i++) {
        for (let j = 0; j < states; j++) {
          let sum = 0;
          for (let k = 0; k < states; k++) {
            const growth = Math.exp((real[k] as number) * time);
            const turn = (imaginary[k] as number) * time;
            const a = rightReal[i * states + k] as number;
            const b = rightImaginary[i * states + k] as number;
            const c = leftReal[k * states + j] as number;
            const d = leftImaginary[k * states + j] as number;
            sum += growth * ((a * c - b * d) * Math.cos(turn) - (a * d + b * c) * Math.sin(turn));
          }
          out[offset + i * states + j] = Math.max(sum, 0);
        }
      }
    },
    addWeights(time, weights, offset) {
      const w = weights.slice(offset, offset + size);
      const turnedReal = transpose(rightReal, states);
      const turnedImaginary = transpose(rightImaginary, states);
      const wLeftReal = square(w, transpose(leftReal, states));
      const wLeftImaginary = square(w, transpose(leftImaginary, states));
      const rr = square(turnedReal, wLeftReal);
      const ii = square(turnedImaginary, wLeftImaginary);
      const ri = square(turnedReal, wLeftImaginary);
      const ir = square(turnedImaginary, wLeftReal);
      for (let a = 0; a < states; a++) {
        for (let b = 0; b < states; b++) {
          const at = a * states + b;
          const [slopeReal, slopeImaginary] = dividedDifference(
            (real[a] as number) * time,
            (imaginary[a] as number) * time,
            (real[b] as number) * time,
            (imaginary[b] as number) * time,
          );
          const halfReal = (rr[at] as number) - (ii[at] as number);
          const halfImaginary = (ri[at] as number) + (ir[at] as number);
          gatheredReal[at] =
            (gatheredReal[at] as number) + time * (halfReal * slopeReal - halfImaginary * slopeImaginary);
          gatheredImaginary[at] =
            (gatheredImaginary[at] as number) + time * (halfReal * slopeImaginary + halfImaginary * slopeReal);
        }
      }
    },
    takeGradient() {
      // The real part of (A + iB)(C + iD)(E + iF); the imaginary part cancels over each pair.
      const middleReal = backTransform(leftReal, gatheredReal, rightReal, states);
      const terms = [
        backTransform(leftReal, gatheredImaginary, rightImaginary, states),
        backTransform(leftImaginary, gatheredReal, rightImaginary, states),
        backTransform(leftImaginary, gatheredImaginary, rightReal, states),
      ];
      gatheredReal.fill(0);
      gatheredImaginary.fill(0);
      return middleReal.map((value, at) => terms.reduce((sum, term) => sum - (term[at] as number), value));
    },
  };
}

/** (eˣ − eʸ)/(x − y) of two complex numbers, as [real, imaginary]; eʸ where they are the same. */
function dividedDifference(xr: number, xi: number, yr: number, yi: number): [number, number] {
  // From the number with the larger real part, so that nothing overflows.
  if (xr > yr) return dividedDifference(yr, yi, xr, xi);
  const dr = xr - yr;
  const di = xi - yi;
  const size = dr * dr + di * di;
  const grow = Math.exp(yr);
  const er = grow * Math.cos(yi);
  const ei = grow * Math.sin(yi);
  if (size === 0) return [er, ei];
  // e^d − 1 without cancellation: expm1(dr) cos(di) − 2 sin²(di/2), and e^dr sin(di).
  const mr = Math.expm1(dr) * Math.cos(di) - 2 * Math.sin(di / 2) ** 2;
  const mi = Math.exp(dr) * Math.sin(di);
  const qr = (mr * dr + mi * di) / size;
  const qi = (mi * dr - mr * di) / size;
  return [er * qr - ei * qi, er * qi + ei * qr];
}

function exponentialKernel(intensities: Float64Array, states: number): TransitionKernel {
  const size = states * states;
  const gathered = new Float64Array(size);
  const turned = transpose(intensities, states);
  const twice = 2 * states;
  return {
    method: 'matrix exponential',
    probabilities(time, out, offset) {
      const found = matrixExponential(
        intensities.map((value) => value * time),
        states,
      );
      for (let at = 0; at < size; at++) {
        const value = found[at] as number;
        out[offset + at] = Math.max(value, 0);
      }
    },
    addWeights(time, weights, offset) {
      let largest = 0;
      for (let at = 0; at < size; at++) largest = Math.max(largest, Math.abs(weights[offset + at] as number));
      if (largest === 0) return;
      // The upper right block of exp [[Qᵀt, W], [0, Qᵀt]] is the adjoint derivative; W is scaled to 1 so that it costs no squarings.
      const block = new Float64Array(twice * twice);
      for (let i = 0; i < states; i++) {
        for (let j = 0; j < states; j++) {
          const value = (turned[i * states + j] as number) * time;
          block[i * twice + j] = value;
          block[(i + states) * twice + j + states] = value;
          block[i * twice + j + states] = (weights[offset + i * states + j] as number) / largest;
        }
      }
      const found = matrixExponential(block, twice);
      for (let i = 0; i < states; i++)
        for (let j = 0; j < states; j++)
          gathered[i * states + j] =
            (gathered[i * states + j] as number) + (found[i * twice + j + states] as number) * largest * time;
    },
    takeGradient() {
      const gradient = Float64Array.from(gathered);
      gathered.fill(0);
      return gradient;
    },
  };
}
