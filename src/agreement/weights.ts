import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { type InputError, refuse } from '../shared/input-error.js';
import { checkChoice } from '../shared/options.js';

/** Named agreement weights, or a table of one's own (q × q, 1 on the diagonal, in the order of the categories). */
export type Weights = 'identity' | 'linear' | 'quadratic' | 'ordinal' | 'radical' | readonly (readonly number[])[];

const NAMES = ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const;

/**
 * Agreement weights w(i, j): 1 for the same category, less the further apart.
 *
 * With scores s of the scale (not positions of the categories in use) and R = largest − smallest score:
 * identity 1 if i = j else 0; linear 1 − |sᵢ − sⱼ| / R; quadratic 1 − (sᵢ − sⱼ)² / R²;
 * radical 1 − √(|sᵢ − sⱼ| / R); ordinal 1 − C(|i − j| + 1, 2) / C(q, 2), by position.
 *
 * @returns q × q, row by row.
 * @throws InputError `unknown-choice`; `bad-weights` for a table that is not q × q, not symmetric, not 1 on
 * the diagonal or outside 0 … 1; `level-not-suited` for graded weights on a nominal sign.
 * Source: Cohen J. Psychol Bull 1968;70:213–220, doi:10.1037/h0026256 (linear, quadratic); Gwet KL. Handbook of
 * Inter-Rater Reliability (ordinal, radical; the book from memory).
 */
export function agreementWeights(ratings: Ratings, weights: Weights): Float64Array {
  if (typeof weights !== 'string') return ownWeights(weights, ratings.categories.length);
  const name = checkChoice('weights', weights, NAMES);
  if (name !== 'identity' && ratings.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['options', 'weights'],
      `The categories of ${ratings.subject?.signLabel ?? 'this sign'} have no order, so "${name}" weights do not suit them.`,
      'use weights: "identity", or give a table of weights.',
    );
  return namedWeights(ratings.categories, name);
}

function namedWeights(categories: readonly RatingCategory[], name: (typeof NAMES)[number]): Float64Array {
  const size = categories.length;
  const scores = categories.map((category) => category.score);
  const range = Math.max(...scores) - Math.min(...scores);
  const table = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) {
      const apart = range === 0 ? 0 : Math.abs(scores[i]! - scores[j]!) / range;
      const steps = Math.abs(i - j);
      table[i * size + j] =
        i === j
          ? 1
          : name === 'identity'
            ? 0
            : name === 'linear'
              ? 1 - apart
              : name === 'quadratic'
                ? 1 - apart * apart
                : name === 'radical'
                  ? 1 - Math.sqrt(apart)
                  : 1 - ((steps + 1) * steps) / (size * (size - 1));
    }
  }
  return table;
}

function ownWeights(weights: readonly (readonly number[])[], size: number): Float64Array {
  const bad = (message: string): InputError =>
    refuse(
      'bad-weights',
      ['options', 'weights'],
      message,
      `give ${size} rows of ${size} agreement weights from 0 to 1, in the order of the categories, 1 on the diagonal.`,
    );
  if (weights.length !== size || weights.some((row) => row.length !== size))
    throw bad('The table of weights is not square in the categories.');
  const table = new Float64Array(weights.flat());
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) {
      const weight = table[i * size + j]!;
      if (!(weight >= 0 && weight <= 1)) throw bad(`The weight in row ${i + 1}, column ${j + 1} is ${weight}.`);
      if (i === j && weight !== 1) throw bad(`The weight of the same category (row ${i + 1}) is ${weight}, not 1.`);
      if (weight !== table[j * size + i])
        throw bad(`The weights of row ${i + 1}, column ${j + 1} and its mirror differ.`);
    }
  }
  return table;
}

/** 1 − w: sums of disagreements lose no digits where nearly all agree, as 1 less a sum of agreements would. */
export function disagreements(weights: Float64Array): Float64Array {
  return weights.map((weight) => 1 - weight);
}

/** The weights as an option to print: the name, or "own table". */
export function weightsName(weights: Weights): string {
  return typeof weights === 'string' ? weights : 'own table';
}
