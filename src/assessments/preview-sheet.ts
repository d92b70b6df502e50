import { formatCount } from '../shared/table.js';
import { signOf } from '../signs/codebook.js';
import { safeMappings } from '../signs/scale-mapping.js';
import type { Scale } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import { headerMeaning, isRepeatWord, namesBothSides } from './header-words.js';
import { ruleOfValue } from './identifier-guard.js';
import type { InputColumn } from './input-columns.js';
import { missingReasonOf } from './missing-reason.js';
import { type ReadSheetOptions, readSheet } from './read-sheet.js';
import { understandReading } from './reading.js';
import type { BlankMeaning, CellMeaning, SheetFinding, SheetLayout } from './sheet-layout.js';
import { type SheetTable, sheetTable } from './sheet-table.js';

/** Something the sheet itself cannot tell. `isNeeded`: loading refuses the sheet until it is answered. */
export interface SheetQuestion {
  /** What it is about: a sign, `blanks`, or a cell. */
  readonly about: string;
  readonly question: string;
  readonly choices: readonly string[];
  /** Where the answer goes, as in `answers.scales['pulse-grade']`. */
  readonly answer: string;
  readonly isNeeded: boolean;
}

/** Answers to the questions of a preview, for all columns of a sign at once. */
export interface SheetAnswers {
  readonly scales?: Readonly<Record<string, string | Scale>>;
  readonly landmarks?: Readonly<Record<string, string>>;
  readonly heldSeconds?: Readonly<Record<string, number>>;
  readonly blanks?: BlankMeaning;
  readonly cells?: Readonly<Record<string, CellMeaning>>;
  /** What a word at the end of a reading column's name means: an examiner, a repeat, both. */
  readonly suffixes?: Readonly<Record<string, { readonly assessor?: string; readonly replicate?: number }>>;
}

export interface PreviewSheetOptions extends ReadSheetOptions {
  /** What is known already; the preview proposes the rest. */
  readonly layout?: SheetLayout;
  readonly answers?: SheetAnswers;
}

/** What was understood of a sheet, in sentences, and what could not be. Nothing is loaded. */
export class SheetPreview {
  constructor(
    /** The layout to load the sheet with, once the questions are answered. */
    readonly layout: SheetLayout,
    readonly sentences: readonly string[],
    readonly questions: readonly SheetQuestion[],
  ) {
    Object.freeze(this);
  }

  toString(): string {
    const asked = this.questions.map(
      ({ question, choices, answer, isNeeded }, at) =>
        `${at + 1}. ${question}${choices.length > 0 ? ` (${choices.join(' | ')})` : ''} Answer in ${answer}.${isNeeded ? '' : ' Not needed for loading.'}`,
    );
    return [
      'Understood:',
      ...this.sentences.map((sentence) => `- ${sentence}`),
      '',
      ...(asked.length === 0 ? ['No question is open.'] : ['To ask whoever filled in the sheet:', ...asked]),
    ].join('\n');
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

const SHARED: readonly (readonly [InputColumn, RegExp])[] = [
  ['patient', /^(?:pt|patient|patient ?id|subject|participant|person|volunteer|id)$/],
  ['side', /^(?:side|leg|arm|limb)$/],
  ['assessor', /^(?:assessor|examiner|learner|student|nurse|rater|reader)$/],
  ['day', /^(?:day|day ?offset)$/],
  ['occasion', /^(?:visit|occasion)$/],
  ['round', /^round$/],
  ['period', /^(?:period|month number)$/],
  ['stay', /^(?:stay|stay ?id)$/],
  ['unit', /^(?:unit|ward)$/],
  ['heldSeconds', /^press(?:ed)? ?(?:seconds|secs?|s|time)?$/],
  ['value', /^(?:value|reading|result)$/],
  ['order', /^(?:order|station ?order)$/],
];

const KNOWN_CODES: readonly (readonly [RegExp, CellMeaning, string])[] = [
  [
    /^0 ?d$|^dop(?:pler)?$|^d$/i,
    { value: '0', also: { sign: 'pulse-detection', scale: 'pulse.detection4', value: 'doppler-only' } },
    'not felt, heard by Doppler only: grade 0, and "Doppler only" as how it was found',
  ],
  [/^(?:bka|aka|amp(?:utat(?:ed|ion))?)$/i, { missing: 'part-absent' }, 'this part of the limb is absent'],
  [/^(?:dressing|cast|boot|bandage|wrapped)$/i, { missing: 'covered' }, 'covered, so not read'],
  [/^\?+$|^unsure$/i, { missing: 'unsure' }, 'felt for and unsure'],
  [/^(?:not done|nd|n\/d|not assessed)$/i, { missing: 'not-assessed' }, 'not assessed'],
  [/^(?:refused|declined)$/i, { missing: 'refused' }, 'refused'],
];

/**
 * Looks at a sheet that is not tidy and says in sentences what its columns and codes seem to mean, and in questions
 * what the sheet cannot tell (which scale, which landmark, what empty cells mean). Loading then takes the layout:
 * `loadAssessments(path, { layout: preview.layout })`.
 *
 * @throws InputError what `readSheet` throws
 */
export async function previewSheet(
  source: string | { readonly text: string },
  options: PreviewSheetOptions = {},
): Promise<SheetPreview> {
  const { layout: given = {}, answers = {} } = options;
  const sheet = await readSheet(source, options);
  const cut = { ...cutOf(sheet.rows), ...given };
  const table = sheetTable(sheet, cut);
  const sentences: string[] = [];
  const questions: SheetQuestion[] = [];
  sentences.push(
    `${formatCount(table.cells.length)} rows below ${cut.headerRows === 1 ? 'the header' : `${cut.headerRows} header rows`}.`,
  );
  if ((cut.titleRows ?? 0) > 0) sentences.push(`Rows above the header, not read: ${cut.titleRows}.`);
  if ((cut.footerRows ?? 0) > 0)
    sentences.push(`Rows at the end that are totals or legends, not read: ${cut.footerRows}.`);

  const long = longColumn(table, given);
  const readings = long === undefined ? wideReadings(table, given, answers, sentences, questions) : {};
  const columns = sharedColumns(table, Object.keys(readings), long, given, sentences);
  const findings = long === undefined ? undefined : longFindings(table, long, given, sentences);
  const draft: SheetLayout = {
    ...cut,
    ...given,
    columns: columns.columns,
    ...columns.extra,
    ...(findings === undefined ? { readings } : { findings: { column: long ?? '', words: findings } }),
  };
  const filled = (named: Readonly<Record<string, SheetFinding>>): Record<string, SheetFinding> =>
    Object.fromEntries(Object.entries(named).map(([header, finding]) => [header, withAnswers(finding, answers)]));
  if (Object.keys(readings).length === 0 && findings === undefined) {
    questions.push({
      about: 'columns',
      question:
        'No column was found whose name says a sign and a site. Which columns hold readings? (Counts by period are read by loadUnitTable.)',
      choices: [],
      answer: "layout.readings, as in { 'name of a column': { sign: 'pulse-grade', site: 'dorsalis-pedis' } }",
      isNeeded: true,
    });
  }
  for (const header of table.headers.filter(namesBothSides)) {
    questions.push({
      about: 'columns',
      question: `The column "${header}" holds two limbs in one cell. Make a column for each side.`,
      choices: [],
      answer: 'the sheet itself',
      isNeeded: true,
    });
  }
  const open = draft.findings === undefined ? filled(readings) : filled(draft.findings.words);
  const cells = cellMeanings(table, draft, open, answers, sentences, questions);
  const scaled = chooseScales(table, draft, open, cells, sentences, questions);
  askAbout(scaled, draft, questions);
  const blanks = given.blanks ?? answers.blanks ?? askBlanks(table, draft, scaled, questions);
  const layout: SheetLayout = {
    ...draft,
    ...(draft.findings === undefined
      ? { readings: scaled }
      : { findings: { column: draft.findings.column, words: scaled } }),
    ...(Object.keys(cells).length === 0 ? {} : { cells }),
    ...(blanks === undefined ? {} : { blanks }),
  };
  return new SheetPreview(Object.freeze(layout), Object.freeze(sentences), Object.freeze(questions));
}

/** Where the table starts and ends: the header is the first row with as many names as the widest rows have cells. */
function cutOf(rows: readonly (readonly string[])[]): { titleRows: number; headerRows: number; footerRows: number } {
  const filled = rows.map((row) => row.filter((cell) => cell !== '').length);
  const widest = Math.max(0, ...filled);
  const titleRows = Math.max(
    0,
    filled.findIndex((count) => count >= Math.max(2, widest * 0.6)),
  );
  let footerRows = 0;
  for (let at = rows.length - 1; at > titleRows; at--) {
    const row = rows[at] ?? [];
    const first = row.find((cell) => cell !== '') ?? '';
    const isFooter = first === '' || /^(?:total|sum|mean|average|legend|source|note|key|printed|n\s*=)/i.test(first);
    if (!isFooter) break;
    footerRows++;
  }
  const below = headerRowsOf(rows, titleRows);
  // Names that repeat (right beside left) are told apart by the row above them.
  const names = (rows[titleRows] ?? []).filter((cell) => cell !== '');
  const isRepeating = new Set(names).size < names.length;
  const hasAbove = titleRows > 0 && (rows[titleRows - 1] ?? []).some((cell) => cell !== '');
  return isRepeating && hasAbove && below === 1
    ? { titleRows: titleRows - 1, headerRows: 2, footerRows }
    : { titleRows, headerRows: below, footerRows };
}

/** Two rows of header where the first leaves gaps (merged cells) and the second names findings. */
function headerRowsOf(rows: readonly (readonly string[])[], titleRows: number): number {
  const [first = [], second = []] = rows.slice(titleRows, titleRows + 2);
  const namesBelow = second.filter((cell) => headerMeaning(cell) !== undefined).length;
  return namesBelow >= 2 &&
    second.every((cell) => cell === '' || !/^[<>]?\d/.test(cell)) &&
    first.some((cell) => cell === '')
    ? 2
    : 1;
}

function longColumn(table: SheetTable, given: SheetLayout): string | undefined {
  if (given.findings !== undefined) return given.findings.column;
  if (given.readings !== undefined) return undefined;
  return table.table.columns.find(
    ({ values }) =>
      values.length > 0 && values.length <= 60 && values.every((value) => headerMeaning(value) !== undefined),
  )?.header;
}

function wideReadings(
  table: SheetTable,
  given: SheetLayout,
  answers: SheetAnswers,
  sentences: string[],
  questions: SheetQuestion[],
): Record<string, SheetFinding> {
  const meanings = table.headers.flatMap((header) => {
    const meaning = header === '' ? undefined : headerMeaning(header);
    return meaning === undefined ? [] : [{ header, ...meaning }];
  });
  // `pt` is the patient where its cells are no readings, or where it is also the first word of others (`pt_A`).
  const withRest = meanings.filter(({ rest }) => rest.length > 0);
  const own = meanings.filter(
    ({ header, rest }) =>
      !isPatientName(header) || (rest.length === 0 && withRest.length < 2 && holdsReadings(table, header)),
  );
  const words = own.flatMap(({ rest }) => rest);
  const numbered = numberedExaminers(words);
  const readings: Record<string, SheetFinding> = {};
  const examiners = new Set<string>();
  const unclear = new Set<string>();
  let repeats = 0;
  for (const { header, finding, rest } of own) {
    const who: { assessor?: string; replicate?: number } = {};
    for (const word of rest) {
      const [letter, number] = numbered.get(word) ?? [];
      const told = answers.suffixes?.[word];
      if (told !== undefined) Object.assign(who, told);
      else if (letter !== undefined) Object.assign(who, { assessor: letter, replicate: number });
      else if (isRepeatWord(word) && !words.includes('1')) who.replicate = 2;
      else if (/^[A-Z]{1,3}\d{0,3}$/.test(word)) who.assessor = word;
      else unclear.add(word);
    }
    if (who.assessor !== undefined) examiners.add(who.assessor);
    if (who.replicate === 2) repeats++;
    readings[header] = { ...finding, ...who, ...given.readings?.[header] };
  }
  if (unclear.size > 0) {
    questions.push({
      about: 'columns',
      question: `What does ${[...unclear].map((word) => `"${word}"`).join(', ')} in the names of columns mean: examiners, or readings of one examiner?`,
      choices: [],
      answer: "answers.suffixes, as in { '1': { assessor: 'A' }, '2': { assessor: 'B' } } or { '2': { replicate: 2 } }",
      isNeeded: true,
    });
  }
  const groups = new Map<string, string[]>();
  for (const [header, { sign, site }] of Object.entries(readings)) {
    const name = site === undefined ? signOf(sign).label : `${signOf(sign).label}, ${siteOf(site).label}`;
    groups.set(name, [...(groups.get(name) ?? []), header]);
  }
  for (const [name, headers] of groups) sentences.push(`${headers.join(', ')}: ${name}.`);
  if (examiners.size > 0)
    sentences.push(
      `${[...examiners].join(', ')} at the end of a name ${examiners.size === 1 ? 'is the examiner' : 'are examiners'}.`,
    );
  if (repeats > 0)
    sentences.push(
      `${plural(repeats, 'column is', 'columns are')} a second reading of the same examiner; where one is empty there was none.`,
    );
  return { ...readings, ...given.readings };
}

/** `A1` and `A2` are two readings of examiner A where both occur. */
function numberedExaminers(words: readonly string[]): Map<string, readonly [letter: string, replicate: number]> {
  const known = new Set(words);
  return new Map(
    [...known].flatMap((word) => {
      const parts = /^([A-Za-z]+)([12])$/.exec(word);
      const [, letter = '', number = ''] = parts ?? [];
      return parts !== null && known.has(`${letter}1`) && known.has(`${letter}2`)
        ? [[word, [letter, Number(number)]] as const]
        : [];
    }),
  );
}

/** Whether most cells of a column could be readings. */
function holdsReadings(table: SheetTable, header: string): boolean {
  const at = table.headers.indexOf(header);
  const cells = table.cells.map((row) => row[at] ?? '').filter((cell) => cell !== '');
  return cells.filter((cell) => /^[<>+]?\s*\d/.test(cell)).length > cells.length / 2;
}

function isPatientName(header: string): boolean {
  return /^(?:pt|patient)$/i.test(header);
}

function longFindings(
  table: SheetTable,
  column: string,
  given: SheetLayout,
  sentences: string[],
): Record<string, SheetFinding> {
  const words = table.table.columns.find(({ header }) => header === column)?.values ?? [];
  const findings: Record<string, SheetFinding> = {};
  for (const word of words) {
    const finding = given.findings?.words[word] ?? headerMeaning(word)?.finding;
    if (finding === undefined) continue;
    findings[word] = finding;
    const site = finding.site === undefined ? '' : `, ${siteOf(finding.site).label}`;
    sentences.push(`"${word}" in ${column}: ${signOf(finding.sign).label}${site}.`);
  }
  return findings;
}

/** Columns that all readings of a row share, by their names and by what they hold. */
function sharedColumns(
  table: SheetTable,
  taken: readonly string[],
  long: string | undefined,
  given: SheetLayout,
  sentences: string[],
): { columns: Record<string, string>; extra: Partial<SheetLayout> } {
  const columns: Record<string, string> = { ...(given.columns as Record<string, string> | undefined) };
  const extra: { -readonly [K in keyof SheetLayout]?: SheetLayout[K] } = {};
  const notRead: string[] = [];
  const claimed = new Set([...taken, ...Object.values(columns), ...(long === undefined ? [] : [long])]);
  for (const { header, values } of table.table.columns) {
    if (claimed.has(header)) continue;
    const name = header
      .toLowerCase()
      .replaceAll(/[\s_-]+/g, ' ')
      .trim();
    if (/^out ?of$|^max(?:imum)?$/.test(name) && values.every((value) => /^\d+$/.test(value))) {
      extra.outOf = header;
      sentences.push(`${header}: the highest grade of the scale; readings are checked against it.`);
      continue;
    }
    if (/both sides at once/.test(name)) {
      columns.method = header;
      extra.words = {
        ...given.words,
        method: { y: 'both sides at once', yes: 'both sides at once', n: 'one at a time', no: 'one at a time' },
      };
      sentences.push(`${header}: how it was felt; y is both sides at once, n is one at a time.`);
      continue;
    }
    const match = SHARED.find(([column, form]) => form.test(name) && columns[column] === undefined)?.[0];
    if (match === 'order' && values.length > 0 && values.every((value) => /^[A-Za-z]{2,6}$/.test(value))) {
      extra.examinerOrder = header;
      sentences.push(`${header}: the order in which the examiners came.`);
    } else if (match === 'side' && values.every((value) => /^(?:l|r|left|right)$/i.test(value))) {
      columns.side = header;
      if (/^(?:leg|arm)$/.test(name)) extra.part = name === 'leg' ? 'leg' : 'arm';
      sentences.push(`${header}: the side${extra.part === undefined ? '' : ` of the ${extra.part}`}.`);
    } else if (match !== undefined && match !== 'side' && (match !== 'value' || long !== undefined)) {
      columns[match] = header;
      sentences.push(
        `${header}: ${match === 'value' ? 'what was found' : `the ${match === 'heldSeconds' ? 'seconds it was pressed' : match}`}.`,
      );
      if (match === 'assessor') {
        const references = values.filter((value) => /^(?:ref(?:erence)?|exp(?:ert)?)\s*\d*$/i.test(value));
        if (references.length > 0) {
          extra.references = references;
          sentences.push(`${references.join(' and ')}: reference readings.`);
        }
      }
    } else notRead.push(header);
  }
  if (notRead.length > 0) {
    extra.notRead = notRead;
    sentences.push(`Not read: ${notRead.filter((header) => ruleOfValue(header) === undefined).join(', ')}.`);
  }
  return { columns, extra };
}

function withAnswers(finding: SheetFinding, answers: SheetAnswers): SheetFinding {
  const scale = answers.scales?.[finding.sign];
  const landmark = answers.landmarks?.[finding.sign];
  const heldSeconds = answers.heldSeconds?.[finding.sign];
  return {
    ...finding,
    ...(finding.scale === undefined && scale !== undefined ? { scale } : {}),
    ...(finding.landmark === undefined && landmark !== undefined ? { landmark } : {}),
    ...(finding.heldSeconds === undefined && heldSeconds !== undefined ? { heldSeconds } : {}),
  };
}

/** The cells of a finding: those of its column, or those of the rows with its word. */
function cellsOf(table: SheetTable, layout: SheetLayout, key: string): { text: string; row: number }[] {
  const place = (header: string | undefined): number => table.headers.indexOf(header ?? '');
  const long = layout.findings === undefined ? -1 : place(layout.findings.column);
  const column = long < 0 ? place(key) : place(layout.columns?.value);
  return table.cells.flatMap((row, at) =>
    row.every((cell) => cell === '') || (long >= 0 && row[long] !== key)
      ? []
      : [{ text: row[column] ?? '', row: at + table.firstRow }],
  );
}

function cellMeanings(
  table: SheetTable,
  layout: SheetLayout,
  findings: Readonly<Record<string, SheetFinding>>,
  answers: SheetAnswers,
  sentences: string[],
  questions: SheetQuestion[],
): Record<string, CellMeaning> {
  const meanings: Record<string, CellMeaning> = { ...layout.cells, ...answers.cells };
  const counts = new Map<string, number>();
  const unknown = new Map<string, number[]>();
  for (const [key, finding] of Object.entries(findings)) {
    const candidates = signOf(finding.sign).scales;
    for (const { text, row } of cellsOf(table, layout, key)) {
      if (text === '' || meanings[text] !== undefined) continue;
      const known = KNOWN_CODES.find(([form]) => form.test(text));
      if (known !== undefined) counts.set(text, (counts.get(text) ?? 0) + 1);
      else if (ruleOfValue(text) !== undefined) unknown.set('date', [...(unknown.get('date') ?? []), row]);
      else if (
        missingReasonOf(text) === undefined &&
        !/^[<>+]?[=+]?\s*\d/.test(text) &&
        candidates.every((scale) => !fits(scale, text))
      )
        unknown.set('word', [...(unknown.get('word') ?? []), row]);
    }
  }
  for (const [text, count] of counts) {
    const known = KNOWN_CODES.find(([form]) => form.test(text));
    if (known === undefined) continue;
    meanings[text] = known[1];
    sentences.push(`"${text}" in ${plural(count, 'cell', 'cells')}: ${known[2]}.`);
  }
  const dates = unknown.get('date') ?? [];
  if (dates.length > 0)
    sentences.push(
      `${plural(dates.length, 'cell looks', 'cells look')} like a date (row ${rowList(dates)}); loading will refuse them. If the spreadsheet made a date of a reading such as 2/3, type it again in a column formatted as text.`,
    );
  const words = unknown.get('word') ?? [];
  if (words.length > 0) {
    questions.push({
      about: 'cells',
      question: `${plural(words.length, 'cell holds', 'cells hold')} a word that is no reading (row ${rowList(words)}). What does it mean?`,
      choices: [],
      answer: "answers.cells, as in { 'the word': { missing: 'not-assessable' } }",
      isNeeded: true,
    });
  }
  return meanings;
}

const NOWHERE = { value: {}, comparator: {}, unit: {}, missing: {} };

function fits(scale: Scale, text: string, unit?: string): boolean {
  return (
    understandReading({ value: text, ...(unit === undefined ? {} : { unit }) }, scale, NOWHERE).problems.length === 0
  );
}

/** The scale of each finding where only one can hold its cells; a question where several can. */
function chooseScales(
  table: SheetTable,
  layout: SheetLayout,
  findings: Readonly<Record<string, SheetFinding>>,
  cells: Readonly<Record<string, CellMeaning>>,
  sentences: string[],
  questions: SheetQuestion[],
): Record<string, SheetFinding> {
  const chosen: Record<string, SheetFinding> = { ...findings };
  const groups = new Map<string, string[]>();
  for (const [key, finding] of Object.entries(findings)) {
    if (finding.scale !== undefined) continue;
    const group = `${finding.sign} ${siteGroup(finding)}`;
    groups.set(group, [...(groups.get(group) ?? []), key]);
  }
  for (const keys of groups.values()) {
    const [first = ''] = keys;
    const finding = findings[first];
    if (finding === undefined) continue;
    const sign = signOf(finding.sign);
    const texts = keys.flatMap((key) => cellsOf(table, layout, key).map(({ text }) => text));
    const read = texts.filter(
      (text) =>
        text !== '' &&
        cells[text] === undefined &&
        missingReasonOf(text) === undefined &&
        ruleOfValue(text) === undefined,
    );
    const tops = outOfValues(table, layout, keys);
    const possible = sign.scales.filter(
      (scale) =>
        (scale.sites === undefined || finding.site === undefined || scale.sites.includes(finding.site)) &&
        (tops.length !== 1 || Number(scale.categories?.at(-1)?.value) === tops[0]),
    );
    // A single odd cell (a slip of the pen) must not decide the scale: up to one in fifty may fail.
    const holding = possible.filter(
      (scale) => read.filter((text) => !fits(scale, text, finding.unit)).length <= read.length / 50,
    );
    const [only, ...others] = possible.length === 1 ? possible : holding.filter((scale) => !addsOnly(scale, holding));
    if (only !== undefined && others.length === 0) {
      for (const key of keys) chosen[key] = { ...(findings[key] ?? finding), scale: only.id };
      sentences.push(
        `${sign.label}${finding.site === undefined || only.sites === undefined ? '' : `, ${siteOf(finding.site).label}`}: ${only.label} (${only.id}), the only scale that can hold these readings${tops.length === 1 ? ` out of ${tops[0]}` : ''}.`,
      );
      continue;
    }
    const choices = holding.length > 0 ? [...(only === undefined ? [] : [only]), ...others] : possible;
    if (choices.length === 0 || questions.some(({ about }) => about === sign.id)) continue;
    questions.push({
      about: sign.id,
      question: `On which scale is ${sign.label.toLowerCase()} (${keys.join(', ')})?${commonestHint(read, choices)}`,
      choices: choices.map((scale) => `${scale.id}: ${scale.label}`),
      answer: `answers.scales['${sign.id}']`,
      isNeeded: true,
    });
  }
  return chosen;
}

/** Whether a scale only adds a step (trace) that no reading uses to another that holds them all. */
function addsOnly(scale: Scale, holding: readonly Scale[]): boolean {
  return holding.some((other) =>
    safeMappings(other.id).some(
      ({ to, categories }) => to === scale.id && Object.entries(categories).every(([from, target]) => from === target),
    ),
  );
}

/** Findings of one sign that take the same scales are asked about together. */
function siteGroup({ sign, site }: SheetFinding): string {
  return signOf(sign)
    .scales.filter((scale) => scale.sites?.includes(site ?? '') === true)
    .map(({ id }) => id)
    .join();
}

function outOfValues(table: SheetTable, layout: SheetLayout, keys: readonly string[]): number[] {
  if (layout.outOf === undefined || layout.findings === undefined) return [];
  const outOf = table.headers.indexOf(layout.outOf);
  const long = table.headers.indexOf(layout.findings.column);
  return [
    ...new Set(
      table.cells.flatMap((row) => (keys.includes(row[long] ?? '') && row[outOf] !== '' ? [Number(row[outOf])] : [])),
    ),
  ];
}

function commonestHint(read: readonly string[], choices: readonly Scale[]): string {
  if (!choices.some(({ id }) => id === 'pulse.0-4.normal3')) return '';
  const counts = new Map<string, number>();
  for (const text of read) counts.set(text, (counts.get(text) ?? 0) + 1);
  const [grade, count] = [...counts].sort((a, b) => b[1] - a[1])[0] ?? ['', 0];
  return grade === '3' ? ` 3 is the commonest reading (${count} of ${read.length}): 3 may be the normal step.` : '';
}

/** Landmarks of girths and the time of pressing: readings without them cannot be compared with others. */
function askAbout(
  findings: Readonly<Record<string, SheetFinding>>,
  layout: SheetLayout,
  questions: SheetQuestion[],
): void {
  for (const sign of new Set(Object.values(findings).map((finding) => finding.sign))) {
    const own = Object.values(findings).filter((finding) => finding.sign === sign);
    const { landmarks, label } = signOf(sign);
    if (
      landmarks !== undefined &&
      layout.columns?.landmark === undefined &&
      own.some(({ landmark }) => landmark === undefined)
    ) {
      questions.push({
        about: sign,
        question: `${label}: measured from which landmark?`,
        choices: landmarks,
        answer: `answers.landmarks['${sign}']`,
        isNeeded: false,
      });
    }
    const pressed = sign === 'capillary-refill' || sign === 'pitting-edema';
    if (
      pressed &&
      layout.columns?.heldSeconds === undefined &&
      own.some(({ heldSeconds }) => heldSeconds === undefined)
    ) {
      questions.push({
        about: sign,
        question: `${label}: how many seconds was it pressed?`,
        choices: [],
        answer: `answers.heldSeconds['${sign}']`,
        isNeeded: false,
      });
    }
  }
}

function askBlanks(
  table: SheetTable,
  layout: SheetLayout,
  findings: Readonly<Record<string, SheetFinding>>,
  questions: SheetQuestion[],
): undefined {
  const empty = new Map<string, number>();
  for (const [key, finding] of Object.entries(findings)) {
    if ((finding.replicate ?? 1) > 1) continue;
    const count = cellsOf(table, layout, key).filter(({ text }) => text === '').length;
    const who = finding.assessor === undefined ? key : `examiner ${finding.assessor}`;
    if (count > 0) empty.set(who, (empty.get(who) ?? 0) + count);
  }
  if (empty.size === 0) return undefined;
  questions.push({
    about: 'blanks',
    question: `Cells are empty (${[...empty].map(([who, count]) => `${who}: ${count}`).join(', ')}). Was nobody assessed there, or is it not known?`,
    choices: ['not-assessed', 'blank'],
    answer: 'answers.blanks',
    isNeeded: false,
  });
  return undefined;
}

function plural(count: number, one: string, many: string): string {
  return count === 1 ? `1 ${one}` : `${formatCount(count)} ${many}`;
}

function rowList(rows: readonly number[]): string {
  const shown = [...new Set(rows)].slice(0, 5).join(', ');
  return rows.length > 5 ? `${shown}, …` : shown;
}
