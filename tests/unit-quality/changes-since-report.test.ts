import { expect, it } from 'vitest';
import { changesSinceReport, reportedPeriods } from '../../src/unit-quality/changes-since-report.ts';
import { shareForAudience } from '../../src/unit-quality/share-for-audience.ts';
import { shareOf } from './share-examples.ts';

const before = reportedPeriods(
  shareOf([
    [5, 16, 18],
    [4, 12, 18],
  ]),
);

it('names the period that late entries moved, with both counts', () => {
  const changes = changesSinceReport(
    JSON.parse(JSON.stringify(before)),
    shareOf([
      [5, 16, 18],
      [5, 15, 18],
      [3, 9, 14],
    ]),
  );
  expect(changes.sentence).toBe(
    'Since the last report one period changed: 2 was 4 of 12 (33 %) and is 5 of 15 (33 %).',
  );
  expect(changes.added).toEqual(['3']);
  expect(changes.table.rows).toHaveLength(1);
});

it('sees that only the number assessed, or only the number there, is another', () => {
  for (const now of [
    [4, 13, 18],
    [4, 12, 19],
  ] as const)
    expect(changesSinceReport(before, shareOf([[5, 16, 18], now])).changed.map(({ label }) => label)).toEqual(['2']);
});

it('says that nothing changed, and what was reported and is gone', () => {
  expect(
    changesSinceReport(
      before,
      shareOf([
        [5, 16, 18],
        [4, 12, 18],
      ]),
    ).sentence,
  ).toBe('Since the last report no period changed.');
  const gone = changesSinceReport(before, shareOf([[5, 16, 18]]));
  expect(gone.sentence).toContain('Reported then and not there now: 2');
});

it('a hidden period is the same after it was kept in a file, where its numbers are lost', () => {
  const share = shareForAudience(
    shareOf([
      [6, 16, 16],
      [7, 14, 14],
      [2, 11, 13],
    ]),
    'outside',
  );
  const kept = JSON.parse(JSON.stringify(reportedPeriods(share)));
  expect(changesSinceReport(kept, share).changed).toEqual([]);
});
