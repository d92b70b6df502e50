import { describe, expect, test } from 'vitest';
import { compileReadings } from '../../src/models/chain-data.ts';
import { chainLikelihood, fixedLayer, softmax } from '../../src/models/chain-likelihood.ts';
import { transitionProbabilities } from '../../src/models/intensities.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { positionLayer, readingVector, WEAK_PRIORS } from '../../src/models/reading-layer.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

/** Irregular gaps, two readers, double readings, a covariate, an end at a known time, a censored code and a reference reading. */
function readings() {
  const random = seededRandom(3);
  const columns = {
    subject: [] as number[],
    time: [] as number[],
    category: [] as number[],
    reader: [] as number[],
    certain: [] as number[],
    dose: [] as number[],
  };
  const add = (
    subject: number,
    time: number,
    category: number,
    reader: number,
    certain: number,
    dose: number,
  ): void => {
    columns.subject.push(subject);
    columns.time.push(time);
    columns.category.push(category);
    columns.reader.push(reader);
    columns.certain.push(certain);
    columns.dose.push(dose);
  };
  for (let subject = 0; subject < 25; subject++) {
    let time = random.uniform();
    const dose = random.below(2);
    for (let visit = 0; visit < 4; visit++) {
      const category = random.below(3);
      add(subject, time, category, random.below(2), subject === 3 && visit === 1 ? 1 : 0, dose);
      if (random.uniform() < 0.3) add(subject, time, Math.max(0, category - 1), random.below(2), 0, dose);
      time += 0.2 + random.uniform();
    }
    if (subject % 3 === 0) add(subject, time, 3, 0, 0, dose);
    if (subject % 3 === 1) add(subject, time, 99, 0, 0, dose);
  }
  const { dose, ...rest } = columns;
  return { ...rest, covariates: { dose } };
}

describe('chainLikelihood', () => {
  const states = 4;
  const compiled = compileReadings(readings(), {
    states,
    categories: 4,
    readers: 2,
    statesOf: (category) => [category],
    exactEnd: { category: 3, state: 3 },
    censored: [{ code: 99, states: [0, 1, 2] }],
  });
  const groups = Int32Array.from([-1, 0, -1, 1, 2, -1, 3, 1, -1, 2, -1, 4, -1, -1, -1, -1]);
  const cuts = [0.5, 1.5];
  const likelihood = chainLikelihood({
    compiled,
    states,
    cells: 8,
    intensities: { groups, count: 5 },
    initial: { kind: 'free', groups: Int32Array.from([0, 1, 1, -1]), count: 2 },
    layer: positionLayer(readingVector(2, false, WEAK_PRIORS), cuts, [0, 1, 2], 2, states, 4),
    endState: 3,
  });

  test('the gradient is that of fourth-order differences, for every kind of parameter', () => {
    const random = seededRandom(8);
    for (let attempt = 0; attempt < 3; attempt++) {
      const point = Float64Array.from({ length: likelihood.layout.size }, (_, i) =>
        i < 5 ? -1 + 0.5 * random.normal() : -0.5 + 0.4 * random.normal(),
      );
      const { gradient } = likelihood.evaluate(point);
      const expected = numericalGradient((p) => {
        const { logLikelihood, penalty } = likelihood.evaluate(p);
        return logLikelihood + penalty;
      }, point);
      expect(gradient.length).toBe(5 + 5 + 1 + 4);
      for (let i = 0; i < gradient.length; i++) expectNear(gradient[i] as number, expected[i] as number, 2e-8);
    }
  });

  test('a prior on rates adds its log-density and slope to the penalty, nothing else', () => {
    const shared = {
      compiled,
      states,
      cells: 8,
      intensities: { groups, count: 5 },
      initial: { kind: 'fixed', probabilities: Float64Array.of(0.5, 0.3, 0.2, 0) } as const,
      layer: positionLayer(readingVector(2, false, WEAK_PRIORS), cuts, [0, 1, 2], 2, states, 4),
      endState: 3,
    };
    const plain = chainLikelihood(shared);
    const centers = [-1, -0.5, 0, 0.5, 1];
    const informed = chainLikelihood({ ...shared, ratePrior: { centers, scale: 0.8 } });
    const point = Float64Array.from({ length: plain.layout.size }, (_, i) => -0.9 + 0.1 * i);
    const [without, withPrior] = [plain.evaluate(point), informed.evaluate(point)];
    expect(withPrior.logLikelihood).toBe(without.logLikelihood);
    const away = centers.map((center, g) => ((point[g] as number) - center) / 0.8);
    expectNear(withPrior.penalty, without.penalty - away.reduce((sum, own) => sum + (own * own) / 2, 0), 1e-13);
    withPrior.gradient.forEach((slope, i) => {
      expectNear(slope, (without.gradient[i] as number) - (i < 5 ? (away[i] as number) / 0.8 : 0), 1e-12);
    });
    expect(plain.layout).toEqual({ size: 5 + 5 + 4, rates: 0, effects: 5, initial: 10, readings: 10 });
  });

  test('its numbers at a point are those of each step, visit and first state', () => {
    const point = Float64Array.from({ length: likelihood.layout.size }, (_, i) => -0.8 + 0.05 * i);
    // Another point in between: numbers are made anew, and are copies.
    const kept = likelihood.numbersAt(point);
    likelihood.evaluate(point.map((x) => x + 0.3));
    const again = likelihood.numbersAt(point);
    expect(again).toEqual(kept);
    const dose = compiled.patterns.map(([own]) => own as number);
    const rate = (g: number, pattern: number): number =>
      Math.exp((point[g] as number) + (point[5 + g] as number) * (dose[pattern] as number));
    compiled.stepTimes.forEach((time, k) => {
      const q = [0, 1, 2, 3].map((r) =>
        [0, 1, 2, 3].map((s) => {
          const group = groups[r * 4 + s] as number;
          return group < 0 ? 0 : rate(group, compiled.stepPatterns[k] as number);
        }),
      );
      const p = transitionProbabilities(q, time).flat();
      for (let at = 0; at < 16; at++) expectNear(kept.transitions[k * 16 + at] as number, p[at] as number, 1e-10);
    });
    const odds = Math.exp(point[10] as number);
    [1 / (1 + odds), odds / (1 + odds) / 2, odds / (1 + odds) / 2, 0].forEach((share, s) => {
      expectNear(kept.initial[s] as number, share, 1e-14);
    });
    const table = new Float64Array(8 * 4);
    positionLayer(readingVector(2, false, WEAK_PRIORS), cuts, [0, 1, 2], 2, states, 4).fill(point.subarray(11), table);
    compiled.signatures.forEach((signature, m) => {
      const own = [0, 1, 2, 3].map((s) => (kept.readings[m * 4 + s] as number) * Math.exp(kept.logScale[m] as number));
      const expected = [0, 1, 2, 3].map((s) => {
        if (signature.kind === 'end')
          return s === 3
            ? 0
            : (groups[s * 4 + 3] as number) < 0
              ? 0
              : rate(groups[s * 4 + 3] as number, signature.pattern);
        if (signature.possible !== undefined && !signature.possible.includes(s)) return 0;
        return signature.cells.reduce((product, cell) => product * (table[cell * 4 + s] as number), 1);
      });
      own.forEach((value, s) => {
        expectNear(value, expected[s] as number, 1e-13);
      });
      expect(Math.max(...kept.readings.subarray(m * 4, m * 4 + 4))).toBe(1);
    });
  });

  test('is too fast beyond a million changes between two visits, and knows an impossible subject', () => {
    const two = (rows: { subject: number[]; time: number[]; category: number[] }) =>
      chainLikelihood({
        compiled: compileReadings(rows, { states: 2, categories: 2, readers: 1, statesOf: (c) => [c], censored: [] }),
        states: 2,
        cells: 2,
        intensities: { groups: Int32Array.of(-1, 0, -1, -1), count: 1 },
        initial: { kind: 'fixed', probabilities: Float64Array.of(0.5, 0.5) },
        layer: fixedLayer(Float64Array.of(1, 0, 0, 1)),
        endState: undefined,
      });
    const steady = two({ subject: [1, 1, 2], time: [0, 2, 0], category: [0, 0, 1] });
    const at = (changes: number): Float64Array => Float64Array.of(Math.log(changes / 2));
    expect(() => steady.refuseTooFast(at(999_999))).not.toThrow();
    expect(() => steady.refuseTooFast(at(1_000_002))).toThrow('more than 1e+6 times');
    expect(steady.evaluate(at(1_000_002)).logLikelihood).toBe(Number.NEGATIVE_INFINITY);
    expect(steady.impossibleSubject(at(1))).toBeUndefined();
    // Two visits in the state 1, which is never left, then one in 0.
    const back = two({ subject: [1, 1, 2, 2], time: [0, 2, 0, 1], category: [0, 1, 1, 0] });
    expect(back.impossibleSubject(at(1))).toBe(1);
    expect(back.evaluate(at(1))).toEqual({
      logLikelihood: Number.NEGATIVE_INFINITY,
      penalty: 0,
      gradient: new Float64Array(1),
    });
  });

  test('a weight of 2 counts a subject twice', () => {
    const point = new Float64Array(likelihood.layout.size).fill(-1);
    const once = likelihood.evaluate(point);
    const twice = likelihood.evaluate(
      point,
      compiled.chain.weights.map((weight) => 2 * weight),
    );
    expectNear(twice.logLikelihood, 2 * once.logLikelihood, 1e-13);
  });

  test('an intensity beyond every bound gives −Infinity, not an exception', () => {
    const point = new Float64Array(likelihood.layout.size).fill(-1);
    point[0] = 800;
    expect(likelihood.evaluate(point).logLikelihood).toBe(Number.NEGATIVE_INFINITY);
  });

  test('softmax keeps its digits far from 0', () => {
    expect(Array.from(softmax(Float64Array.from([900, 0]), 0, 3))).toEqual([0, 1, 0]);
    expectNear(softmax(Float64Array.from([Math.log(3)]), 0, 2)[1] as number, 0.75, 1e-15);
  });

  test('a layer without parameters gives its table', () => {
    const table = Float64Array.from([1, 0]);
    const out = new Float64Array(2);
    fixedLayer(table).fill(new Float64Array(0), out);
    expect(out).toEqual(table);
  });
});
