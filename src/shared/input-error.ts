/**
 * One thing that is wrong with an input: what it is, where it stands and how to mend it.
 * `row` counts as the spreadsheet does (the header is row 1); `path` locates the fault in an
 * argument or option. A value from a column that could identify a person is never quoted.
 */
export interface Problem {
  readonly code: string;
  readonly message: string;
  readonly row?: number;
  readonly column?: string;
  readonly path?: readonly (string | number)[];
  readonly expected?: string;
  readonly mend?: string;
}

/** How many problems the error's text shows; `problems` always holds every one. */
const SHOWN = 20;

/**
 * Thrown when an input is refused. Carries every problem found, not only the first, as data in
 * `problems`; the message lists the first twenty and says how many more there are.
 */
export class InputError extends Error {
  override readonly name = 'InputError';
  readonly problems: readonly Problem[];

  constructor(problems: readonly Problem[], heading?: string) {
    super(textOf(problems, heading));
    this.problems = Object.freeze([...problems]);
  }
}

/** An `InputError` for one wrong argument or option, as `path` names it. */
export function refuse(code: string, path: readonly (string | number)[], message: string, mend?: string): InputError {
  return new InputError([{ code, path, message, ...(mend === undefined ? {} : { mend }) }]);
}

function textOf(problems: readonly Problem[], heading = headingFor(problems.length)): string {
  const lines = problems.slice(0, SHOWN).map((problem) => `  ${problemSentence(problem)}`);
  const rest = problems.length - SHOWN;
  if (rest > 0) lines.push(`  … and ${rest} more, all in error.problems`);
  return [heading, ...lines].join('\n');
}

function headingFor(count: number): string {
  return count === 1 ? 'The input has a problem:' : `The input has ${count} problems:`;
}

/** A problem in one line: where it is, what it is, what was expected and how to mend it. */
export function problemSentence(problem: Problem): string {
  const place = [
    problem.row === undefined ? undefined : `row ${problem.row}`,
    problem.column === undefined ? undefined : `column "${problem.column}"`,
    problem.path === undefined || problem.path.length === 0 ? undefined : problem.path.join('.'),
  ].filter((part) => part !== undefined);
  const where = place.length === 0 ? '' : `${place.join(', ')}: `;
  const expected = problem.expected === undefined ? '' : ` Expected ${problem.expected}.`;
  const mend = problem.mend === undefined ? '' : ` To mend it: ${problem.mend}`;
  return `${where}${problem.message}${expected}${mend}`;
}
