import { strToU8, zipSync } from 'fflate';
import { MISSING_REASONS } from '../assessments/missing-reason.js';
import type { Scale } from '../signs/sign.js';
import { CAPTURE_COLUMNS, type CaptureRow, captureRows } from './capture-sheet.js';
import type { StudyPlan } from './plan-study.js';

/**
 * The capture sheet as an xlsx workbook: the rows and columns of `captureSheet`, every cell locked but those of `value` and `missing`. A graded cell takes only the grades of its
 * scale, from a list, and shows their words when it is entered; a measured one asks back outside the scale's range; `missing` only the known reasons. A row
 * with both a value and a reason, which would be refused, turns yellow. Filled, it loads as it is: `loadAssessments('capture-sheet.xlsx')`.
 *
 * The lock is against slips, without a password. The same plan gives the same bytes.
 *
 * @param only one phase, or one assessor's rows. Default everything.
 * @example writeFileSync('capture-sheet.xlsx', captureWorkbook(plan))
 * Source: Office Open XML, ECMA-376 part 1, SpreadsheetML (sections 18.2 workbooks, 18.3 worksheets, 18.8 styles).
 */
export function captureWorkbook(
  plan: StudyPlan,
  only: { readonly phase?: 'pilot' | 'main'; readonly assessor?: string } = {},
): Uint8Array {
  const rows = captureRows(plan, only);
  const scales = new Map(plan.findings.map(({ scale }) => [scale.id, scale]));
  const parts = {
    '[Content_Types].xml': CONTENT_TYPES,
    '_rels/.rels': relationships([['officeDocument', 'xl/workbook.xml']]),
    'xl/workbook.xml': `${HEAD}<workbook xmlns="${MAIN}" xmlns:r="${RELATIONS}"><sheets><sheet name="readings" sheetId="1" r:id="rId1"/></sheets><definedNames><definedName name="_xlnm.Print_Titles" localSheetId="0">readings!$1:$1</definedName></definedNames></workbook>`,
    'xl/_rels/workbook.xml.rels': relationships([
      ['worksheet', 'worksheets/sheet1.xml'],
      ['styles', 'styles.xml'],
    ]),
    'xl/worksheets/sheet1.xml': worksheet(rows, scales),
    'xl/styles.xml': STYLES,
  };
  // A fixed time in local terms, as ZIP keeps it, so that the bytes are the same on every day and in every place.
  const entries = Object.entries(parts).map(
    ([name, text]) => [name, [strToU8(text), { mtime: new Date(1980, 0, 1) }]] as const,
  );
  return zipSync(Object.fromEntries(entries) as Parameters<typeof zipSync>[0]);
}

const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const RELATIONS = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const TYPES = 'application/vnd.openxmlformats-officedocument.spreadsheetml';

const CONTENT_TYPES = `${HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="${TYPES}.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="${TYPES}.worksheet+xml"/><Override PartName="/xl/styles.xml" ContentType="${TYPES}.styles+xml"/></Types>`;

function relationships(targets: readonly (readonly [type: string, target: string])[]): string {
  const each = targets.map(
    ([type, target], at) => `<Relationship Id="rId${at + 1}" Type="${RELATIONS}/${type}" Target="${target}"/>`,
  );
  return `${HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">${each.join('')}</Relationships>`;
}

/** Cell formats, by their place in `cellXfs`. Entry cells stand on a pale ground; those for grades are text, so that no grade becomes a date or a number. */
const FORMATS = { locked: 0, header: 1, entryText: 2, entryNumber: 3 } as const;

const STYLES = `${HEAD}<styleSheet xmlns="${MAIN}"><fonts count="2"><font><sz val="11"/><name val="Calibri"/></font><font><b/><sz val="11"/><name val="Calibri"/></font></fonts><fills count="3"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FFF4F6F9"/><bgColor indexed="64"/></patternFill></fill></fills><borders count="2"><border><left/><right/><top/><bottom/><diagonal/></border><border><left style="thin"><color rgb="FF8AA0B8"/></left><right style="thin"><color rgb="FF8AA0B8"/></right><top style="thin"><color rgb="FF8AA0B8"/></top><bottom style="thin"><color rgb="FF8AA0B8"/></bottom><diagonal/></border></borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="4"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/><xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/><xf numFmtId="49" fontId="0" fillId="2" borderId="1" xfId="0" applyNumberFormat="1" applyFill="1" applyBorder="1" applyProtection="1"><protection locked="0"/></xf><xf numFmtId="0" fontId="0" fillId="2" borderId="1" xfId="0" applyFill="1" applyBorder="1" applyProtection="1"><protection locked="0"/></xf></cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles><dxfs count="1"><dxf><fill><patternFill patternType="solid"><fgColor rgb="FFF7E3B5"/><bgColor rgb="FFF7E3B5"/></patternFill></fill></dxf></dxfs></styleSheet>`;

const VALUE = CAPTURE_COLUMNS.indexOf('value');
const MISSING = CAPTURE_COLUMNS.indexOf('missing');

/** Width of each column in letters. */
const WIDTHS: Readonly<Partial<Record<(typeof CAPTURE_COLUMNS)[number], number>>> = {
  limb: 11,
  site: 18,
  sign: 18,
  scale: 22,
  value: 12,
  missing: 16,
};

function worksheet(rows: readonly CaptureRow[], scales: ReadonlyMap<string, Scale>): string {
  const last = rows.length + 1;
  const lastColumn = letterOf(CAPTURE_COLUMNS.length - 1);
  const columns = CAPTURE_COLUMNS.map(
    (name, at) => `<col min="${at + 1}" max="${at + 1}" width="${WIDTHS[name] ?? 10}" customWidth="1"/>`,
  );
  const header = CAPTURE_COLUMNS.map((name, at) => textCell(at, 1, FORMATS.header, name));
  const lines = rows.map((row, at) => {
    const number = at + 2;
    const graded = scales.get(row.scale)?.categories !== undefined;
    const cells = CAPTURE_COLUMNS.map((name, column) => {
      const value = row[name];
      if (column === VALUE) return emptyCell(column, number, graded ? FORMATS.entryText : FORMATS.entryNumber);
      if (column === MISSING) return emptyCell(column, number, FORMATS.entryText);
      if (value === null) return '';
      return typeof value === 'number'
        ? `<c r="${letterOf(column)}${number}" s="${FORMATS.locked}"><v>${value}</v></c>`
        : textCell(column, number, FORMATS.locked, value);
    });
    return `<row r="${number}">${cells.join('')}</row>`;
  });
  const [value, missing] = [letterOf(VALUE), letterOf(MISSING)];
  const validations = [...scales.values()].flatMap((scale) => {
    const own = rangesOf(rows, scale.id, value);
    return own === '' ? [] : [validationOf(scale, own)];
  });
  validations.push(
    listValidation(
      `${missing}2:${missing}${last}`,
      MISSING_REASONS,
      'No reading?',
      'Say why. Leave it empty where there is a value.',
    ),
  );
  const both = `AND(LEN($${value}2)&gt;0,LEN($${missing}2)&gt;0)`;
  // The order of these elements is that of the standard (18.3.1.99).
  return [
    `${HEAD}<worksheet xmlns="${MAIN}"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><dimension ref="A1:${lastColumn}${last}"/>`,
    '<sheetViews><sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews>',
    `<sheetFormatPr defaultRowHeight="15"/><cols>${columns.join('')}</cols>`,
    `<sheetData><row r="1">${header.join('')}</row>${lines.join('')}</sheetData>`,
    '<sheetProtection sheet="1" objects="1" scenarios="1" formatColumns="0"/>',
    `<conditionalFormatting sqref="${value}2:${missing}${last}"><cfRule type="expression" dxfId="0" priority="1"><formula>${both}</formula></cfRule></conditionalFormatting>`,
    `<dataValidations count="${validations.length}">${validations.join('')}</dataValidations>`,
    '<pageMargins left="0.5" right="0.5" top="0.5" bottom="0.5" header="0.3" footer="0.3"/><pageSetup orientation="landscape" fitToWidth="1" fitToHeight="0"/>',
    `<ignoredErrors><ignoredError sqref="${value}2:${value}${last}" numberStoredAsText="1"/></ignoredErrors></worksheet>`,
  ].join('');
}

function validationOf(scale: Scale, cells: string): string {
  const { categories, range, unit } = scale;
  if (categories !== undefined)
    return listValidation(
      cells,
      categories.map(({ value }) => value),
      scale.label,
      categories.map(({ value, words }) => `${value} ${words}`).join('\n'),
    );
  const words = `A number in ${unit ?? 'the unit of the scale'}${range === undefined ? '' : `, ${range.lowest} to ${range.highest}`}.`;
  const limits =
    range === undefined
      ? '<formula1>-1E+9</formula1><formula2>1E+9</formula2>'
      : `<formula1>${range.lowest}</formula1><formula2>${range.highest}</formula2>`;
  return `<dataValidation type="decimal" operator="between" errorStyle="warning" ${messages(scale.label, words, 'Not a number within the range. Keep it only if it is meant so, such as <2.')} sqref="${cells}">${limits}</dataValidation>`;
}

/** A list stands in the rule itself, in quotation marks, at most 255 letters long (18.3.1.32). */
function listValidation(cells: string, values: readonly string[], title: string, words: string): string {
  const inside = values.join(',');
  if (inside.length > 255 || values.some((value) => value.includes(',')))
    throw new Error('The values of a scale do not fit into one list of a workbook.');
  return `<dataValidation type="list" ${messages(title, words)} sqref="${cells}"><formula1>"${escaped(inside).replaceAll('&quot;', '&quot;&quot;')}"</formula1></dataValidation>`;
}

/** What a person sees on entering a cell and after a slip; titles have at most 32 letters, messages 255. */
function messages(
  title: string,
  words: string,
  error = 'Choose from the list. Where there is no value, say why in the column missing.',
): string {
  const prompt = words.length <= 255 ? words : 'The wording of each grade stands on the paper sheet.';
  return `allowBlank="1" showInputMessage="1" showErrorMessage="1" errorTitle="Is that right?" error="${escaped(error)}" promptTitle="${escaped(shortened(title))}" prompt="${escaped(prompt).replaceAll('\n', '&#10;')}"`;
}

function shortened(title: string): string {
  return title.length <= 32 ? title : `${title.slice(0, 31)}…`;
}

/** The cells of one scale in a column, neighbors joined: "L2:L9 L14". */
function rangesOf(rows: readonly CaptureRow[], scale: string, letter: string): string {
  const ranges: { from: number; to: number }[] = [];
  rows.forEach((row, at) => {
    if (row.scale !== scale) return;
    const number = at + 2;
    const open = ranges.at(-1);
    if (open?.to === number - 1) open.to = number;
    else ranges.push({ from: number, to: number });
  });
  return ranges.map(({ from, to }) => (from === to ? `${letter}${from}` : `${letter}${from}:${letter}${to}`)).join(' ');
}

function textCell(column: number, row: number, format: number, text: string): string {
  return `<c r="${letterOf(column)}${row}" s="${format}" t="inlineStr"><is><t>${escaped(text)}</t></is></c>`;
}

function emptyCell(column: number, row: number, format: number): string {
  return `<c r="${letterOf(column)}${row}" s="${format}"/>`;
}

/** Columns up to Z; the sheet has fewer. */
function letterOf(column: number): string {
  return String.fromCharCode(65 + column);
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
