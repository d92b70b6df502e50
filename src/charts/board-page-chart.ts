import { madeForOf } from '../shared/audience.js';
import type { BoardPage } from '../unit-quality/board-page.js';
import { Chart } from './chart.js';
import { shareByPeriodChart } from './share-by-period-chart.js';
import { type ChartOptions, PLOT_WIDTH, TEXT_SIZES, themeOf } from './theme.js';
import { linesOf } from './words.js';

const LINE = 22;

/**
 * A board's page as one picture for a slide: the sentence as its title, the share with its counts and completeness, and beneath it the last period in numbers,
 * what will be done, who answers for it and by when.
 */
export function boardPageChart(page: BoardPage, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const drawn = shareByPeriodChart({ ...page.share, sentence: page.sentence }, options);
  const parts = [
    ['Now', page.counts],
    ['What will be done', page.action],
    ['Who answers for it', page.owner],
    ['By when', page.by],
  ] as const;
  let row = 0;
  const words: object[] = [];
  for (const [label, text] of parts) {
    const lines = linesOf(text, PLOT_WIDTH - 170, TEXT_SIZES.label);
    words.push({ label, text: lines, y: row * LINE });
    row += lines.length;
  }
  const text = (field: string, x: number, mark: object) => ({
    // Silent to a screen reader: the description says the same.
    mark: { type: 'text', align: 'left', baseline: 'top', lineHeight: LINE, aria: false, ...mark },
    encoding: {
      x: { value: x },
      y: { field: 'y', type: 'quantitative', scale: null },
      text: { field },
    },
  });
  const below = {
    width: PLOT_WIDTH - 60,
    height: row * LINE,
    data: { values: words },
    layer: [
      text('label', 0, { color: theme.muted, fontSize: TEXT_SIZES.small }),
      text('text', 150, { fontWeight: 600 }),
    ],
  };
  const views = drawn.spec.vconcat;
  return new Chart({
    title: drawn.title,
    description: `${drawn.description} ${page.counts} To be done: ${page.action} ${page.owner}, ${page.by}.`,
    caution: page.caution,
    ...madeForOf(page.share),
    spec: { ...drawn.spec, spacing: 24, vconcat: [below, ...(Array.isArray(views) ? views : [])].reverse() },
  });
}
