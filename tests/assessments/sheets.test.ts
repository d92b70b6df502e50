import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { utils, write } from '@e965/xlsx';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { compareTypings } from '../../src/assessments/compare-typings.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import type { SheetLayout } from '../../src/assessments/sheet-layout.ts';
import type { InputError, Problem } from '../../src/shared/input-error.ts';
import { besideCheckout } from '../support/optional.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'sheet-test-'));
});
afterAll(() => rm(folder, { recursive: true }));

async function workbook(name: string, sheets: Record<string, unknown[][]>): Promise<string> {
  const book = utils.book_new();
  for (const [title, rows] of Object.entries(sheets))
    utils.book_append_sheet(book, utils.aoa_to_sheet(rows, { cellDates: false }), title);
  const path = join(folder, name);
  await writeFile(path, write(book, { type: 'buffer', bookType: 'xlsx' }) as Buffer);
  return path;
}

async function problemsOf(action: Promise<unknown>): Promise<readonly Problem[]> {
  try {
    await action;
  } catch (error) {
    return (error as InputError).problems;
  }
  throw new Error('was not refused');
}

const placesOf = async (action: Promise<unknown>): Promise<string[]> =>
  (await problemsOf(action)).map(({ row, column, code }) => `${row ?? '-'} ${column ?? '-'} ${code}`);

const wide = [
  'pt,leg,order,dp_A,dp_B,dp_A_again,crt_toe_A,crt_toe_B,note',
  'P1,L,BA,3,0D,2,<2,2.5,x',
  'P1,R,BA,BKA,BKA,,BKA,BKA,x',
  'P2,L,AB,3,,,3,dressing,x',
  'P2,R,AB,?,4,,2,2,x',
].join('\n');
const answers = {
  scales: { 'pulse-grade': 'pulse.0-4.normal3' },
  heldSeconds: { 'capillary-refill': 5 },
  blanks: 'not-assessed',
} as const;

describe('a wide sheet', () => {
  test('is understood in sentences, and what it cannot tell is asked', async () => {
    const preview = await previewSheet({ text: wide });
    expect(preview.sentences).toContain('pt: the patient.');
    expect(preview.sentences).toContain('A, B at the end of a name are examiners.');
    expect(preview.sentences).toContain('"BKA" in 4 cells: this part of the limb is absent.');
    expect(preview.sentences).toContain('Not read: note.');
    expect(preview.questions.map(({ about, isNeeded }) => [about, isNeeded])).toEqual([
      ['pulse-grade', true],
      ['capillary-refill', false],
      ['blanks', false],
    ]);
    expect(preview.questions[0]?.choices.map((choice) => choice.split(':')[0])).toEqual([
      'pulse.0-4.normal2',
      'pulse.0-4.normal3',
      'pulse.0-4.strong4',
    ]);
    expect(String(preview)).toContain('To ask whoever filled in the sheet:');
    // An open question is a refusal, told once.
    expect(await placesOf(loadAssessments({ text: wide }, { layout: preview.layout }))).toEqual(['- - scale-missing']);
  });

  test('loads with the answers, each reading with its examiner, order, repeat and reason', async () => {
    const preview = await previewSheet({ text: wide }, { answers });
    expect(preview.questions).toEqual([]);
    const loaded = await loadAssessments({ text: wide }, { layout: preview.layout });
    const rows = loaded.toRows();
    const reading = (patient: string, limb: string, assessor: string, sign: string) =>
      rows.filter(
        (row) => row.patient === patient && row.limb === limb && row.assessor === assessor && row.sign === sign,
      );
    expect(
      reading('P1', 'left-leg', 'A', 'pulse-grade').map(({ value, replicate, order }) => [value, replicate, order]),
    ).toEqual([
      ['3', null, 2],
      ['2', 2, 2],
    ]);
    // 0D tells two findings: not felt, and heard by Doppler.
    expect(reading('P1', 'left-leg', 'B', 'pulse-grade')[0]?.value).toBe('0');
    expect(reading('P1', 'left-leg', 'B', 'pulse-detection')[0]).toMatchObject({
      value: 'doppler-only',
      site: 'dorsalis-pedis',
      order: 1,
    });
    expect(reading('P1', 'right-leg', 'A', 'pulse-grade')).toHaveLength(1);
    expect(reading('P1', 'right-leg', 'A', 'pulse-grade')[0]).toMatchObject({ value: null, missing: 'part-absent' });
    expect(reading('P1', 'left-leg', 'A', 'capillary-refill')[0]).toMatchObject({
      value: 2,
      comparator: '<',
      heldSeconds: 5,
    });
    expect(reading('P2', 'left-leg', 'B', 'capillary-refill')[0]).toMatchObject({ missing: 'covered' });
    expect(reading('P2', 'left-leg', 'B', 'pulse-grade')[0]).toMatchObject({ missing: 'not-assessed' });
    expect(reading('P2', 'right-leg', 'A', 'pulse-grade')[0]).toMatchObject({ missing: 'unsure' });
    expect(loaded.length).toBe(4 * 4 + 1 + 1);
  });

  test.each([
    [
      'right beside left, and a midline site',
      'Patient ID,Visit,Examiner,DP R,DP L,Edema L shin,Edema sacrum\nA1,1,N1,2,1,1+,trace\n',
      [
        'right-leg dorsalis-pedis 2 N1',
        'left-leg dorsalis-pedis 1 N1',
        'left-leg pretibial-shin 1 N1',
        'null sacrum trace N1',
      ],
    ],
    [
      'examiners in brackets, semicolons, a total',
      'Subject;R DP (A);L DP (A);R DP (B)\nS1;2;1;0\nTotal;2;1;0\n',
      ['right-leg dorsalis-pedis 2 A', 'left-leg dorsalis-pedis 1 A', 'right-leg dorsalis-pedis 0 B'],
    ],
    [
      'A1 and A2 are two readings of A',
      'ID,side,pop_A1,pop_A2\nP1,L,1,2\n',
      ['left-leg popliteal 1 A', 'left-leg popliteal 2 A'],
    ],
    [
      'pt as patient and PT as pulse',
      'pt,leg,dp,crt great toe\nP1,left,2,1.5\n',
      ['left-leg dorsalis-pedis 2 null', 'left-leg great-toe 1.5 null'],
    ],
  ])('other hands: %s', async (_, text, expected) => {
    const scales = { 'pulse-grade': 'pulse.0-3.normal2', 'pitting-edema': 'pit.0-4.hogan.trace' };
    const { layout } = await previewSheet({ text }, { answers: { scales } });
    const loaded = await loadAssessments({ text }, { layout });
    expect(loaded.toRows().map(({ limb, site, value, assessor }) => `${limb} ${site} ${value} ${assessor}`)).toEqual(
      expected,
    );
  });

  test('what a name cannot tell is asked: two limbs in a column, 1 and 2, no readings at all', async () => {
    const questions = async (text: string, options = {}) =>
      (await previewSheet({ text }, options)).questions
        .filter(({ isNeeded }) => isNeeded)
        .map(({ question }) => question);
    expect((await questions('pt,DP R/L\nP1,2/3\n')).join()).toContain('"DP R/L" holds two limbs');
    const numbered = 'pt,leg,abi_1,abi_2\nP1,L,0.9,1\nP2,L,1,1\n';
    expect((await questions(numbered)).join()).toContain('"1", "2" in the names of columns');
    const suffixes = { '1': { assessor: 'A' }, '2': { assessor: 'B' } };
    const { layout } = await previewSheet(
      { text: numbered },
      { answers: { suffixes, scales: { 'ankle-brachial-index': 'abi.ratio' } } },
    );
    expect((await loadAssessments({ text: numbered }, { layout })).assessor.values).toEqual(['A', 'B']);
    expect((await questions('ward;month;none;1+\nW1;1;10;3\n')).join()).toContain('loadUnitTable');
  });

  test('a refusal names the cell', async () => {
    const { layout } = await previewSheet({ text: wide }, { answers });
    const broken = wide
      .replace('P2,R,AB,?,4', 'P2,R,AB,?,7')
      .replace('3,dressing', '45,3-Feb')
      .replace('BKA,BKA,x', 'BKA,L2 R3,x');
    expect(await placesOf(loadAssessments({ text: broken }, { layout }))).toEqual([
      '3 crt_toe_B two-limbs',
      '4 crt_toe_B identifier-value',
      '4 crt_toe_A above-range',
      '5 dp_B off-scale',
    ]);
  });

  test('a cell can be corrected against the paper, and the notes say which', async () => {
    const { layout } = await previewSheet({ text: wide }, { answers });
    const broken = wide.replace('P2,R,AB,?,4', 'P2,R,AB,?,7');
    const corrections = [{ row: 5, column: 'dp_B', value: '4' }];
    const loaded = await loadAssessments({ text: broken }, { layout: { ...layout, corrections } });
    const whole = await loadAssessments({ text: wide }, { layout });
    expect(loaded.fingerprint()).toBe(whole.fingerprint());
    expect(loaded.notes.map(({ message }) => message)).toContain('Cells read as corrected: row 5, dp_B.');
    const wrong = [
      { row: 99, column: 'dp_B', value: '4' },
      { row: 5, column: 'x', value: '4' },
    ];
    expect(await placesOf(loadAssessments({ text: wide }, { layout: { ...layout, corrections: wrong } }))).toEqual([
      '- - no-such-cell',
      '- - no-such-cell',
    ]);
  });

  test('names of the layout that the sheet does not have are told together', async () => {
    const layout: SheetLayout = {
      columns: { patient: 'ptt', value: 'x' },
      readings: { dp_X: { sign: 'pulse-grad', site: 'dorsalis-pedis' } },
      examinerOrder: 'orders',
    };
    const problems = await problemsOf(loadAssessments({ text: wide }, { layout }));
    expect(problems.map(({ code, path }) => `${path?.join('.')} ${code}`)).toEqual([
      'layout.columns.patient column-not-found',
      'layout.columns.value column-not-found',
      'layout.readings.dp_X column-not-found',
      'layout.examinerOrder column-not-found',
      'layout.dp_X unknown-sign',
    ]);
  });
});

describe('workbooks', () => {
  test('titles, two header rows with merged names, right beside left, a footer', async () => {
    const path = await workbook('ward.xlsx', {
      Sheet1: [
        ['Pulses of the ward'],
        [],
        ['', 'Right', '', 'Left', ''],
        ['Patient', 'DP', 'PT', 'DP', 'PT'],
        ['P1', 2, 1, 2, 2],
        ['P2', 0, '', 3, 2],
        ['Total', 2, 1, 2, 2],
      ],
    });
    const preview = await previewSheet(path, { answers: { scales: { 'pulse-grade': 'pulse.0-3.normal2' } } });
    expect(preview.layout).toMatchObject({ titleRows: 2, headerRows: 2, footerRows: 1 });
    const loaded = await loadAssessments(path, { layout: preview.layout });
    expect(loaded.toRows().map(({ patient, limb, site, value }) => [patient, limb, site, value])).toEqual([
      ['P1', 'right-leg', 'dorsalis-pedis', '2'],
      ['P1', 'right-leg', 'posterior-tibial', '1'],
      ['P1', 'left-leg', 'dorsalis-pedis', '2'],
      ['P1', 'left-leg', 'posterior-tibial', '2'],
      ['P2', 'right-leg', 'dorsalis-pedis', '0'],
      ['P2', 'right-leg', 'posterior-tibial', null],
      ['P2', 'left-leg', 'dorsalis-pedis', '3'],
      ['P2', 'left-leg', 'posterior-tibial', '2'],
    ]);
  });

  test('a tidy sheet needs no layout, and equals the same as text', async () => {
    const rows = [
      ['patient', 'limb', 'site', 'sign', 'scale', 'value'],
      ['P1', 'L', 'DP', 'pulse-grade', 'pulse.0-3.normal2', 2],
      ['P1', 'R', 'great toe', 'capillary-refill', 'refill.seconds.toe', 2.5],
    ];
    const path = await workbook('tidy.xlsx', { data: rows, empty: [] });
    const text = rows.map((row) => row.join(',')).join('\n');
    expect((await loadAssessments(path)).fingerprint()).toBe((await loadAssessments({ text })).fingerprint());
  });

  test('a date in a cell of readings is refused and not guessed back', async () => {
    const path = await workbook('dates.xlsx', {
      data: [
        ['patient', 'limb', 'site', 'sign', 'scale', 'value'],
        ['P1', 'L', 'DP', 'pulse-grade', 'pulse.0-3.normal2', { t: 'n', v: 46056, z: 'd-mmm' }],
        ['P2', 'L', 'DP', 'pulse-grade', 'pulse.0-3.normal2', 46056],
        ['P3', 'L', 'DP', 'pulse-grade', 'pulse.0-3.normal2', { t: 'e', v: 0x2a, w: '#N/A' }],
      ],
    });
    const problems = await problemsOf(loadAssessments(path));
    expect(problems.map(({ row, code }) => `${row} ${code}`)).toEqual([
      '2 identifier-value',
      '3 off-scale',
      '4 unclear-mark',
    ]);
    expect(problems[0]?.mend).toContain('made a date of a reading');
    expect(problems[1]?.mend).toContain('stores a date');
  });

  test('several sheets: which one is asked', async () => {
    const path = await workbook('two.xlsx', { May: [['a'], [1]], June: [['a'], [1]] });
    const problems = await problemsOf(previewSheet(path));
    expect(problems[0]).toMatchObject({ code: 'several-sheets', expected: 'one of "May", "June"' });
    expect((await problemsOf(loadAssessments(path, { layout: { sheet: 'Juli' } })))[0]?.code).toBe('no-such-sheet');
    expect((await problemsOf(loadAssessments(path, { sheet: 'Juli' })))[0]).toMatchObject({
      code: 'no-such-sheet',
      path: ['sheet'],
      expected: 'one of "May", "June"',
    });
    await writeFile(join(folder, 'broken.xlsx'), Buffer.from('PK\u0003\u0004 no workbook'));
    expect((await problemsOf(loadAssessments(join(folder, 'broken.xlsx'))))[0]?.code).toBe('file-format');
  });
});

test('two typings are compared cell by cell', async () => {
  const table = await compareTypings(
    { text: wide },
    { text: wide.replace('P2,L,AB,3', 'P2,L,AB,2').replace('2.5', '2026-03-01') },
  );
  expect(table.rows).toEqual([
    { row: 2, column: 'crt_toe_B', first: '2.5', second: '(not shown)' },
    { row: 4, column: 'dp_A', first: '3', second: '2' },
  ]);
  expect(table.notes[0]?.message).toBe('2 of 45 cells differ.');
});

test('recorded equality that contradicts the grades is warned about', async () => {
  const grade = (patient: string, limb: string, value: number) => ({
    patient,
    assessor: 'A',
    limb,
    site: 'DP',
    sign: 'pulse-grade',
    scale: 'pulse.0-3.normal2',
    value,
  });
  const equality = (patient: string, value: string) => ({
    patient,
    assessor: 'A',
    site: 'DP',
    sign: 'pulse-equality',
    scale: 'pulse.equality',
    value,
  });
  const loaded = await loadAssessments({
    rows: [
      grade('P1', 'L', 2),
      grade('P1', 'R', 2),
      equality('P1', 'equal'),
      grade('P2', 'L', 1),
      grade('P2', 'R', 2),
      equality('P2', 'right weaker'),
      grade('P3', 'L', 1),
      grade('P3', 'R', 2),
      equality('P3', 'left weaker'),
      grade('P6', 'L', 2),
      grade('P6', 'R', 1),
      equality('P6', 'left weaker'),
      grade('P4', 'L', 1),
      equality('P4', 'equal'),
      grade('P5', 'L', 1),
      grade('P5', 'R', 2),
      equality('P5', 'not compared'),
    ],
  });
  expect(loaded.notes.map(({ code, message }) => [code, message.split(' comparisons')[0]])).toEqual([
    ['equality-contradicts-grades', 'In 2 of 4'],
  ]);
});

const userSheets = besideCheckout('sheets of users', 'data/');
const here = userSheets !== undefined;
const data = userSheets ?? '';

test.runIf(here)("a researcher's sheet: 22 patients, one refusal at the cell, loads when it is mended", async () => {
  const text = await readFile(join(data, 'researcher_wide.csv'), 'utf8');
  const preview = await previewSheet({ text });
  expect(preview.questions.map(({ about }) => about)).toEqual([
    'pulse-grade',
    'capillary-refill',
    'ankle-girth',
    'blanks',
  ]);
  expect(preview.questions[0]?.question).toContain('3 may be the normal step');
  const all = { ...answers, landmarks: { 'ankle-girth': 'narrowest point' } };
  const { layout } = await previewSheet({ text }, { answers: all });
  const problems = await problemsOf(loadAssessments({ text }, { layout }));
  expect(problems.map(({ row, column, code }) => [row, column, code])).toEqual([[42, 'ankle_cm_B', 'above-range']]);
  expect(problems[0]?.mend).toContain('if it was measured in mm, write 24.7');
  const loaded = await loadAssessments({ text: text.replace(',247,', ',24.7,') }, { layout });
  expect(loaded.patient.values).toHaveLength(22);
  expect(loaded.assessor.values).toEqual(['A', 'B', 'C']);
  expect(loaded.where({ missing: 'part-absent' }).site.values).not.toContain('femoral');
  expect(loaded.where({ sign: 'pulse-detection' }).length).toBe(6);
});

test.runIf(here)("a skills lab's sheet: two dates that were readings are refused by row", async () => {
  const text = await readFile(join(data, 'skills_lab.csv'), 'utf8');
  const options = { answers: { scales: { 'pitting-edema': 'pit.0-4.depth-only' } } };
  const { layout, sentences } = await previewSheet({ text }, options);
  expect(sentences).toContain('REF1 and REF2: reference readings.');
  expect(layout.findings?.words['radial pulse']).toMatchObject({ site: 'radial', scale: 'pulse.0-3.normal2' });
  expect(await placesOf(loadAssessments({ text }, { layout }))).toEqual([
    '27 reading identifier-value',
    '94 reading identifier-value',
  ]);
  const loaded = await loadAssessments({ text: text.replaceAll('3-Feb', '2/3') }, { layout });
  expect(loaded.length).toBe(784);
  expect(loaded.patient.values).toHaveLength(6);
  expect(loaded.assessor.values).toHaveLength(14);
  expect([...loaded.reference].filter((flag) => flag === 1)).toHaveLength(112);
  expect(loaded.where({ missing: 'unsure' }).length).toBe(1);
  expect(loaded.where({ missing: 'not-assessed' }).length).toBe(8);
  expect(loaded.method.values).toEqual(['both sides at once', 'one at a time']);
});

describe('words that every object has', () => {
  test('are words of a sheet, not meanings', async () => {
    const sheet = 'pt,leg,dp_A,dp constructor,note\nP1,L,3,2,x\nP2,L,constructor,2,x\n';
    const preview = await previewSheet({ text: sheet });
    expect(Object.keys(preview.layout.readings ?? {})).toEqual(['dp_A', 'dp constructor']);
    const layout: SheetLayout = {
      columns: { patient: 'pt', side: 'leg' },
      readings: { dp_A: { sign: 'pulse-grade', site: 'dorsalis-pedis', scale: 'pulse.0-4.normal3', assessor: 'A' } },
      cells: {},
    };
    expect(await placesOf(loadAssessments({ text: sheet }, { layout }))).toEqual(['3 dp_A off-scale']);
  });
});

test('a reading out of something that is no number is refused, and the something is not said', async () => {
  const layout: SheetLayout = {
    columns: { patient: 'pt', side: 'leg', value: 'reading' },
    findings: { column: 'what', words: { dp: { sign: 'pulse-grade', site: 'dorsalis-pedis' } } },
    outOf: 'out of',
  };
  const text = 'pt,leg,what,reading,out of\nP1,L,dp,2/4,Jane Doe\nP1,R,dp,2/4,4\n';
  const problems = await problemsOf(
    loadAssessments({ text }, { layout, scales: { 'pulse-grade': 'pulse.0-4.normal3' } }),
  );
  expect(problems.map(({ code }) => code)).toEqual(['identifier-value']);
  expect(JSON.stringify(problems)).not.toContain('Jane');
});

test('an open quotation mark is refused, and does not swallow the rows below it', async () => {
  const text = 'pt,leg,dp_A\nP1,L,"3\nP2,L,2\n';
  expect(await placesOf(previewSheet({ text }))).toEqual(['2 - quotation-mark']);
});

test('sheets of more rows than a call takes arguments', async () => {
  const text = `pt,leg,dp_A\n${'P1,L,3\n'.repeat(150_000)}`;
  expect((await previewSheet({ text })).sentences[0]).toBe('150,000 rows below the header.');
});

test('a sheet without end is refused', async () => {
  const text = `a\n${'1\n'.repeat(200_000)}${','.repeat(500)}`;
  expect((await problemsOf(previewSheet({ text })))[0]?.code).toBe('file-too-large');
});
