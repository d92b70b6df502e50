import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { allChecks } from './checks.mjs';
import { digitsOf } from './digits.mjs';
import * as library from './library.ts';

/**
 * By statistic: the digits that are right, and figures in 30 digits by the name of the check. Computed with 50 digits by the
 * Python files beside this one; `npm run accuracy` writes them anew.
 */
type ExactValues = Record<string, { digits: number; checks: Record<string, Record<string, string>> }>;

interface Check {
  readonly statistic: string;
  readonly words: string;
  readonly file: string;
  ours(): Record<string, number> | Promise<Record<string, number>>;
}

const exact = JSON.parse(readFileSync(new URL('exact-values.json', import.meta.url), 'utf8')) as ExactValues;
const checks = new Map(
  (allChecks(library) as Check[])
    .filter(({ file }) => file.endsWith('.py'))
    .map((check) => [`${check.statistic}, ${check.words}`, check]),
);

describe('every statistic keeps the digits stated in DEVELOPERS.md', () => {
  for (const [statistic, { digits, checks: own }] of Object.entries(exact))
    it(statistic, async () => {
      for (const [words, values] of Object.entries(own)) {
        const check = checks.get(`${statistic}, ${words}`);
        if (check === undefined) throw new Error(`There is no check "${words}" of ${statistic}: run npm run accuracy.`);
        const ours = await check.ours();
        for (const [figure, text] of Object.entries(values))
          expect(
            digitsOf(ours[figure], text),
            `${words}, ${figure}: ${ours[figure]}, exactly ${text}`,
          ).toBeGreaterThanOrEqual(digits);
      }
    });
});
