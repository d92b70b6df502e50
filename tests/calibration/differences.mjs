// How often do the tests of a difference find one between assessors who read alike, and between two halves of the same limbs?
import { fromSource } from './from-source.mjs';

const { simulateReadings } = await fromSource('planning/simulate-readings.ts');
const { compareAgreement } = await fromSource('agreement/compare-agreement.ts');
const { mcnemarTest } = await fromSource('agreement/mcnemar-test.ts');
const { bowkerTest } = await fromSource('agreement/bowker-test.ts');
const { stuartMaxwellTest } = await fromSource('agreement/stuart-maxwell-test.ts');
const { bhapkarTest } = await fromSource('agreement/bhapkar-test.ts');

export const TESTS = ['McNemar', 'McNemar mid-p', 'Bowker', 'Stuart–Maxwell', 'Bhapkar', 'two halves of the limbs'];
const SHARES = { even: [0.2, 0.2, 0.2, 0.2, 0.2], 'rare low': [0.02, 0.03, 0.05, 0.3, 0.6] };

export const cells = [12, 20, 30, 60].flatMap((patients) =>
  [
    { limbs: 2, sites: 1 },
    { limbs: 2, sites: 7 },
  ].flatMap((layout) =>
    Object.keys(SHARES).flatMap((grades) =>
      [0.1, 0.6].map((correlation) => ({ patients, ...layout, grades, correlation, readingSpread: 0.5 })),
    ),
  ),
);
export const studies = 4000;

export async function run(cell, count) {
  const { patients, limbs, sites, grades, correlation, readingSpread } = cell;
  const found = TESTS.map(() => 0);
  const defined = TESTS.map(() => 0);
  const assumptions = {
    shares: SHARES[grades],
    readingSpread,
    assessorSpread: 0,
    patientShare: correlation,
    limbShare: 0.1,
  };
  const plain = { interval: 'cluster-robust' };
  for (let study = 0; study < count; study++) {
    const ratings = simulateReadings(
      { patients, limbs, sites, assessors: 2, gaps: 0 },
      assumptions,
      20260301 + 1_000_000 * cells.indexOf(cell),
      study,
    );
    const highest = SHARES[grades].length - 1;
    [
      mcnemarTest(ratings, { category: highest, ...plain }).pValue,
      mcnemarTest(ratings, { category: highest, method: 'mid-p', ...plain }).pValue,
      bowkerTest(ratings, plain).pValue,
      stuartMaxwellTest(ratings, plain).pValue,
      bhapkarTest(ratings, plain).pValue,
      compareAgreement(
        [0, 1].map((half) => ({ label: `${half}`, ratings, targets: (target) => target % 2 === half })),
        { coefficient: 'cohen-kappa', weights: 'quadratic' },
      ).contrasts[0].result.pValue,
    ].forEach((pValue, at) => {
      if (Number.isNaN(pValue)) return;
      defined[at]++;
      if (pValue < 0.05) found[at]++;
    });
  }
  return { ...cell, studies: count, found, defined };
}
