import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { Chart } from './chart.js';
import { FONT_FAMILY } from './theme.js';

/** The weights that charts use, as the font's package names its files. */
const FONT_FILES = [400, 600].map((weight) => ({
  weight,
  file: `@fontsource/source-sans-3/files/source-sans-3-latin-${weight}-normal.woff2`,
}));

/** Where the bundled font's files lie on this machine. */
export function fontFiles(): readonly { readonly weight: number; readonly path: string }[] {
  const { resolve } = createRequire(import.meta.url);
  return FONT_FILES.map(({ weight, file }) => ({ weight, path: resolve(file) }));
}

/** What of a laid-out picture is used here; Vega's own types do not resolve in every notebook. */
interface Picture {
  toSVG(): Promise<string>;
  toCanvas(scale: number): Promise<unknown>;
  finalize(): void;
}

/**
 * A chart laid out and ready to be drawn. Vega and the canvas are loaded here and not before,
 * because loading them takes longer than all the rest of the library.
 */
async function layOut(chart: Chart): Promise<Picture> {
  const [{ GlobalFonts }, vega, { compile }] = await Promise.all([
    import('canvas'),
    import('vega'),
    import('vega-lite'),
  ]);
  if (!GlobalFonts.has(FONT_FAMILY))
    for (const { path } of fontFiles()) GlobalFonts.registerFromPath(path, FONT_FAMILY);
  const quiet = vega.logger(vega.Error);
  const compiled = compile(structuredClone(chart.spec) as unknown as Parameters<typeof compile>[0], { logger: quiet });
  const view = new vega.View(vega.parse(compiled.spec), { renderer: 'none', logger: quiet });
  await view.runAsync();
  return view;
}

export interface SvgOptions {
  /** `'embedded'` carries the bundled font inside (about 40 kB); `'named'`, the default, only names it. */
  readonly fonts?: 'embedded' | 'named';
}

/**
 * A chart as SVG text. Identifiers inside are made from the chart's own content, so that several
 * pictures on one page cannot clip each other.
 */
export async function renderSvg(chart: Chart, options: SvgOptions = {}): Promise<string> {
  const view = await layOut(chart);
  try {
    const svg = named(await view.toSVG(), chart);
    return options.fonts === 'embedded' ? svg.replace(/>/, `>${await fontStyle()}`) : svg;
  } finally {
    view.finalize();
  }
}

/** A chart as PNG, `scale` pixels to the point. */
export async function renderPng(chart: Chart, scale = 2): Promise<Buffer> {
  const view = await layOut(chart);
  try {
    const canvas = (await view.toCanvas(scale)) as { toBuffer(type: 'image/png'): Buffer };
    return canvas.toBuffer('image/png');
  } finally {
    view.finalize();
  }
}

/** The picture says what it is to a screen reader: role, alternative text. */
function named(svg: string, chart: Chart): string {
  const prefix = `c${createHash('sha256').update(JSON.stringify(chart.spec)).digest('hex').slice(0, 8)}-`;
  return svg
    .replaceAll(/ id="([^"]+)"/g, ` id="${prefix}$1"`)
    .replaceAll(/url\(#([^)]+)\)/g, `url(#${prefix}$1)`)
    .replace('<svg ', `<svg role="img" aria-label="${escapeXml(chart.description)}" `);
}

/** The bundled font as a style sheet without addresses. */
async function fontStyle(): Promise<string> {
  const faces = await Promise.all(
    fontFiles().map(async ({ weight, path }) => {
      const data = (await readFile(path)).toString('base64');
      return `@font-face{font-family:"${FONT_FAMILY}";font-weight:${weight};src:url(data:font/woff2;base64,${data}) format("woff2")}`;
    }),
  );
  return `<style>${faces.join('')}</style>`;
}

function escapeXml(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
