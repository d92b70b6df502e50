import { describe, expect, it } from 'vitest';
import type { ReadingError } from '../../src/measurement-error/reading-error.ts';
import { changeModelFit, changeProbabilities, pairedPatterns } from '../../src/models/change-model.ts';
import {
  type ChangeProbabilityOptions,
  chancesOf,
  changeProbabilitiesOf,
  continuumWeight,
  truthsOf,
} from '../../src/progression/change-probability.ts';
import type { LimbSeries } from '../../src/progression/limb-series.ts';
import { expectNear } from '../support/expect-near.ts';

const CUTS = [-0.9, 0.1, 1];
const POSITIONS = { cuts: CUTS, tendencies: [-0.2, 0.2], spreads: [0.35, 0.5], slip: 0.02 };
const CLASSES = { cuts: CUTS, tendencies: [-0.1, 0.1], spreads: [0.4, 0.6], slip: 0.03 };
/** How A and B read four grades of a scale of five, the highest of which the study never saw: stated, not estimated. */
const ERROR = {
  assessors: ['A', 'B'],
  grades: ['none', 'weak', 'strong', 'bounding'],
  gradeOf: [0, 1, 2, 3, -1],
  continuum: { reading: POSITIONS },
  classes: { reading: CLASSES, locations: [-1.4, -0.4, 0.5, 1.5] },
} as unknown as ReadingError;

type Reading = readonly [day: number, assessor: string, step: number];
const limb = (...readings: readonly Reading[]): LimbSeries => ({
  patient: 'p',
  limb: 'left-leg',
  site: 'popliteal',
  readings: readings.map(([day, assessor, step]) => ({ day, assessor, step, value: step, words: String(step) })),
});
/** Limbs read by A, then by B: two that fell, two that rose, the others within a grade. */
const PLAIN: readonly (readonly [number, number])[] = [
  [3, 0],
  [3, 1],
  [0, 3],
  [0, 2],
  [1, 1],
  [2, 2],
  [0, 0],
  [3, 3],
  [1, 2],
  [2, 1],
];
const plain = PLAIN.map(([first, last]) => limb([0, 'A', first], [30, 'B', last]));

type Row = readonly [target: number, occasion: number, reader: number, category: number];
const PLAIN_ROWS = PLAIN.flatMap(([first, last], target): Row[] => [
  [target, 0, 0, first],
  [target, 1, 1, last],
]);
/** Pairs of readings from rows written by hand, both models fitted to them, and the chances. */
function byHand(rows: readonly Row[]) {
  const column = (at: 0 | 1 | 2 | 3): number[] => rows.map((row) => row[at]);
  const pairs = pairedPatterns(
    { target: column(0), occasion: column(1), reader: column(2), category: column(3) },
    4,
    3,
  );
  const truths = truthsOf(ERROR);
  const [continuum, classes] = [changeModelFit(pairs, truths.continuum), changeModelFit(pairs, truths.classes)];
  return { pairs, continuum, classes };
}
const found = (series: readonly LimbSeries[], options: ChangeProbabilityOptions = {}) =>
  changeProbabilitiesOf(series, ERROR, options);
const codes = (notes: readonly { readonly code: string }[]): string[] => notes.map(({ code }) => code);

describe('which readings enter', () => {
  const special = [
    // Read on one day only.
    limb([5, 'A', 2], [5, 'B', 1]),
    // Visits between first and last do not enter, all readings of those two do.
    limb([0, 'B', 1], [0, 'A', 2], [10, 'A', 0], [20, 'B', 3], [40, 'A', 3], [40, 'B', 2]),
    // First read by a stranger alone.
    limb([0, 'Z', 1], [30, 'A', 1]),
    // A stranger beside A.
    limb([0, 'A', 3], [0, 'Z', 0], [30, 'B', 2]),
    // A grade that the study never saw: alone at the last visit, and beside another.
    limb([0, 'A', 3], [30, 'B', 4]),
    limb([0, 'A', 1], [30, 'A', 4], [30, 'B', 2]),
    // Strangers at the last visit.
    limb([0, 'B', 0], [30, 'Y', 0], [30, 'Z', 4]),
  ];

  it('those of the first and the last visit by assessors and of grades that the study saw', () => {
    const { fit, chances, notes } = found([...special, ...plain]);
    const first = special.length;
    expect(fit!.seriesOf).toEqual([1, 3, 5, ...PLAIN.map((_, at) => first + at)]);
    const hand = byHand([
      [0, 0, 1, 1],
      [0, 0, 0, 2],
      [0, 1, 0, 3],
      [0, 1, 1, 2],
      [1, 0, 0, 3],
      [1, 1, 1, 2],
      [2, 0, 0, 1],
      [2, 1, 1, 2],
      ...PLAIN_ROWS.map(([target, ...rest]): Row => [target + 3, ...rest]),
    ]);
    expect(fit!.pairs).toEqual(hand.pairs);
    const expected = chancesOf(hand.pairs, hand.continuum, hand.classes);
    chances.forEach((chance, at) => {
      const pair = fit!.seriesOf.indexOf(at);
      expect(chance).toEqual(pair < 0 ? undefined : expected[pair]);
    });
    expect(codes(notes).slice(0, 2)).toEqual(['unknown-assessors', 'new-grades']);
    expect(notes[0]!.message).toMatch(/^2 limb-sites have only readings by assessors/);
    expect(notes[1]!.message).toMatch(/^3 readings are of a grade/);
  });

  it('with one more assessor, those of strangers too', () => {
    const { fit, notes } = found([...special.slice(2, 4), ...plain], { unknownAssessors: 'any assessor' });
    const hand = byHand([
      [0, 0, 2, 1],
      [0, 1, 0, 1],
      [1, 0, 0, 3],
      [1, 0, 2, 0],
      [1, 1, 1, 2],
      ...PLAIN_ROWS.map(([target, ...rest]): Row => [target + 2, ...rest]),
    ]);
    expect(fit!.pairs).toEqual(hand.pairs);
    expect(codes(notes)).not.toContain('unknown-assessors');
  });

  it('of ten limbs or more', () => {
    const nine = found(plain.slice(1));
    expect([nine.fit, nine.chances]).toEqual([undefined, new Array(9).fill(undefined)]);
    expect(codes(nine.notes)).toEqual(['too-few-pairs']);
    expect(nine.notes[0]!.message).toMatch(/at least 10 limb-sites read on two days; there are 9\.$/);
    const none = found([special[0]!, special[2]!]);
    expect(codes(none.notes)).toEqual(['unknown-assessors', 'too-few-pairs']);
    expect(none.notes[1]!.message).toMatch(/there are 0\.$/);
    expect(found(plain).fit).toBeDefined();
  });
});

describe('the chances', () => {
  const { pairs, continuum, classes } = byHand(PLAIN_ROWS);
  const { chances, fit, notes } = found(plain);

  it('are the mean of both models, each weighted by its likelihood', () => {
    const weight =
      Math.exp(continuum.logLikelihood) / (Math.exp(continuum.logLikelihood) + Math.exp(classes.logLikelihood));
    expectNear(fit!.continuumWeight, weight, 1e-12);
    const [one, two] = [changeProbabilities(pairs, continuum.model), changeProbabilities(pairs, classes.model)];
    chances.forEach((chance, pair) => {
      for (const way of ['rose', 'fell', 'stayed'] as const) {
        expect(chance!.continuum[way]).toBe(one[way][pair]);
        expect(chance!.classes[way]).toBe(two[way][pair]);
        expectNear(chance![way], weight * one[way][pair]! + (1 - weight) * two[way][pair]!, 1e-12);
      }
    });
    // From 3 to 0 it fell, from 0 to 3 it rose.
    expect(chances[0]!.fell).toBeGreaterThan(0.5);
    expect(chances[2]!.rose).toBeGreaterThan(0.5);
  });

  it('say where the two models differ by more than a tenth, and by how much each counts', () => {
    const apart = chances.filter((chance) => Math.abs(chance!.continuum.stayed - chance!.classes.stayed) > 0.1).length;
    expect(apart).toBeGreaterThan(0);
    const note = notes.find(({ code }) => code === 'models-differ')!;
    expect(note.message).toContain(`For ${apart} limb-sites the two models differ by more than 0.1`);
    expect(note.message).toContain(
      `with weight ${fit!.continuumWeight.toFixed(2)} on limbs along a continuum and ${(1 - fit!.continuumWeight).toFixed(2)} on limbs in classes`,
    );
    // Two models read alike, on limbs that hardly change: nothing to say.
    const same = {
      ...ERROR,
      classes: { reading: POSITIONS, locations: [-1.4, -0.4, 0.5, 1.5] },
    } as unknown as ReadingError;
    const still = Array.from({ length: 40 }, (_, at) => limb([0, 'A', at % 4], [30, 'A', at % 4], [30, 'B', at % 4]));
    const quiet = changeProbabilitiesOf(still, same, {});
    const differ = quiet.chances.some((chance) => Math.abs(chance!.continuum.stayed - chance!.classes.stayed) > 0.1);
    expect(codes(quiet.notes).includes('models-differ')).toBe(differ);
    expect(differ).toBe(false);
  });

  it('carry the notes of both fits, what both say once', () => {
    const said = [...continuum.notes, ...classes.notes].map(({ message }) => message);
    expect(said.length).toBeGreaterThan(new Set(said).size);
    for (const message of said) expect(notes.filter((note) => note.message === message)).toHaveLength(1);
    expect(codes(notes)).not.toContain('not-converged');
  });
});

it('gives both truths one more assessor, without tendency and with the wider spread, and the classes their places', () => {
  const truths = truthsOf(ERROR);
  for (const [truth, { cuts, tendencies, spreads, slip }] of [
    [truths.continuum, POSITIONS],
    [truths.classes, CLASSES],
  ] as const) {
    // The middle of two spreads on the scale of logarithms, and the variance of two tendencies about 0.
    const [a, b] = spreads as [number, number];
    const wide = Math.sqrt(a * b + tendencies[0]! ** 2 + tendencies[1]! ** 2);
    expect(truth.reading).toEqual({
      cuts,
      tendencies: [...tendencies, 0],
      spreads: [...spreads, expect.closeTo(wide, 12)],
      slip,
    });
  }
  expect([truths.continuum.kind, truths.classes.kind]).toEqual(['positions', 'classes']);
  expect(truths.classes).toMatchObject({ locations: [-1.4, -0.4, 0.5, 1.5] });
  const other = truthsOf(ERROR, { positions: CLASSES, classes: { reading: POSITIONS, locations: [0, 1, 2, 3] } });
  expect(other.continuum.reading.slip).toBe(CLASSES.slip);
  expect(other.classes).toMatchObject({ locations: [0, 1, 2, 3], reading: { slip: POSITIONS.slip } });
});

it('weighs two models as equals where they explain the readings as well, and survives likelihoods far apart', () => {
  expect(continuumWeight({ logLikelihood: -700 }, { logLikelihood: -700 })).toBe(0.5);
  expect(continuumWeight({ logLikelihood: -100 }, { logLikelihood: -100 - Math.log(3) })).toBeCloseTo(0.75, 12);
  expect(continuumWeight({ logLikelihood: -5000 }, { logLikelihood: -1000 })).toBe(0);
  expect(continuumWeight({ logLikelihood: -1000 }, { logLikelihood: -5000 })).toBe(1);
});
