import { expect, it } from 'vitest';
import { compareAgreement } from '../../src/agreement/compare-agreement.ts';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { latentClassErrorRates } from '../../src/agreement/latent-class-error-rates.ts';
import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { marginalShift } from '../../src/agreement/marginal-shift.ts';
import { pairwiseAgreement } from '../../src/agreement/pairwise-agreement.ts';
import { releasedCrossTable } from '../../src/agreement/released-cross-table.ts';
import { specificAgreement } from '../../src/agreement/specific-agreement.ts';
import { varianceComponents } from '../../src/agreement/variance-components.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

const rows = Array.from({ length: 24 }, (_, at) => [
  at % 3,
  (at + (at % 5 === 0 ? 1 : 0)) % 3,
  (at + (at % 7 === 0 ? 1 : 0)) % 3,
]);
const three = ratingsOf(rows, { categories: [0, 1, 2] });
const two = three.ofAssessors('1', '2');

it('no result can be changed once it is made, nor what it counts, was asked for and says', async () => {
  const results: readonly object[] = [
    compareAgreement([
      { label: 'a', ratings: two },
      { label: 'b', ratings: three.ofAssessors('1', '3') },
    ]),
    await latentClassErrorRates(three, { starts: 0, replicates: 0 }),
    limitsOfAgreement(two),
    marginalShift(two),
    pairwiseAgreement(three),
    releasedCrossTable(crossTable(two), { audience: 'own' }),
    specificAgreement(three),
    varianceComponents(three),
  ];
  for (const result of results) {
    expect(Object.isFrozen(result), result.constructor.name).toBe(true);
    for (const key of ['counts', 'options', 'details'])
      if (key in result && !(result.constructor === Object))
        expect(Object.isFrozen((result as Record<string, unknown>)[key]), `${result.constructor.name} ${key}`).toBe(
          true,
        );
  }
});
