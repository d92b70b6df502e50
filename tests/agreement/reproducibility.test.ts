import { expect, it } from 'vitest';
import { repeatability } from '../../src/agreement/repeatability.ts';
import { reproducibility } from '../../src/agreement/reproducibility.ts';
import { smallestDetectableChange } from '../../src/agreement/smallest-detectable-change.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { withRepeats } from '../support/with-repeats.ts';

for (const one of publishedCases('agreement', /^sem-mdc-sf1979$/))
  it(`${one.id}: ${one.source}`, () => {
    const estimate = reproducibility(ratingsOfCase(one));
    expectNear(estimate.value, one.expected.mdc95Agreement, one.tolerance);
    expectNear(estimate.details.acrossAssessors!, one.expected.semAgreement, one.tolerance);
    expect(estimate.value).toBe(smallestDetectableChange(ratingsOfCase(one)).value);
  });

it('is larger than repeatability where assessors have habits', () => {
  const ratings = withRepeats([
    [
      [4, 5],
      [6, 7],
    ],
    [
      [7, 7],
      [10, 9],
    ],
    [
      [1, 2],
      [4, 4],
    ],
  ]);
  expect(reproducibility(ratings).value).toBeGreaterThan(repeatability(ratings).value);
});

it('is not defined where no finding was read by two', () => {
  expect(reproducibility(ratingsOf([[1, null]])).value).toBeNaN();
});

it('is 1.96·√2 of the error across assessors', () => {
  const ratings = ratingsOf([
    [494, 490],
    [395, 397],
    [516, 512],
  ]);
  const made = reproducibility(ratings);
  expectNear(made.details.acrossAssessors!, Math.sqrt(36 / 6), 1e-12);
  expectNear(made.value, 1.959963984540054 * Math.SQRT2 * Math.sqrt(36 / 6), 1e-12);
  expect(made.statistic).toBe('reproducibility');
  expect(made.options.assessor).toBe('different');
});
