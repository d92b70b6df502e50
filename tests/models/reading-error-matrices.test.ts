import { describe, expect, test } from 'vitest';
import { readingErrorMatrices, studyMix } from '../../src/models/reading-error-matrices.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const reading = { cuts: [-0.8, 0.1, 0.9], tendencies: [0.3, -0.3], spreads: [0.3, 0.6], slip: 0.04 };

describe('readingErrorMatrices', () => {
  const matrices = readingErrorMatrices(reading, studyMix(reading));

  test('rows are distributions', () => {
    for (const row of matrices.flat())
      expectNear(
        row.reduce((sum, p) => sum + p, 0),
        1,
        1e-12,
      );
  });

  test('agree with a million simulated readings', () => {
    const random = seededRandom(9);
    const counts = matrices.map((matrix) => matrix.map((row) => row.map(() => 0)));
    for (let i = 0; i < 500_000; i++) {
      const position = random.normal();
      const grade = reading.cuts.filter((cut) => position > cut).length;
      for (const a of [0, 1]) {
        const seen = position + (reading.tendencies[a] as number) + (reading.spreads[a] as number) * random.normal();
        const written =
          random.uniform() < reading.slip ? random.below(4) : reading.cuts.filter((cut) => seen > cut).length;
        const row = counts[a]?.[grade] as number[];
        row[written] = (row[written] as number) + 1;
      }
    }
    counts.forEach((matrix, a) => {
      matrix.forEach((row, g) => {
        const total = row.reduce((sum, count) => sum + count, 0);
        row.forEach((count, k) => {
          const p = matrices[a]?.[g]?.[k] as number;
          expect(Math.abs(count / total - p)).toBeLessThan(4.5 * Math.sqrt((p * (1 - p)) / total));
        });
      });
    });
  });

  test('another mix of limbs gives another matrix, and a grade it lacks is undefined', () => {
    const mix = studyMix(reading);
    const high = readingErrorMatrices(reading, {
      places: mix.places,
      shares: mix.places.positions.map((x) => (x > -0.8 ? 1 : 0)),
    });
    expect(high[0]?.[0]?.every(Number.isNaN)).toBe(true);
    expect(Math.abs((high[0]?.[3]?.[3] as number) - (matrices[0]?.[3]?.[3] as number))).toBeGreaterThan(0.01);
  });
});
