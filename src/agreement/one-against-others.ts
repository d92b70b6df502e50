import { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';

/** The same readings with two categories: the one asked for (score 1) and "other" (score 0). */
export function oneAgainstOthers(ratings: Ratings, code: number): Ratings {
  const { value, words } = ratings.categories[code]!;
  return new Ratings({
    level: 'nominal',
    categories: [
      { value: `not ${value}`, words: `other than ${words}`, score: 0 },
      { value, words, score: 1 },
    ],
    assessors: ratings.assessors,
    codes: ratings.codes.map((reading) => (reading < 0 ? -1 : reading === code ? 1 : 0)),
    numbers: ratings.numbers.map((_, at) => {
      const reading = ratings.codes[at]!;
      return reading < 0 ? Number.NaN : reading === code ? 1 : 0;
    }),
    targets: ratings.targets,
    columns: ratings.columns,
    clusterOf: ratings.clusterOf,
    clusters: ratings.clusters,
    clustersKnown: ratings.clustersKnown,
    ...(ratings.subject === undefined ? {} : { subject: ratings.subject }),
    attributes: ratings.attributes,
  });
}

/** The code of the category asked for, or the second of two; throws `category-needed` or `unknown-category`. */
export function oneCategory(pair: Ratings, category: string | number | undefined, caller: string): number {
  if (category === undefined && pair.categories.length === 2) return 1;
  const code = pair.categories.findIndex(({ value }) => value === category);
  if (code >= 0) return code;
  const known = pair.categories.map(({ value }) => value).join(', ');
  throw category === undefined
    ? refuse(
        'category-needed',
        ['options', 'category'],
        `${caller} sets one category against the others; the scale has ${pair.categories.length}.`,
        `name one of ${known}.`,
      )
    : refuse('unknown-category', ['options', 'category'], `No category has that value; there are ${known}.`);
}
