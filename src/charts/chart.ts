import { chartConfig, PLOT_WIDTH, TEXT_SIZES, type Theme } from './theme.js';
import { linesOf } from './words.js';

/** A Vega-Lite specification: plain JSON. */
export type ChartSpec = Readonly<Record<string, unknown>>;

export interface ChartFields {
  /** A sentence made from the result, or the question where the evidence supports no sentence. */
  readonly title: string;
  /** What was counted: sign, scale, numbers of findings, patients and assessors, method. */
  readonly subtitle: readonly string[];
  /** The finding in words, for those who cannot see the picture. */
  readonly description: string;
  /** Printed inside the picture, so that it travels with it. */
  readonly caution?: string;
  /** The views, without title, size of the page and settings. */
  readonly view: ChartSpec;
}

const SCHEMA = 'https://vega.github.io/schema/vega-lite/v5.json';

/**
 * A chart as plain Vega-Lite JSON with its title, its alternative text and its caution. Prints as
 * text; `show(chart)` draws it in a notebook, `save(chart, 'figure.svg')` writes it to a file.
 */
export class Chart {
  readonly kind = 'chart';
  readonly spec: ChartSpec;
  readonly title: string;
  readonly description: string;
  readonly caution: string | undefined;

  constructor(fields: ChartFields, theme: Theme) {
    this.title = fields.title;
    this.description = fields.description;
    this.caution = fields.caution;
    this.spec = Object.freeze(specOf(fields, theme));
    Object.freeze(this);
  }

  toString(): string {
    const caution = this.caution === undefined ? '' : `\nCaution: ${this.caution}`;
    return `${this.title}\n${this.description}${caution}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

function specOf(fields: ChartFields, theme: Theme): ChartSpec {
  const frame = {
    $schema: SCHEMA,
    description: fields.description,
    title: {
      text: linesOf(fields.title, PLOT_WIDTH, TEXT_SIZES.title, 'semibold'),
      subtitle: fields.subtitle.flatMap((line) => linesOf(line, PLOT_WIDTH, TEXT_SIZES.subtitle)),
    },
    config: chartConfig(theme),
  };
  if (fields.caution === undefined) return { ...frame, ...fields.view };
  const footer = {
    text: linesOf(fields.caution, PLOT_WIDTH, TEXT_SIZES.small),
    orient: 'bottom',
    fontSize: TEXT_SIZES.small,
    fontWeight: 400,
    lineHeight: 17,
    color: theme.muted,
    offset: 14,
  };
  return { ...frame, vconcat: [{ ...fields.view, title: footer }] };
}
