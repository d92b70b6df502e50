import fc from 'fast-check';
import { compareTypings } from '../../src/assessments/compare-typings.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { loadUnitTable } from '../../src/assessments/load-unit-table.ts';
import { type ColumnTreatment, prepareExport } from '../../src/assessments/prepare-export.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import type { SheetLayout } from '../../src/assessments/sheet-layout.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { fileOf, noFormula, objectOf, unescaped } from './assessment-kinds.ts';
import { kind, outcomeOf, same, withoutSecrets } from './kind.ts';
import { code, damaged, damages, isPlain, layout, textOf } from './made-table.ts';
import { referenceTable } from './reference-table.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

const cells = fc.array(
  fc.array(fc.oneof(oddText, code, fc.constantFrom('', '1', '2')), { minLength: 2, maxLength: 5 }),
  {
    minLength: 1,
    maxLength: 6,
  },
);

/** Any table as text: read cell by cell as it was written. */
const whole = kind('sheet: whole', 100, fc.tuple(cells, layout), async ([rows, form]) => {
  const plain = rows.map((row) => row.map((cell) => cell.replaceAll(/[\p{Surrogate}\0]/gu, '')));
  const { value, refused } = await outcomeOf(() =>
    readSheet({ text: textOf(plain, { ...form, emptyLines: [] }) }, { delimiter: form.delimiter }),
  );
  if (value === undefined) throw new Error(`Refused: ${refused.message}`);
  same(
    value.rows,
    plain.map((row) => row.map((cell) => unescaped(cell.trim()))),
    'Read',
  );
});

/** Damaged: refused, or read as the reference reads it. */
const damagedSheet = kind('sheet: damaged', 100, fc.tuple(cells, layout, damages), async ([rows, form, list]) => {
  const bytes = damaged(Buffer.from(textOf(rows, form)), list);
  const { value } = await outcomeOf(() => readSheet(fileOf('sheet.csv', bytes), { delimiter: form.delimiter }));
  if (value === undefined) return;
  const text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  const table = referenceTable(text, form.delimiter);
  if (table === undefined) throw new Error('What is no table was read.');
  same(
    value.rows.filter((row) => row.length > 1 || row[0] !== ''),
    table.map((row) => row.map((cell) => unescaped(cell.trim()))).filter((row) => row.length > 1 || row[0] !== ''),
    'Read',
  );
});

const SIDES = ['L', 'R'] as const;
const READINGS = [
  'dp_A',
  'dp_B',
  'dp_A_again',
  'pt_A',
  'crt_toe_A',
  'Left DP',
  'edema shin',
  'ankle_cm_A',
  'out of',
  'DP R/L',
  'finding',
];
const reading = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.constantFrom(
      '0',
      '1',
      '2',
      '3',
      '2+',
      '',
      '0D',
      'BKA',
      '?',
      'refused',
      '2/3',
      '2/4',
      '<2',
      '2.5',
      'dressing',
    ),
  },
  { weight: 1, arbitrary: fc.oneof(oddText, prototypeWord) },
);
const header = fc.oneof(
  { weight: 4, arbitrary: fc.constantFrom(...READINGS, 'pt', 'leg', 'visit', 'day', 'order', 'examiner', 'note', '') },
  { weight: 1, arbitrary: fc.oneof(prototypeWord, oddText) },
  {
    weight: 1,
    arbitrary: fc.tuple(fc.constantFrom('dp', 'crt toe', 'Left'), prototypeWord).map((words) => words.join(' ')),
  },
);
const sheetText = fc
  .tuple(
    fc.uniqueArray(header, { minLength: 1, maxLength: 7 }),
    fc.boolean(),
    fc.array(fc.array(reading, { minLength: 1, maxLength: 7 }), { maxLength: 6 }),
    layout,
    fc.oneof(
      { weight: 4, arbitrary: fc.constant(undefined) },
      { weight: 1, arbitrary: fc.tuple(fc.nat(6), fc.nat(6), secret) },
    ),
  )
  .map(([found, isUsual, rows, form, planted]) => {
    const others = found.filter((name) => name !== 'pt' && name !== 'leg');
    const headers = isUsual ? ['pt', 'leg', ...others] : found;
    const records = [
      headers,
      ...rows.map((row, at) => {
        const cells = headers.map((_, column) => row[column] ?? '');
        return isUsual ? [`Qz${Math.floor(at / 2)}`, SIDES[at % 2] ?? 'L', ...cells.slice(2)] : cells;
      }),
    ];
    if (planted !== undefined) {
      const [row, column, word] = planted;
      const line = records[row % records.length];
      if (line !== undefined) line[column % line.length] = word;
    }
    return { text: textOf(records, form), records, form };
  });

const suffix = fc.record({ assessor: fc.oneof(prototypeWord, fc.constant('A')) }, { requiredKeys: [] });

/** Sheets of examiners: what is understood and asked never says an identifier; what loads has a row for each reading. */
const preview = kind(
  'sheet: previewed and loaded',
  15,
  fc.tuple(sheetText, fc.array(fc.tuple(prototypeWord, suffix))),
  async ([{ text, form }, suffixes]) => {
    const { value } = await outcomeOf(() =>
      previewSheet(
        { text },
        {
          delimiter: form.delimiter,
          answers: {
            scales: { 'pulse-grade': 'pulse.0-3.normal2', 'pitting-edema': 'pit.0-4.hogan' },
            blanks: 'not-assessed',
            suffixes: objectOf(suffixes) as Record<string, { assessor?: string }>,
          },
        },
      ),
    );
    if (value === undefined) return;
    withoutSecrets(value.toString());
    const loaded = await outcomeOf(() =>
      loadAssessments({ text }, { layout: value.layout, delimiter: form.delimiter }),
    );
    if (loaded.value === undefined) return;
    withoutSecrets(`${loaded.value.toString()}\n${JSON.stringify(loaded.value.notes)}`);
    withoutSecrets(loaded.value.toCsv());
  },
);

const tidy = fc.array(
  fc.record({
    patient: code,
    a: fc.constantFrom('0', '1', '2', '3', '', 'refused', 'BKA'),
    b: fc.constantFrom('0', '1', '2', '3', '', '2+'),
    again: fc.constantFrom('', '1', '3'),
    way: fc.oneof(prototypeWord, fc.constantFrom('y', 'n', 'x')),
  }),
  { minLength: 1, maxLength: 6 },
);
const LAYOUT: SheetLayout = {
  columns: { patient: 'who', side: 'side', occasion: 'visit', method: 'way' },
  readings: {
    dp_A: { sign: 'pulse-grade', site: 'dorsalis-pedis', scale: 'pulse.0-3.normal2', assessor: 'A' },
    dp_B: { sign: 'pulse-grade', site: 'dorsalis-pedis', scale: 'pulse.0-3.normal2', assessor: 'constructor' },
    dp_A_again: {
      sign: 'pulse-grade',
      site: 'dorsalis-pedis',
      scale: 'pulse.0-3.normal2',
      assessor: 'A',
      replicate: 2,
    },
  },
  cells: { BKA: { missing: 'part-absent' } },
  words: { method: { y: 'both sides at once', n: 'one at a time' } },
  blanks: 'not-assessed',
};

/** A wide sheet by its layout: a row for each reading, as written; an empty repeat is none. */
const laidOut = kind('sheet: by its layout', 20, fc.tuple(tidy, layout), async ([rows, form]) => {
  const records = [
    ['who', 'side', 'visit', 'way', 'dp_A', 'dp_B', 'dp_A_again'],
    ...rows.map(({ patient, a, b, again, way }, at) => [patient, SIDES[at % 2] ?? 'L', `v${at}`, way, a, b, again]),
  ];
  const { value, refused } = await outcomeOf(() =>
    loadAssessments(
      { text: textOf(records, { ...form, emptyLines: [] }) },
      { layout: LAYOUT, delimiter: form.delimiter },
    ),
  );
  if (value === undefined) throw new Error(`Refused: ${refused.message}`);
  const missingOf = (cell: string): string | null =>
    cell === '' ? 'not-assessed' : cell === 'BKA' ? 'part-absent' : cell === 'refused' ? cell : null;
  const expected = rows.flatMap(({ patient, a, b, again, way }, at) =>
    [
      ['A', 1, a],
      ['constructor', 1, b],
      ['A', 2, again],
    ].flatMap(([assessor, replicate, cell]) =>
      replicate === 2 && cell === ''
        ? []
        : [
            [
              unescaped(patient),
              `v${at}`,
              way === 'y' ? 'both sides at once' : way === 'n' ? 'one at a time' : way,
              assessor,
              replicate === 2 ? 2 : null,
              missingOf(String(cell)),
              missingOf(String(cell)) === null ? String(cell).slice(0, 1) : null,
            ],
          ],
    ),
  );
  same(
    value
      .toRows()
      .map((row) => [row.patient, row.occasion, row.method, row.assessor, row.replicate, row.missing, row.value]),
    expected,
    'Loaded',
  );
});

const count = fc.oneof(
  { weight: 25, arbitrary: fc.nat(60).map(String) },
  {
    weight: 1,
    arbitrary: fc.oneof(
      fc.constantFrom('', '-1', '1.5', '1e3', '0x10', '99999999999999999999', 'NaN', ' 7 ', '007'),
      oddText,
      prototypeWord,
      secret,
    ),
  },
);

/** A unit's table: as written or refused; nothing else becomes a number. */
const unitTable = kind(
  'unit table',
  60,
  fc.tuple(
    fc.array(fc.record({ unit: code, label: code, present: count, due: count, grade: count }), { maxLength: 6 }),
    layout,
    prototypeWord,
    fc.boolean(),
  ),
  async ([rows, form, grade, periodsRepeat]) => {
    const records = [
      ['period', 'unit', 'label', 'present', 'due', grade],
      ...rows.map(({ unit, label, present, due, grade: counted }, at) => [
        String(periodsRepeat ? 1 : at + 1),
        unit,
        label,
        present,
        due,
        counted,
      ]),
    ];
    const { value } = await outcomeOf(() =>
      loadUnitTable(
        { text: textOf(records, { ...form, emptyLines: [] }) },
        { delimiter: form.delimiter, grades: objectOf([[grade, grade]]) as Record<string, string> },
      ),
    );
    if (value === undefined) return;
    const numberOf = (cell: string): number | undefined =>
      cell.trim() === '' ? undefined : /^\d+$/.test(cell.trim()) ? Number(cell) : Number.NaN;
    same(
      value.map(({ period, unit, label, present, due, grades }) => [
        period,
        unit,
        label,
        present,
        due,
        grades === undefined ? undefined : Object.entries(grades),
      ]),
      rows.map((row, at) => {
        const counted = numberOf(row.grade);
        return [
          periodsRepeat ? 1 : at + 1,
          unescaped(row.unit),
          unescaped(row.label),
          numberOf(row.present),
          numberOf(row.due),
          counted === undefined ? undefined : [[grade, counted]],
        ];
      }),
      'Loaded',
    );
  },
);

const unitNoise = kind(
  'unit table: noise',
  15,
  fc.tuple(
    sheetText,
    fc.dictionary(
      fc.oneof(prototypeWord, fc.constantFrom('period', 'unit')),
      fc.oneof(prototypeWord, fc.constantFrom('pt', 'day')),
    ),
  ),
  async ([{ text }, columns]) => {
    await outcomeOf(() => loadUnitTable({ text }, { columns, grades: columns }));
  },
);

/** Two typings: as many differences as cells that differ, and no identifier among them. */
const typings = kind(
  'two typings',
  40,
  fc.tuple(sheetText, fc.array(fc.tuple(fc.nat(6), fc.nat(6), fc.oneof(oddText, secret)), { maxLength: 3 })),
  async ([{ records, form }, changes]) => {
    const changed = records.map((row) => [...row]);
    for (const [row, column, word] of changes) {
      const line = changed[row % changed.length];
      if (line !== undefined) line[column % line.length] = word.replaceAll(/[\p{Surrogate}\0]/gu, '');
    }
    const written = { ...form, emptyLines: [] };
    const { value } = await outcomeOf(() =>
      compareTypings(
        { text: textOf(records, written) },
        { text: textOf(changed, written) },
        { delimiter: form.delimiter },
      ),
    );
    if (value === undefined) return;
    withoutSecrets(`${value.toText()}\n${value.toCsv()}`);
    for (const row of referenceTable(value.toCsv(), ',') ?? []) row.forEach(noFormula);
    const differing = records.flatMap((row, r) =>
      row.filter((cell, c) => unescaped(cell.trim()) !== unescaped((changed[r]?.[c] ?? '').trim())),
    ).length;
    // A row of one empty cell is an empty line, and a last one is none.
    if (records[0]?.length !== 1) same(value.rows.length, differing, 'Differences');
  },
);

const treatment = fc.constantFrom<ColumnTreatment>('patient', 'assessor', 'code', 'date', 'age', 'keep', 'drop');
const date = fc.oneof(
  {
    weight: 30,
    arbitrary: fc
      .tuple(fc.integer({ min: 1990, max: 2030 }), fc.integer({ min: 1, max: 12 }), fc.integer({ min: 1, max: 28 }))
      .map(([year, month, day]) => `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`),
  },
  { weight: 4, arbitrary: fc.constantFrom('', '4 March 2026', '20260301', '2026-03-01 14:30') },
  {
    weight: 1,
    arbitrary: fc.constantFrom('3/4/2026', '13/4/2026', '0000-00-00', '2026-02-30', '9999-12-31', 'x', '1/1/1'),
  },
);
const exported = fc.array(
  fc.record({
    who: fc.oneof(secret, code, prototypeWord),
    nurse: fc.oneof(secret, code),
    when: date,
    age: fc.oneof(
      { weight: 30, arbitrary: fc.constantFrom('', '7', '89', '90', '125', '90+') },
      { weight: 1, arbitrary: fc.oneof(fc.constantFrom('126', '1e2', '-3', 'x'), secret) },
    ),
    kept: fc.oneof(
      { weight: 30, arbitrary: code },
      { weight: 1, arbitrary: fc.oneof(oddText.filter(isPlain), secret) },
    ),
    stay: code,
  }),
  { minLength: 1, maxLength: 7 },
);

/** An export made clean: a row for each row, the same code for the same word, no identifier, no formula; and it loads again with its key. */
const prepared = kind(
  'clean export',
  60,
  fc.tuple(
    exported,
    fc.oneof(prototypeWord, fc.constantFrom('kept', 'Ward')),
    fc.oneof({ weight: 4, arbitrary: fc.constant(undefined) }, { weight: 1, arbitrary: treatment }),
    fc.oneof(
      { weight: 6, arbitrary: fc.oneof(prototypeWord, fc.constant('encounter')) },
      { weight: 1, arbitrary: secret },
    ),
    fc.nat(),
  ),
  async ([rows, keptName, odd, stayName, seed]) => {
    const sheet = {
      rows: [
        ['who', 'nurse', 'when', 'age', keptName, stayName],
        ...rows.map((row) => [row.who, row.nurse, row.when, row.age, row.kept, row.stay].map((cell) => cell.trim())),
      ],
    };
    const random = seededRandom(seed);
    const columns = objectOf([
      ['who', 'patient'],
      ['nurse', 'assessor'],
      ['when', 'date'],
      ['age', 'age'],
      [keptName, odd ?? 'keep'],
      [stayName, 'code'],
    ]) as Record<string, ColumnTreatment>;
    const clean = (key?: Readonly<Record<string, Readonly<Record<string, string>>>>) =>
      outcomeOf(() =>
        prepareExport(sheet, {
          columns,
          randomBelow: (bound) => random.below(bound),
          ...(key === undefined ? {} : { key }),
        }),
      );
    const { value } = await clean();
    if (value === undefined) return;
    withoutSecrets(value.csv);
    withoutSecrets(value.report.join('\n'));
    const table = referenceTable(value.csv, ',');
    if (table === undefined) throw new Error('The clean copy is no table.');
    const [names = [], ...lines] = table;
    for (const row of table) row.forEach(noFormula);
    same(lines.length, rows.length, 'Rows');
    same(new Set(names).size, names.length, 'Different names');
    const at = names.indexOf('patient');
    same(new Set(lines.map((line) => line[at])).size, new Set(rows.map(({ who }) => who.trim())).size, 'Patients');
    if (odd === undefined || odd === 'keep') {
      const place = names.findIndex((name) => unescaped(name) === keptName);
      same(
        lines.map((line) => unescaped(line[place] ?? '')).sort(),
        rows.map(({ kept }) => kept.trim()).sort(),
        'Kept',
      );
    }
    for (const { who } of rows)
      if (who !== '' && value.key.who?.[who.trim()] === undefined) throw new Error('A code is lost.');
    const again = await clean(JSON.parse(JSON.stringify(value.key)) as typeof value.key);
    same(again.value?.csv, value.csv, 'Once more with the key');
  },
);

const preparedNoise = kind(
  'clean export: noise',
  70,
  fc.tuple(sheetText, fc.array(fc.tuple(fc.oneof(header, prototypeWord), treatment)), fc.nat(3), fc.nat(3)),
  async ([{ records }, columns, titleRows, footerRows]) => {
    const random = seededRandom(1);
    const { value } = await outcomeOf(() =>
      prepareExport(
        { rows: records },
        {
          columns: objectOf([...(records[0] ?? []).map((name) => [name, 'keep'] as const), ...columns]) as Record<
            string,
            ColumnTreatment
          >,
          titleRows,
          footerRows,
          randomBelow: (bound) => random.below(bound),
        },
      ),
    );
    if (value !== undefined) withoutSecrets(`${value.csv}\n${value.report.join('\n')}`);
  },
);

export const sheetKinds = [
  whole,
  damagedSheet,
  preview,
  laidOut,
  unitTable,
  unitNoise,
  typings,
  prepared,
  preparedNoise,
];
