import { beforeAll, describe, expect, test } from 'vitest';
import { transitionShares } from '../../src/models/transition-shares.ts';
import { normal } from '../../src/shared/distributions.ts';
import { expectNear } from '../support/expect-near.ts';
import { referenceData } from '../support/optional.ts';
import { serialFile } from '../support/serial-file.ts';

const folder = referenceData();

describe.runIf(folder !== undefined)('transitionShares on graft vasculopathy', () => {
  // Jackson CH. J Stat Softw 2011;38(8), doi:10.18637/jss.v038.i08, its table of states (from memory); limits R 4.2.2 binom.test and prop.test.
  const shares = () =>
    transitionShares(serialFile(folder ?? '', 'cav.csv', { subject: 'PTNUM', time: 'years', state: 'state' }), {
      states: 4,
    });
  let found: ReturnType<typeof shares>;
  beforeAll(() => {
    found = shares();
  });

  test('counts', () => {
    expect(found.cells.map((row) => row.map(({ count }) => count))).toEqual([
      [1367, 204, 44, 148],
      [46, 134, 54, 48],
      [4, 13, 107, 55],
      [0, 0, 0, 0],
    ]);
  });

  test('shares, exact and score limits', () => {
    const cell = found.cells[2]?.[0];
    expectNear(cell?.share as number, 0.0223463687150838, 1e-12);
    expectNear(cell?.exact.lower as number, 0.00612142225346044, 1e-9);
    expectNear(cell?.exact.upper as number, 0.0562246171353767, 1e-9);
    expectNear(cell?.score.lower as number, 0.00872357440438433, 1e-9);
    expectNear(cell?.score.upper as number, 0.0560399584238382, 1e-9);
    expectNear(found.cells[0]?.[0]?.exact.upper as number, 0.794675942779834, 1e-9);
    expectNear(found.cells[1]?.[3]?.score.lower as number, 0.13085223741603, 1e-9);
  });

  test('nothing leaves the end: undefined, not 0', () => {
    expect(
      found.cells[3]?.every(({ share, exact, score }) => [share, exact.lower, score.upper].every(Number.isNaN)),
    ).toBe(true);
    expect(found.notes.map(({ code }) => code)).toContain('mixed-gaps');
  });
});

describe('transitionShares', () => {
  test('equal gaps carry no warning about gaps; extreme shares have one-sided limits', () => {
    const found = transitionShares({ subject: [1, 1, 1], time: [0, 1, 2], category: [0, 0, 0] }, { states: 2 });
    expect(found.notes.map(({ code }) => code)).toEqual(['pairs-not-independent']);
    expect(found.cells[0]?.[0]?.exact.upper).toBe(1);
    // (α/2)^(1/n) with n = 2.
    expectNear(found.cells[0]?.[0]?.exact.lower as number, Math.sqrt(0.025), 1e-9);
    expect(found.cells[0]?.[1]?.exact.lower).toBe(0);
  });
});

test('score limits are where the distance to the share is z standard errors of the limit', () => {
  // One subject: from state 0 eleven times, k of them to 1; Wilson's limits solve (p − L)² = z² L(1 − L)/n.
  for (const k of [0, 1, 4, 10, 11])
    for (const level of [0.95, 0.8]) {
      const z = normal.quantile(0.5 + level / 2);
      // 0 → 1 pairs of their own subjects.
      const subject = Array.from({ length: 22 }, (_, row) => Math.floor(row / 2));
      const category = subject.map((who, row) => (row % 2 === 1 && who < k ? 1 : 0));
      const time = subject.map((_, row) => row % 2);
      const { cells, pairs, subjects } = transitionShares(
        { subject, time, category },
        { states: 2, confidenceLevel: level },
      );
      const cell = cells[0]?.[1];
      expect([cell?.count, pairs, subjects]).toEqual([k, 11, 11]);
      const p = k / 11;
      expectNear(cell?.share as number, p, 1e-15);
      for (const limit of [cell?.score.lower as number, cell?.score.upper as number])
        expectNear((p - limit) ** 2, (z * z * limit * (1 - limit)) / 11, 1e-12);
      expect(cell?.score.lower).toBeLessThanOrEqual(p);
      expect(cell?.score.upper).toBeGreaterThanOrEqual(p);
      // Clopper and Pearson: each tail of the binomial holds (1 − level)/2 at its limit.
      const tail = (limit: number, from: number, to: number): number => {
        let sum = 0;
        for (let j = from; j <= to; j++) {
          let ways = 1;
          for (let m = 0; m < j; m++) ways = (ways * (11 - m)) / (m + 1);
          sum += ways * limit ** j * (1 - limit) ** (11 - j);
        }
        return sum;
      };
      if (k > 0) expectNear(tail(cell?.exact.lower as number, k, 11), (1 - level) / 2, 1e-9);
      else expect(cell?.exact.lower).toBe(0);
      if (k < 11) expectNear(tail(cell?.exact.upper as number, 0, k), (1 - level) / 2, 1e-9);
      else expect(cell?.exact.upper).toBe(1);
      expect(cells[1]?.[0]?.share).toBeNaN();
      expect(cells[1]?.[0]?.score.lower).toBeNaN();
      expect(cells[1]?.[0]?.exact.upper).toBeNaN();
    }
});
