import { describe, expect, test } from 'vitest';
import { minimize, numericalGradient } from '../../src/models/optimize.ts';
import { howMinimumEnded, positionModelFit } from '../../src/models/position-model-fit.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import { simulateStudy, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { GRADES, TWO_READERS } from '../support/invented-readers.ts';
import { logPriors, secondFormula, withGaps } from '../support/reading-likelihood.ts';

const data = withGaps(simulateStudy('continuum', THREE_READERS, 40, seededRandom(17)));
const patterns = readingPatterns(data, GRADES);

describe('positionModelFit', () => {
  const fit = positionModelFit(patterns);

  test('its likelihood and priors are those of a second formula', () => {
    expect(fit.converged).toBe(true);
    expectNear(fit.logLikelihood, secondFormula(data, fit.reading, 'normal'), 1e-9);
    expectNear(fit.penalty, logPriors(fit.reading), 1e-12);
  });

  test('no parameter can be moved to raise it, by the second formula', () => {
    const at = (p: Float64Array): number => {
      const reading = {
        cuts: p.subarray(0, 4),
        tendencies: [p[4] as number, p[5] as number, -(p[4] as number) - (p[5] as number)],
        spreads: p.subarray(6, 9).map(Math.exp),
        slip: 1 / (1 + Math.exp(-(p[9] as number))),
      };
      return secondFormula(data, reading, 'normal') + logPriors(reading);
    };
    const { cuts, tendencies, spreads, slip } = fit.reading;
    const point = Float64Array.from([
      ...Array.from(cuts),
      tendencies[0] as number,
      tendencies[1] as number,
      ...Array.from(spreads, Math.log),
      Math.log(slip / (1 - slip)),
    ]);
    for (const slope of numericalGradient(at, point)) expect(Math.abs(slope)).toBeLessThan(1e-5);
  });

  test('recovers what a large study was simulated from, within four standard errors', () => {
    const large = positionModelFit(
      readingPatterns(simulateStudy('continuum', THREE_READERS, 500, seededRandom(5)), GRADES),
    );
    // Sites of one patient are correlated, so the working standard errors are too small by up to about √1.5 here.
    const within = (found: { value: number; standardError: number }, truth: number): void => {
      expect(found.standardError).toBeLessThan(0.06);
      expect(Math.abs(found.value - truth)).toBeLessThan(4 * 1.3 * found.standardError);
    };
    // Tendencies are pinned by their sum; the truth's add up to 0.
    large.tendencies.forEach((found, a) => {
      within(found, THREE_READERS.tendencies[a] as number);
    });
    large.spreads.forEach((found, a) => {
      within(found, THREE_READERS.spreads[a] as number);
    });
    large.cuts.forEach((found, k) => {
      within(found, THREE_READERS.cuts[k] as number);
    });
    within(large.slip, THREE_READERS.slip);
    expect(large.notes).toEqual([]);
    expectNear(
      large.gradeShares.reduce((sum, share) => sum + share, 0),
      1,
      1e-12,
    );
  });

  test('two assessors: a common spread only', () => {
    const two = readingPatterns(simulateStudy('continuum', TWO_READERS, 60, seededRandom(9)), GRADES);
    const found = positionModelFit(two);
    expect(found.converged).toBe(true);
    expect(found.reading.spreads[0]).toBe(found.reading.spreads[1]);
    expect(found.assumed.join(' ')).toContain('common spread');
    expect(() => positionModelFit(two, { spreads: 'each reader' })).toThrow('do not show whose readings scatter more');
  });

  test('says what the study lacks', () => {
    const few = positionModelFit(
      readingPatterns(simulateStudy('continuum', THREE_READERS, 12, seededRandom(2)), GRADES),
    );
    expect(few.notes.map(({ code }) => code)).toContain('few-patients');
    const single = { target: [1, 2, 3], reader: [0, 1, 2], category: [0, 1, 2] };
    expect(() => positionModelFit(readingPatterns(single, 4))).toThrow(/read twice[\s\S]*Grade 3 was never written/);
    const apart = {
      target: [0, 0, 1, 1, 2, 2, 3, 3, 4, 4],
      reader: [0, 1, 0, 1, 2, 2, 2, 2, 0, 1],
      category: [0, 0, 1, 1, 0, 0, 1, 1, 1, 0],
    };
    expect(positionModelFit(readingPatterns(apart, 2)).notes.map(({ code }) => code)).toContain('unconnected-readers');
  });

  test('a scale turned around turns the fit around', () => {
    const turned = positionModelFit(
      readingPatterns({ ...data, category: Array.from(data.category, (k) => GRADES - 1 - k) }, GRADES),
    );
    expectNear(turned.logLikelihood, fit.logLikelihood, 1e-8);
    fit.tendencies.forEach(({ value }, a) => {
      expect(turned.tendencies[a]?.value).toBeCloseTo(-value, 5);
    });
    fit.cuts.forEach(({ value }, k) => {
      expect(turned.cuts[GRADES - 2 - k]?.value).toBeCloseTo(-value, 5);
    });
  });
});

describe('howMinimumEnded', () => {
  const found = minimize({ value: (x) => (x[0]! - 2) ** 2 }, [0]);

  test('says of each end what it was', () => {
    expect(found.converged).toBe(true);
    expect(howMinimumEnded(found)).toMatch(/^The largest slope is .*, the curvature is that of a maximum/);
    expect(howMinimumEnded({ ...found, hessianPositiveDefinite: undefined })).toMatch(/^The largest slope is [^,]*$/);
    const not = { ...found, converged: false, iterations: 17 };
    expect(howMinimumEnded({ ...not, stoppedBy: 'iteration-limit' })).toMatch(/limit of 17 steps/);
    expect(howMinimumEnded({ ...not, stoppedBy: 'bad-start' })).toMatch(/not finite at the start/);
    expect(howMinimumEnded({ ...not, stoppedBy: 'no-progress' })).toMatch(/do not determine every parameter/);
  });
});
