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
import type { InputError } from '../../src/shared/input-error.ts';
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

describe('places at the edges', () => {
  test('outer grades reach to ±4.5, or 2 beyond an outer cut, in panels of at most 1.2 with eight nodes each', () => {
    const at = (cuts: number[]): { reach: number; panels: number[]; ends: [number, number] } => {
      const { positions, grades, widths } = truthPlaces({ kind: 'positions', reading: { ...THREE_READERS, cuts } });
      // The weights of Gauss–Legendre quadrature add up to the length; its nodes lie within 0.02 half-panels of their ends.
      expect([...positions]).toEqual([...positions].sort((a, b) => a - b));
      return {
        reach: widths.reduce((sum, width) => sum + width, 0),
        panels: Array.from({ length: cuts.length + 1 }, (_, g) => grades.filter((own) => own === g).length / 8),
        ends: [positions[0] as number, positions[positions.length - 1] as number],
      };
    };
    const plain = at([-1, 0.2]);
    expectNear(plain.reach, 9, 1e-12);
    // 3.5 / 1.2, 1.2 / 1.2 and 4.3 / 1.2 rounded up.
    expect(plain.panels).toEqual([3, 1, 4]);
    expectNear(plain.ends[0], -4.5 + (3.5 / 6) * (1 - 0.9602898564975363), 1e-12);
    expectNear(plain.ends[1], 4.5 - (4.3 / 8) * (1 - 0.9602898564975363), 1e-12);
    const far = at([-3, 3.4]);
    expectNear(far.reach, 5 + 5.4, 1e-12);
    expect(at([0]).panels).toEqual([4, 4]);
    // Polynomials of degree 15 are integrated exactly in a panel: ∫ x¹⁴ from −1 to 0.2.
    const { positions, grades, widths } = truthPlaces({
      kind: 'positions',
      reading: { ...THREE_READERS, cuts: [-1, 0.2] },
    });
    let integral = 0;
    positions.forEach((x, i) => {
      if (grades[i] === 1) integral += (widths[i] as number) * x ** 14;
    });
    expectNear(integral, (0.2 ** 15 + 1) / 15, 1e-14);
  });

  test('classes are places with a grade each', () => {
    const { positions, grades, widths } = truthPlaces(classes);
    expect([...positions]).toEqual([-1.9, -1, -0.3, 0.5, 1.5]);
    expect([...grades]).toEqual([0, 1, 2, 3, 4]);
    expect([...widths]).toEqual([1, 1, 1, 1, 1]);
  });
});

describe('changeTransitions', () => {
  test('classes: each further grade is less likely by the ratio', () => {
    const t = changeTransitions(classes, truthPlaces(classes), {
      rise: 0.3,
      fall: 0.2,
      riseSize: 0.5,
      fallSize: 0.25,
      shape: 7,
    });
    const row = (j: number): number[] => Array.from(t.subarray(5 * j, 5 * j + 5));
    // From the middle: rises 1 : 0.5, falls 1 : 0.25. From an end the other way only.
    const expected = [
      [0.7 + 0, 0.3 / 1.875, 0.15 / 1.875, 0.075 / 1.875, 0.0375 / 1.875],
      [0.2, 0.5, 0.3 / 1.75, 0.15 / 1.75, 0.075 / 1.75],
      [0.05 / 1.25, 0.2 / 1.25, 0.5, 0.3 / 1.5, 0.15 / 1.5],
      [0.0125 / 1.3125, 0.05 / 1.3125, 0.2 / 1.3125, 0.5, 0.3],
      [0.003125 / 1.328125, 0.0125 / 1.328125, 0.05 / 1.328125, 0.2 / 1.328125, 0.8],
    ];
    for (let j = 0; j < 5; j++)
      for (let k = 0; k < 5; k++) expectNear(row(j)[k] as number, expected[j]?.[k] as number, 1e-14);
  });

  test('positions: distances with density ∝ d^(s − 1) e^(−s d/m) over the places there are', () => {
    const two: TruthKind = { kind: 'positions', reading: { ...THREE_READERS, cuts: [-0.4, 0.9] } };
    const places = truthPlaces(two);
    const n = places.positions.length;
    const [rise, fall, up, down, shape] = [0.12, 0.21, 0.7, 0.5, 3.5];
    const t = changeTransitions(two, places, { rise, fall, riseSize: up, fallSize: down, shape });
    for (const j of [0, 1, 17, 30, n - 2, n - 1]) {
      const mass = (k: number): number => {
        const d = (places.positions[k] as number) - (places.positions[j] as number);
        const size = d > 0 ? up : down;
        return d === 0
          ? 0
          : (places.widths[k] as number) * Math.abs(d) ** (shape - 1) * Math.exp((-shape * Math.abs(d)) / size);
      };
      let [above, below] = [0, 0];
      for (let k = 0; k < n; k++) {
        if (k > j) above += mass(k);
        if (k < j) below += mass(k);
      }
      for (let k = 0; k < n; k++) {
        const expected =
          k > j
            ? (rise * mass(k)) / above
            : k < j
              ? (fall * mass(k)) / below
              : 1 - (j < n - 1 ? rise : 0) - (j > 0 ? fall : 0);
        expectNear(t[j * n + k] as number, expected, 1e-13);
      }
    }
  });
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

  test('grades on both occasions, and what rose and fell, are sums over the model', () => {
    for (const truth of [continuum, classes]) {
      const { model, firstGrades, secondGrades, gradeRose, gradeFell, shares } = changeModelFit(serial.pairs, truth, {
        pointOnly: true,
      });
      expect(model.transitions).toEqual(changeTransitions(truth, model.places, shares));
      const n = model.first.length;
      const before = new Array<number>(GRADES).fill(0);
      const after = new Array<number>(GRADES).fill(0);
      let [rose, fell] = [0, 0];
      for (let j = 0; j < n; j++)
        for (let k = 0; k < n; k++) {
          const mass = (model.first[j] as number) * (model.transitions[j * n + k] as number);
          const [from, to] = [model.places.grades[j] as number, model.places.grades[k] as number];
          before[from] = (before[from] as number) + mass;
          after[to] = (after[to] as number) + mass;
          if (to > from) rose += mass;
          if (to < from) fell += mass;
        }
      for (let g = 0; g < GRADES; g++) {
        expectNear(firstGrades[g] as number, before[g] as number, 1e-12);
        expectNear(secondGrades[g] as number, after[g] as number, 1e-12);
      }
      expectNear(gradeRose, rose, 1e-12);
      expectNear(gradeFell, fell, 1e-12);
    }
  });

  test('a single cut: distances are expected about 0.8', () => {
    const two: TruthKind = { kind: 'positions', reading: { ...THREE_READERS, cuts: [0.3] } };
    const rows = Array.from({ length: 40 }, (_, row) => row);
    const pairs = pairedPatterns(
      {
        target: rows.map((row) => row >> 1),
        occasion: rows.map((row) => row % 2),
        reader: rows.map((row) => row % 3),
        category: rows.map((row) => ((row * 5) % 7) % 2),
      },
      2,
      3,
    );
    const fit = changeModelFit(pairs, two);
    expect(fit.assumed.join(' ')).toContain('ln m ~ N(ln 0.80, 0.4²)');
    const { rise, fall, riseSize, fallSize, shape } = fit.shares;
    expectNear(
      fit.penalty,
      -fit.point.slice(0, 4).reduce((sum, g) => sum + g * g, 0) / 2 +
        4 * Math.log(1 - rise - fall) +
        0.3 * Math.log(rise * fall) -
        [riseSize, fallSize].reduce((sum, size) => sum + (Math.log(size / 0.8) / 0.4) ** 2 / 2, 0) -
        (Math.log(shape / 6) / 0.3) ** 2 / 2,
      1e-11,
    );
  });

  test('value, priors and slopes by a second formula, in classes', () => {
    const few = simulatePairs('classes', THREE_READERS, 120, 1, seededRandom(12));
    const fit = changeModelFit(few.pairs, classes);
    const places = truthPlaces(classes);
    const table = new Float64Array(3 * GRADES * GRADES);
    fillReadingProbabilities(THREE_READERS, places.positions, table);
    const seen = few.pairs.patterns.map((cells) =>
      Array.from({ length: GRADES }, (_, g) => cells.reduce((p, cell) => p * (table[cell * GRADES + g] as number), 1)),
    );
    const at = (p: Float64Array): { logLikelihood: number; penalty: number } => {
      const odds = [1, ...Array.from(p.subarray(0, 4), Math.exp)];
      const all = odds.reduce((sum, own) => sum + own, 0);
      const [rise, fall] = [Math.exp(p[4] as number), Math.exp(p[5] as number)];
      const shares = { rise: rise / (1 + rise + fall), fall: fall / (1 + rise + fall) };
      const t = changeTransitions(classes, places, {
        ...shares,
        riseSize: Math.exp(p[6] as number),
        fallSize: Math.exp(p[7] as number),
        shape: 1,
      });
      let logLikelihood = 0;
      few.pairs.counts.forEach((count, pair) => {
        const one = seen[few.pairs.firsts[pair] as number] as number[];
        const two = seen[few.pairs.seconds[pair] as number] as number[];
        let sum = 0;
        for (let j = 0; j < GRADES; j++)
          for (let k = 0; k < GRADES; k++)
            sum +=
              (one[j] as number) * ((odds[j] as number) / all) * (t[j * GRADES + k] as number) * (two[k] as number);
        logLikelihood += count * Math.log(sum);
      });
      const penalty =
        0.5 * odds.reduce((sum, own) => sum + Math.log(own / all), 0) -
        4 * Math.log(1 + rise + fall) +
        0.3 * Math.log(shares.rise * shares.fall) -
        (((p[6] as number) - Math.log(0.3)) / 0.7) ** 2 / 2 -
        (((p[7] as number) - Math.log(0.3)) / 0.7) ** 2 / 2;
      return { logLikelihood, penalty };
    };
    expectNear(fit.logLikelihood, at(fit.point).logLikelihood, 1e-11);
    expectNear(fit.penalty, at(fit.point).penalty, 1e-11);
    const slopes = numericalGradient((p) => at(p).logLikelihood + at(p).penalty, fit.point);
    expect(slopes).toHaveLength(8);
    for (const slope of slopes) expect(Math.abs(slope)).toBeLessThan(1e-4);
    expect(fit.shares.shape).toBe(1);
    // Counts of a resample take the place of those found.
    const double = changeModelFit(few.pairs, classes, {
      counts: few.pairs.counts.map((count) => 2 * count),
      pointOnly: true,
    });
    expectNear(double.logLikelihood, 2 * at(double.point).logLikelihood, 1e-11);
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
    const ten = simulatePairs('classes', THREE_READERS, 10, 1, seededRandom(3));
    expect(changeModelFit(ten.pairs, classes, { pointOnly: true }).kind).toBe('change-model-fit');
    const thousand = simulatePairs('classes', THREE_READERS, 1000, 1, seededRandom(3));
    expect(changeModelFit(thousand.pairs, classes, { pointOnly: true }).notes).toEqual([]);
    expect(() => changeModelFit(nine.pairs, classes)).toThrow('state f and T');
  });
});

describe('pairedPatterns', () => {
  test('finds what is distinct, whatever the order of rows', () => {
    // Targets 7, 3 and 5 alike but for the order of readings; 4 with the two patterns the other way round.
    const found = pairedPatterns(
      {
        target: [7, 7, 3, 7, 3, 3, 4, 4, 4, 5, 5, 5],
        occasion: [0, 1, 1, 0, 0, 0, 0, 1, 1, 0, 0, 1],
        reader: [1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 1, 0],
        category: [2, 1, 1, 0, 0, 2, 1, 2, 0, 0, 2, 1],
      },
      3,
      2,
    );
    // Cells are reader · 3 + category.
    expect(found.patterns).toEqual([[0, 5], [1]]);
    expect([...found.firsts]).toEqual([0, 1]);
    expect([...found.seconds]).toEqual([1, 0]);
    expect([...found.counts]).toEqual([3, 1]);
    expect([...found.pairOfTarget]).toEqual([0, 0, 1, 0]);
    expect([...found.targets]).toEqual([7, 3, 4, 5]);
  });

  test('refuses at every bound', () => {
    const fine = { target: [1, 1], occasion: [0, 1], reader: [0, 1], category: [0, 2] };
    const paths = (part: Partial<typeof fine>): string[] => {
      try {
        pairedPatterns({ ...fine, ...part }, 3, 2);
      } catch (error) {
        return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
      }
      return [];
    };
    expect(paths({})).toEqual([]);
    expect(paths({ reader: [0, 2], category: [3, 0] })).toEqual(['bad-value category.0', 'bad-value reader.1']);
    expect(paths({ reader: [-1, 0.5], category: [-1, Number.NaN] })).toEqual([
      'bad-value reader.0',
      'bad-value category.0',
      'bad-value reader.1',
      'bad-value category.1',
    ]);
    expect(paths({ target: [Number.NaN, Number.POSITIVE_INFINITY], occasion: [0.5, -1] })).toEqual([
      'bad-value target.0',
      'bad-value occasion.0',
      'bad-value target.1',
      'bad-value occasion.1',
    ]);
    expect(paths({ occasion: [0], reader: [0], category: [0] })).toEqual([
      'unequal-columns occasion',
      'unequal-columns reader',
      'unequal-columns category',
    ]);
    expect(paths({ target: [1, 2], occasion: [1, 0] })).toEqual(['one-occasion target.0', 'one-occasion target.1']);
  });

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
