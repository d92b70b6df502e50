import { describe, expect, test } from 'vitest';
import { locatedClassFit } from '../../src/models/located-class-fit.ts';
import { positionModelFit } from '../../src/models/position-model-fit.ts';
import { readingBootstrap } from '../../src/models/reading-bootstrap.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import { simulateStudy, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { GRADES } from '../support/invented-readers.ts';

describe('readingBootstrap', () => {
  const patterns = readingPatterns(simulateStudy('continuum', THREE_READERS, 60, seededRandom(14)), GRADES);
  const continuum = positionModelFit(patterns);
  const classes = locatedClassFit(patterns, { scale: continuum.reading });

  test('draws patients, and its spread is near the working standard error or above', async () => {
    const { draws, notes } = await readingBootstrap(patterns, continuum, classes, { replicates: 60, seed: 3 });
    expect(draws).toHaveLength(60);
    expect(notes).toEqual([]);
    for (const { patients } of draws) expect(patients.reduce((sum, times) => sum + times, 0)).toBe(60);
    const values = draws.map(({ positions }) => positions.tendencies[0] as number);
    const mean = values.reduce((sum, b) => sum + b, 0) / 60;
    const deviation = Math.sqrt(values.reduce((sum, b) => sum + (b - mean) ** 2, 0) / 59);
    const working = continuum.tendencies[0]?.standardError as number;
    // The standard deviation of 60 draws is known to 9 %.
    expect(deviation / working).toBeGreaterThan(0.7);
    expect(deviation / working).toBeLessThan(1.6);
  });

  test('refuses a number of replicates that is none', async () => {
    for (const replicates of [0, 1.5, -2])
      await expect(readingBootstrap(patterns, continuum, classes, { replicates })).rejects.toThrow(
        /whole number from 1/,
      );
    expect((await readingBootstrap(patterns, continuum, classes, { replicates: 1 })).draws).toHaveLength(1);
  });

  test('the same seed gives the same draws, however many are asked for', async () => {
    const three = await readingBootstrap(patterns, continuum, classes, { replicates: 3, seed: 8 });
    const two = await readingBootstrap(patterns, continuum, classes, { replicates: 2, seed: 8 });
    expect(three.draws.slice(0, 2)).toEqual(two.draws);
  });

  test('a signal keeps what is done', async () => {
    const stop = new AbortController();
    const found = await readingBootstrap(patterns, continuum, classes, {
      replicates: 50,
      signal: stop.signal,
      progress: (share) => {
        if (share >= 0.04) stop.abort();
      },
    });
    expect(found.draws).toHaveLength(2);
    expect(found.notes.map(({ code }) => code)).toEqual(['stopped-early']);
  });

  test('a replicate that drops no patient is the study itself', () => {
    const again = positionModelFit(patterns, { counts: patterns.counts, start: continuum.reading, pointOnly: true });
    for (let a = 0; a < 3; a++)
      expect(again.reading.tendencies[a]).toBeCloseTo(continuum.reading.tendencies[a] as number, 4);
  });
});
