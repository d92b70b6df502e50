import { expect, test } from 'vitest';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { releasedCrossTable } from '../../src/agreement/released-cross-table.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';

const counts = [
  [6, 2, 0, 0],
  [1, 14, 3, 0],
  [0, 4, 30, 5],
  [0, 0, 6, 9],
];
const cross = crossTable(ratingsOfTable(counts, { categories: ['0', '1', '2', '3'] }));
const total = (table: readonly (readonly (number | null)[])[]): number =>
  table.flat().reduce<number>((sum, count) => sum + (count ?? 0), 0);

test('own eyes see all, marked as not for sharing', () => {
  const own = releasedCrossTable(cross, { audience: 'own' });
  expect(own.counts).toEqual(counts);
  expect(own.notes.map(({ code }) => code)).toEqual(['not-for-sharing']);
});

test.each(['inside', 'outside'] as const)('%s: grades are joined until no count is small', (audience) => {
  const shown = releasedCrossTable(cross, { audience });
  expect(shown.grades).toEqual(['0–2', '3']);
  expect(shown.counts).toEqual([
    [6 + 2 + 1 + 14 + 3 + 4 + 30, 5],
    [6, 9],
  ]);
  expect(shown.notes.map(({ code }) => code)).toEqual(['grades-joined']);
});

test('what joining makes large enough is shown, and nothing is lost', () => {
  const larger = crossTable(
    ratingsOfTable(
      counts.map((row) => row.map((count) => count * 2)),
      { categories: ['0', '1', '2', '3'] },
    ),
  );
  const shown = releasedCrossTable(larger, { audience: 'outside' });
  expect(shown.counts.flat().every((count) => count === null || count === 0 || count >= 5)).toBe(true);
  expect(total(shown.counts)).toBe(2 * total(counts));
});

test('what joining cannot mend is hidden', () => {
  const few = crossTable(
    ratingsOfTable(
      [
        [20, 2],
        [9, 30],
      ],
      { categories: ['0', '1'] },
    ),
  );
  const shown = releasedCrossTable(few, { audience: 'inside' });
  expect(shown.counts).toEqual([
    [null, null],
    [null, null],
  ]);
  expect(shown.notes.map(({ code }) => code)).toEqual(['counts-hidden']);
  expect(shown.table.toText()).toContain('hidden');
});

test('kinds without an order are not joined', () => {
  const shown = releasedCrossTable(cross, { audience: 'outside', joinsGrades: false });
  expect(shown.grades).toHaveLength(4);
  for (const [i, row] of shown.counts.entries())
    for (const [j, count] of row.entries()) expect(count === null || count === counts[i]?.[j]).toBe(true);
  expect(shown.counts.flat().some((count) => count !== null && count > 0 && count < 5)).toBe(false);
});

test('the full table is given out by a recorded decision, not without a reason', () => {
  const full = releasedCrossTable(cross, {
    audience: 'outside',
    release: { reason: 'asked for by the second referee' },
  });
  expect(full.counts).toEqual(counts);
  expect(full.notes[0]?.message).toBe('Every count is shown by decision: asked for by the second referee.');
  expect(full.table.toText()).toContain('Caution: Every count is shown by decision');
  expect(() => releasedCrossTable(cross, { audience: 'outside', release: { reason: ' ' } })).toThrow(/no reason/);
  expect(() => releasedCrossTable(cross, { audience: 'board' as 'own' })).toThrow(/choose one of/);
});
