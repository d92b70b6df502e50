import {
  type ChangeModel,
  type CompiledPairs,
  changeModelFit,
  changeProbabilities,
  pairedPatterns,
  truthPlaces,
} from '../../src/models/change-model.ts';
import { locatedClassFit } from '../../src/models/located-class-fit.ts';
import { positionModelFit } from '../../src/models/position-model-fit.ts';
import { readingPatterns } from '../../src/models/reading-patterns.ts';
import type { ReadingParameters } from '../../src/models/reading-probabilities.ts';
import { type Random, seededRandom } from '../../src/shared/random.ts';

/*
 * Invented limbs with a known truth, to measure whether a stated probability of change is right as often as it says.
 * Two worlds: positions on a continuum, and classes at one location each. Neither moves as the fitted models assume: true moves have a
 * bell-shaped distance, or one or two classes at a fixed ratio, and the patient's sites are correlated.
 */

/** `small moves`: a continuum on which most moves are small, so that many do not pass a cut. */
export type World = 'continuum' | 'small moves' | 'classes';

const CUTS = [-1.4, -0.65, 0.05, 1.0];
export const GRADES = 5;
const LOCATIONS = [-1.9, -1.0, -0.3, 0.5, 1.5];
const CLASS_SHARES = [0.08, 0.18, 0.26, 0.32, 0.16];

export const THREE_READERS: ReadingParameters = {
  cuts: CUTS,
  tendencies: [-0.25, 0.05, 0.2],
  spreads: [0.35, 0.45, 0.55],
  slip: 0.02,
};
export const TWO_READERS: ReadingParameters = {
  cuts: CUTS,
  tendencies: [-0.2, 0.2],
  spreads: [0.45, 0.45],
  slip: 0.02,
};

const FALLS = 0.16;
const RISES = 0.09;

interface Truth {
  readonly place: number;
  readonly grade: number;
}

function truthAt(world: World, value: number): Truth {
  if (world === 'classes') return { place: LOCATIONS[value] as number, grade: value };
  return { place: value, grade: CUTS.filter((cut) => value > cut).length };
}

function firstTruth(world: World, random: Random, patient: number): number {
  if (world !== 'classes') return Math.SQRT1_2 * patient + Math.SQRT1_2 * random.normal();
  // Classes from the same correlated normal, cut at the class shares.
  const z = Math.SQRT1_2 * patient + Math.SQRT1_2 * random.normal();
  let grade = 0;
  let below = CLASS_SHARES[0] as number;
  while (grade < GRADES - 1 && normalShare(z) > below) {
    grade++;
    below += CLASS_SHARES[grade] as number;
  }
  return grade;
}

/** Φ by its logistic approximation's inverse relation is not exact enough here; this is Abramowitz & Stegun 26.2.17. */
function normalShare(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}

function secondTruth(world: World, first: number, random: Random): number {
  const u = random.uniform();
  const way = u < FALLS ? -1 : u < FALLS + RISES ? 1 : 0;
  if (way === 0) return first;
  if (world === 'continuum') return first + way * Math.abs(0.9 + 0.35 * random.normal());
  if (world === 'small moves') return first - way * 0.7 * Math.log(1 - random.uniform());
  const steps = random.uniform() < 0.8 ? 1 : 2;
  return Math.min(GRADES - 1, Math.max(0, first + way * steps));
}

function read(reading: ReadingParameters, place: number, reader: number, random: Random): number {
  if (random.uniform() < reading.slip) return random.below(GRADES);
  const seen = place + (reading.tendencies[reader] as number) + (reading.spreads[reader] as number) * random.normal();
  let grade = 0;
  while (grade < GRADES - 1 && seen > (reading.cuts[grade] as number)) grade++;
  return grade;
}

/** An agreement study: every assessor reads every site of every patient once. */
export function simulateStudy(world: World, reading: ReadingParameters, patients: number, random: Random) {
  const columns = { target: [] as number[], reader: [] as number[], category: [] as number[], cluster: [] as number[] };
  for (let patient = 0; patient < patients; patient++) {
    const level = random.normal();
    for (let site = 0; site < 4; site++) {
      const { place } = truthAt(world, firstTruth(world, random, level));
      for (let reader = 0; reader < reading.tendencies.length; reader++) {
        columns.target.push(patient * 4 + site);
        columns.cluster.push(patient);
        columns.reader.push(reader);
        columns.category.push(read(reading, place, reader, random));
      }
    }
  }
  return columns;
}

/** Serial readings: each target on two occasions, each occasion by assessors drawn at random without repeats. */
export function simulatePairs(
  world: World,
  reading: ReadingParameters,
  targets: number,
  readingsEach: number,
  random: Random,
): {
  readonly pairs: CompiledPairs;
  readonly changed: Uint8Array;
  readonly written: readonly (readonly [number, number])[];
} {
  const columns = {
    target: [] as number[],
    occasion: [] as number[],
    reader: [] as number[],
    category: [] as number[],
  };
  const changed = new Uint8Array(targets);
  const written: [number, number][] = [];
  for (let target = 0; target < targets; target++) {
    const before = firstTruth(world, random, random.normal());
    const after = secondTruth(world, before, random);
    const truths = [truthAt(world, before), truthAt(world, after)] as const;
    changed[target] = truths[0].grade === truths[1].grade ? 0 : 1;
    const firsts: [number, number] = [0, 0];
    truths.forEach(({ place }, occasion) => {
      const readers = Array.from({ length: reading.tendencies.length }, (_, a) => a);
      for (let r = 0; r < readingsEach; r++) {
        const reader = readers.splice(random.below(readers.length), 1)[0] as number;
        const category = read(reading, place, reader, random);
        if (r === 0) firsts[occasion as 0 | 1] = category;
        columns.target.push(target);
        columns.occasion.push(occasion);
        columns.reader.push(reader);
        columns.category.push(category);
      }
    });
    written.push(firsts);
  }
  return { pairs: pairedPatterns(columns, GRADES, reading.tendencies.length), changed, written };
}

/** The truth of a world as a change model, every number known. */
export function knownModel(world: World, reading: ReadingParameters): ChangeModel {
  const bell = (x: number): number => Math.exp(-0.5 * x * x);
  if (world === 'classes') {
    const truth = { kind: 'classes', reading, locations: LOCATIONS } as const;
    const transitions = new Float64Array(GRADES * GRADES);
    for (let j = 0; j < GRADES; j++)
      for (const [share, way] of [
        [1 - FALLS - RISES, 0],
        [FALLS, -1],
        [RISES, 1],
      ] as const)
        for (const [part, steps] of [
          [0.8, 1],
          [0.2, 2],
        ] as const) {
          const to = Math.min(GRADES - 1, Math.max(0, j + way * steps));
          transitions[j * GRADES + to] = (transitions[j * GRADES + to] as number) + share * part;
        }
    return { reading, places: truthPlaces(truth), first: Float64Array.from(CLASS_SHARES), transitions };
  }
  const truth = { kind: 'positions', reading } as const;
  const places = truthPlaces(truth);
  const n = places.positions.length;
  const scaled = (masses: Float64Array): Float64Array => {
    const total = masses.reduce((sum, mass) => sum + mass, 0);
    return total > 0 ? masses.map((mass) => mass / total) : masses;
  };
  const first = scaled(places.positions.map((x, i) => (places.widths[i] as number) * bell(x)));
  const transitions = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    for (const [share, way] of [
      [FALLS, -1],
      [RISES, 1],
    ] as const) {
      // |N(0.9, 0.35²)| along the way, or an exponential distance of mean 0.7.
      const masses = scaled(
        places.positions.map((x, k) => {
          const distance = way * (x - (places.positions[j] as number));
          const density =
            world === 'small moves'
              ? Math.exp(-distance / 0.7)
              : bell((distance - 0.9) / 0.35) + bell((distance + 0.9) / 0.35);
          return distance > 0 ? (places.widths[k] as number) * density : 0;
        }),
      );
      let moved = 0;
      masses.forEach((mass, k) => {
        transitions[j * n + k] = (transitions[j * n + k] as number) + share * mass;
        moved += share * mass;
      });
      transitions[j * n + j] = (transitions[j * n + j] as number) + share - moved;
    }
    transitions[j * n + j] = (transitions[j * n + j] as number) + 1 - FALLS - RISES;
  }
  return { reading, places, first, transitions };
}

/** Mean stated probability and share truly changed in each tenth of the stated probability. */
export interface Tenths {
  readonly stated: number[];
  readonly changed: number[];
}

function tenthsOf(stated: ArrayLike<number>, changed: ArrayLike<number>): Tenths {
  const order = Array.from(stated, (_, i) => i).sort((a, b) => (stated[a] as number) - (stated[b] as number) || a - b);
  const result: Tenths = { stated: [], changed: [] };
  for (let d = 0; d < 10; d++) {
    const part = order.slice(Math.floor((d * order.length) / 10), Math.floor(((d + 1) * order.length) / 10));
    result.stated.push(part.reduce((sum, i) => sum + (stated[i] as number), 0) / part.length);
    result.changed.push(part.reduce((sum, i) => sum + (changed[i] as number), 0) / part.length);
  }
  return result;
}

export function worstGap({ stated, changed }: Tenths): number {
  return stated.reduce((worst, own, d) => Math.max(worst, Math.abs(own - (changed[d] as number))), 0);
}

/** How often p ≥ a limit is right, and which share of the changes it finds. */
export interface Calls {
  called: number;
  right: number;
  changes: number;
}

function callsAt(limit: number, stated: ArrayLike<number>, changed: ArrayLike<number>): Calls {
  const calls: Calls = { called: 0, right: 0, changes: 0 };
  for (let i = 0; i < stated.length; i++) {
    calls.changes += changed[i] as number;
    if ((stated[i] as number) >= limit) {
      calls.called++;
      calls.right += changed[i] as number;
    }
  }
  return calls;
}

export interface CalibrationSettings {
  readonly world: World;
  readonly reading: ReadingParameters;
  readonly studies: number;
  readonly patients: number;
  readonly serialPairs: number;
  /** Fresh targets on which each study's probabilities are judged. */
  readonly judgedPairs: number;
  readonly readingsEach: number;
  readonly seed: number;
}

export type Method = 'positions' | 'classes' | 'mean';

export interface CalibrationResult {
  /** Tenths averaged over studies, and the worst gap in them. */
  readonly averaged: Record<Method, number>;
  /** Median over studies of one study's worst gap. */
  readonly medianWorst: Record<Method, number>;
  /** For the mean of both models at .5, .8 and .9. */
  readonly calls: Record<'0.5' | '0.8' | '0.9', Calls>;
  readonly notConverged: number;
  readonly meanChanged: number;
}

/** Whole studies: reading models from an agreement study, f and T from serial readings, judged on fresh targets of known truth. */
export function calibrate(settings: CalibrationSettings): CalibrationResult {
  const { world, reading } = settings;
  const methods: readonly Method[] = ['positions', 'classes', 'mean'];
  const sums = Object.fromEntries(
    methods.map((method) => [
      method,
      { stated: new Array<number>(10).fill(0), changed: new Array<number>(10).fill(0) },
    ]),
  ) as unknown as Record<Method, Tenths>;
  const worsts: Record<Method, number[]> = { positions: [], classes: [], mean: [] };
  const calls = {
    '0.5': { called: 0, right: 0, changes: 0 },
    '0.8': { called: 0, right: 0, changes: 0 },
    '0.9': { called: 0, right: 0, changes: 0 },
  };
  let notConverged = 0;
  let changedTotal = 0;
  for (let study = 0; study < settings.studies; study++) {
    const random = seededRandom(settings.seed, study);
    const patterns = readingPatterns(simulateStudy(world, reading, settings.patients, random), GRADES);
    const continuum = positionModelFit(patterns, { pointOnly: true });
    const classes = locatedClassFit(patterns, { scale: continuum.reading, pointOnly: true });
    const serial = simulatePairs(world, reading, settings.serialPairs, settings.readingsEach, random);
    const fits = [
      changeModelFit(serial.pairs, { kind: 'positions', reading: continuum.reading }, { pointOnly: true }),
      changeModelFit(
        serial.pairs,
        { kind: 'classes', reading: classes.reading, locations: classes.locations },
        { pointOnly: true },
      ),
    ] as const;
    if (![continuum, classes, ...fits].every(({ converged }) => converged)) notConverged++;
    const judged = simulatePairs(world, reading, settings.judgedPairs, settings.readingsEach, random);
    const [byPosition, byClass] = fits.map(({ model }) => {
      const { stayed } = changeProbabilities(judged.pairs, model);
      return stayed.map((share) => 1 - share);
    }) as [Float64Array, Float64Array];
    const stated: Record<Method, Float64Array> = {
      positions: byPosition,
      classes: byClass,
      mean: byPosition.map((own, i) => (own + (byClass[i] as number)) / 2),
    };
    changedTotal += judged.changed.reduce((sum, own) => sum + own, 0) / judged.changed.length;
    for (const method of methods) {
      const tenths = tenthsOf(stated[method], judged.changed);
      worsts[method].push(worstGap(tenths));
      for (let d = 0; d < 10; d++) {
        sums[method].stated[d] = (sums[method].stated[d] as number) + (tenths.stated[d] as number) / settings.studies;
        sums[method].changed[d] =
          (sums[method].changed[d] as number) + (tenths.changed[d] as number) / settings.studies;
      }
    }
    for (const limit of ['0.5', '0.8', '0.9'] as const) {
      const own = callsAt(Number(limit), stated.mean, judged.changed);
      calls[limit].called += own.called;
      calls[limit].right += own.right;
      calls[limit].changes += own.changes;
    }
  }
  const median = (values: number[]): number =>
    [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] as number;
  const over = (pick: (method: Method) => number): Record<Method, number> => ({
    positions: pick('positions'),
    classes: pick('classes'),
    mean: pick('mean'),
  });
  return {
    averaged: over((method) => worstGap(sums[method])),
    medianWorst: over((method) => median(worsts[method])),
    calls,
    notConverged,
    meanChanged: changedTotal / settings.studies,
  };
}

/** The same judgment with every parameter known: one large set of fresh targets. */
export function calibrateKnown(
  world: World,
  reading: ReadingParameters,
  judgedPairs: number,
  readingsEach: number,
  seed: number,
) {
  const judged = simulatePairs(world, reading, judgedPairs, readingsEach, seededRandom(seed, 0));
  const { stayed } = changeProbabilities(judged.pairs, knownModel(world, reading));
  const stated = stayed.map((share) => 1 - share);
  return {
    worst: worstGap(tenthsOf(stated, judged.changed)),
    at: Object.fromEntries([0.5, 0.8, 0.9].map((limit) => [limit, callsAt(limit, stated, judged.changed)])),
    meanChanged: judged.changed.reduce((sum, own) => sum + own, 0) / judgedPairs,
  };
}
