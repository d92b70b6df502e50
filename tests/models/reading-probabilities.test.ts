import { describe, expect, test } from 'vitest';
import { numericalGradient } from '../../src/models/optimize.ts';
import { fillReadingProbabilities, readingDerivatives } from '../../src/models/reading-probabilities.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const reading = { cuts: [-1, 0.2, 1.1], tendencies: [0.3, -0.3], spreads: [0.4, 0.8], slip: 0.03 };
const positions = [-2, 0.1, 1.4];

function table(own = reading, at: ArrayLike<number> = positions): Float64Array {
  const out = new Float64Array(2 * 4 * at.length);
  fillReadingProbabilities(own, at, out);
  return out;
}

describe('fillReadingProbabilities', () => {
  test('the formula by hand at one place', () => {
    // θ = 0.1, a = 0: z = (0.2 − 0.4)/0.4 = −0.5; Φ(−0.5) = .30853754, Φ(−3.5) = .00023263 (Abramowitz & Stegun, table 26.1).
    expectNear(table()[1 * 3 + 1] as number, 0.97 * (0.30853754 - 0.00023263) + 0.03 / 4, 1e-8);
  });

  test('grades add up to 1 everywhere', () => {
    const found = table();
    for (let a = 0; a < 2; a++)
      for (let i = 0; i < 3; i++)
        expectNear(
          [0, 1, 2, 3].reduce((sum, k) => sum + (found[(a * 4 + k) * 3 + i] as number), 0),
          1,
          1e-14,
        );
  });

  test('keeps the digits of a narrow reader far above the cuts', () => {
    const found = table({ ...reading, spreads: [0.1, 0.1], slip: 0 }, [2.2]);
    // (1.1 − 2.5)/0.1 = −14 and (0.2 − 2.5)/0.1 = −23: Φ(−14) = 7.7935368e−45.
    expectNear((found[2] as number) / 7.793536819192e-45, 1, 1e-9);
    expect(found[1]).toBeGreaterThan(0);
  });

  test('leaves out no tail that shows beside the slips', () => {
    const slip = 0.02;
    const far = Float64Array.from({ length: 400 }, (_, i) => (i - 200) / 20);
    const found = table({ ...reading, spreads: [0.5, 0.5], slip }, far);
    const bare = table({ ...reading, spreads: [0.5, 0.5], slip: 0 }, far);
    // Without slips every tail is worked out.
    found.forEach((probability, at) => {
      expect(Math.abs(probability - ((1 - slip) * (bare[at] as number) + slip / 4))).toBeLessThanOrEqual(
        2 ** -52 * probability,
      );
    });
  });
});

describe('readingDerivatives', () => {
  test('are those of fourth-order differences', () => {
    const random = seededRandom(2);
    const counts = Float64Array.from({ length: 24 }, () => random.below(5));
    const total = (p: Float64Array): number => {
      const own = {
        cuts: p.subarray(0, 3),
        tendencies: p.subarray(3, 5),
        spreads: p.subarray(5, 7).map(Math.exp),
        slip: p[7] as number,
      };
      const out = new Float64Array(24);
      fillReadingProbabilities(own, p.subarray(8), out);
      return out.reduce((sum, probability, at) => sum + (counts[at] as number) * Math.log(probability), 0);
    };
    const point = Float64Array.from([
      ...reading.cuts,
      ...reading.tendencies,
      ...reading.spreads.map(Math.log),
      reading.slip,
      ...positions,
    ]);
    const expected = numericalGradient(total, point);
    const found = readingDerivatives(reading, positions, table(), counts);
    const all = [...found.cuts, ...found.tendencies, ...found.logSpreads, found.slip, ...found.positions];
    // The slip of .03 with a step of .001 is where differences are least exact.
    all.forEach((slope, i) => {
      expectNear(slope, expected[i] as number, i === 7 ? 2e-4 : 2e-7);
    });
  });
});
