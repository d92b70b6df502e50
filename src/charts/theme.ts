/**
 * The look of every chart, table and page: colors, type and sizes, in one place. Ordered grades run
 * in even steps of lightness, so they can still be told apart printed in gray; categories keep at
 * least 11.5 CIEDE2000 apart under normal sight and full deutan, protan and tritan deficiency.
 */
export interface Theme {
  readonly name: 'light' | 'dark';
  /** Text and marks. */
  readonly ink: string;
  /** Text of second rank, axis lines that must be seen. */
  readonly muted: string;
  /** Grid lines and edges of pale areas. */
  readonly hairline: string;
  readonly paper: string;
  /** A panel behind marks that must stand off the paper. */
  readonly wash: string;
  /** Assessors, coefficients: at most five, always with a shape or a direct label. */
  readonly categories: readonly string[];
  /** Counts, from few to many. */
  readonly counts: readonly string[];
  /** With a mark and words, never alone. */
  readonly signal: string;
  readonly caution: string;
}

const LIGHT: Theme = {
  name: 'light',
  ink: '#1b2a49',
  muted: '#5b6b82',
  hairline: '#e6e9ee',
  paper: '#ffffff',
  wash: '#f4f6f9',
  categories: ['#1b2a49', '#1c8c84', '#e0a030', '#b03a5b', '#8aa0b8'],
  counts: ['#f4f6f9', '#d5dae2', '#b7bfca', '#9aa4b4', '#7e8a9e', '#637188', '#4a5872', '#32415d', '#1b2a49'],
  signal: '#b03a5b',
  caution: '#e0a030',
};

const DARK: Theme = {
  name: 'dark',
  ink: '#e8edf5',
  muted: '#a9b6c9',
  hairline: '#2c3850',
  paper: '#141b2b',
  wash: '#1f293d',
  categories: ['#e8edf5', '#00b79f', '#ebb545', '#db5c67', '#9cb7d7'],
  counts: ['#1f293d', '#333d52', '#485367', '#5e6a7d', '#768194', '#8e99ab', '#a7b2c3', '#c1cbdb', '#dbe5f4'],
  signal: '#e0708f',
  caution: '#ebb545',
};

/**
 * Sand to plum for scales of two to nine ordered grades: five anchors interpolated in OKLCH, kept as
 * a table so that drawing needs no color library. A test recomputes them.
 */
const GRADES: Readonly<Record<number, readonly string[]>> = {
  2: ['#efe6d5', '#5e244d'],
  3: ['#efe6d5', '#d3805a', '#5e244d'],
  4: ['#efe6d5', '#dfa97a', '#b55853', '#5e244d'],
  5: ['#efe6d5', '#e4bc8f', '#d3805a', '#a44651', '#5e244d'],
  6: ['#efe6d5', '#e6c59d', '#da996c', '#c26855', '#963e52', '#5e244d'],
  7: ['#efe6d5', '#e7cba6', '#dfa97a', '#d3805a', '#b55853', '#8d3953', '#5e244d'],
  8: ['#efe6d5', '#e8cfac', '#e2b486', '#d89266', '#c76f56', '#ac4e52', '#863653', '#5e244d'],
  9: ['#efe6d5', '#e8d2b1', '#e4bc8f', '#dc9f71', '#d3805a', '#bd6254', '#a44651', '#813352', '#5e244d'],
};

/** Options that every chart takes. */
export interface ChartOptions {
  /** Default `'light'`. */
  readonly theme?: 'light' | 'dark';
}

export function themeOf(options: ChartOptions): Theme {
  return options.theme === 'dark' ? DARK : LIGHT;
}

/** Colors of ordered grades; on dark paper the order of lightness turns round, so that more still stands out more. */
export function gradeColors(theme: Theme, grades: number): readonly string[] {
  const colors = GRADES[Math.min(9, Math.max(2, grades))]!;
  const ramp =
    grades > 9 ? Array.from({ length: grades }, (_, at) => colors[Math.round((at / (grades - 1)) * 8)]!) : colors;
  return theme.name === 'dark' ? [...ramp].reverse() : ramp;
}

/** Color of a count on the square-root scale from 0 to `most`. */
export function countColor(theme: Theme, count: number, most: number): string {
  const steps = theme.counts.length - 1;
  const share = most > 0 ? Math.sqrt(count / most) : 0;
  return theme.counts[Math.round(share * steps)]!;
}

/** Text that reads on a color: ink or paper where one of them has a contrast of 4.5, else black or white, of which one always has. */
export function textOn(theme: Theme, background: string): string {
  const better = (first: string, second: string): string =>
    contrast(first, background) >= contrast(second, background) ? first : second;
  const own = better(theme.ink, theme.paper);
  return contrast(own, background) >= 4.5 ? own : better('#000000', '#ffffff');
}

/**
 * Contrast of two colors, 1 to 21: (L₁ + 0.05) / (L₂ + 0.05) with the relative luminances L₁ ≥ L₂.
 * Source: Web Content Accessibility Guidelines 2.2, "contrast ratio" and "relative luminance".
 */
export function contrast(first: string, second: string): number {
  const [darker, lighter] = [luminance(first), luminance(second)].sort((a, b) => a - b) as [number, number];
  return (lighter + 0.05) / (darker + 0.05);
}

function luminance(color: string): number {
  const channel = (at: number): number => {
    const share = Number.parseInt(color.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
}

/** The family of the bundled font, then what a machine without it is likely to have. */
export const FONT_FAMILY = 'Source Sans 3';
export const FONTS = `"${FONT_FAMILY}", "Source Sans Pro", "Segoe UI", "Helvetica Neue", Arial, sans-serif`;

export const TEXT_SIZES = { title: 18, subtitle: 13, label: 14, small: 12.5 } as const;

/** Labels of an axis of shares: 0.25 as "25 %". */
export const PERCENT_LABELS = "format(100 * datum.value, '.0f') + ' %'";

/** A chart's whole width, labels included, fits a notebook's column and half a slide. */
export const PLOT_WIDTH = 760;

/** Vega-Lite settings shared by every chart. */
export function chartConfig(theme: Theme): Readonly<Record<string, unknown>> {
  const axis = {
    labelColor: theme.ink,
    labelFontSize: TEXT_SIZES.label,
    labelFont: FONTS,
    titleColor: theme.muted,
    titleFontSize: TEXT_SIZES.small,
    titleFontWeight: 400,
    titleFont: FONTS,
    domainColor: theme.muted,
    tickColor: theme.muted,
    gridColor: theme.hairline,
    domain: false,
    ticks: false,
    labelPadding: 6,
  };
  return {
    font: FONTS,
    background: theme.paper,
    padding: 14,
    view: { stroke: null },
    mark: { color: theme.ink },
    rule: { color: theme.ink },
    axis,
    text: { color: theme.ink, fontSize: TEXT_SIZES.label, font: FONTS },
    legend: {
      orient: 'top',
      direction: 'horizontal',
      labelColor: theme.ink,
      labelFontSize: TEXT_SIZES.label,
      labelFont: FONTS,
      labelLimit: 0,
      titleColor: theme.muted,
      titleFontSize: TEXT_SIZES.small,
      titleFontWeight: 400,
      titleFont: FONTS,
      symbolType: 'square',
      symbolSize: 170,
      symbolStrokeColor: theme.muted,
      symbolStrokeWidth: 0.5,
      offset: 12,
    },
    title: {
      anchor: 'start',
      frame: 'bounds',
      color: theme.ink,
      font: FONTS,
      fontSize: TEXT_SIZES.title,
      fontWeight: 600,
      lineHeight: 23,
      subtitleColor: theme.muted,
      subtitleFont: FONTS,
      subtitleFontSize: TEXT_SIZES.subtitle,
      subtitleLineHeight: 18,
      subtitlePadding: 6,
      offset: 16,
    },
  };
}
