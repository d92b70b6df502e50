import { Ratings } from '../ratings/ratings.js';

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
