import { InputError } from '../shared/input-error.js';
import { formatCount } from '../shared/table.js';
import { namesBothSides } from './header-words.js';
import { ruleOfHeaderText } from './identifier-guard.js';
import { cutOf, longColumn, longFindings, sharedColumns, wideReadings } from './propose-columns.js';
import { askAbout, askBlanks, cellMeanings, chooseScales, withAnswers } from './propose-meanings.js';
import { type ReadSheetOptions, readSheet } from './read-sheet.js';
import type { SheetFinding, SheetLayout } from './sheet-layout.js';
import { type SheetAnswers, SheetPreview, type SheetQuestion } from './sheet-preview.js';
import { columnLetter, sheetTable, takesSide } from './sheet-table.js';

export interface PreviewSheetOptions extends ReadSheetOptions {
  /** What is known already; the preview proposes the rest. */
  readonly layout?: SheetLayout;
  readonly answers?: SheetAnswers;
}

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
  const named = table.headers.filter((header) => header !== '' && ruleOfHeaderText(header) !== undefined);
  if (named.length > 0)
    throw new InputError(
      named.map((header) => ({
        code: 'identifier-column',
        message: `The name of a column (${columnLetter(table.headers.indexOf(header))}) has the form of an identifier (${ruleOfHeaderText(header)}). It is not shown.`,
        mend: 'write a code such as A or B in its place; where the header line is missing, give the sheet one.',
      })),
    );
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
  const findings = long === undefined ? undefined : longFindings(table, long, given, sentences, questions);
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
  for (const header of table.headers.filter((one) => namesBothSides(one) && given.notRead?.includes(one) !== true)) {
    questions.push({
      about: 'columns',
      question: `The column "${header}" holds two limbs in one cell. Make a column for each side.`,
      choices: [],
      answer: 'the sheet itself',
      isNeeded: true,
    });
  }
  const sided = Object.entries(draft.findings?.words ?? readings).filter(
    ([, finding]) => takesSide(finding) && finding.limb === undefined,
  );
  if (sided.length > 0 && draft.columns?.side === undefined && draft.columns?.limb === undefined)
    questions.push({
      about: 'columns',
      question: `No column tells left from right (${sided.map(([header]) => header).join(', ')}). Which limb was read?`,
      choices: [],
      answer: "layout.columns, as in { side: 'name of a column' }, or a limb for each of layout.readings",
      isNeeded: true,
    });
  const open = draft.findings === undefined ? filled(readings) : filled(draft.findings.words);
  const cells = cellMeanings(table, draft, open, answers, sentences, questions);
  const scaled = chooseScales(table, draft, open, cells, sentences, questions);
  askAbout(scaled, draft, questions);
  const blanks = given.blanks ?? answers.blanks ?? askBlanks(table, draft, scaled, questions);
  const unanswered = questions
    .filter(({ about, isNeeded }) => about === 'columns' && isNeeded)
    .map(({ question }) => question);
  const layout: SheetLayout = {
    ...draft,
    ...(draft.findings === undefined
      ? { readings: scaled }
      : { findings: { column: draft.findings.column, words: scaled } }),
    ...(Object.keys(cells).length === 0 ? {} : { cells }),
    ...(blanks === undefined ? {} : { blanks }),
    ...(unanswered.length === 0 ? {} : { unanswered }),
  };
  return new SheetPreview(Object.freeze(layout), Object.freeze(sentences), Object.freeze(questions));
}
