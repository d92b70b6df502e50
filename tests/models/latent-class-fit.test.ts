import { describe, expect, test } from 'vitest';
import { latentClassFit } from '../../src/models/latent-class-fit.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

/*
 * Dawid AP, Skene AM. J R Stat Soc C 1979;28:20–28, doi:10.2307/2346806, table 1: 45 patients, five observers, the first of whom read three
 * times. One string a patient: the three readings of observer 1, then those of observers 2 to 5.
 */
const table =
  '1111111 3334334 1122122 2223121 2223222 2223322 1222111 3333433 2222223 2322223 4444444 2223343 1111111 2223212 ' +
  '1211111 1112111 1111111 1111111 2222221 2221322 2222222 2222221 2223222 2212222 1111111 1111111 2322222 1111111 ' +
  '1111111 1121121 1111111 3333233 1111111 2222222 2223232 4334343 2212232 2323233 3333432 1111111 1111111 1212111 ' +
  '2322222 1211111 2222222';
const observers = [0, 0, 0, 1, 2, 3, 4];

function dawidSkene() {
  const columns = { target: [] as number[], reader: [] as number[], category: [] as number[] };
  table.split(' ').forEach((row, patient) => {
    [...row].forEach((grade, i) => {
      columns.target.push(patient);
      columns.reader.push(observers[i] as number);
      columns.category.push(Number(grade) - 1);
    });
  });
  return columns;
}

describe('latentClassFit', () => {
  const patterns = readingPatterns(dawidSkene(), 4);

  test('climbed from the shares of readings: the published analysis', () => {
    const fit = latentClassFit(patterns, { starts: 0 });
    expect(fit.converged).toBe(true);
    // Independent implementation of the paper's equations; class probabilities .40 .42 .11 .07 printed there (from memory).
    expectNear(fit.logLikelihood, -192.89088121420602, 1e-9);
    [0.39955475288215847, 0.42198339191386847, 0.11179518853730624, 0.06666666666666667].forEach((share, g) => {
      expectNear(fit.prevalence[g] as number, share, 1e-6);
    });
    const rates = [
      [0, 0, [0.8894883486860503, 0.11051165131394973, 0, 0]],
      [0, 1, [0.07058545052988907, 0.8763799368401578, 0.05303461262995317, 0]],
      [1, 1, [0.05270670395490076, 0.6329461950714823, 0.31434710097361696, 0]],
      [2, 2, [0, 0.4036714143167978, 0.19877619522756773, 0.39755239045563456]],
      [4, 1, [0.15903923014630506, 0.7345204926854146, 0.10644027716828013, 0]],
    ] as const;
    for (const [reader, g, row] of rates)
      row.forEach((rate, k) => {
        expectNear(fit.errorRates[reader]?.[g]?.[k] as number, rate, 1e-6);
      });
    expectNear(fit.membership[0] as number, 0.9999999679401289, 1e-9);
    expectNear(fit.membership[6 * 4] as number, 0.9810202950387308, 1e-6);
    const modal = Array.from({ length: 45 }, (_, t) => {
      const own = Array.from(fit.membership.subarray(t * 4, t * 4 + 4));
      return own.indexOf(Math.max(...own)) + 1;
    });
    expect(modal.join('')).toBe('142222132243121111222222112111131224233111212');
  });

  test('the several maxima are reported with what led to them', () => {
    const fit = latentClassFit(patterns);
    expectNear(fit.logLikelihood, -191.5689, 1e-6);
    const from = (start: string) => fit.maxima.find(({ from: own }) => own.includes(start as never));
    expectNear(from('shares of readings')?.logLikelihood as number, -192.89088121420602, 1e-9);
    expectNear(from('majority')?.logLikelihood as number, -193.97463953577554, 1e-9);
    expectNear(from('majority')?.prevalence[3] as number, 0.02222201145534511, 1e-6);
    expect(fit.maxima.reduce((sum, { starts }) => sum + starts, 0)).toBe(102);
    expect(fit.notes.map(({ code }) => code)).toEqual(['several-maxima', 'rare-class']);
    expect(latentClassFit(patterns)).toEqual(fit);
  });

  test('shrinkage tempers rare rows, raises its own criterion, and is said', () => {
    const fit = latentClassFit(patterns, { shrinkage: 1 });
    expect(fit.errorRates.flat(2).every((rate) => rate > 0 && rate < 1)).toBe(true);
    expect(fit.notes.map(({ code }) => code)).toContain('shrinkage');
    expect(fit.logLikelihood).toBeLessThan(-191.5689);
    const penalized = (own: typeof fit): number =>
      own.logLikelihood + own.errorRates.flat(2).reduce((sum, rate) => sum + 0.25 * Math.log(rate), 0);
    const weaker = latentClassFit(patterns, { shrinkage: 2 });
    expect(penalized(fit)).toBeGreaterThan(penalized(weaker));
  });

  test('finds true matrices again, with gaps', () => {
    const truth = [
      [
        [0.9, 0.1, 0],
        [0.1, 0.8, 0.1],
        [0, 0.2, 0.8],
      ],
      [
        [0.7, 0.3, 0],
        [0.05, 0.8, 0.15],
        [0, 0.1, 0.9],
      ],
      [
        [0.85, 0.15, 0],
        [0.2, 0.7, 0.1],
        [0.05, 0.15, 0.8],
      ],
      [
        [0.95, 0.05, 0],
        [0.1, 0.85, 0.05],
        [0, 0.3, 0.7],
      ],
    ];
    const random = seededRandom(44);
    const pick = (shares: readonly number[]): number => {
      const u = random.uniform();
      let below = 0;
      for (let i = 0; i < shares.length; i++) {
        below += shares[i] as number;
        if (u < below) return i;
      }
      return 0;
    };
    const columns = { target: [] as number[], reader: [] as number[], category: [] as number[] };
    for (let target = 0; target < 3000; target++) {
      const g = pick([0.5, 0.3, 0.2]);
      for (let a = 0; a < 4; a++) {
        if (random.uniform() < 0.2) continue;
        columns.target.push(target);
        columns.reader.push(a);
        columns.category.push(pick(truth[a]?.[g] as number[]));
      }
    }
    const fit = latentClassFit(readingPatterns(columns, 3), { starts: 10 });
    expect(fit.maxima).toHaveLength(1);
    truth.forEach((matrix, a) => {
      matrix.forEach((row, g) => {
        row.forEach((rate, k) => {
          // 480 readings or more a row, classes not seen: standard errors up to .04.
          expect(Math.abs((fit.errorRates[a]?.[g]?.[k] as number) - rate)).toBeLessThan(0.12);
        });
      });
    });
  });

  describe('one step of EM, recomputed from the equations of the source', () => {
    // Three grades, three assessors; a tie, a gap and a repeat. One string a target: pairs assessor, grade.
    const rows = [
      '00 10 20',
      '00 11 20',
      '01 11 21',
      '01 12 22',
      '02 12 22',
      '02 12 21',
      '00 01 11 21',
      '02 22',
      '00 10 20',
      '01 10 21',
    ];
    const columns = { target: [] as number[], reader: [] as number[], category: [] as number[] };
    rows.forEach((row, target) => {
      for (const [reader, category] of row.split(' ').map((cell) => [...cell].map(Number))) {
        columns.target.push(target);
        columns.reader.push(reader as number);
        columns.category.push(category as number);
      }
    });
    const small = readingPatterns(columns, 3);
    const cellsOf = (target: number): number[][] =>
      (rows[target] as string).split(' ').map((cell) => [...cell].map(Number));
    const shares = rows.map((_, t) => {
      const own = [0, 0, 0];
      for (const [, k] of cellsOf(t)) own[k as number] = (own[k as number] as number) + 1 / cellsOf(t).length;
      return own;
    });
    const majority = shares.map((own) => {
      const most = Math.max(...own);
      const tied = own.filter((share) => Math.abs(share - most) < 1e-12).length;
      return own.map((share) => (Math.abs(share - most) < 1e-12 ? 1 / tied : 0));
    });
    type Step = {
      prevalence: number[];
      rates: number[][][];
      logLikelihood: number;
      penalty: number;
      membership: number[][];
    };
    const step = (membership: number[][], shrinkage: number): Step => {
      const prevalence = [0, 1, 2].map(
        (g) => membership.reduce((sum, own) => sum + (own[g] as number), 0) / rows.length,
      );
      let penalty = 0;
      const rates = [0, 1, 2].map((a) =>
        [0, 1, 2].map((g) => {
          const counts = [0, 1, 2].map((k) =>
            rows.reduce(
              (sum, _, t) =>
                sum +
                (membership[t]?.[g] as number) * cellsOf(t).filter(([who, what]) => who === a && what === k).length,
              shrinkage / 3,
            ),
          );
          const total = counts.reduce((sum, count) => sum + count, 0);
          return counts.map((count) => {
            if (shrinkage > 0) penalty += (shrinkage / 3) * Math.log(count / total);
            return count / total;
          });
        }),
      );
      let logLikelihood = 0;
      const next = rows.map((_, t) => {
        const masses = [0, 1, 2].map((g) =>
          cellsOf(t).reduce(
            (p, [a, k]) => p * (rates[a as number]?.[g]?.[k as number] as number),
            prevalence[g] as number,
          ),
        );
        const total = masses.reduce((sum, mass) => sum + mass, 0);
        logLikelihood += Math.log(total);
        return masses.map((mass) => mass / total);
      });
      return { prevalence, rates, logLikelihood, penalty, membership: next };
    };

    test.each([0, 1.5])('from shares and from the majority, %d pseudo-readings', (shrinkage) => {
      const fit = latentClassFit(small, { starts: 0, maximumRounds: 1, shrinkage });
      const both = [step(shares, shrinkage), step(majority, shrinkage)];
      const order = [...both].sort((a, b) => b.logLikelihood + b.penalty - a.logLikelihood - a.penalty);
      expect(fit.converged).toBe(false);
      expect(fit.how).toBe('The limit of 1 rounds was reached.');
      expect(fit.rounds).toBe(1);
      expect(fit.maxima.map(({ starts }) => starts)).toEqual([1, 1]);
      order.forEach((own, at) => {
        expectNear(fit.maxima[at]?.logLikelihood as number, own.logLikelihood, 1e-12);
        expect(fit.maxima[at]?.from).toEqual([own === both[0] ? 'shares of readings' : 'majority']);
        [0, 1, 2].forEach((g) => {
          expectNear(fit.maxima[at]?.prevalence[g] as number, own.prevalence[g] as number, 1e-14);
        });
      });
      const best = order[0] as Step;
      expectNear(fit.logLikelihood, best.logLikelihood, 1e-12);
      fit.errorRates.flat(2).forEach((rate, at) => {
        expectNear(rate, best.rates.flat(2)[at] as number, 1e-13);
      });
      fit.membership.forEach((share, at) => {
        expectNear(share, best.membership.flat()[at] as number, 1e-12);
      });
      expect(fit.notes.map(({ code }) => code)).toEqual([
        'several-maxima',
        'rare-class',
        ...(shrinkage > 0 ? ['shrinkage'] : []),
      ]);
    });

    test('the end is a fixed point, and a second step is a step from the first', () => {
      const first = [step(shares, 1), step(majority, 1)].map(({ membership }) => step(membership, 1));
      const two = latentClassFit(small, { starts: 0, maximumRounds: 2, shrinkage: 1 });
      const best = first.sort((a, b) => b.logLikelihood + b.penalty - a.logLikelihood - a.penalty)[0] as Step;
      expectNear(two.logLikelihood, best.logLikelihood, 1e-12);
      const end = latentClassFit(small, { starts: 3, shrinkage: 1 });
      expect(end.converged).toBe(true);
      const again = step(
        Array.from({ length: rows.length }, (_, t) => Array.from(end.membership.subarray(3 * t, 3 * t + 3))),
        1,
      );
      // By the penalized criterion, which is level there; the likelihood alone is not.
      const penalty = end.errorRates.flat(2).reduce((sum, rate) => sum + Math.log(rate) / 3, 0);
      expectNear(again.logLikelihood + again.penalty, end.logLikelihood + penalty, 1e-10);
      expect(end.maxima.reduce((sum, { starts }) => sum + starts, 0)).toBe(5);
      // Counts of a resample: every pattern twice is twice the log-likelihood, of the same rates where nothing is added.
      const once = latentClassFit(small, { starts: 0 });
      const twice = latentClassFit(small, { starts: 0, counts: small.counts.map((count) => 2 * count) });
      expectNear(twice.logLikelihood, 2 * once.logLikelihood, 1e-8);
      // Looser tolerance ends earlier.
      expect(latentClassFit(small, { starts: 3, shrinkage: 1, tolerance: 1e-3 }).rounds).toBeLessThan(end.rounds);
    });
  });

  test('a class is called rare below ten expected targets', () => {
    // All assessors agree: class shares are those of the grades.
    const of = (each: number[]): string => {
      const target = each.flatMap((count, g) => Array.from({ length: count }, () => g));
      const columns = {
        target: target.flatMap((_, t) => [t, t, t]),
        reader: target.flatMap(() => [0, 1, 2]),
        category: target.flatMap((g) => [g, g, g]),
      };
      const fit = latentClassFit(readingPatterns(columns, each.length), { starts: 0 });
      return fit.notes.map(({ message }) => message).join();
    };
    expect(of([10, 12])).toBe('');
    expect(of([9, 12])).toContain('class 0 (9.0)');
    expect(of([9, 12])).toContain('shrinkage: 1');
  });

  test('two assessors are refused', () => {
    for (const starts of [-1, 0.5]) expect(() => latentClassFit(patterns, { starts })).toThrow(`starts is ${starts}`);
    expect(() => latentClassFit(patterns, { shrinkage: Number.POSITIVE_INFINITY })).toThrow('shrinkage is Infinity');
    const one = readingPatterns({ target: [0, 1], reader: [0, 0], category: [0, 1] }, 2);
    expect(() => latentClassFit(one, { starts: -2, shrinkage: -3 })).toThrow(
      /One assessor does[\s\S]*starts is -2[\s\S]*shrinkage is -3/,
    );

    const two = readingPatterns({ target: [0, 0, 1, 1], reader: [0, 1, 0, 1], category: [0, 0, 1, 1] }, 2);
    expect(() => latentClassFit(two)).toThrow('do not determine full error matrices');
    expect(() => latentClassFit(patterns, { shrinkage: -1 })).toThrow('shrinkage is -1');
  });
});
