import { expect, it } from 'vitest';
import { boardPageChart } from '../../src/charts/board-page-chart.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { boardPage } from '../../src/unit-quality/board-page.ts';
import { shareOf } from '../unit-quality/share-examples.ts';

const page = boardPage(
  shareOf(
    Array.from({ length: 11 }, () => [8, 19, 20] as const),
    { actions: [{ label: '4', words: 'legs raised twice a day' }] },
  ),
  { action: 'Two people read the same legs.', owner: 'lead of the edema group', by: 'end of period 12' },
);

it('is one picture: sentence, counts, what will be done, who and by when, and a caution', async () => {
  const chart = boardPageChart(page);
  expect(chart.title).toBe(page.sentence);
  const svg = await renderSvg(chart);
  for (const words of [
    page.counts,
    page.action,
    page.owner,
    page.by,
    'legs raised twice a day',
    'not say who is at risk',
  ])
    expect(svg).toContain(words);
});

it('has neither an arrow nor a code of anybody', () => {
  expect(JSON.stringify(boardPageChart(page).spec)).not.toMatch(/arrow|→|\b[A-Z]\d{2}\b/);
});
