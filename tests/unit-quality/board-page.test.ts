import { expect, it } from 'vitest';
import type { InputError } from '../../src/shared/input-error.ts';
import { boardPage } from '../../src/unit-quality/board-page.ts';
import { shareOf } from './share-examples.ts';

const words = {
  action: 'Two people read the same legs each period.',
  owner: 'lead of the edema group',
  by: 'end of period 12',
};
const tenPeriods = Array.from({ length: 10 }, () => [8, 20, 20] as const);

it('has the counts, a sentence without a cause, and what will be done', () => {
  const page = boardPage(shareOf(tenPeriods), words);
  expect(page.counts).toBe('Last period, 10: 8 of 20 stays assessed (40 %); 20 of 20 were assessed.');
  expect(page.sentence).toBe('Pitting edema: the share lies about 40 %, no more up and down than chance explains');
  expect(page).toMatchObject(words);
  expect(page.caution).toContain('does not say who is at risk');
});

it('takes the sentence of a rule where there is one, and says a rate that falls with completeness', () => {
  const falling = [...tenPeriods, [4, 15, 20], [4, 15, 20], [4, 15, 20]] as const;
  const page = boardPage(shareOf(falling, { sentence: 'Nine periods in a row lie below the middle line' }), words);
  expect(page.sentence).toMatch(
    /^Nine periods in a row lie below the middle line\. A falling rate with falling completeness/,
  );
});

it('is too soon below ten periods, and says so of a last period that is too small', () => {
  const page = boardPage(
    shareOf([
      [8, 20, 20],
      [8, 20, 20],
      [1, 3, 20],
    ]),
    words,
  );
  expect(page.sentence).toContain('too soon');
  expect(page.counts).toBe('Last period, 3: too few to show.');
});

it('refuses a claimed cause, a person and empty words, all at once, also among the actions', () => {
  const share = shareOf(tenPeriods, { actions: [{ label: '3', words: 'fewer because of stockings' }] });
  let problems: InputError['problems'] = [];
  try {
    boardPage(share, { action: 'Retrain the nurse of nights', owner: 'K06', by: ' ' });
  } catch (error) {
    problems = (error as InputError).problems;
  }
  expect(problems.map(({ code }) => code).sort()).toEqual([
    'cause-claimed',
    'missing-words',
    'person-named',
    'person-named',
  ]);
});
