import { expect, it } from 'vitest';
import { clusterSums } from '../../src/agreement/coefficient.ts';
import { cohenKappa, kappaCoefficient } from '../../src/agreement/cohen-kappa.ts';
import { replicateStatistics } from '../../src/agreement/interval.ts';
import { agreementWeights } from '../../src/agreement/weights.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';

// The studentized bootstrap once more, slowly and on rows: patients drawn by the same numbers, kappa by its definition from a table of the drawn rows,
// the error of each sample by leaving out one drawn patient after another.
it('gives the statistics that a bootstrap on rows gives', () => {
  const random = seededRandom(17);
  const clusters = 9;
  const rows: [number, number][] = [];
  const patientOf: number[] = [];
  for (let patient = 0; patient < clusters; patient++)
    for (let limb = 0; limb < 2 + random.below(4); limb++) {
      const truth = random.below(4);
      rows.push([truth, Math.max(0, Math.min(3, truth + random.below(3) - 1))]);
      patientOf.push(patient);
    }
  const ratings = ratingsOf(rows, { clusters: patientOf, categories: [0, 1, 2, 3] });
  const weights = agreementWeights(ratings, 'linear');
  const coefficient = kappaCoefficient(ratings, weights, 'linear');
  const found = replicateStatistics(
    coefficient,
    clusterSums(ratings, coefficient),
    { replicates: 40, seed: 5 },
    cohenKappa(ratings, { weights: 'linear' }),
  );

  const kappaOf = (drawn: readonly number[]): number => {
    const sample = drawn.flatMap((patient) => rows.filter((_, at) => patientOf[at] === patient));
    const n = sample.length;
    const weight = (a: number, b: number): number => 1 - Math.abs(a - b) / 3;
    const observed = sample.reduce((sum, [a, b]) => sum + weight(a, b), 0) / n;
    let expected = 0;
    for (const [a] of sample) for (const [, b] of sample) expected += weight(a, b) / (n * n);
    return (observed - expected) / (1 - expected);
  };
  const all = kappaOf(Array.from({ length: clusters }, (_, patient) => patient));
  const source = seededRandom(5, 0);
  const slowly = Array.from({ length: 40 }, () => {
    const drawn = Array.from({ length: clusters }, () => source.below(clusters));
    const theta = kappaOf(drawn);
    const without = drawn.map((_, out) => kappaOf(drawn.filter((_unused, at) => at !== out)));
    const mean = without.reduce((sum, value) => sum + value, 0) / clusters;
    const error = Math.sqrt(((clusters - 1) / clusters) * without.reduce((sum, value) => sum + (value - mean) ** 2, 0));
    return (Math.atanh(theta) - Math.atanh(all)) / (error / (1 - theta * theta));
  });
  expect(found).toHaveLength(40);
  slowly.forEach((t, at) => expect(found[at]! / t).toBeCloseTo(1, 9));
});
