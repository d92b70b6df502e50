import { InputError } from '../../src/shared/input-error.ts';

/** Code and place of each problem that a call is refused for, in a line. */
export function problemsIn(call: () => unknown): readonly string[] {
  try {
    call();
  } catch (error) {
    if (error instanceof InputError) return error.problems.map(({ code, path }) => `${code} ${(path ?? []).join('.')}`);
    throw error;
  }
  throw new Error('was not refused');
}
