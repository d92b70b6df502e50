import { describe, expect, test } from 'vitest';
import { compileReadings } from '../../src/models/chain-data.ts';
import { chainLikelihood, fixedLayer, softmax } from '../../src/models/chain-likelihood.ts';
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
