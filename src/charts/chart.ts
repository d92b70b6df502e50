import { type Audience, type FullRelease, type MadeFor, madeForOf, markOf } from '../shared/audience.js';
import { chartConfig, PLOT_WIDTH, TEXT_SIZES, type Theme } from './theme.js';
import { linesOf } from './words.js';

/** A Vega-Lite specification: plain JSON. */
export type ChartSpec = Readonly<Record<string, unknown>>;

export interface ChartFields extends MadeFor {
  readonly spec: ChartSpec;
  /** A sentence made from the result, or the question where the evidence supports no sentence. */
  readonly title: string;
  /** The finding in words, for those who cannot see the picture. */
  readonly description: string;
  /** Printed inside the picture, so that it travels with it. */
  readonly caution?: string | undefined;
}

/**
 * A chart as plain Vega-Lite JSON with its title, its alternative text and its caution. Prints as
 * text; `show(chart)` draws it in a notebook, `save(chart, 'figure.svg')` writes it to a file.
 */
export class Chart implements ChartFields {
  readonly kind = 'chart';
  readonly spec: ChartSpec;
  readonly title: string;
  readonly description: string;
  readonly caution: string | undefined;
  readonly audience: Audience;
  readonly release?: FullRelease;

  constructor(fields: ChartFields) {
    this.spec = Object.freeze(fields.spec);
    this.title = fields.title;
    this.description = fields.description;
    this.caution = fields.caution;
    this.audience = fields.audience ?? 'own';
    if (fields.release !== undefined) this.release = fields.release;
    Object.freeze(this);
  }

  /** The same picture without title and subtitle, for a page that prints them in its caption. */
  withoutTitle(): Chart {
    const { title: _unused, ...spec } = this.spec;
    return new Chart({ ...this, spec });
  }

  /** The same picture with whom it was made for under it, so that it travels along; unchanged where everybody may see it. */
  marked(): Chart {
    const mark = markOf(this);
    if (mark === undefined) return this;
    const { $schema, description, title, config, ...view } = this.spec;
    const frame = { $schema, description, ...(title === undefined ? {} : { title }), config };
    return new Chart({
      ...this,
      description: `${this.description} ${mark}`,
      spec: {
        ...frame,
        description: `${this.description} ${mark}`,
        vconcat: [{ ...view, title: footerOf(mark) }],
      },
    });
  }

  toString(): string {
    const caution = this.caution === undefined ? '' : `\nCaution: ${this.caution}`;
    return `${this.title}\n${this.description}${caution}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/** Small words under the picture. */
function footerOf(words: string, color?: string): object {
  return {
    text: linesOf(words, PLOT_WIDTH, TEXT_SIZES.small),
    orient: 'bottom',
    fontSize: TEXT_SIZES.small,
    fontWeight: 400,
    lineHeight: 17,
    ...(color === undefined ? {} : { color }),
    offset: 14,
  };
}

export interface ChartParts extends Omit<ChartFields, 'spec' | keyof MadeFor> {
  /** The result it is drawn from, which says whom it was made for. */
  readonly from?: MadeFor;
  /** What was counted: sign, scale, numbers of findings, patients and assessors, method. */
  readonly subtitle: readonly string[];
  /** The views, without title, size of the page and settings. */
  readonly view: ChartSpec;
}

const SCHEMA = 'https://vega.github.io/schema/vega-lite/v5.json';

/** A chart from its views and words, in a theme. */
export function chartOf(parts: ChartParts, theme: Theme): Chart {
  const { view, subtitle, from, ...rest } = parts;
  const fields = { ...rest, ...madeForOf(from ?? {}) };
  const frame = {
    $schema: SCHEMA,
    description: parts.description,
    title: {
      text: linesOf(parts.title, PLOT_WIDTH, TEXT_SIZES.title, 'semibold'),
      subtitle: subtitle.flatMap((line) => linesOf(line, PLOT_WIDTH, TEXT_SIZES.subtitle)),
    },
    config: chartConfig(theme),
  };
  if (parts.caution === undefined) return new Chart({ ...fields, spec: { ...frame, ...view } });
  return new Chart({
    ...fields,
    spec: { ...frame, vconcat: [{ ...view, title: footerOf(parts.caution, theme.muted) }] },
  });
}
