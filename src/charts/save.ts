import { extname } from 'node:path';
import { Assessments } from '../assessments/assessments.js';
import type { FhirObservations } from '../assessments/fhir-observations.js';
import { type Audience, requireMadeFor } from '../shared/audience.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { parquetBytes } from '../shared/parquet-bytes.js';
import { formatNumber, Table } from '../shared/table.js';
import { writeFileSafely } from '../shared/write-file-safely.js';
import { Chart } from './chart.js';
import { renderPdf, renderPng, renderSvg, sizeOf } from './render.js';
import { tableMarkdown } from './table-html.js';
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

/** What is saved without options: its text or bytes, by the ending of the file's name. */
type Document = Table | Assessments | FhirObservations;

/**
 * Writes a chart, a result table, assessments or FHIR Observations to a file; the ending of the file's name says how.
 *
 * A chart, at the width it will have on paper: .svg with outlined letters, .png at a resolution, .pdf with the bundled
 * font inside. A result table: .csv and .parquet with every digit (in .parquet with caption and notes, under the keys of
 * its columns), .md rounded as it prints, with caption and notes. Assessments: .csv, .parquet. Observations: .ndjson, or
 * .json for one Bundle. A text in a result table's .csv that a spreadsheet would run as a formula begins with an apostrophe.
 * Whom a chart or table was made for is printed in it, unless everybody may see it.
 *
 * @param what the chart, table, assessments or Observations.
 * @param file the path; a file that is there is replaced at once, never in part.
 * @param options how a chart is drawn, and for whom; a table takes only `audience`, the others none.
 * @throws InputError `not-for-audience`; `unknown-format`, `bad-option`, `letters-too-small` (at this width the smallest letters fall under 5 points), all at once; `file-not-written`.
 * @example await save(agreementBySiteChart(study), 'figure-1.pdf', { widthMillimeters: 174, titled: false })
 * @example await save(study.table, 'agreement.parquet')
 */
export async function save(what: Chart | Document, file: string, options: SaveOptions = {}): Promise<void> {
  if (what instanceof Chart) return saveChart(what, file, options);
  const forms = formsOf(what);
  const format = extname(file).toLowerCase();
  const form = Object.hasOwn(forms, format) ? forms[format] : undefined;
  if (form === undefined) throw new InputError([unknownFormat(format, Object.keys(forms))]);
  const { audience, ...others } = options;
  if (Object.keys(others).length > 0)
    throw new InputError([
      { code: 'bad-option', path: ['options'], message: 'These options are for charts.', expected: 'audience or none' },
    ]);
  if (what instanceof Table) requireMadeFor(what, audience, 'This table');
  await writeFileSafely(file, await form());
}

type Forms = Readonly<Record<string, () => string | Promise<Uint8Array>>>;

function formsOf(what: Document): Forms {
  if (what instanceof Table)
    return {
      '.csv': () => what.toCsv(),
      '.md': () => `${tableMarkdown(what)}\n`,
      '.parquet': () =>
        parquetBytes(
          what.columns.map(({ key }) => ({ name: key, values: what.rows.map((row) => row[key] ?? null) })),
          { caption: what.caption, notes: what.notes.map(({ message }) => message).join('\n') },
        ),
    };
  if (what instanceof Assessments) return { '.csv': () => what.toCsv(), '.parquet': () => parquetOf(what) };
  return { '.ndjson': () => what.toNdjson(), '.json': () => what.toBundle() };
}

/** The value as text, since some are words and some numbers. */
function parquetOf(assessments: Assessments): Promise<Uint8Array> {
  const rows = assessments.toRows();
  const names = Object.keys(rows[0] ?? { patient: null }) as (keyof (typeof rows)[number])[];
  return parquetBytes(
    names.map((name) => ({
      name,
      values: rows.map((row) => (name === 'value' && row.value !== null ? String(row.value) : (row[name] ?? null))),
    })),
  );
}

async function saveChart(chart: Chart, file: string, options: SaveOptions): Promise<void> {
  const { widthMillimeters = 174, dotsPerInch = 300, letters = 'outlined', titled = true } = options;
  requireMadeFor(chart, options.audience, 'This chart');
  const picture = (titled ? chart : chart.withoutTitle()).marked();
  const format = extname(file).toLowerCase();
  const problems: Problem[] = [];
  if (!FORMATS.includes(format)) problems.push(unknownFormat(format, FORMATS));
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

function unknownFormat(format: string, known: readonly string[]): Problem {
  return {
    code: 'unknown-format',
    path: ['file'],
    message: `The file's name ends in "${format}".`,
    expected: `one of ${known.join(', ')}`,
  };
}

function badNumber(name: string, value: number, expected: string): Problem {
  return { code: 'bad-option', path: ['options', name], message: `${name} is ${value}.`, expected };
}
