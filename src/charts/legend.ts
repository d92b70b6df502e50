import { hatchLines } from './hatch.js';
import { TEXT_SIZES, type Theme } from './theme.js';
import { widthOf } from './words.js';

/** One thing a legend explains. */
export interface LegendEntry {
  readonly text: string;
  readonly mark:
    | 'square'
    | 'hatch'
    | 'circle'
    | 'diamond'
    | 'ring'
    | 'line'
    | 'bar'
    | 'band'
    | 'frame'
    | 'triangle-up'
    | 'triangle-down'
    | 'words';
  readonly color?: string;
  /** Dashes of a line, as they are drawn in the plot: what tells lines apart in gray. */
  readonly dash?: readonly number[];
}

const SWATCH = 13;
const ROW = 22;

/**
 * Layers that draw rows of legend entries above a plot, in the order given. Drawn by hand where
 * Vega-Lite's own legend cannot: a hatched swatch, or one row for each of two scales.
 *
 * @param rows entries, row by row, the last row nearest the plot.
 * @param width pixels a row may take before it is broken.
 * @param above pixels between the plot and the last row.
 */
export function legendLayers(
  rows: readonly (readonly LegendEntry[])[],
  theme: Theme,
  width: number,
  above = 14,
): readonly object[] {
  const lines = rows.flatMap((row) => brokenRow(row, width));
  const placed = lines.flatMap((line, at) => {
    const y = 0 - above - (lines.length - 1 - at) * ROW;
    return line.map((entry) => ({ ...entry, y }));
  });
  const dashed = placed.filter((entry) => entry.dash !== undefined);
  const at = (filter: readonly LegendEntry['mark'][]) =>
    placed.filter((entry) => filter.includes(entry.mark) && entry.dash === undefined);
  const pixel = {
    x: { field: 'left', type: 'quantitative', scale: null },
    y: { field: 'y', type: 'quantitative', scale: null },
  };
  const swatches = (marks: readonly LegendEntry['mark'][], mark: object) => {
    const entries = at(marks);
    if (entries.length === 0) return [];
    return [
      {
        data: {
          values: entries.map(({ left, y, color }) => ({ left: left + SWATCH / 2, y, color: color ?? theme.ink })),
        },
        mark,
        encoding: { ...pixel, color: { field: 'color', type: 'nominal', scale: null } },
      },
    ];
  };
  const hatched = at(['hatch']);
  const band = (entries: readonly (typeof placed)[number][], mark: object) =>
    entries.length === 0
      ? []
      : [
          {
            data: {
              values: entries.map(({ left, y }) => ({
                left,
                right: left + SWATCH,
                y: y - SWATCH / 2,
                y2: y + SWATCH / 2,
              })),
            },
            mark,
            encoding: { ...pixel, x2: { field: 'right' }, y2: { field: 'y2' } },
          },
        ];
  return [
    ...swatches(['square'], {
      type: 'point',
      shape: 'square',
      filled: true,
      opacity: 1,
      size: SWATCH ** 2,
      stroke: theme.muted,
      strokeWidth: 0.5,
    }),
    ...swatches(['circle'], { type: 'point', shape: 'circle', filled: true, opacity: 1, size: 110 }),
    ...swatches(['diamond'], { type: 'point', shape: 'diamond', filled: true, opacity: 1, size: 150 }),
    ...(['triangle-up', 'triangle-down'] as const).flatMap((shape) =>
      swatches([shape], { type: 'point', shape, filled: true, opacity: 1, size: 95 }),
    ),
    ...swatches(['ring'], { type: 'point', shape: 'circle', filled: false, opacity: 1, size: 100, strokeWidth: 2 }),
    ...swatches(['line'], { type: 'point', shape: 'stroke', opacity: 1, size: SWATCH ** 2 * 1.6, strokeWidth: 2 }),
    ...swatches(['bar'], { type: 'tick', orient: 'vertical', thickness: 4, size: 16, cornerRadius: 2, opacity: 0.3 }),
    ...dashed.map(({ left, y, color, dash }) => ({
      data: { values: [{ left: left - 7, right: left + SWATCH + 1, y }] },
      mark: { type: 'rule', strokeDash: dash, strokeWidth: 2, color: color ?? theme.ink },
      encoding: { ...pixel, x2: { field: 'right' } },
    })),
    ...band(at(['frame']), { type: 'rect', fill: null, stroke: theme.ink, strokeWidth: 2, cornerRadius: 3 }),
    ...band(at(['band']), { type: 'rect', fill: theme.categories[4], opacity: 0.3 }),
    ...band(hatched, { type: 'rect', fill: theme.paper, stroke: theme.muted, strokeWidth: 0.75 }),
    ...(hatched.length === 0
      ? []
      : [
          {
            data: {
              values: hatched.flatMap(({ left, y }) =>
                hatchLines(
                  { left, right: left + SWATCH, bottom: -y - SWATCH / 2, top: -y + SWATCH / 2 },
                  1,
                  1,
                  3.5,
                ).map((line) => ({ left: line.x, y: -line.y, right: line.x2, y2: -line.y2 })),
              ),
            },
            mark: { type: 'rule', color: theme.muted, strokeWidth: 0.75 },
            encoding: { ...pixel, x2: { field: 'right' }, y2: { field: 'y2' } },
          },
        ]),
    {
      data: {
        values: placed.map(({ text, left, mark, y }) => ({
          text,
          left: mark === 'words' ? left : left + SWATCH + 6,
          y,
        })),
      },
      mark: { type: 'text', align: 'left', baseline: 'middle' },
      encoding: { ...pixel, text: { field: 'text' } },
    },
  ];
}

/** A row's entries with their places, broken into lines where it is too wide. */
function brokenRow(row: readonly LegendEntry[], width: number) {
  const lines: (LegendEntry & { readonly left: number })[][] = [[]];
  let left = 0;
  for (const entry of row) {
    const wide = widthOf(entry.text, TEXT_SIZES.label) + (entry.mark === 'words' ? 14 : SWATCH + 24);
    if (left > 0 && left + wide > width) {
      lines.push([]);
      left = 0;
    }
    lines[lines.length - 1]!.push({ ...entry, left });
    left += wide;
  }
  return lines;
}
