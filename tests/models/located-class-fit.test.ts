import { describe, expect, test } from 'vitest';
import { locatedClassFit } from '../../src/models/located-class-fit.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { positionModelFit } from '../../src/models/position-model-fit.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import type { ReadingParameters } from '../../src/models/reading-probabilities.ts';
import { simulateStudy, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { GRADES, TWO_READERS } from '../support/invented-readers.ts';
import { secondFormula, withGaps } from '../support/reading-likelihood.ts';

const data = withGaps(simulateStudy('continuum', THREE_READERS, 40, seededRandom(17)));
const patterns = readingPatterns(data, GRADES);

describe('locatedClassFit', () => {
  const continuum = positionModelFit(patterns);
  const fit = locatedClassFit(patterns, { scale: continuum.reading });

  test('its likelihood is that of a second formula, and no share or location can be moved to raise it', () => {
    expect(fit.converged).toBe(true);
    expectNear(
      fit.logLikelihood,
      secondFormula(data, fit.reading, { at: [...fit.locations], share: [...fit.shares] }),
      1e-11,
    );
    const at = (p: Float64Array): number => {
      const steps = Array.from(p.subarray(1, 5), Math.exp);
      const locations = [p[0] as number];
      for (const step of steps) locations.push((locations.at(-1) as number) + step);
      const odds = [1, ...Array.from(p.subarray(5, 9), Math.exp)];
      const total = odds.reduce((sum, own) => sum + own, 0);
      const share = odds.map((own) => own / total);
      return (
        secondFormula(data, fit.reading, { at: locations, share }) +
        steps.reduce((sum, step) => sum - Math.log(step / 0.7) ** 2 / 2, 0) +
        share.reduce((sum, own) => sum + 0.5 * Math.log(own), 0)
      );
    };
    const point = Float64Array.from([
      fit.locations[0] as number,
      ...fit.locations.slice(1).map((location, g) => Math.log(location - (fit.locations[g] as number))),
      ...fit.shares.slice(1).map((share) => Math.log(share / (fit.shares[0] as number))),
    ]);
    for (const slope of numericalGradient(at, point)) expect(Math.abs(slope)).toBeLessThan(1e-4);
  });

  test('keeps the scale of the continuum', () => {
    expect(fit.reading.cuts[0]).toBe(continuum.reading.cuts[0]);
    const meanLog = (reading: ReadingParameters): number =>
      Array.from(reading.spreads).reduce((sum, spread) => sum + Math.log(spread), 0) / 3;
    expectNear(meanLog(fit.reading), meanLog(continuum.reading), 1e-12);
  });

  test('recovers shares of classes and tendencies from a large study in classes', () => {
    const large = readingPatterns(simulateStudy('classes', THREE_READERS, 500, seededRandom(6)), GRADES);
    const found = locatedClassFit(large, { scale: positionModelFit(large).reading });
    expect(found.converged).toBe(true);
    // 2,000 targets in patients of 4: the standard error of a share is about .012.
    [0.08, 0.18, 0.26, 0.32, 0.16].forEach((share, g) => {
      expect(Math.abs((found.shares[g] as number) - share)).toBeLessThan(0.05);
    });
    // The scale is the continuum's, so tendencies are compared by their ratio to the mean spread.
    const ratio = (reading: ReadingParameters, a: number): number =>
      (reading.tendencies[a] as number) /
      Math.exp(Array.from(reading.spreads).reduce((sum, spread) => sum + Math.log(spread), 0) / 3);
    for (let a = 0; a < 3; a++) expect(Math.abs(ratio(found.reading, a) - ratio(THREE_READERS, a))).toBeLessThan(0.12);
  });

  test('a common spread for two assessors', () => {
    const two = readingPatterns(simulateStudy('classes', TWO_READERS, 60, seededRandom(9)), GRADES);
    const scale = positionModelFit(two).reading;
    const found = locatedClassFit(two, { scale });
    expect(found.converged).toBe(true);
    expectNear(found.reading.spreads[0] as number, scale.spreads[0] as number, 1e-12);
  });
});
