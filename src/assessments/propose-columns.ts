import { ownValue } from '../shared/own-value.js';
import { signOf } from '../signs/codebook.js';
import { siteOf } from '../signs/site.js';
import { headerMeaning, headerSide, isRepeatWord, signWithoutSite, timeOf } from './header-words.js';
import { ruleOfHeaderText, ruleOfValue } from './identifier-guard.js';
import type { InputColumn } from './input-columns.js';
import type { SheetFinding, SheetLayout } from './sheet-layout.js';
import { plural, type SheetAnswers, type SheetQuestion } from './sheet-preview.js';
import { isTotal, type SheetTable } from './sheet-table.js';

const PATIENT = /^(?:pt|patient|patient ?id|subject|subject ?id|participant|person|volunteer|id|code)$/;

const SHARED: readonly (readonly [InputColumn, RegExp])[] = [
  ['patient', /^(?:pt|patient|patient ?(?:id|code)|subject|subject ?(?:id|code)|participant|person|volunteer|id)$/],
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

/** Where the table starts and ends: the header is the first row with as many names as the widest rows have cells. */
export function cutOf(rows: readonly (readonly string[])[]): {
  titleRows: number;
  headerRows: number;
  footerRows: number;
} {
  const filled = rows.map((row) => row.filter((cell) => cell !== '').length);
  const widest = filled.reduce((most, count) => Math.max(most, count), 0);
  const titleRows = Math.max(
    0,
    filled.findIndex((count) => count >= Math.max(2, widest * 0.6)),
  );
  const width = widest;
  let footerRows = 0;
  for (let at = rows.length - 1; at > titleRows; at--) {
    const row = rows[at] ?? [];
    const texts = row.filter((cell) => cell !== '');
    const first = texts[0] ?? '';
    // A sentence alone in its line is no patient; a lone code is one without readings.
    const isSentence = width > 2 && texts.length === 1 && first.split(/\s+/).length > 2;
    if (first !== '' && !isSentence && !isTotal(first) && !/^(?:legend|source|note|key|printed|n\s*=)/i.test(first))
      break;
    footerRows++;
  }
  const named = headerByPatient(rows, width);
  if (named !== undefined) return { ...named, footerRows };
  const below = headerRowsOf(rows, titleRows);
  // Names that repeat (right beside left) are told apart by the row above them.
  const names = (rows[titleRows] ?? []).filter((cell) => cell !== '');
  const isRepeating = new Set(names).size < names.length;
  const hasAbove = titleRows > 0 && (rows[titleRows - 1] ?? []).some((cell) => cell !== '');
  return isRepeating && hasAbove && below === 1
    ? { titleRows: titleRows - 1, headerRows: 2, footerRows }
    : { titleRows, headerRows: below, footerRows };
}

/** The header ends with the row that names the patients; rows above it that fill several columns belong to it. */
function headerByPatient(
  rows: readonly (readonly string[])[],
  width: number,
): { titleRows: number; headerRows: number } | undefined {
  const names = rows.slice(0, 8).map((row) => {
    const [first = '', ...others] = row
      .filter((cell) => cell !== '')
      .map((cell) => cell.toLowerCase().replaceAll(/[\s_-]+/g, ' '));
    // Not first in its row, `pt` is the posterior tibial pulse.
    return PATIENT.test(first) || others.some((cell) => cell !== 'pt' && PATIENT.test(cell));
  });
  const last = names.lastIndexOf(true);
  if (last < 1 || (rows[last] ?? []).filter((cell) => cell !== '').length < width * 0.6) return undefined;
  let first = last;
  while (first > 0 && (rows[first - 1] ?? []).filter((cell) => cell !== '').length > 1) first--;
  // One row of names is found as well without this.
  return last === first ? undefined : { titleRows: first, headerRows: last - first + 1 };
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

export function longColumn(table: SheetTable, given: SheetLayout): string | undefined {
  if (given.findings !== undefined) return given.findings.column;
  if (given.readings !== undefined) return undefined;
  return table.table.columns.find(
    ({ values }) =>
      values.length > 1 &&
      values.length <= 60 &&
      values.filter((value) => headerMeaning(value) !== undefined).length >= 0.6 * values.length,
  )?.header;
}

export function wideReadings(
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
  const times = new Set<string>();
  let repeats = 0;
  for (const { header, finding, rest: left } of own) {
    const { time, rest } = timeOf(left);
    const who: { assessor?: string; replicate?: number; day?: number; occasion?: string } = { ...time };
    if (time !== undefined) times.add(time.day === undefined ? (time.occasion ?? '') : `day ${time.day}`);
    for (const word of rest) {
      const [letter, number] = numbered.get(word) ?? [];
      const told = ownValue(answers.suffixes, word);
      if (told !== undefined) Object.assign(who, told);
      else if (letter !== undefined) Object.assign(who, { assessor: letter, replicate: number });
      else if (isRepeatWord(word) && !words.includes('1')) who.replicate = 2;
      else if (/^[A-Z]{1,3}\d{0,3}$/.test(word)) who.assessor = word;
      else unclear.add(word);
    }
    if (who.assessor !== undefined) examiners.add(who.assessor);
    if (who.replicate === 2) repeats++;
    readings[header] = { ...finding, ...who, ...ownValue(given.readings, header) };
  }
  for (const header of table.headers) {
    const sign = signWithoutSite(header);
    if (
      sign === undefined ||
      ownValue(given.readings, header) !== undefined ||
      given.notRead?.includes(header) === true
    )
      continue;
    const site = ownValue(answers.sites, header);
    const side = headerSide(header);
    if (site !== undefined) readings[header] = { sign, site, ...(side === undefined ? {} : { limb: side }) };
    else
      questions.push({
        about: 'columns',
        question: `The column "${header}" names ${signOf(sign).label.toLowerCase()}, but not where it was read. At which site?`,
        choices: signOf(sign).sites,
        answer: `answers.sites['${header}']`,
        isNeeded: true,
      });
  }
  if (unclear.size > 0) {
    questions.push({
      about: 'columns',
      question: `What does ${[...unclear].map((word) => `"${word}"`).join(', ')} in the names of columns mean: examiners, readings of one examiner, days or visits, or nothing?`,
      choices: [],
      answer:
        "answers.suffixes, as in { '1': { assessor: 'A' }, '2': { assessor: 'B' } }, { '2': { replicate: 2 } }, { '2': { day: 7 } } or { lying: {} }",
      isNeeded: true,
    });
  }
  const groups = new Map<string, string[]>();
  for (const [header, { sign, site }] of Object.entries(readings)) {
    const name = site === undefined ? signOf(sign).label : `${signOf(sign).label}, ${siteOf(site).label}`;
    groups.set(name, [...(groups.get(name) ?? []), header]);
  }
  for (const [name, headers] of groups) sentences.push(`${headers.join(', ')}: ${name}.`);
  if (times.size > 0) sentences.push(`Times in the names of columns: ${[...times].join(', ')}.`);
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

export function longFindings(
  table: SheetTable,
  column: string,
  given: SheetLayout,
  sentences: string[],
  questions: SheetQuestion[],
): Record<string, SheetFinding> {
  const words = table.table.columns.find(({ header }) => header === column)?.values ?? [];
  const findings: Record<string, SheetFinding> = {};
  for (const word of words) {
    const finding = ownValue(given.findings?.words, word) ?? headerMeaning(word)?.finding;
    if (finding === undefined) {
      if (ruleOfValue(word) === undefined)
        questions.push({
          about: 'columns',
          question: `What does "${word}" in the column "${column}" assess?`,
          choices: [],
          answer: `layout.findings, as in { column: '${column}', words: { '${word}': { sign: 'hair' } } }`,
          isNeeded: true,
        });
      continue;
    }
    findings[word] = finding;
    const site = finding.site === undefined ? '' : `, ${siteOf(finding.site).label}`;
    sentences.push(`"${word}" in ${column}: ${signOf(finding.sign).label}${site}.`);
  }
  return findings;
}

/** The side that a word of a side column says: "Lt.", "right leg". */
function sideOf(word: string): 'left' | 'right' | undefined {
  const match = /^(l|left|lt|r|right|rt)\.?(?:\s*(?:leg|arm|foot|hand|side))?$/i.exec(word);
  if (match === null) return undefined;
  return match[1]?.toLowerCase().startsWith('l') === true ? 'left' : 'right';
}

/** Columns that all readings of a row share, by their names and by what they hold. */
export function sharedColumns(
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
    } else if (match === 'side' && values.filter((value) => sideOf(value) !== undefined).length >= values.length / 2) {
      columns.side = header;
      const spelled = values.flatMap((value): [string, string][] => {
        const side = sideOf(value);
        return side === undefined || /^(?:l|r|left|right)$/i.test(value) ? [] : [[value, side]];
      });
      if (spelled.length > 0) extra.words = { ...extra.words, ...given.words, side: Object.fromEntries(spelled) };
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
    } else if (table.headers.includes(header)) notRead.push(header);
  }
  if (notRead.length > 0) {
    extra.notRead = notRead;
    sentences.push(`Not read: ${notRead.filter((header) => ruleOfHeaderText(header) === undefined).join(', ')}.`);
  }
  return { columns, extra };
}
