import { beforeAll, describe, expect, test } from 'vitest';
import { transitionShares } from '../../src/models/transition-shares.ts';
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
