import { type AssessmentSource, loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { LoadOptions } from '../../src/assessments/load-options.ts';
import { InputError, type Problem } from '../../src/shared/input-error.ts';

/** What a source is refused for. */
export async function problemsOf(source: AssessmentSource, options?: LoadOptions): Promise<readonly Problem[]> {
  try {
    await loadAssessments(source, options);
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  throw new Error('was not refused');
}

/** Row, column and code of each problem in a line. */
export async function refusalsOf(source: AssessmentSource, options?: LoadOptions): Promise<readonly string[]> {
  return (await problemsOf(source, options)).map(({ row, column, code }) => `${row ?? '-'} ${column ?? '-'} ${code}`);
}
