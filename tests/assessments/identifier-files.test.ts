import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { utils, write } from '@e965/xlsx';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { identifyingValues, innocentValues } from './identifier-examples.ts';

const random = seededRandom(20261128);
const pick = <T>(list: readonly T[]): T => list[random.below(list.length)] as T;

/** Where an identifier can stand in a small sheet. */
const PLACES = [
  'a comment',
  'a code of a patient',
  'a reading',
  'a column with a header of its own',
  'a line above',
  'a line below',
  'a name of a column',
] as const;
type Place = (typeof PLACES)[number];

/** A small wide sheet of a bedside study: title, header, six patients, total. */
function sheetOf(place: Place | undefined, value: string): string[][] {
  const patients = Array.from({ length: 6 }, (_, at) => `P${String(at + 1).padStart(2, '0')}`);
  const at = random.below(6);
  const put = (wanted: Place, otherwise: string, row: number): string =>
    place === wanted && row === at ? value : otherwise;
  return [
    [place === 'a line above' ? value : pick(['Pulses, unit 6', 'Skills lab', 'Agreement study, round 1'])],
    [
      'patient',
      'leg',
      'dp_A',
      'dp_B',
      place === 'a name of a column' ? value : 'remark',
      ...(place === 'a column with a header of its own' ? ['code2'] : []),
    ],
    ...patients.map((code, row) => [
      put('a code of a patient', code, row),
      row % 2 === 0 ? 'L' : 'R',
      put('a reading', String(random.below(4)), row),
      String(random.below(4)),
      put('a comment', place === undefined && row === at ? value : '', row),
      ...(place === 'a column with a header of its own' ? [row === at ? value : ''] : []),
    ]),
    ['Total', '', '6', '6', ''],
    ...(place === 'a line below' ? [[`Note: ${value}`]] : []),
  ];
}

const cell = (text: string): string => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
const layoutOf = (rows: readonly (readonly string[])[]) =>
  ({
    titleRows: 1,
    footerRows: rows.length - 8,
    columns: { patient: 'patient', side: 'leg' },
    part: 'leg',
    readings: {
      dp_A: { sign: 'pulse-grade', site: 'dorsalis-pedis', scale: 'pulse.0-3.normal2', assessor: 'A' },
      dp_B: { sign: 'pulse-grade', site: 'dorsalis-pedis', scale: 'pulse.0-3.normal2', assessor: 'B' },
    },
  }) as const;

async function told(
  folder: string,
  at: number,
  rows: string[][],
): Promise<{ text: string; isCaught: boolean; isRefused: boolean }> {
  let source: string | { text: string };
  if (at % 3 === 0) {
    // Every third as a workbook on the disk.
    const book = utils.book_new();
    utils.book_append_sheet(book, utils.aoa_to_sheet(rows), 'Sheet1');
    source = join(folder, `sheet${at}.xlsx`);
    await writeFile(source, write(book, { type: 'buffer', bookType: 'xlsx' }) as Uint8Array);
  } else source = { text: rows.map((row) => row.map(cell).join(',')).join('\n') };
  const preview = String(
    await previewSheet(source).catch((error: Error) => `${error.message} ${JSON.stringify(error)}`),
  );
  const loaded = await loadAssessments(source, { layout: layoutOf(rows) }).then(
    (assessments) => ({
      text: JSON.stringify({ ...assessments, notes: assessments.notes }),
      isCaught: false,
      isRefused: false,
    }),
    (error: Error) => {
      const text = `${error.message} ${JSON.stringify(error)}`;
      return { text, isCaught: /"code":"identifier/.test(text), isRefused: true };
    },
  );
  return { ...loaded, text: `${preview} ${loaded.text}` };
}

test('of 420 small files with an identifier somewhere more than 99 in 100 are refused for it, and none is repeated', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'files-'));
  const missed: string[] = [];
  const echoed: string[] = [];
  const values = identifyingValues.filter(([, value]) => value.length > 5);
  for (let at = 0; at < 420; at++) {
    const place = PLACES[at % PLACES.length]!;
    // Dates above and below a table are those of its printing.
    const fitting = values.filter(([one]) => !place.includes('line') || (one !== 'date' && one !== 'age over 89'));
    const [kind, value] = fitting[(at * 7) % fitting.length]!;
    const { text, isCaught } = await told(folder, at, sheetOf(place, value));
    if (!isCaught) missed.push(`${place}: ${kind}: ${value}`);
    if (text.includes(value)) echoed.push(`${place}: ${value}`);
  }
  expect(echoed).toEqual([]);
  expect(missed.length / 420, missed.join('\n')).toBeLessThan(0.01);
});

test('of 300 small files without one fewer than 1 in 100 are refused as identifying', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'files-'));
  const refused: string[] = [];
  for (let at = 0; at < 300; at++) {
    const value = pick(innocentValues);
    const { isCaught, isRefused } = await told(folder, at, sheetOf(undefined, value));
    if (isCaught || isRefused) refused.push(value);
  }
  expect(refused.length / 300, refused.join('\n')).toBeLessThan(0.01);
});
