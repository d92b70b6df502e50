import { extname } from 'node:path';
import { type Audience, requireMadeFor } from '../shared/audience.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { writeFileSafely } from '../shared/write-file-safely.js';
import type { Chart } from './chart.js';
import { renderPdf, renderPng, renderSvg, sizeOf } from './render.js';
import { TEXT_SIZES } from './theme.js';

export interface SaveOptions {
  /** Width on paper in millimeters. Default 174, a journal's two columns (common practice, no source). */
  readonly widthMillimeters?: number;
  /** Dots per inch of a PNG. Default 300. */
  readonly dotsPerInch?: number;
  /** Letters of an SVG: drawn as outlines (the default, the same in every program), or as text with the bundled font inside. */
  readonly letters?: 'outlined' | 'embedded';
  /** Whether title and subtitle are in the picture; a journal wants them in the caption. Default `true`. */
  readonly titled?: boolean;
  /** Who will see the file: a chart that was not made for them is refused. Without it the chart's own audience stands in the picture. */
  readonly audience?: Audience;
}

const FORMATS = ['.svg', '.png', '.pdf'];
const MILLIMETERS_PER_INCH = 25.4;
const POINTS_PER_INCH = 72;
/** Letters smaller than this are refused: what most journals ask for at the least (common practice, no source). */
const SMALLEST_POINTS = 5;

/**
 * Writes a chart to a file, at the width it will have on paper: SVG with outlined letters, PNG at a
 * resolution, or PDF with the bundled font inside. The ending of the file's name says which. Whom it was
 * made for is printed in it, unless everybody may see it.
 *
 * @param chart the chart.
 * @param file path ending in .svg, .png or .pdf; a file that is there is replaced at once, never in part.
 * @throws InputError `not-for-audience`; `unknown-format`, `bad-option`, `letters-too-small` (at this width the smallest letters fall under 5 points), all at once; `file-not-written`.
 * @example await save(agreementBySiteChart(study), 'figure-1.pdf', { widthMillimeters: 174, titled: false })
 */
export async function save(chart: Chart, file: string, options: SaveOptions = {}): Promise<void> {
  const { widthMillimeters = 174, dotsPerInch = 300, letters = 'outlined', titled = true } = options;
  requireMadeFor(chart, options.audience, 'This chart');
  const picture = (titled ? chart : chart.withoutTitle()).marked();
  const format = extname(file).toLowerCase();
  const problems: Problem[] = [];
  if (!FORMATS.includes(format))
    problems.push({
      code: 'unknown-format',
      path: ['file'],
      message: `The file's name ends in "${format}".`,
      expected: `one of ${FORMATS.join(', ')}`,
    });
  if (!(widthMillimeters >= 20 && widthMillimeters <= 2000))
    problems.push(badNumber('widthMillimeters', widthMillimeters, 'a width from 20 to 2000 millimeters'));
  if (!(dotsPerInch >= 50 && dotsPerInch <= 1200))
    problems.push(badNumber('dotsPerInch', dotsPerInch, 'a resolution from 50 to 1200'));
  if (problems.length > 0) throw new InputError(problems);

  const { width } = await sizeOf(picture);
  const inches = widthMillimeters / MILLIMETERS_PER_INCH;
  const points = (TEXT_SIZES.small * inches * POINTS_PER_INCH) / width;
  if (points < SMALLEST_POINTS)
    throw new InputError([
      {
        code: 'letters-too-small',
        path: ['options', 'widthMillimeters'],
        message: `At ${formatNumber(widthMillimeters, 0)} mm the smallest letters would have ${formatNumber(points, 1)} points.`,
        expected: `at least ${Math.ceil((widthMillimeters * SMALLEST_POINTS) / points)} mm for this chart`,
      },
    ]);
  if (format === '.png')
    await writeFileSafely(file, await renderPng(picture, (dotsPerInch * inches) / width, dotsPerInch));
  else if (format === '.pdf') await writeFileSafely(file, await renderPdf(picture, (POINTS_PER_INCH * inches) / width));
  else await writeFileSafely(file, onPaper(await renderSvg(picture, { fonts: letters }), widthMillimeters));
}

/** The picture's size on paper in its outermost tag; what is inside keeps its own units. */
function onPaper(svg: string, widthMillimeters: number): string {
  const [, width, height] = /viewBox="0 0 (\S+) (\S+)"/.exec(svg) ?? [];
  const heightMillimeters = (widthMillimeters * Number(height)) / Number(width);
  const printed = (value: number): string => String(Number(value.toFixed(2)));
  return svg.replace(
    /^<svg([^>]*?) width="[^"]*" height="[^"]*"/,
    `<svg$1 width="${printed(widthMillimeters)}mm" height="${printed(heightMillimeters)}mm"`,
  );
}

function badNumber(name: string, value: number, expected: string): Problem {
  return { code: 'bad-option', path: ['options', name], message: `${name} is ${value}.`, expected };
}
