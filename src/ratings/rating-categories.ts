import { ruleOfValue } from '../assessments/identifier-guard.js';
import type { Problem } from '../shared/input-error.js';
import type { RatingCategory } from './ratings.js';

/** A category as a caller gives it: a value alone, or with words and the score that weights are taken on. */
export type CategoryInput =
  | string
  | number
  | { readonly value: string | number; readonly words?: string; readonly score?: number };

/**
 * Categories in the order given. The score of a number is the number itself, of a word its position,
 * unless stated. Adds to `problems` for doubles and for numbers that are not finite.
 */
export function categoriesOf(inputs: readonly CategoryInput[], problems: Problem[]): RatingCategory[] {
  const seen = new Set<string | number>();
  return inputs.map((input, position) => {
    const given = typeof input === 'object' ? input : { value: input };
    const { value } = given;
    if (typeof value === 'number' && !Number.isFinite(value))
      problems.push({
        code: 'bad-category',
        path: ['options', 'categories', position],
        message: `A category is ${value}.`,
        expected: 'a finite number or a word',
      });
    if (seen.has(value))
      problems.push({
        code: 'double-category',
        path: ['options', 'categories', position],
        message: `The category ${shownReading(value)} stands twice.`,
      });
    seen.add(value);
    return {
      value,
      words: given.words ?? String(value),
      score: given.score ?? (typeof value === 'number' ? value : position),
    };
  });
}

/** A reading or category as a message may say it: readings may come from a mistaken column. */
export function shownReading(value: string | number): string {
  const text = String(value);
  return text.length > 24 || ruleOfValue(text, true) !== undefined ? '(not shown)' : JSON.stringify(value);
}

/** The distinct values among readings, numbers ascending before words in order of the alphabet. */
export function observedCategories(values: Iterable<string | number>): RatingCategory[] {
  const distinct = [...new Set(values)];
  const numbers = distinct.filter((value) => typeof value === 'number').sort((a, b) => a - b);
  const words = distinct.filter((value) => typeof value === 'string').sort();
  return [...numbers, ...words].map((value, position) => ({
    value,
    words: String(value),
    score: typeof value === 'number' ? value : position,
  }));
}
