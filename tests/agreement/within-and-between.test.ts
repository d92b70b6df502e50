import { expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { congerKappa } from '../../src/agreement/conger-kappa.ts';
import { withinAndBetween } from '../../src/agreement/within-and-between.ts';
import { Ratings, type RepeatReading } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { refuses } from '../support/refusals.ts';

const random = seededRandom(4);
const truths = Array.from({ length: 90 }, () => random.below(4));
/** Assessors differ among themselves, but each repeats his or her own reading nearly always. */
const rows = truths.map((truth) => [0, 1, 2].map((bias) => Math.min(3, truth + Number(random.uniform() < bias / 3))));
const repeats: RepeatReading[] = rows.flatMap((row, target) =>
  target % 4 === 3
    ? []
    : row.map((code, assessor) => {
        const again = random.uniform() < 0.1 ? random.below(4) : code;
        return { target, assessor, replicate: 2, code: again, number: again };
      }),
);
const { subject: _none, ...rest } = ratingsOf(rows, {
  categories: [0, 1, 2, 3],
  // Patients in an order in which the repeats meet them differently.
  clusters: rows.map((_, at) => (at * 7) % 15),
});
const ratings = new Ratings({ ...rest, repeats });

it('sets the same assessor twice against two assessors', () => {
  const { within, between, difference } = withinAndBetween(ratings, { weights: 'quadratic' });
  expect(within.value).toBeCloseTo(cohenKappa(ratings.withinAssessors(), { weights: 'quadratic' }).value, 12);
  expect(between.value).toBeCloseTo(congerKappa(ratings, { weights: 'quadratic' }).value, 12);
  expect(difference.effect.value).toBeCloseTo(within.value - between.value, 12);
  expect(difference.effect.name).toBe('within assessors minus between assessors');
});

it('knows that both rest on the same patients (second way: leave a patient out of both)', () => {
  const { difference } = withinAndBetween(ratings, { coefficient: 'gwet-agreement' });
  const values = Array.from({ length: 15 }, (_, patient) => {
    const rest = ratings.ofTargets((target) => ratings.clusterOf[target] !== patient);
    return withinAndBetween(rest, { coefficient: 'gwet-agreement' }).difference.effect.value;
  });
  const mean = values.reduce((sum, value) => sum + value, 0) / 15;
  const variance = (14 / 15) * values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  expect(difference.details.standardError).toBeCloseTo(Math.sqrt(variance), 10);
});

refuses([['ratings without repeats', () => withinAndBetween(ratingsOf([[0, 1]])), 'repeats-needed']]);

it('the options reach the comparison, and both estimates are the coefficient’s own', () => {
  const { within, between, difference } = withinAndBetween(ratings, {
    coefficient: 'fleiss-kappa',
    weights: 'linear',
    confidenceLevel: 0.8,
    interval: 'asymptotic',
  });
  expect([within.statistic, between.statistic]).toEqual(new Array(2).fill('Fleiss kappa, linear weights'));
  expect(difference.effect.interval).toMatchObject({ level: 0.8, method: 'asymptotic, patients as independent' });
  expect(within.counts).toMatchObject({ targets: repeats.length, assessors: 3, excluded: 0 });
  expect(between.counts).toMatchObject({ targets: 90, clusters: 15, assessors: 3 });
});
