import { describe, expect, it } from 'vitest';
import { latentClassErrorRates, percentiles } from '../../src/agreement/latent-class-error-rates.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

/** 45 patients, five assessors, the first of whom read each patient three times. */
function anaesthetists(): Ratings {
  const [one] = publishedCases('agreement', /^dawid-skene-1979$/);
  const rows = one!.data.subjectsByRaters as [number[], number, number, number, number][];
  const ratings = ratingsOf(
    rows.map(([first, ...others]) => [first[0]!, ...others]),
    { categories: [1, 2, 3, 4], clusters: rows.map((_, at) => at) },
  );
  const repeats = rows.flatMap(([first], target) =>
    first.slice(1).map((grade, at) => ({ target, assessor: 0, replicate: at + 2, code: grade - 1, number: grade })),
  );
  const { subject: _none, ...rest } = ratings;
  return new Ratings({ ...rest, repeats });
}

describe('Dawid and Skene 1979, doi:10.2307/2346806', () => {
  it('from the shares of the readings (their equation 3.1): log-likelihood −192.8909, and every error rate', async () => {
    const [one] = publishedCases('agreement', /^dawid-skene-1979$/);
    const { expected, tolerance } = one!;
    const rates = await latentClassErrorRates(anaesthetists(), { starts: 0, replicates: 0 });
    expectNear(rates.logLikelihood, expected.logLik, tolerance);
    expectAllNear(
      rates.prevalence.map(({ value }) => value),
      expected.prevalence,
      tolerance,
    );
    expected.errorRates.forEach((matrix: number[][], assessor: number) => {
      matrix.forEach((row, own) => {
        expectAllNear(
          rates.errorRates[assessor]![own]!.map(({ value }) => value),
          row,
          tolerance,
        );
      });
    });
    expected.posteriorFirst12.forEach((row: number[], target: number) => {
      expectAllNear(rates.membership.subarray(4 * target, 4 * target + 4), row, tolerance);
    });
    ['0.40', '0.42', '0.11', '0.07'].forEach((printed, own) => {
      expectPrinted(rates.prevalence[own]!.value, printed);
    });
  });

  it('from the majority: another maximum, −193.9746', async () => {
    const [one] = publishedCases('agreement', /^dawid-skene-majority-start$/);
    const { maxima } = await latentClassErrorRates(anaesthetists(), { starts: 0, replicates: 0 });
    const majority = maxima.find(({ from }) => from.includes('majority'))!;
    expectNear(majority.logLikelihood, one!.expected.logLik, one!.tolerance);
    expectAllNear(majority.prevalence, one!.expected.prevalence, one!.tolerance);
  });

  it('from many starts: a higher maximum still, −191.5689, and all of them reported', async () => {
    const rates = await latentClassErrorRates(anaesthetists(), { replicates: 0 });
    expectPrinted(rates.logLikelihood, '-191.5689');
    expect(rates.maxima.length).toBeGreaterThan(2);
    expect(rates.maxima[0]!.logLikelihood).toBe(rates.logLikelihood);
    expect(rates.notes.map((note) => note.code)).toContain('several-maxima');
    expect(rates.counts).toEqual({ targets: 45, clusters: 45, assessors: 5, ratings: 315, excluded: 0 });
  });
});

const random = seededRandom(8);
const truths = Array.from({ length: 300 }, () => random.below(3));
/** The chance that each of three assessors reads the class: .9, .8, .7; else one of the two others. */
const simulated = truths.map((truth) =>
  [0.9, 0.8, 0.7].map((right) => {
    if (random.uniform() < 0.1) return null;
    return random.uniform() < right ? truth : (truth + 1 + random.below(2)) % 3;
  }),
);
const simulatedRatings = ratingsOf(simulated, {
  categories: [0, 1, 2],
  assessors: ['A', 'B', 'C'],
  clusters: simulated.map((_, at) => at % 100),
});

it('finds the rates it was simulated with, within their intervals, with gaps', async () => {
  const rates = await latentClassErrorRates(simulatedRatings, { starts: 5, replicates: 200 });
  [0.9, 0.8, 0.7].forEach((right, assessor) => {
    for (const own of [0, 1, 2]) {
      const { value, interval } = rates.errorRates[assessor]![own]![own]!;
      expect(Math.abs(value - right)).toBeLessThan(0.13);
      expect(interval.lower).toBeLessThan(value);
      expect(interval.upper).toBeGreaterThan(value);
    }
  });
  expect(rates.tableOf('A').rows).toHaveLength(3);
  expect(rates.notes.map((note) => note.code)).toContain('agreement-is-not-accuracy');
});

it('takes its limits between order statistics of the replicates that are defined, .025 and .975 of them for 95 %', () => {
  const values = [...Array.from({ length: 199 }, (_, at) => 199 - at), Number.NaN];
  const { lower, upper } = percentiles(values, 0.95, 1);
  expect(lower).toBeCloseTo(5, 9);
  expect(upper).toBeCloseTo(195, 9);
});

it('gives the same digits for the same seed', async () => {
  const of = async (): Promise<unknown> => {
    const { errorRates } = await latentClassErrorRates(anaesthetists(), { starts: 3 });
    return errorRates;
  };
  expect(await of()).toEqual(await of());
});

it('can be stopped and keeps what it has', async () => {
  const stop = new AbortController();
  const rates = await latentClassErrorRates(simulatedRatings, {
    starts: 0,
    replicates: 200,
    signal: stop.signal,
    progress: (share) => {
      if (share >= 0.15) stop.abort();
    },
  });
  expect(rates.notes.find((note) => note.code === 'stopped')?.message).toContain('30 of 200');
  expect(rates.prevalence[0]!.interval.lower).toBeGreaterThan(0);
});

it('tempers a rare grade when asked, and says so', async () => {
  const rare = ratingsOf(
    simulated.map((row, at) => (at === 0 ? [3, 3, 3] : row)),
    { categories: [0, 1, 2, 3] },
  );
  const plain = await latentClassErrorRates(rare, { starts: 0, replicates: 0 });
  const tempered = await latentClassErrorRates(rare, { starts: 0, replicates: 0, shrinkage: 1 });
  expect(plain.errorRates[0]![3]![3]!.value).toBeCloseTo(1, 6);
  expect(tempered.errorRates[0]![3]![3]!.value).toBeLessThan(0.9);
  expect(plain.notes.map((note) => note.code)).toContain('rare-class');
  expect(tempered.notes.map((note) => note.code)).toContain('shrinkage');
});

describe('refusals', () => {
  const refused: [string, Ratings, string][] = [
    ['two assessors', ratingsOf([[0, 1]]), 'matrices-not-identified'],
    ['assessors unknown', ratingsOfCounts([[2, 1]], { categories: [0, 1] }), 'matrices-not-identified'],
    ['measured numbers', ratingsOf([[1.5, 2.5, 2]], { level: 'ratio' }), 'level-not-suited'],
  ];
  for (const [what, ratings, code] of refused)
    it(what, async () => {
      const error = await latentClassErrorRates(ratings).catch((thrown: unknown) => thrown);
      expect(error).toBeInstanceOf(InputError);
      expect((error as InputError).problems[0]?.code).toBe(code);
    });
});

describe('what the result says of itself', () => {
  const of = (options: Parameters<typeof latentClassErrorRates>[1] = {}) =>
    latentClassErrorRates(simulatedRatings, { starts: 0, replicates: 0, ...options });
  const codes = (one: { readonly notes: readonly { readonly code: string }[] }): string[] =>
    one.notes.map(({ code }) => code).filter((code) => code !== 'rare-class');

  it('without replicates there are no intervals, and a note says so; the options are those asked for', async () => {
    const rates = await of({ confidenceLevel: 0.8, seed: 9 });
    expect(rates.options).toEqual({ starts: 0, shrinkage: 0, replicates: 0, confidenceLevel: 0.8, seed: 9 });
    expect(rates.prevalence[0]!.interval).toMatchObject({ lower: Number.NaN, upper: Number.NaN, level: 0.8 });
    expect(codes(rates)).toContain('no-interval');
    expect(codes(rates)).not.toContain('stopped');
    expect(codes(rates)).not.toContain('patients-not-given');
    expect((await latentClassErrorRates(simulatedRatings, { replicates: 0 })).options.starts).toBe(100);
  });

  it('counts readings, repeats too, and leaves out targets without any', async () => {
    const { subject: _none, ...rest } = ratingsOf([...simulated, [null, null, null]], {
      categories: [0, 1, 2],
      assessors: ['A', 'B', 'C'],
    });
    const repeats = [
      { target: 0, assessor: 1, replicate: 2, code: 1, number: 1 },
      { target: 1, assessor: 2, replicate: 2, code: -1, number: Number.NaN },
    ];
    const more = await latentClassErrorRates(new Ratings({ ...rest, repeats }), { starts: 0, replicates: 0 });
    const readings = simulated.flat().filter((x) => x !== null).length;
    expect(more.counts).toMatchObject({ targets: simulated.length, assessors: 3, ratings: readings + 1, excluded: 1 });
    expect(more.membership).toHaveLength(3 * simulated.length);
    expect(codes(more)).toContain('patients-not-given');
  });

  it('its table has a row a class and a column a grade', async () => {
    const rates = await of();
    const { rows } = rates.tableOf('B');
    rows.forEach((row, own) => {
      expect(row.class).toBe(String(own));
      [0, 1, 2].forEach((code) => {
        expect(row[`read ${code}`]).toBe(rates.errorRates[1]![own]![code]!.value);
      });
    });
    expect(() => rates.tableOf('Z')).toThrow(/A, B, C/);
    // Rates of a class add up to 1, and so do the classes.
    for (const matrix of rates.errorRates)
      for (const row of matrix) expect(row.reduce((sum, { value }) => sum + value, 0)).toBeCloseTo(1, 9);
    expect(rates.prevalence.reduce((sum, { value }) => sum + value, 0)).toBeCloseTo(1, 9);
  });

  it('twenty replicates that are defined are enough for limits, nineteen are not', () => {
    const values = (count: number): number[] => Array.from({ length: count }, (_, at) => at);
    expect(percentiles([...values(19), Number.NaN], 0.9, 3).lower).toBeNaN();
    const enough = percentiles(values(20), 0.9, 3);
    // Ranks 21 · .05 and 21 · .95 from 1.
    expect(enough.lower).toBeCloseTo(0.05, 9);
    expect(enough.upper).toBeCloseTo(18.95, 9);
    expect(enough).toMatchObject({ level: 0.9, method: 'percentile patient bootstrap, 20 replicates, seed 3' });
  });

  it('reports each replicate as it is done', async () => {
    const told: number[] = [];
    await latentClassErrorRates(anaesthetists(), { starts: 0, replicates: 200, progress: (share) => told.push(share) });
    expect(told).toHaveLength(200);
    expect(told[0]).toBe(1 / 200);
    expect(told.at(-1)).toBe(1);
  });

  it('refuses fewer than 200 replicates', async () => {
    const error = await of({ replicates: 10 }).catch((thrown: unknown) => thrown);
    expect((error as InputError).problems[0]?.code).toBe('bad-option');
  });
});
