import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { Ajv } from 'ajv';
import ajvFormats from 'ajv-formats';
import { describe, expect, it } from 'vitest';
import type { Chart } from '../../src/charts/chart.ts';
import { renderPng, renderSvg } from '../../src/charts/render.ts';
import { PLOT_WIDTH, themeOf } from '../../src/charts/theme.ts';
import { examples } from './examples.ts';

/** The versions that notebook front ends draw with live in a workspace of their own. */
const frontEnd = createRequire(new URL('../front-end/package.json', import.meta.url));
const { compile: compileV6 } = await import('vega-lite');
const { compile: compileV5 } = frontEnd('vega-lite') as {
  compile: (spec: unknown, options: object) => { spec: unknown };
};
const vegaV5 = (await import(frontEnd.resolve('vega'))) as {
  parse: (spec: unknown) => unknown;
  View: new (runtime: unknown, options: object) => { toSVG(): Promise<string>; finalize(): void };
};

const schema = JSON.parse(readFileSync(frontEnd.resolve('vega-lite/build/vega-lite-schema.json'), 'utf8')) as object;
const validator = new Ajv({ allErrors: true, strict: false, allowUnionTypes: true });
ajvFormats.default(validator);
validator.addFormat('color-hex', /^#[0-9a-fA-F]{6}$/);
const fitsSchema = validator.compile(schema);

/** Letters that the bundled font has: the ranges its Latin file is made for. */
const LATIN =
  /^[\u0020-\u00FF\u0131\u0152\u0153\u02BB\u02BC\u02C6\u02DA\u02DC\u2000-\u206F\u20AC\u2122\u2191\u2193\u2212\u2215]*$/;

function roundedJson(spec: unknown): string {
  return `${JSON.stringify(spec, (_key, value: unknown) => (typeof value === 'number' ? Math.round(value * 1e4) / 1e4 : value), 1)}\n`;
}

/** A logger that remembers what it was told instead of printing it. */
function recorder() {
  const said: string[] = [];
  const say = (...words: unknown[]) => {
    said.push(words.join(' '));
    return logger;
  };
  const logger = { level: () => logger, error: say, warn: say, info: () => logger, debug: () => logger };
  return { said, logger };
}

function textsOf(svg: string): string[] {
  return [...svg.matchAll(/<text[^>]*>([^<]*)<|<tspan[^>]*>([^<]*)</g)].map((match) => match[1] || match[2] || '');
}

/**
 * Every element and text of a picture after its frame (size, paper, first group), in order, without identifiers and names; and
 * where each stands, since the versions leave up to three pixels more or less above a title.
 */
function drawingOf(svg: string): { readonly elements: readonly string[]; readonly places: readonly number[] } {
  const plain = svg.replaceAll(/ (?:id|clip-path|aria-label)="[^"]*"/g, '');
  const elements = [...plain.matchAll(/<[^>]*>[^<]*/g)].map(([element]) => element).slice(3);
  const places = elements.flatMap((element) =>
    [...element.matchAll(/translate\(([^,]*),([^)]*)\)/g)].flatMap(([, x, y]) => [Number(x), Number(y)]),
  );
  return { elements: elements.map((element) => element.replace(/translate\([^)]*\)/, 'translate')), places };
}

function sizeIn(svg: string): { readonly width: number; readonly height: number } {
  const [, width, height] = /viewBox="0 0 (\S+) (\S+)"/.exec(svg)!;
  return { width: Number(width), height: Number(height) };
}

/** A picture that is drawn once, when it is first asked for. */
function drawnOnce(chart: Chart): () => Promise<string> {
  let svg: Promise<string> | undefined;
  return () => {
    svg ??= renderSvg(chart);
    return svg;
  };
}

describe.each(Object.entries(examples))('%s', (name, draw) => {
  const chart = draw();
  const dark = draw({ theme: 'dark' });
  const lightSvg = drawnOnce(chart);
  const darkSvg = drawnOnce(dark);

  it('has the JSON that was reviewed', async () => {
    await expect(roundedJson(chart.spec)).toMatchFileSnapshot(`snapshots/${name}.vl.json`);
  });

  it('is plain JSON that version 5 of the schema allows', () => {
    const spec: unknown = JSON.parse(JSON.stringify(chart.spec));
    expect(spec).toEqual(chart.spec);
    fitsSchema(spec);
    expect((fitsSchema.errors ?? []).slice(0, 5)).toEqual([]);
  });

  it('compiles without a warning under versions 5 and 6', () => {
    for (const compile of [compileV6, compileV5]) {
      const { said, logger } = recorder();
      compile(structuredClone(chart.spec) as never, { logger: logger as never });
      expect(said).toEqual([]);
    }
  });

  it('is the same picture under version 5', async () => {
    // Drawn first, because it makes the bundled font known: letters of another width would move things.
    const newer = await lightSvg();
    const { said, logger } = recorder();
    const compiled = compileV5(structuredClone(chart.spec), { logger });
    const view = new vegaV5.View(vegaV5.parse(compiled.spec), { renderer: 'none', logger });
    const svg = await view.toSVG();
    view.finalize();
    expect(said).toEqual([]);
    expect(drawingOf(svg).elements).toEqual(drawingOf(newer).elements);
    const moved = drawingOf(svg).places.map((place, at) => Math.abs(place - drawingOf(newer).places[at]!));
    expect(Math.max(...moved)).toBeLessThanOrEqual(3);
    for (const side of ['width', 'height'] as const)
      expect(Math.abs(sizeIn(svg)[side] - sizeIn(newer)[side])).toBeLessThanOrEqual(3);
  });

  it('is no wider than a notebook, in words and letters that every machine can draw', async () => {
    const svg = await lightSvg();
    const [, width] = /<svg[^>]* width="(\d+(?:\.\d+)?)"/.exec(svg)!;
    expect(Number(width)).toBeLessThanOrEqual(PLOT_WIDTH + 40);
    for (const text of textsOf(svg)) {
      expect(text).toMatch(LATIN);
      expect(text).not.toMatch(/NaN|undefined|null|Infinity/);
    }
    expect(svg).not.toMatch(/NaN|(src|href)="/);
  });

  it('says what it is to those who cannot see it', async () => {
    const svg = await lightSvg();
    expect(svg).toMatch(/^<svg role="img" aria-label="[^"]{80,}"/);
    expect(chart.description.startsWith(chart.title)).toBe(true);
    expect(chart.description).not.toMatch(/NaN|undefined|null/);
    // A finding has numbers.
    expect(chart.description.match(/\d+/g)?.length ?? 0).toBeGreaterThanOrEqual(3);
  });

  it('says of each mark to a screen reader what it says when pointed at, and nothing else', async () => {
    const svg = await lightSvg();
    const marks = [
      ...svg.matchAll(
        / aria-label="([^"]*)" role="graphics-symbol" aria-roledescription="[^"]*(?:mark|point|bar|circle|symbol|tick)[^"]*"/g,
      ),
    ];
    const spoken = new Set(
      marks.map((match) =>
        match[1]!.replaceAll('&quot;', '"').replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&'),
      ),
    );
    expect([...spoken].sort()).toEqual([...chart.words].sort());
  });

  it('is drawn with other colors on dark paper, in the same words', async () => {
    expect(dark.description).toBe(chart.description);
    expect(textsOf(await darkSvg())).toEqual(textsOf(await lightSvg()));
    expect(await darkSvg()).toContain('fill="#141b2b"');
  });

  it('has text in ink, gray or the signal color, or in what reads on its cell', async () => {
    for (const theme of ['light', 'dark'] as const) {
      const { ink, muted, signal, paper } = themeOf({ theme });
      const svg = await (theme === 'dark' ? darkSvg() : lightSvg());
      const fills = [...svg.matchAll(/<text[^>]* fill="([^"]+)"/g)].map((match) => match[1]!);
      expect([ink, muted, signal, paper, '#000000', '#ffffff']).toEqual(expect.arrayContaining([...new Set(fills)]));
    }
  });

  it('explains every mark in words when pointed at', () => {
    const words = [...JSON.stringify(chart.spec).matchAll(/"words":"((?:[^"\\\\]|\\\\.)*)"/g)].map(
      (match) => match[1]!,
    );
    expect(words.length).toBeGreaterThan(3);
    for (const each of words) expect(each).toMatch(/\d.*\.$/);
  });
});

describe('a picture of one person', () => {
  it.each(['limb-course', 'limb-course-girth', 'limb-courses', 'limb-courses-girth', 'true-grade'])(
    '%s says in itself that it is not for sharing',
    async (name) => {
      const chart = examples[name]!();
      expect(chart.caution).toMatch(/^The readings of one person: not for sharing\./);
      expect(await renderSvg(chart)).toContain('not for sharing');
    },
  );
});

describe('a picture', () => {
  const draw = examples['agreement-by-site']!;

  it('is the same on every run', async () => {
    expect(await renderSvg(draw())).toBe(await renderSvg(draw()));
  });

  it('can carry its font', async () => {
    const svg = await renderSvg(draw(), { fonts: 'embedded' });
    expect(svg.match(/src:url\(data:font\/woff2;base64,/g)).toHaveLength(2);
  });

  it('has its own identifiers, so that two on a page do not meet', async () => {
    const ids = (svg: string) => [...svg.matchAll(/ id="([^"]+)"/g)].map((match) => match[1]!);
    const [first, second] = [await renderSvg(draw()), await renderSvg(examples['who-read-what']!())];
    for (const id of ids(first)) expect(ids(second)).not.toContain(id);
  });

  it('can be a PNG', async () => {
    const png = await renderPng(draw(), 1);
    expect(png.subarray(1, 4).toString()).toBe('PNG');
  });

  it('prints as text with its caution', () => {
    expect(String(examples['habit-bars']!())).toMatch(/\nCaution: /);
  });
});
