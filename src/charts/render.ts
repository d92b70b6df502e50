import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { crc32 } from 'node:zlib';
import type { CanvasRenderingContext2D } from 'canvas';
import type { Chart } from './chart.js';
import { FONT_FAMILY } from './theme.js';

/** The weights that charts use, as the font's package names its files. */
const FONT_FILES = [400, 600].map((weight) => ({
  weight,
  file: `@fontsource/source-sans-3/files/source-sans-3-latin-${weight}-normal.woff2`,
}));

/** What of a laid-out picture is used here; Vega's own types do not resolve in every notebook. */
interface Picture {
  toSVG(): Promise<string>;
  toCanvas(scale: number, options?: object): Promise<unknown>;
  finalize(): void;
}

interface Canvas {
  readonly width: number;
  readonly height: number;
  toBuffer(type: 'image/png'): Buffer;
}

export interface SvgOptions {
  /**
   * `'named'`, the default, only names the bundled font; `'embedded'` carries it inside (about 40 kB);
   * `'outlined'` draws the letters as shapes, the same in every program.
   */
  readonly fonts?: 'named' | 'embedded' | 'outlined';
}

/**
 * A chart as SVG text. Identifiers inside are made from the chart's own content, so that several
 * pictures on one page cannot clip each other.
 */
export async function renderSvg(chart: Chart, options: SvgOptions = {}): Promise<string> {
  if (options.fonts === 'outlined') return named(await outlined(chart), chart);
  const svg = named(await drawn(chart, (picture) => picture.toSVG()), chart);
  return options.fonts === 'embedded' ? svg.replace('>', `><style>${await fontFaces()}</style>`) : svg;
}

/** A chart as PNG, `scale` pixels to the point; `dotsPerInch` is written into the file for programs that print it. */
export async function renderPng(chart: Chart, scale = 2, dotsPerInch?: number): Promise<Buffer> {
  const png = await drawn(chart, async (picture) => ((await picture.toCanvas(scale)) as Canvas).toBuffer('image/png'));
  return dotsPerInch === undefined ? png : withResolution(png, dotsPerInch);
}

/** A chart as a PDF page of its own size, `scale` points of the page to the point of the picture. */
export async function renderPdf(chart: Chart, scale = 1): Promise<Buffer> {
  const { PDFDocument } = await import('canvas');
  const document = new PDFDocument({ title: chart.title, subject: chart.description });
  return onContext(chart, scale, ({ width, height }) => ({
    context: document.beginPage(width, height),
    finish: () => {
      document.endPage();
      return document.close();
    },
  }));
}

/** Width and height of a chart in points. */
export async function sizeOf(chart: Chart): Promise<{ readonly width: number; readonly height: number }> {
  return drawn(chart, async (picture) => {
    const { width, height } = (await picture.toCanvas(1)) as Canvas;
    return { width, height };
  });
}

async function outlined(chart: Chart): Promise<string> {
  const { createCanvas, SvgExportFlag } = await import('canvas');
  return onContext(chart, 1, ({ width, height }) => {
    const canvas = createCanvas(width, height, SvgExportFlag.ConvertTextToPaths);
    const size = `<svg viewBox="0 0 ${width} ${height}" `;
    return {
      context: canvas.getContext('2d'),
      finish: () =>
        canvas
          .getContent()
          .toString('utf8')
          .replace(/^<\?xml[^>]*\?>\s*/, '')
          .replace('<svg ', size),
    };
  });
}

/** Draws on a page that is not a picture of pixels: `start` gives its context for a size, `finish` its content. */
async function onContext<Content>(
  chart: Chart,
  scale: number,
  start: (size: { readonly width: number; readonly height: number }) => {
    readonly context: CanvasRenderingContext2D;
    readonly finish: () => Content;
  },
): Promise<Content> {
  return drawn(chart, async (picture) => {
    const { width, height } = (await picture.toCanvas(1)) as Canvas;
    const { context, finish } = start({ width: width * scale, height: height * scale });
    await picture.toCanvas(scale, { externalContext: context });
    return finish();
  });
}

/**
 * Lays a chart out, lets it be drawn and puts it away. Vega and the canvas are loaded here and not
 * before, because loading them takes longer than all the rest of the library.
 */
async function drawn<Result>(chart: Chart, draw: (picture: Picture) => Promise<Result>): Promise<Result> {
  const [{ GlobalFonts }, vega, { compile }] = await Promise.all([
    import('canvas'),
    import('vega'),
    import('vega-lite'),
  ]);
  if (!GlobalFonts.has(FONT_FAMILY))
    for (const { path } of fontFiles()) GlobalFonts.registerFromPath(path, FONT_FAMILY);
  const quiet = vega.logger(vega.Error);
  const compiled = compile(structuredClone(chart.spec) as unknown as Parameters<typeof compile>[0], { logger: quiet });
  const picture = new vega.View(vega.parse(compiled.spec), { renderer: 'none', logger: quiet });
  try {
    await picture.runAsync();
    return await draw(picture);
  } finally {
    picture.finalize();
  }
}

/** Where the bundled font's files lie on this machine. */
function fontFiles(): readonly { readonly weight: number; readonly path: string }[] {
  const { resolve } = createRequire(import.meta.url);
  return FONT_FILES.map(({ weight, file }) => ({ weight, path: resolve(file) }));
}

/** The picture says what it is to a screen reader: role, alternative text. */
function named(svg: string, chart: Chart): string {
  const prefix = `c${createHash('sha256').update(JSON.stringify(chart.spec)).digest('hex').slice(0, 8)}-`;
  return svg
    .replaceAll(/ id="([^"]+)"/g, ` id="${prefix}$1"`)
    .replaceAll(/url\(#([^)]+)\)/g, `url(#${prefix}$1)`)
    .replace('<svg ', `<svg role="img" aria-label="${escapeXml(chart.description)}" `);
}

/** The bundled font as rules of a style sheet, without addresses. */
export async function fontFaces(): Promise<string> {
  const faces = await Promise.all(
    fontFiles().map(async ({ weight, path }) => {
      const data = (await readFile(path)).toString('base64');
      return `@font-face{font-family:"${FONT_FAMILY}";font-weight:${weight};src:url(data:font/woff2;base64,${data}) format("woff2")}`;
    }),
  );
  return faces.join('');
}

function escapeXml(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}

/**
 * A PNG with its resolution: the chunk pHYs (pixels per meter) after the header.
 * Source: Portable Network Graphics specification, third edition, section 11.3.4.3.
 */
function withResolution(png: Buffer, dotsPerInch: number): Buffer {
  const HEADER_END = 33;
  const chunk = Buffer.alloc(21);
  chunk.writeUInt32BE(9, 0);
  chunk.write('pHYs', 4, 'latin1');
  const perMeter = Math.round(dotsPerInch / 0.0254);
  chunk.writeUInt32BE(perMeter, 8);
  chunk.writeUInt32BE(perMeter, 12);
  chunk[16] = 1;
  chunk.writeUInt32BE(crc32(chunk.subarray(4, 17)), 17);
  return Buffer.concat([png.subarray(0, HEADER_END), chunk, png.subarray(HEADER_END)]);
}
