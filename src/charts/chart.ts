import { type Audience, type FullRelease, type MadeFor, madeForOf, markOf } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
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

  /** What each mark says when it is pointed at, in the order of the picture: the picture for those who hear it or read it line by line. */
  get words(): readonly string[] {
    const found = new Set<string>();
    const walk = (node: unknown): void => {
      if (typeof node !== 'object' || node === null) return;
      for (const [key, value] of Object.entries(node)) {
        if (key === 'words' && typeof value === 'string') found.add(value);
        else walk(value);
      }
    };
    walk(this.spec);
    return [...found];
  }

  /** The same picture without title and subtitle, for a page that prints them in its caption. */
  withoutTitle(): Chart {
    const { title: _unused, ...spec } = this.spec;
    return new Chart({ ...this, spec });
  }

  /** The same picture with whom it was made for under it, so that it travels along; unchanged where everybody may see it. */
  marked(): Chart {
    const mark = markOf(this);
    // A picture of one person says already that it is not for sharing.
    const isSaid = this.release === undefined && this.caution?.includes(CAUTIONS.onePerson) === true;
    if (mark === undefined || isSaid) return this;
    const { $schema, description, title, config, usermeta, ...view } = this.spec;
    const frame = { $schema, description, ...(title === undefined ? {} : { title }), config, usermeta };
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

export interface ChartParts extends Omit<ChartFields, 'spec' | 'description' | keyof MadeFor> {
  /** What stands behind the title, in numbers: with it, the picture for those who cannot see it. */
  readonly details: string;
  /** The result it is drawn from, which says whom it was made for. */
  readonly from?: MadeFor;
  /** What was counted: sign, scale, numbers of findings, patients and assessors, method. */
  readonly subtitle: readonly string[];
  /** The views, without title, size of the page and settings. */
  readonly view: ChartSpec;
}

const SCHEMA = 'https://vega.github.io/schema/vega-lite/v5.json';

/**
 * What front ends that embed the picture live are asked for: SVG, whose text and marks a screen reader reaches, and a menu that saves
 * pictures but has no entry that hands the data to a website.
 */
const EMBEDDING = {
  embedOptions: { renderer: 'svg', actions: { export: true, source: false, compiled: false, editor: false } },
};

/** A chart from its views and words, in a theme. */
export function chartOf(parts: ChartParts, theme: Theme): Chart {
  const { view, subtitle, details, from, ...words } = parts;
  const description = `${sentenceOf(parts.title)} ${details}`;
  const fields = { ...words, ...madeForOf(from ?? {}), description };
  const frame = {
    $schema: SCHEMA,
    description,
    title: {
      text: linesOf(parts.title, PLOT_WIDTH, TEXT_SIZES.title, 'semibold'),
      subtitle: subtitle.flatMap((line) => linesOf(line, PLOT_WIDTH, TEXT_SIZES.subtitle)),
    },
    config: chartConfig(theme),
    usermeta: EMBEDDING,
  };
  const spoken = spokenView(view);
  if (parts.caution === undefined) return new Chart({ ...fields, spec: { ...frame, ...spoken } });
  return new Chart({
    ...fields,
    spec: { ...frame, vconcat: [{ ...spoken, title: footerOf(parts.caution, theme.muted) }] },
  });
}

function sentenceOf(title: string): string {
  return /[.?!]$/.test(title) ? title : `${title}.`;
}

/** A mark that explains itself when pointed at says the same to a screen reader; every other mark is silent there. */
function spokenView(view: ChartSpec): ChartSpec {
  const whole: Record<string, unknown> = { ...view };
  for (const part of ['layer', 'hconcat', 'vconcat', 'concat'])
    if (Array.isArray(view[part])) whole[part] = view[part].map(spokenView);
  if (view.mark === undefined) return whole;
  const { tooltip: said, ...encoding } = (view.encoding ?? {}) as { tooltip?: object };
  const mark = typeof view.mark === 'string' ? { type: view.mark } : (view.mark as object);
  if (said === undefined) return { ...whole, mark: { ...mark, aria: false } };
  // As a list: front ends break its lines, while a lone text runs off the page.
  return { ...whole, encoding: { ...encoding, tooltip: [{ ...said, title: 'In words' }], description: said } };
}
