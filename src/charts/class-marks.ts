import type { CarpetMark } from '../teaching/class-carpet.js';
import { TEXT_SIZES, type Theme } from './theme.js';

/** A short dash as an area, since a filled stroke has none. */
const DASH = 'M-0.6,-0.12L0.6,-0.12L0.6,0.12L-0.6,0.12Z';

/** The three marks of a class: shapes first, so that they tell each other apart without color. */
export function markStyles(theme: Theme): Readonly<Record<CarpetMark, { shape: string; color: string; size: number }>> {
  return {
    lower: { shape: 'triangle-down', color: theme.categories[1]!, size: 90 },
    same: { shape: 'circle', color: theme.categories[4]!, size: 28 },
    higher: { shape: 'triangle-up', color: theme.categories[0]!, size: 90 },
    'not read': { shape: DASH, color: theme.muted, size: 60 },
  };
}

/** A row that explains the marks, drawn above the plot. */
export function markLegend(
  entries: readonly (readonly [mark: CarpetMark, words: string])[],
  theme: Theme,
  above = 16,
): readonly object[] {
  const styles = markStyles(theme);
  let left = 0;
  const values = entries.map(([mark, words]) => {
    const place = { left: left + 7, text: words, textLeft: left + 18, ...styles[mark] };
    left += 18 + words.length * TEXT_SIZES.label * 0.47 + 22;
    return place;
  });
  const y = { value: -above };
  return [
    {
      data: { values },
      mark: { type: 'point', filled: true, opacity: 1 },
      encoding: {
        x: { field: 'left', type: 'quantitative', scale: null },
        y,
        ...pointEncoding,
      },
    },
    {
      data: { values },
      mark: { type: 'text', align: 'left', baseline: 'middle' },
      encoding: { x: { field: 'textLeft', type: 'quantitative', scale: null }, y, text: { field: 'text' } },
    },
  ];
}

/** Shape, color and size as the data say. */
export const pointEncoding: Readonly<Record<string, object>> = {
  shape: { field: 'shape', type: 'nominal', scale: null },
  color: { field: 'color', type: 'nominal', scale: null },
  size: { field: 'size', type: 'quantitative', scale: null },
};
