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
