import { describe, expect, test } from 'vitest';
import { minimize, numericalGradient } from '../../src/models/optimize.ts';
import { checkStudy, howMinimumEnded, positionModelFit, studyNotes } from '../../src/models/position-model-fit.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import { simulateStudy, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { normal } from '../../src/shared/distributions.ts';
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

  test('counts, grade shares and limits of the fit', () => {
    expect(fit.counts).toEqual({
      clusters: new Set(Array.from(data.cluster as ArrayLike<number>)).size,
      targets: new Set(Array.from(data.target)).size,
      readers: 3,
      readings: data.target.length,
      patterns: patterns.patterns.length,
    });
    const { cuts } = fit.reading;
    for (let g = 0; g < GRADES; g++) {
      const upper = g === GRADES - 1 ? 1 : normal.cdf(cuts[g] as number);
      const lower = g === 0 ? 0 : normal.cdf(cuts[g - 1] as number);
      expectNear(fit.gradeShares[g] as number, upper - lower, 1e-12);
    }
    const z = normal.quantile(0.75);
    const half = positionModelFit(patterns, { confidenceLevel: 0.5, start: fit.reading });
    half.cuts.forEach(({ value, standardError, lower, upper }, k) => {
      expectNear(value, half.reading.cuts[k] as number, 1e-14);
      expectNear(upper - value, z * standardError, 1e-9);
      expectNear(value - lower, z * standardError, 1e-9);
      expectNear(standardError, fit.cuts[k]?.standardError as number, 1e-5);
    });
    half.spreads.forEach(({ value, standardError, upper }) => {
      expectNear(Math.log(upper / value), (z * standardError) / value, 1e-8);
    });
    expectNear(
      Math.log(half.slip.upper / (1 - half.slip.upper)) - Math.log(half.slip.value / (1 - half.slip.value)),
      (z * half.slip.standardError) / (half.slip.value * (1 - half.slip.value)),
      1e-7,
    );
    const nowhere = { ...fit.reading, tendencies: Array.from(fit.reading.tendencies, () => Number.NaN) };
    expect(positionModelFit(patterns, { start: nowhere }).how).toBe('The log-likelihood is not finite at the start.');
  });

  test('the point alone has no limits; counts of a resample and other priors are used', () => {
    const point = positionModelFit(patterns, { pointOnly: true });
    expectNear(point.logLikelihood + point.penalty, fit.logLikelihood + fit.penalty, 1e-8);
    for (const own of [...point.cuts, ...point.tendencies, ...point.spreads, point.slip]) {
      expect(own.standardError).toBeNaN();
      expect(own.lower).toBeNaN();
      expect(own.upper).toBeNaN();
    }
    expect(point.notes.filter(({ code }) => code === 'leans-on-prior')).toEqual([]);
    const counts = patterns.counts.map((count, p) => (p % 3 === 0 ? 0 : 2 * count));
    const kept = new Set(Array.from(patterns.counts.keys()).filter((p) => p % 3 !== 0));
    const targets = Array.from(new Set(Array.from(data.target)));
    const rows = Array.from(Array.from(data.target).keys()).filter((row) =>
      kept.has(patterns.patternOfTarget[targets.indexOf(data.target[row] as number)] as number),
    );
    const again = positionModelFit(patterns, { counts, pointOnly: true, start: fit.reading });
    const part = {
      target: rows.map((row) => data.target[row] as number),
      reader: rows.map((row) => data.reader[row] as number),
      category: rows.map((row) => data.category[row] as number),
    };
    expectNear(again.logLikelihood, 2 * secondFormula(part, again.reading, 'normal'), 1e-8);
    const tight = positionModelFit(patterns, { priors: { tendency: 0.01 }, pointOnly: true });
    expect(Math.max(...Array.from(tight.reading.tendencies, Math.abs))).toBeLessThan(0.05);
    expect(tight.assumed.join()).toContain('N(0, 0.01²)');
  });

  test('notes stand at their bounds: ten readings of a grade, thirty patients', () => {
    const study = (patients: number, rare: number): string[] => {
      const rows = Array.from({ length: 2 * patients }, (_, row) => row);
      return studyNotes(
        readingPatterns(
          {
            target: rows.map((row) => row >> 1),
            reader: rows.map((row) => row % 2),
            category: rows.map((row) => (row < rare ? 1 : 0)),
            cluster: rows.map((row) => row >> 1),
          },
          2,
        ),
      ).map(({ message }) => message);
    };
    expect(study(30, 10)).toEqual([]);
    expect(study(29, 10)).toEqual([expect.stringContaining('29 patients')]);
    expect(study(30, 9)).toEqual([expect.stringContaining('grade 1 (9)')]);
    // Three assessors in a chain are connected; two pairs are not.
    const chain = { target: [0, 0, 1, 1], reader: [0, 1, 2, 1], category: [0, 1, 1, 0] };
    const codes = (columns: typeof chain): string[] => studyNotes(readingPatterns(columns, 2)).map(({ code }) => code);
    expect(codes(chain)).toEqual(['rare-grade', 'few-patients']);
    expect(codes({ ...chain, reader: [0, 1, 2, 3] })).toEqual(['rare-grade', 'few-patients', 'unconnected-readers']);
    expect(
      codes({ target: [0, 0, 1, 1, 2, 2], reader: [0, 1, 2, 3, 3, 1], category: [0, 1, 0, 1, 0, 1] }),
    ).not.toContain('unconnected-readers');
  });

  test('spreads are common below three assessors, unless asked otherwise', () => {
    const of = (readers: number): ReturnType<typeof readingPatterns> =>
      readingPatterns(
        {
          target: Array.from({ length: 12 }, (_, row) => Math.floor(row / 3)),
          reader: Array.from({ length: 12 }, (_, row) => row % readers),
          category: Array.from({ length: 12 }, (_, row) => row % 2),
        },
        2,
      );
    expect([1, 2, 3].map((readers) => checkStudy(of(readers), undefined))).toEqual([true, true, false]);
    expect(checkStudy(of(3), 'common')).toBe(true);
    expect(checkStudy(of(3), 'each reader')).toBe(false);
    expect(() => checkStudy(of(1), 'each reader')).toThrow('One assessor does not show');
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
