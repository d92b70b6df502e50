import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type CellObject, utils, type WorkSheet, write } from '@e965/xlsx';
import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { loadUnitTable } from '../../src/assessments/load-unit-table.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import type { SheetAnswers } from '../../src/assessments/sheet-preview.ts';

// Invented sheets as people fill them in. Each is loaded as its preview understood it, or refused at the cell; none is loaded wrong.
interface Messy {
  readonly name: string;
  readonly text: string;
  readonly answers?: SheetAnswers;
  /** "patient day assessor limb value …" of every reading, in order; or what the refusal says. */
  readonly loads?: readonly string[];
  readonly refuses?: readonly RegExp[];
  readonly asks?: readonly RegExp[];
  readonly says?: readonly RegExp[];
}

const pulse: SheetAnswers = { scales: { 'pulse-grade': 'pulse.0-3.normal2' } };

const sheets: readonly Messy[] = [
  {
    name: 'numbers at the end of names may be examiners or repeats: asked, and not loaded before',
    text: 'pt,leg,dp_1,dp_2\nP1,L,2,2\nP2,R,3,2',
    answers: pulse,
    asks: [/What does "1", "2" in the names of columns mean/],
    refuses: [/layout\.unanswered: What does "1", "2"/],
  },
  {
    name: 'the same, answered: two readings of one examiner',
    text: 'pt,leg,dp_1,dp_2\nP1,L,2,2\nP2,R,3,2',
    answers: { ...pulse, suffixes: { '1': { assessor: 'A' }, '2': { assessor: 'A', replicate: 2 } } },
    loads: ['P1 A left-leg 2', 'P1 A left-leg 2 r2', 'P2 A right-leg 3', 'P2 A right-leg 2 r2'],
  },
  {
    name: 'a sign without its site is asked about, not left out',
    text: 'patient,leg,dp_A,edema R\nP1,L,2,2+\nP2,R,1,0',
    answers: pulse,
    asks: [/column "edema R" names pitting edema, but not where/],
    refuses: [/names pitting edema, but not where it was read/],
  },
  {
    name: 'the same, answered',
    text: 'patient,edema R,edema L\nP1,2+,1+',
    answers: {
      scales: { 'pitting-edema': 'pit.0-4.depth-only' },
      sites: { 'edema R': 'pretibial-shin', 'edema L': 'pretibial-shin' },
    },
    loads: ['P1 right-leg 2', 'P1 left-leg 1'],
  },
  {
    name: 'long names in capitals, 230 in a column of centimeters',
    text: 'Patient ID,Right Dorsalis Pedis Pulse,Left Ankle Circumference (cm)\nP1,2,24.7\nP2,1,230',
    answers: { ...pulse, landmarks: { 'ankle-girth': 'narrowest point' } },
    refuses: [/row 3, column "Left Ankle Circumference \(cm\)": 230 is above .*if it was measured in mm, write 23\./],
  },
  {
    name: '24.6 in a column of millimeters',
    text: 'pt,leg,ankle_mm_A\nP1,L,245\nP2,R,24.6',
    refuses: [/row 3, column "ankle_mm_A": 24\.6 mm is below .*if it was measured in cm, write 246/],
  },
  {
    name: 'decimal commas and points in one sheet',
    text: 'pt;leg;calf_cm_A;calf_cm_B\nP1;L;34,5;34.7\nP2;R;36,2;36,9\nP3;L;35,1;36',
    refuses: [/row 2, column "calf_cm_B": The number is written with a decimal point/],
  },
  {
    name: 'a decimal comma in a file of commas moves the cells',
    text: 'pt,leg,ABI_A,ABI_B\nP1,L,0.91,0,89\nP2,R,1.4,1.38',
    refuses: [/row 2, column "E": The cell stands in a column without a name/],
  },
  {
    name: 'grades off the scale',
    text: 'pt,leg,dp_A\nP1,L,2\nP2,R,5\nP3,L,-1\nP4,R,2.5',
    answers: { scales: { 'pulse-grade': 'pulse.0-4.normal2' } },
    refuses: [/row 3, column "dp_A": Grade 5/, /row 4, column "dp_A"/, /row 5, column "dp_A": Grade 2\.5/],
  },
  {
    name: 'two limbs in one cell, written in several ways',
    text: 'pt,leg,dp_A\nP1,L,2/3 R 1/3 L\nP2,R,R2 L1\nP3,R,"left 2+, right 1+"',
    answers: pulse,
    refuses: [/row 2, .*two limbs/, /row 3, .*two limbs/, /row 4, .*two limbs/],
  },
  {
    name: 'two limbs in a name of a column',
    text: 'pt,leg,dp_A,PT (L/R)\nP1,L,2,2/1',
    answers: pulse,
    asks: [/"PT \(L\/R\)" holds two limbs/],
    refuses: [/holds two limbs in one cell/],
  },
  {
    name: 'both legs in a column of sides',
    text: 'pt,leg,dp_A\nP1,Lt,1\nP2,Rt.,2\nP3,both,2',
    answers: pulse,
    refuses: [/row 4, column "dp_A": One cell stands for two limbs/],
  },
  {
    name: 'sides written as Lt, Rt. and right leg',
    text: 'pt,leg,dp_A\nP1,Lt,1\nP2,Rt.,2\nP3,right leg,2',
    answers: pulse,
    loads: ['P1 A left-leg 1', 'P2 A right-leg 2', 'P3 A right-leg 2'],
  },
  {
    name: 'no side at all',
    text: 'pt,dp_A,dp_B\nP1,1,1',
    answers: pulse,
    asks: [/No column tells left from right \(dp_A, dp_B\)/],
    refuses: [/No column tells left from right/],
  },
  {
    name: 'a subtotal between patients and a mean at the end',
    text: 'pt,leg,dp_A,dp_B\nP1,L,2,2\nSubtotal,,4,3\nP2,L,1,1\nMean,,1.25,1',
    answers: pulse,
    refuses: [/row 3, column "pt": The row is a total or a mean, and no patient/],
  },
  {
    name: 'titles above, an empty line, totals and a sentence below, semicolons',
    text: 'Unit 6 pulses;;;\nweek 1;;;\npt;leg;dp_A;dp_B\nP1;L;2;2\nP2;R;1;2\n;;;\nTotal patients;2;;\nprepared for the quality board;;;',
    answers: pulse,
    says: [/at the end that are totals or legends, not read: 3/],
    loads: ['P1 A left-leg 2', 'P1 B left-leg 2', 'P2 A right-leg 1', 'P2 B right-leg 2'],
  },
  {
    name: 'a last patient without any reading is no footer',
    text: 'pt,leg,dp_A,dp_B\nP1,L,2,2\nP2,R,,',
    answers: { ...pulse, blanks: 'not-assessed' },
    loads: ['P1 A left-leg 2', 'P1 B left-leg 2', 'P2 A right-leg not-assessed', 'P2 B right-leg not-assessed'],
  },
  {
    name: 'the same limb twice, with its cells',
    text: 'pt,leg,dp_A,dp_B\nP1,L,2,2\nP1,L,2,1',
    answers: pulse,
    refuses: [/row 3, column "dp_B": .* as row 2, column "dp_B"/],
  },
  {
    name: 'three rows of header under a title',
    text: 'Pulse study,,,,\n,Right,,Left,\n,DP,PT,DP,PT\nID,A,A,B,B\nP1,2,2,1,2',
    answers: pulse,
    says: [/below 3 header rows/],
    loads: ['P1 A right-leg 2', 'P1 A right-leg 2', 'P1 B left-leg 1', 'P1 B left-leg 2'],
  },
  {
    name: 'codes in cells',
    text: 'pt,leg,dp_A,dp_B\nP1,L,0D,doppler\nP2,R,BKA,AKA\nP3,L,dressing,cast\nP4,R,?,2+',
    answers: pulse,
    says: [/"0D" in 1 cell: not felt, heard by Doppler only/, /"BKA" in 1 cell: this part of the limb is absent/],
    loads: [
      'P1 A left-leg 0',
      'P1 A left-leg doppler-only',
      'P1 B left-leg 0',
      'P1 B left-leg doppler-only',
      'P2 A right-leg part-absent',
      'P2 B right-leg part-absent',
      'P3 A left-leg covered',
      'P3 B left-leg covered',
      'P4 A right-leg unsure',
      'P4 B right-leg 2',
    ],
  },
  {
    name: 'a word nobody explained, and 1-2',
    text: 'pt,leg,dp_A,dp_B\nP1,L,2,unable\nP2,R,1-2,1',
    answers: pulse,
    asks: [/1 cell holds a word that is no reading \(row 2\)/],
    refuses: [/row 2, column "dp_B"/, /row 3, column "dp_A"/],
  },
  {
    name: 'numbers by which a spreadsheet stores dates',
    text: 'pt,leg,dp_A\nP1,L,45324\nP2,R,2',
    answers: pulse,
    refuses: [/row 2, column "dp_A": .*how a spreadsheet stores a date/],
  },
  {
    name: '2/3 that became 3-Feb',
    text: 'pt,leg,dp_A\nP1,L,3-Feb\nP2,R,2/3',
    answers: pulse,
    says: [/1 cell looks like a date \(row 2\)/],
    refuses: [/row 2, column "dp_A": .*\(date\)/],
  },
  {
    name: 'marks that can mean several things',
    text: 'pt,leg,dp_A,dp_B\nP1,L,NA,-\nP2,R,n/a,x',
    answers: pulse,
    refuses: [/row 2, column "dp_A": A mark stands/, /row 3, column "dp_B": A mark stands/],
  },
  {
    name: 'days in the names of columns',
    text: 'pt,leg,dp day0,dp day 7\nP1,L,2,1',
    answers: pulse,
    says: [/Times in the names of columns: day 0, day 7/],
    loads: ['P1 day0 left-leg 2', 'P1 day7 left-leg 1'],
  },
  {
    name: 'an examiner’s name in the name of a column',
    text: 'pt,leg,dp_Smith,dp_Jones\nP1,L,2,2',
    answers: pulse,
    refuses: [/name of a column \(C\) has the form of an identifier \(name\)/],
  },
  {
    name: 'a long sheet with a word that was not understood',
    text: 'patient,examiner,side,test,result\nP1,A,L,DP pulse,2\nP1,B,L,PT pulse,2\nP2,A,L,Hair,reduced',
    answers: pulse,
    asks: [/What does "Hair" in the column "test" assess/],
    refuses: [/What does "Hair"/],
  },
  {
    name: 'the sacrum once for each leg',
    text: 'pt,leg,sacral edema\nP1,L,1+\nP1,R,1+',
    answers: { scales: { 'pitting-edema': 'pit.0-4.depth-only' } },
    refuses: [/row 3, column "sacral edema": .* as row 2, column "sacral edema"/],
  },
  {
    name: 'below 2 seconds, and 2 to 3',
    text: 'pt,leg,crt_toe_A\nP1,L,<2\nP2,R,2-3\nP3,L,4 s',
    answers: { scales: { 'capillary-refill': 'refill.seconds.toe' } },
    refuses: [/row 3, column "crt_toe_A"/],
  },
  {
    name: 'two columns of one name',
    text: 'pt,leg,dp,dp\nP1,L,2,2',
    refuses: [/Columns share a name: dp/],
  },
];

type Source = string | { readonly text: string };

async function tell(source: Source, answers: SheetAnswers = {}) {
  const read = async () => {
    const preview = await previewSheet(source, { answers });
    const asked = String(preview);
    return loadAssessments(source, { layout: preview.layout }).then(
      (assessments) => ({ asked, loaded: assessments.toRows(), refused: '' }),
      (error: Error) => ({ asked, loaded: undefined, refused: error.message }),
    );
  };
  return read().catch((error: Error) => ({ asked: '', loaded: undefined, refused: error.message }));
}

const lineOf = (row: Readonly<Record<string, unknown>>, withReplicate: boolean): string =>
  [
    row.patient,
    Number.isFinite(row.day) && row.day !== null ? `day${row.day}` : '',
    row.assessor,
    row.limb,
    row.missing ?? row.value,
    withReplicate && row.replicate !== null ? `r${row.replicate}` : '',
  ]
    .filter((part) => part !== null && part !== undefined && part !== '')
    .join(' ');

describe('messy sheets', () => {
  it.each(sheets)('$name', async ({ text, answers, loads, refuses = [], asks = [], says = [] }) => {
    const { asked, loaded, refused } = await tell({ text: `${text}\n` }, answers);
    const withReplicate = loads?.some((line) => / r\d$/.test(line)) === true;
    expect(
      loaded?.map((row) => lineOf(row as never, withReplicate)),
      refused,
    ).toEqual(loads);
    for (const form of refuses) expect(refused).toMatch(form);
    for (const form of [...asks, ...says]) expect(asked).toMatch(form);
    expect(refuses.length > 0).toBe(loads === undefined);
  });
});

async function workbook(
  rows: readonly (readonly (string | number | boolean | null | CellObject)[])[],
  change: (sheet: WorkSheet) => void = () => {},
) {
  const sheet = utils.aoa_to_sheet(rows.map((row) => [...row]));
  change(sheet);
  const book = utils.book_new();
  utils.book_append_sheet(book, sheet, 'Sheet1');
  const path = join(await mkdtemp(join(tmpdir(), 'workbook-')), 'sheet.xlsx');
  await writeFile(path, write(book, { type: 'buffer', bookType: 'xlsx' }) as Uint8Array);
  return path;
}
const merged =
  (...areas: string[]) =>
  (sheet: WorkSheet): void => {
    sheet['!merges'] = areas.map((area) => utils.decode_range(area));
  };

describe('workbooks', () => {
  it('merged names of sides stand for the columns below them', async () => {
    const path = await workbook(
      [
        ['Pulses, unit 6'],
        [null, 'Right', null, 'Left', null],
        ['Patient', 'DP', 'PT', 'DP', 'PT'],
        ['P1', 2, 2, 1, 2],
      ],
      merged('A1:E1', 'B2:C2', 'D2:E2'),
    );
    expect((await tell(path, pulse)).loaded?.map((row) => row.limb)).toEqual([
      'right-leg',
      'right-leg',
      'left-leg',
      'left-leg',
    ]);
  });

  it('a merged code of a patient stands for its rows; a merged reading is refused at its cell', async () => {
    const rows = [
      ['Patient', 'Leg', 'DP_A', 'DP_B'],
      ['P1', 'L', 2, 2],
      [null, 'R', null, 2],
    ];
    const whole = rows.map((row) => [...row]);
    whole[2]![2] = 1;
    const { loaded } = await tell(await workbook(whole, merged('A2:A3')), pulse);
    expect(loaded?.map((row) => row.patient)).toEqual(['P1', 'P1', 'P1', 'P1']);
    const { refused } = await tell(await workbook(rows, merged('A2:A3', 'C2:C3')), pulse);
    expect(refused).toMatch(/row 2, column "DP_A": A merged cell stands for several readings/);
    const across = await tell(await workbook([rows[0]!, ['P1', 'L', 'BKA', null]], merged('C2:D2')), pulse);
    expect(across.refused).toMatch(/row 2, column "DP_A": A merged cell/);
  });

  it.each([
    ['a date', { t: 'n', v: 45324, z: 'd-mmm' } as CellObject, /row 2, column "DP_A": .*\(date\)/],
    ['an error', { t: 'e', v: 7, w: '#DIV/0!' } as CellObject, /row 2, column "DP_A": A mark stands/],
    ['a yes or no', true, /row 2, column "DP_A": The value is not on the scale/],
  ])('%s in a cell is refused there', async (_name, cell, form) => {
    expect(
      (
        await tell(
          await workbook([
            ['Patient', 'Leg', 'DP_A'],
            ['P1', 'L', cell],
            ['P2', 'R', 2],
          ]),
          pulse,
        )
      ).refused,
    ).toMatch(form);
  });
});

describe('tables of a unit', () => {
  const grades = { '0': 'None', '1': '1+', '2': '2+' };
  it('reads monthly counts between a title and a total', async () => {
    const text = 'Unit 6 edema,,,,\n\nPeriod,Patient days,None,1+,2+\n1,410,12,5,3\n2,395,10,6,4\nTotal,805,22,11,7\n';
    const rows = await loadUnitTable({ text }, { columns: { patientDays: 'Patient days' }, grades });
    expect(rows.map(({ period, patientDays, grades: of }) => [period, patientDays, of?.['2']])).toEqual([
      [1, 410, 3],
      [2, 395, 4],
    ]);
  });

  it.each([
    ['months as names', 'period,present\nJan,22\n', /row 2, column "period": .*number the periods 1, 2, 3/],
    ['a sign of thousands', 'period,present\n1,"1,204"\n', /row 2, column "present": .*write 1204/],
    ['fewer than five', 'period,present\n1,<5\n', /row 2, column "present": This is no whole number/],
    [
      'a column nobody named',
      'period,present,bed days\n1,22,410\n',
      /column "bed days": What this column holds is not said/,
    ],
    ['a period twice', 'period,present\n1,22\n1,21\n', /row 3: Row 2 is of the same period/],
    ['a name in the line above', 'Collected by: John Smith\nperiod,present\n1,22\n', /row 1: .*identifier \(name\)/],
  ])('%s: refused at the cell', async (_name, text, form) => {
    await expect(loadUnitTable({ text })).rejects.toThrow(form);
  });
});
