import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { read, utils, write } from '@e965/xlsx';
import { strFromU8, unzipSync } from 'fflate';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { captureSheet } from '../../src/planning/capture-sheet.ts';
import { captureWorkbook } from '../../src/planning/capture-workbook.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { codebook } from '../../src/signs/codebook.ts';
import { plan } from './plan.ts';

const folder = mkdtempSync(join(tmpdir(), 'capture-'));
afterAll(() => rmSync(folder, { recursive: true }));
const place = join(folder, 'sheet.xlsx');

const parts = unzipSync(captureWorkbook(plan));
const sheet = strFromU8(parts['xl/worksheets/sheet1.xml']!);
const validations = [...sheet.matchAll(/<dataValidation ([^>]*)>(.*?)<\/dataValidation>/g)].map(
  ([, head, formulas]) => ({
    head: head!,
    formulas: formulas!,
    cells: /sqref="([^"]*)"/.exec(head!)![1]!,
  }),
);

/** Every cell that a list such as "L2:L4 L9" names. */
function cellsOf(ranges: string): string[] {
  return ranges.split(' ').flatMap((range) => {
    const { s, e } = utils.decode_range(range);
    return Array.from({ length: e.r - s.r + 1 }, (_, at) => utils.encode_cell({ r: s.r + at, c: s.c }));
  });
}

describe('captureWorkbook', () => {
  it('holds the cells of the capture sheet, no more and no less', async () => {
    writeFileSync(place, captureWorkbook(plan));
    const csv = await readSheet({ text: captureSheet(plan) });
    expect((await readSheet(place)).rows).toEqual(csv.rows);
  });

  it('loads filled, each grade, number and reason as it was written', async () => {
    const book = read(captureWorkbook(plan), { type: 'array', cellStyles: true });
    const cells = book.Sheets.readings!;
    const rows = utils.sheet_to_json<Record<string, string>>(cells, { defval: '' });
    rows.forEach((row, at) => {
      const cell = (column: string) => `${column}${at + 2}`;
      if (row.sign === 'pulse-grade') cells[cell('L')] = { t: 's', v: '3' };
      else if (row.sign === 'ankle-girth') cells[cell('L')] = { t: 'n', v: 23.5 };
      else cells[cell('M')] = { t: 's', v: 'covered' };
    });
    writeFileSync(place, write(book, { type: 'buffer', bookType: 'xlsx' }));
    const assessments = await loadAssessments(place);
    expect(assessments.length).toBe(8 * 3 * 14);
    expect(new Set(assessments.where({ sign: 'pulse-grade' }).category)).toEqual(new Set([3]));
    expect(new Set(assessments.where({ sign: 'ankle-girth' }).number)).toEqual(new Set([23.5]));
    expect(assessments.where({ missing: 'covered' }).length).toBe(8 * 3 * 8);
  });

  it('locks every cell but those of value and missing', () => {
    expect(sheet).toContain('<sheetProtection sheet="1"');
    const styles = strFromU8(parts['xl/styles.xml']!);
    const formats = [...styles.split('<cellXfs')[1]!.matchAll(/<xf [^>]*?(?:\/>|>.*?<\/xf>)/g)].map(([xf]) => xf);
    const open = (format: string | undefined) => formats[Number(format)]!.includes('locked="0"');
    for (const [, cell, format] of sheet.matchAll(/<c r="([A-Z]+\d+)" s="(\d)"/g))
      expect(open(format), cell).toBe(/^[LM](?!1$)\d+$/.test(cell!));
  });

  it('gives each graded cell the list of its own scale, each measured one a range, each reason a list', () => {
    const lines = captureSheet(plan).trimEnd().split('\n').slice(1);
    const ruled = new Map(validations.flatMap((one) => cellsOf(one.cells).map((cell) => [cell, one] as const)));
    expect(ruled.size).toBe(2 * lines.length);
    lines.forEach((line, at) => {
      const [sign, scaleId] = line.split(',').slice(9, 11);
      const scale = codebook.find(({ id }) => id === sign)!.scales.find(({ id }) => id === scaleId)!;
      const { head, formulas } = ruled.get(`L${at + 2}`)!;
      if (scale.categories === undefined) expect(head).toContain('type="decimal"');
      else {
        expect(head).toContain('type="list"');
        expect(formulas).toBe(`<formula1>"${scale.categories.map(({ value }) => value).join(',')}"</formula1>`);
      }
      expect(ruled.get(`M${at + 2}`)!.formulas).toContain('not-assessed,out-of-time');
    });
  });

  it('keeps to the lengths and the order of elements of the standard, for every sign and scale of the codebook', () => {
    const rest = { title: 'x', patients: 1, assessors: ['A', 'B'], minutesPerExamination: 1 };
    const most = Math.max(...codebook.map(({ scales }) => scales.length));
    for (let at = 0; at < most; at++) {
      const signs = codebook.flatMap((sign) =>
        sign.scales.slice(at, at + 1).map((scale) => ({ sign: sign.id, scale: scale.id })),
      );
      const all = unzipSync(captureWorkbook(planStudy({ ...rest, signs })));
      const xml = strFromU8(all['xl/worksheets/sheet1.xml']!);
      for (const [, list] of xml.matchAll(/<formula1>"(.*?)"<\/formula1>/g))
        expect(list!.length).toBeLessThanOrEqual(255);
      for (const [, title, prompt] of xml.matchAll(/promptTitle="(.*?)" prompt="(.*?)"/g)) {
        expect(unescaped(title!).length).toBeLessThanOrEqual(32);
        expect(unescaped(prompt!).length).toBeLessThanOrEqual(255);
      }
    }
    const order = [
      'sheetPr',
      'dimension',
      'sheetViews',
      'sheetFormatPr',
      'cols',
      'sheetData',
      'sheetProtection',
      'conditionalFormatting',
      'dataValidations',
      'pageMargins',
      'pageSetup',
      'ignoredErrors',
    ];
    const places = order.map((name) => sheet.indexOf(`<${name}`));
    expect(places.every((place, at) => place > (places[at - 1] ?? 0))).toBe(true);
  });

  it('names every part and is the same file on another day', () => {
    const types = strFromU8(parts['[Content_Types].xml']!);
    for (const name of Object.keys(parts))
      if (name.startsWith('xl/') && name.endsWith('.xml')) expect(types).toContain(`PartName="/${name}"`);
    const today = captureWorkbook(plan);
    vi.useFakeTimers({ now: new Date(2031, 4, 17, 8, 30) });
    expect(captureWorkbook(plan)).toEqual(today);
    vi.useRealTimers();
  });
});

function unescaped(text: string): string {
  return text
    .replaceAll('&#10;', '\n')
    .replaceAll('&quot;', '"')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&');
}
