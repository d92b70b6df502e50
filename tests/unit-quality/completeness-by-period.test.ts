import { expect, it } from 'vitest';
import { completenessByPeriod } from '../../src/unit-quality/completeness-by-period.ts';
import { shareOf } from './share-examples.ts';

const full = [8, 20, 20] as const;

it('says a falling rate with falling completeness', () => {
  const sentence = completenessByPeriod(
    shareOf([full, full, full, full, [4, 15, 20], [4, 15, 20], [4, 15, 20]]),
  ).sentence;
  expect(sentence).toMatch(
    /^A falling rate with falling completeness: 100 % of the stays were assessed before and 75 %/,
  );
  expect(sentence).toContain('from 40 % to 27 %');
});

it('says nothing when completeness stays, and names only completeness when the rate does not follow', () => {
  expect(
    completenessByPeriod(shareOf([full, full, full, [2, 19, 20], [2, 19, 20], [2, 19, 20]])).sentence,
  ).toBeUndefined();
  expect(completenessByPeriod(shareOf([full, full, full, [8, 15, 20], [8, 15, 20], [8, 15, 20]])).sentence).toMatch(
    /^Completeness fell/,
  );
  expect(completenessByPeriod(shareOf([full, full, [1, 5, 20], [1, 5, 20], [1, 5, 20]])).sentence).toBeUndefined();
});

it('has the limits that need no assumption', () => {
  const { table } = completenessByPeriod(
    shareOf([
      [4, 15, 20],
      [null, 3, 9],
    ]),
  );
  expect(table.rows).toHaveLength(1);
  expect(table.rows[0]).toMatchObject({ completeness: 0.75, lower: 4 / 20, upper: 9 / 20 });
});
