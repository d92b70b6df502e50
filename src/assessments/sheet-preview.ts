import { formatCount, Table } from '../shared/table.js';
import type { Scale } from '../signs/sign.js';
import type { BlankMeaning, CellMeaning, SheetFinding, SheetLayout } from './sheet-layout.js';

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
  /** What a word at the end of a reading column's name means: an examiner, a repeat, a day, a visit. An empty object: nothing. */
  readonly suffixes?: Readonly<Record<string, Pick<SheetFinding, 'assessor' | 'replicate' | 'day' | 'occasion'>>>;
  /** The site of a reading column whose name has a sign and no site, by its header. */
  readonly sites?: Readonly<Record<string, string>>;
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

  /** What was understood, one reading of a column or code a row. */
  get understood(): Table {
    return new Table(
      'What was understood',
      [
        { key: 'what', label: 'in the sheet', kind: 'text' },
        { key: 'meaning', label: 'it means', kind: 'text' },
      ],
      this.sentences.map((sentence) => {
        const [, what, meaning] = /^([^:]{1,160}): (.+)$/.exec(sentence) ?? [];
        return what === undefined || meaning === undefined || /^\d+\.$/.test(meaning)
          ? { what: '', meaning: sentence }
          : { what, meaning };
      }),
    );
  }

  /** What the sheet cannot tell, in the order of the questions: wordings first, ids behind them. */
  get asked(): Table {
    return new Table(
      'To ask whoever filled in the sheet',
      [
        { key: 'question', label: 'question', kind: 'text' },
        { key: 'choices', label: 'choose from', kind: 'text' },
        { key: 'needed', label: 'before loading', kind: 'text' },
        { key: 'answer', label: 'the answer goes into', kind: 'text' },
      ],
      this.questions.map(({ question, choices, answer, isNeeded }) => ({
        question,
        choices: choices.map((choice) => choice.replace(/^([^:]+): (.+)$/, '$2 ($1)')).join('; '),
        needed: isNeeded ? 'needed' : 'can wait',
        answer,
      })),
    );
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

/** A count with its noun. */
export function plural(count: number, one: string, many: string): string {
  return count === 1 ? `1 ${one}` : `${formatCount(count)} ${many}`;
}
