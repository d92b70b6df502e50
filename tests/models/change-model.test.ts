import { describe, expect, test } from 'vitest';
import {
  changeModelFit,
  changeProbabilities,
  changeTransitions,
  pairedPatterns,
  type TruthKind,
  truthPlaces,
} from '../../src/models/change-model.ts';
import { gradeChange } from '../../src/models/grade-change.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { fillReadingProbabilities } from '../../src/models/reading-probabilities.ts';
import { knownChange, simulatePairs, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { GRADES } from '../support/invented-readers.ts';

const continuum: TruthKind = { kind: 'positions', reading: THREE_READERS };
const classes: TruthKind = { kind: 'classes', reading: THREE_READERS, locations: [-1.9, -1, -0.3, 0.5, 1.5] };

describe('truthPlaces', () => {
  test('no place straddles a cut, and the places integrate the normal law grade by grade', () => {
    const { positions, grades, widths } = truthPlaces(continuum);
    const share = new Float64Array(GRADES);
    positions.forEach((x, i) => {
      expect(Array.from(THREE_READERS.cuts).filter((cut) => x > cut).length).toBe(grades[i]);
      share[grades[i] as number] =
        (share[grades[i] as number] as number) +
        ((widths[i] as number) * Math.exp((-x * x) / 2)) / Math.sqrt(2 * Math.PI);
    });
    // Φ(−1.4) = .0807567 and Φ(−0.65) = .2578461 (Abramowitz & Stegun, table 26.1); 4.5 leaves out 3.4e−6.
    expect(Math.abs((share[0] as number) - 0.0807567)).toBeLessThan(4e-6);
    expect(Math.abs((share[1] as number) - (0.2578461 - 0.0807567))).toBeLessThan(1e-6);
  });
});

describe('changeTransitions', () => {
  const shares = { rise: 0.1, fall: 0.2, riseSize: 0.6, fallSize: 0.8, shape: 4 };

  test.each([
    ['positions', continuum],
    ['classes', { ...classes }],
  ] as const)('rows are distributions: %s', (_, truth) => {
    const places = truthPlaces(truth);
    const n = places.positions.length;
    const t = changeTransitions(truth, places, { ...shares, riseSize: 0.4, fallSize: 0.4 });
    for (let j = 0; j < n; j++) {
      const row = t.subarray(j * n, (j + 1) * n);
      expectNear(
        row.reduce((sum, p) => sum + p, 0),
        1,
        1e-13,
      );
      expect(row.every((p) => p >= 0)).toBe(true);
    }
    // At the top there is no room to rise: that share stays.
    expectNear(t[n * n - 1] as number, 0.8, 1e-13);
    expectNear(t[0] as number, 0.9, 1e-13);
  });

  test('far from the ends the mean distance is the size asked for', () => {
    const places = truthPlaces(continuum);
    const n = places.positions.length;
    const t = changeTransitions(continuum, places, shares);
    const j = places.positions.findIndex((x) => x > -3.5);
    let mean = 0;
    for (let k = j + 1; k < n; k++)
      mean += (t[j * n + k] as number) * ((places.positions[k] as number) - (places.positions[j] as number));
    // The places are .15 apart, so their sum misses the mean of the law by about a hundredth.
    expect(Math.abs(mean / 0.1 - 0.6)).toBeLessThan(0.02);
  });
});

describe('changeProbabilities', () => {
  test('is Bayes’ rule over the pair of places', () => {
    const model = knownChange('continuum', THREE_READERS);
    const columns = {
      target: [5, 5, 5, 9, 9],
      occasion: [0, 1, 1, 0, 1],
      reader: [0, 1, 2, 2, 0],
      category: [3, 2, 3, 1, 1],
    };
    const found = changeProbabilities(pairedPatterns(columns, GRADES, 3), model);
    const n = model.first.length;
    const table = new Float64Array(3 * GRADES * n);
    fillReadingProbabilities(THREE_READERS, model.places.positions, table);
    [5, 9].forEach((target, at) => {
      let [up, down, all] = [0, 0, 0];
      for (let j = 0; j < n; j++)
        for (let k = 0; k < n; k++) {
          let p = (model.first[j] as number) * (model.transitions[j * n + k] as number);
          columns.target.forEach((who, row) => {
            if (who !== target) return;
            const place = columns.occasion[row] === 0 ? j : k;
            p *= table[
              ((columns.reader[row] as number) * GRADES + (columns.category[row] as number)) * n + place
            ] as number;
          });
          all += p;
          if ((model.places.grades[k] as number) > (model.places.grades[j] as number)) up += p;
          if ((model.places.grades[k] as number) < (model.places.grades[j] as number)) down += p;
        }
      expect(found.targets[at]).toBe(target);
      expectNear(found.rose[at] as number, up / all, 1e-12);
      expectNear(found.fell[at] as number, down / all, 1e-12);
      expectNear(found.stayed[at] as number, 1 - (up + down) / all, 1e-12);
    });
  });

  test('with classes it is the rule for matrices of grades', () => {
    const model = knownChange('classes', THREE_READERS);
    const table = new Float64Array(3 * GRADES * GRADES);
    fillReadingProbabilities(THREE_READERS, model.places.positions, table);
    const matrix = (a: number): number[][] =>
      Array.from({ length: GRADES }, (_, g) =>
        Array.from({ length: GRADES }, (_, k) => table[(a * GRADES + k) * GRADES + g] as number),
      );
    const pairs = pairedPatterns({ target: [1, 1], occasion: [0, 1], reader: [2, 0], category: [3, 1] }, GRADES, 3);
    const found = changeProbabilities(pairs, model);
    const byMatrices = gradeChange(
      {
        prior: Array.from(model.first),
        transitions: Array.from({ length: GRADES }, (_, g) =>
          Array.from(model.transitions.subarray(g * GRADES, (g + 1) * GRADES)),
        ),
        errors: [matrix(2), matrix(0)],
      },
      [3, 1],
    );
    expectNear(found.fell[0] as number, byMatrices.fell, 1e-12);
    expectNear(found.rose[0] as number, byMatrices.rose, 1e-12);
  });
});

describe('changeModelFit', () => {
  const serial = simulatePairs('continuum', THREE_READERS, 400, 2, seededRandom(31));

  test.each([
    ['positions', continuum],
    ['classes', classes],
  ] as const)('converges and says how it knows: %s', (_, truth) => {
    const fit = changeModelFit(serial.pairs, truth);
    expect(fit.converged).toBe(true);
    expect(fit.how).toContain('curvature is that of a maximum');
  });

  test('value, priors and slopes by a second formula, on a continuum', () => {
    const few = simulatePairs('continuum', THREE_READERS, 120, 1, seededRandom(12));
    const fit = changeModelFit(few.pairs, continuum);
    const places = truthPlaces(continuum);
    const n = places.positions.length;
    const table = new Float64Array(3 * GRADES * n);
    fillReadingProbabilities(THREE_READERS, places.positions, table);
    const seen = few.pairs.patterns.map((cells) =>
      Float64Array.from({ length: n }, (_, i) => cells.reduce((p, cell) => p * (table[cell * n + i] as number), 1)),
    );
    const meanWidth = (1 - -1.4) / 3;
    const at = (p: Float64Array): { logLikelihood: number; penalty: number } => {
      const [g1, g2, g3, g4, rise, fall, up, down, shape] = p as unknown as number[] as [
        number,
        number,
        number,
        number,
        number,
        number,
        number,
        number,
        number,
      ];
      const odds = [1, Math.exp(rise), Math.exp(fall)] as const;
      const total = odds[0] + odds[1] + odds[2];
      const shares = { rise: odds[1] / total, fall: odds[2] / total };
      const masses = places.positions.map((x, i) => {
        const tilt =
          g1 * x +
          (g2 * (x * x - 1)) / Math.sqrt(2) +
          (g3 * (x ** 3 - 3 * x)) / Math.sqrt(6) +
          (g4 * (x ** 4 - 6 * x * x + 3)) / Math.sqrt(24);
        return (places.widths[i] as number) * Math.exp(tilt - (x * x) / 2);
      });
      const all = masses.reduce((sum, mass) => sum + mass, 0);
      const t = changeTransitions(continuum, places, {
        ...shares,
        riseSize: Math.exp(up),
        fallSize: Math.exp(down),
        shape: Math.exp(shape),
      });
      let logLikelihood = 0;
      few.pairs.counts.forEach((count, pair) => {
        const one = seen[few.pairs.firsts[pair] as number] as Float64Array;
        const two = seen[few.pairs.seconds[pair] as number] as Float64Array;
        let sum = 0;
        for (let j = 0; j < n; j++)
          for (let k = 0; k < n; k++)
            sum += (one[j] as number) * ((masses[j] as number) / all) * (t[j * n + k] as number) * (two[k] as number);
        logLikelihood += count * Math.log(sum);
      });
      // The priors as `assumed` states them.
      const penalty =
        -(g1 ** 2 + g2 ** 2 + g3 ** 2 + g4 ** 2) / 2 +
        4 * Math.log(1 / total) +
        0.3 * (Math.log(shares.rise) + Math.log(shares.fall)) -
        ((up - Math.log(meanWidth)) / 0.4) ** 2 / 2 -
        ((down - Math.log(meanWidth)) / 0.4) ** 2 / 2 -
        ((shape - Math.log(6)) / 0.3) ** 2 / 2;
      return { logLikelihood, penalty };
    };
    const here = at(fit.point);
    expectNear(fit.logLikelihood, here.logLikelihood, 1e-11);
    expectNear(fit.penalty, here.penalty, 1e-11);
    const slopes = numericalGradient((p) => at(p).logLikelihood + at(p).penalty, fit.point);
    expect(slopes).toHaveLength(9);
    // The search ends when its parabola promises less than 1e-14 of the criterion: slopes below about 5e-5 here. Wrong ones are of order 1.
    for (const slope of slopes) expect(Math.abs(slope)).toBeLessThan(1e-4);
    expect(fit.assumed.join(' ')).toContain('Dirichlet(5, 1.3, 1.3)');
  });

  test('priors of the classes by a second formula', () => {
    const fit = changeModelFit(serial.pairs, classes);
    const { rise, fall, riseSize, fallSize } = fit.shares;
    expectNear(
      fit.penalty,
      fit.model.first.reduce((sum, share) => sum + 0.5 * Math.log(share), 0) +
        4 * Math.log(1 - rise - fall) +
        0.3 * (Math.log(rise) + Math.log(fall)) -
        (Math.log(riseSize / 0.3) / 0.7) ** 2 / 2 -
        (Math.log(fallSize / 0.3) / 0.7) ** 2 / 2,
      1e-11,
    );
  });

  test('from scattered starts the same maximum', () => {
    const fit = changeModelFit(serial.pairs, continuum);
    const random = seededRandom(1);
    for (let attempt = 0; attempt < 4; attempt++) {
      const again = changeModelFit(serial.pairs, continuum, { start: fit.point.map((x) => x + 0.4 * random.normal()) });
      expectNear(again.logLikelihood + again.penalty, fit.logLikelihood + fit.penalty, 1e-9);
    }
  });

  test('finds how common change is when there are many readings', () => {
    const many = simulatePairs('continuum', THREE_READERS, 20_000, 3, seededRandom(8));
    const fit = changeModelFit(many.pairs, continuum, { pointOnly: true });
    const changed = many.changed.reduce((sum, own) => sum + own, 0) / 20_000;
    expect(Math.abs(fit.gradeRose + fit.gradeFell - changed)).toBeLessThan(0.01);
    expect(Math.abs(fit.shares.fall - 0.16)).toBeLessThan(0.02);
    expect(Math.abs(fit.shares.rise - 0.09)).toBeLessThan(0.02);
    expect(fit.notes).toEqual([]);
    expectNear(
      fit.firstGrades.reduce((sum, share) => sum + share, 0),
      1,
      1e-12,
    );
    expectNear(
      fit.secondGrades.reduce((sum, share) => sum + share, 0),
      1,
      1e-12,
    );
  });

  test('says how little 400 pairs show, and refuses nine', () => {
    expect(changeModelFit(serial.pairs, classes).notes.map(({ code }) => code)).toEqual(['few-pairs']);
    const nine = simulatePairs('classes', THREE_READERS, 9, 1, seededRandom(3));
    expect(() => changeModelFit(nine.pairs, classes)).toThrow('state f and T');
  });
});

describe('pairedPatterns', () => {
  test('finds the readings of every target again, however rows lie', () => {
    const random = seededRandom(77);
    const rows = Array.from({ length: 60 }, (_, target) =>
      [0, 1].flatMap((occasion) =>
        Array.from({ length: 1 + random.below(3) }, () => ({
          target: 100 - target,
          occasion,
          reader: random.below(2),
          category: random.below(2),
          order: random.uniform(),
        })),
      ),
    )
      .flat()
      .sort((a, b) => a.order - b.order);
    const column = (name: 'target' | 'occasion' | 'reader' | 'category') => rows.map((row) => row[name]);
    const pairs = pairedPatterns(
      {
        target: column('target'),
        occasion: column('occasion'),
        reader: column('reader'),
        category: column('category'),
      },
      2,
      2,
    );
    expect(Array.from(pairs.targets)).toEqual([...new Set(column('target'))]);
    const seen = Array.from(pairs.pairOfTarget, (pair) =>
      [pairs.firsts, pairs.seconds].map((side) => pairs.patterns[side[pair] as number]),
    );
    expect(seen).toEqual(
      Array.from(pairs.targets, (target) =>
        [0, 1].map((occasion) =>
          rows
            .filter((row) => row.target === target && row.occasion === occasion)
            .map((row) => 2 * row.reader + row.category)
            .sort((a, b) => a - b),
        ),
      ),
    );
    const names = seen.map((one) => JSON.stringify(one));
    expect(pairs.counts.length).toBe(new Set(names).size);
    expect(new Set(pairs.patterns.map(String)).size).toBe(pairs.patterns.length);
    pairs.pairOfTarget.forEach((pair, at) => {
      expect(pairs.counts[pair]).toBe(names.filter((name) => name === names[at]).length);
    });
  });

  test('names every fault', () => {
    expect(() =>
      pairedPatterns({ target: [1, 2, 2], occasion: [0, 1, 2], reader: [0, 3, 0], category: [0, 0, 9] }, 5, 3),
    ).toThrow(/reader\[1\][\s\S]*occasion\[2\][\s\S]*category\[2\]/);
    expect(() =>
      pairedPatterns({ target: [1, 2, 2], occasion: [0, 0, 1], reader: [0, 0, 0], category: [0, 0, 0] }, 5, 3),
    ).toThrow('one occasion only');
  });
});
