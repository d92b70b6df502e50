import type { Assessments } from '../assessments/assessments.js';
import { findColumns } from '../assessments/input-columns.js';
import { loadAssessments } from '../assessments/load-assessments.js';
import type { LoadOptions } from '../assessments/load-options.js';
import { previewSheet } from '../assessments/preview-sheet.js';
import { readSheet } from '../assessments/read-sheet.js';
import { InputError, refuse } from '../shared/input-error.js';
import type { StudySettings } from './study-settings.js';

/**
 * Loads a file as the settings say. A file with a row a finding is read as it is; any other sheet is looked at first,
 * what was understood is said, and what it leaves open must be answered in the settings.
 *
 * @param named the sheet of a workbook; default the one that the layout names
 * @throws InputError `answer-needed` with every open question; what `loadAssessments` and `previewSheet` throw
 */
export async function loadStudyFile(
  path: string,
  settings: StudySettings,
  say: (line: string) => void,
  named?: string,
): Promise<Assessments> {
  const { columns, constants, scales, notIdentifying } = settings;
  const { layout: given } = settings;
  if (named !== undefined && given?.sheet !== undefined && given.sheet !== named)
    throw refuse(
      'two-sheets',
      ['sheet'],
      'The settings name one sheet, and the layout in them another.',
      'name it once.',
    );
  const name = named ?? given?.sheet;
  const sheet = name === undefined ? {} : { sheet: name };
  const options: LoadOptions = {
    ...sheet,
    ...(columns === undefined ? {} : { columns }),
    ...(constants === undefined ? {} : { constants }),
    ...(scales === undefined ? {} : { scales }),
    ...(notIdentifying === undefined ? {} : { notIdentifying }),
  };
  if (given === undefined && (await hasRowAFinding(path, settings, sheet))) return loadAssessments(path, options);
  const { layout, sentences, questions } = await previewSheet(path, {
    ...sheet,
    ...(given === undefined ? {} : { layout: given }),
    ...(settings.answers === undefined ? {} : { answers: settings.answers }),
  });
  say('Understood of the sheet:');
  for (const sentence of sentences) say(`  ${sentence}`);
  const open = questions.filter(({ isNeeded }) => isNeeded);
  if (open.length > 0)
    throw new InputError(
      open.map(({ about, question, choices, answer }) => ({
        code: 'answer-needed',
        path: [about],
        message: question,
        ...(choices.length === 0 ? {} : { expected: `one of ${choices.join(' | ')}` }),
        mend: mendOf(answer, choices[0]),
      })),
      `The sheet leaves ${open.length === 1 ? 'a question' : `${open.length} questions`} open:`,
    );
  for (const { question } of questions) say(`  Left open, and not needed for loading: ${question}`);
  return loadAssessments(path, { ...options, layout });
}

/** Whether the header names what every finding needs. */
async function hasRowAFinding(
  path: string,
  { columns = {}, constants = {} }: StudySettings,
  sheet: { readonly sheet?: string },
): Promise<boolean> {
  const [header = []] = (await readSheet(path, sheet)).rows;
  const found = findColumns(header, columns as Readonly<Record<string, string>>, constants).headers;
  const has = (name: 'patient' | 'sign' | 'value' | 'missing') => found.has(name) || name in constants;
  return has('patient') && has('sign') && (has('value') || has('missing'));
}

/** Where an answer goes, as it is typed: `answers.scales['x']` as `"answers": { "scales": { "x": "first choice" } }`. */
function mendOf(answer: string, choice: string | undefined): string {
  const [place = '', examples = ''] = answer.split(', as in ');
  const steps = [...place.matchAll(/(?:^|\.)(\w+)|\['([^']+)'\]/g)].map(([, word, quoted]) => word ?? quoted);
  if (steps[0] !== 'answers' && steps[0] !== 'layout') return `change ${answer}.`;
  const [example = ''] = examples.split(' or ');
  const inner =
    example === ''
      ? JSON.stringify(choice?.split(': ')[0] ?? '…')
      : example
          .replaceAll("'", '"')
          .replaceAll(/(\w+):/g, '"$1":')
          .replaceAll(/""(\w+)":"/g, '"$1":"');
  const nested = steps.reduceRight(
    (within, step, at) => (at === 0 ? `"${step}": ${within}` : `{ "${step}": ${within} }`),
    inner,
  );
  return `write it into settings.json, as in ${nested}`;
}
