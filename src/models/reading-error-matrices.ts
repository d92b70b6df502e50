import { type TruthPlaces, truthPlaces } from './change-model.js';
import { fillReadingProbabilities, type ReadingParameters } from './reading-probabilities.js';

/** A mix of true positions: places and the share at each. */
export interface PositionMix {
  readonly places: TruthPlaces;
  readonly shares: ArrayLike<number>;
}

/** The study's own mix, N(0, 1). */
export function studyMix(reading: ReadingParameters): PositionMix {
  const places = truthPlaces({ kind: 'positions', reading });
  const masses = places.positions.map((x, i) => (places.widths[i] as number) * Math.exp(-0.5 * x * x));
  const total = masses.reduce((sum, mass) => sum + mass, 0);
  return { places, shares: masses.map((mass) => mass / total) };
}

/**
 * How often each assessor writes each grade for limbs of each true grade, in a named mix of limbs:
 * Eₐ(g, k) = ∫ P(Y = k | θ, a) dF(θ | θ in grade g). A display, tied to the mix: another mix gives another matrix from the same assessor, and
 * readings are not independent given the grade. Rows of grades the mix does not hold are `NaN`.
 *
 * @returns matrices[reader][g][k]
 * @example
 * readingErrorMatrices(fit.reading, studyMix(fit.reading))[0][2]; // how assessor 0 reads limbs of grade 2
 */
export function readingErrorMatrices(
  reading: ReadingParameters,
  mix: PositionMix,
): readonly (readonly (readonly number[])[])[] {
  const grades = reading.cuts.length + 1;
  const readers = reading.tendencies.length;
  const { positions, grades: gradeOf } = mix.places;
  const n = positions.length;
  const table = new Float64Array(readers * grades * n);
  fillReadingProbabilities(reading, positions, table);
  return Array.from({ length: readers }, (_, a) =>
    Array.from({ length: grades }, (_, g) => {
      let total = 0;
      const row = new Array<number>(grades).fill(0);
      for (let i = 0; i < n; i++) {
        if (gradeOf[i] !== g) continue;
        total += mix.shares[i] as number;
        for (let k = 0; k < grades; k++)
          row[k] = (row[k] as number) + (mix.shares[i] as number) * (table[(a * grades + k) * n + i] as number);
      }
      return row.map((mass) => mass / total);
    }),
  );
}
