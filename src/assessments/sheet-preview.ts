import { formatCount } from '../shared/table.js';
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
