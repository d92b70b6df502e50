import { signOf } from '../signs/codebook.js';
import { safeMappings } from '../signs/scale-mapping.js';
import type { Scale } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import { ruleOfValue } from './identifier-guard.js';
import { missingReasonOf } from './missing-reason.js';
import { understandReading } from './reading.js';
import type { CellMeaning, SheetFinding, SheetLayout } from './sheet-layout.js';
import { plural, type SheetAnswers, type SheetQuestion } from './sheet-preview.js';
import type { SheetTable } from './sheet-table.js';

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

export function withAnswers(finding: SheetFinding, answers: SheetAnswers): SheetFinding {
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

export function cellMeanings(
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
      if (text === '' || Object.hasOwn(meanings, text)) continue;
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
export function chooseScales(
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
        !Object.hasOwn(cells, text) &&
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
export function askAbout(
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

export function askBlanks(
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

function rowList(rows: readonly number[]): string {
  const shown = [...new Set(rows)].slice(0, 5).join(', ');
  return rows.length > 5 ? `${shown}, …` : shown;
}
