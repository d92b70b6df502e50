import { describe, expect, it } from 'vitest';
import { gaussHermite } from '../../src/models/gauss-hermite.ts';
import { lnGamma } from '../../src/shared/distributions.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';

describe('Gauss–Hermite rule', () => {
  it('is that of Abramowitz and Stegun, table 25.10', () => {
    const { nodes, logWeights } = gaussHermite(5);
    expectPrinted(nodes[4] as number, '2.020182870456086');
    expectPrinted(nodes[3] as number, '0.958572464613819');
    expect(nodes[2]).toBe(0);
    expectPrinted(Math.exp(logWeights[2] as number), '0.945308720482942');
    expectPrinted(Math.exp(logWeights[4] as number), '0.019953242059046');
  });

  it.each([1, 2, 7, 20, 50])('integrates every even power it should: %i points', (points) => {
    const { nodes, logWeights } = gaussHermite(points);
    for (let power = 0; power <= Math.min(2 * points - 1, 60); power += 2) {
      const sum = nodes.reduce((total, z, k) => total + Math.exp(logWeights[k] as number) * z ** power, 0);
      expectNear(sum / Math.exp(lnGamma((power + 1) / 2)), 1, 1e-11);
    }
  });
});
