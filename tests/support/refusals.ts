import { expect, it } from 'vitest';
import { InputError } from '../../src/shared/input-error.ts';

/** One test for each call that must be refused, by the code of its first problem. */
export function refuses(refused: readonly (readonly [what: string, call: () => unknown, code: string])[]): void {
  for (const [what, call, code] of refused)
    it(`refuses ${what}`, () => {
      try {
        call();
        expect.unreachable('nothing was refused');
      } catch (error) {
        expect(error).toBeInstanceOf(InputError);
        expect((error as InputError).problems[0]?.code).toBe(code);
      }
    });
}
