import { type ChangeModel, type CompiledPairs, pairedPatterns, truthPlaces } from '../models/change-model.js';
import type { ReadingParameters } from '../models/reading-probabilities.js';
import { normal } from '../shared/distributions.js';
import type { Random } from '../shared/random.js';

/*
 * Invented limbs with a known truth, to measure whether a stated chance of change is right as often as it says. Neither world moves as the fitted models assume: true moves have a
 * bell-shaped distance, or one or two classes at a fixed ratio, and the sites of a patient are correlated.
 */

/** Where true limbs lie: anywhere on a continuum, on one where most moves are small (so that many do not pass a cut), or in classes at one location each. */
export type TrueWorld = 'continuum' | 'small moves' | 'classes';

/** Three invented assessors of five grades: one grades low, one high, one scatters more than the others. */
export const THREE_READERS: ReadingParameters = {
  cuts: [-1.4, -0.65, 0.05, 1.0],
  tendencies: [-0.25, 0.05, 0.2],
  spreads: [0.35, 0.45, 0.55],
  slip: 0.02,
};

const FALLS = 0.16;
const RISES = 0.09;
/** Mean and standard deviation of a bell-shaped move, and mean of a small one, in mean widths of a grade. */
const MOVE = { mean: 1.125, spread: 0.44, small: 0.875 };
/** Of moves between classes, the share of one step; the others are of two. */
const ONE_STEP = 0.8;
/** How far beyond the outer cuts the outer classes lie. */
const BEYOND = 0.5;
const SITES = 4;

/** Mean width of the inner grades; with a single cut, 0.8 of the spread of limbs, as where five grades share them about evenly. */
function gradeWidth({ cuts }: ReadingParameters): number {
  const last = cuts.length - 1;
  return last > 0 ? ((cuts[last] as number) - (cuts[0] as number)) / last : 0.8;
}

/** One location a class, in the middle of its grade. */
export function classLocations({ cuts }: ReadingParameters): readonly number[] {
  return Array.from({ length: cuts.length + 1 }, (_, g) =>
    g === 0
      ? (cuts[0] as number) - BEYOND
      : g === cuts.length
        ? (cuts[g - 1] as number) + BEYOND
        : ((cuts[g - 1] as number) + (cuts[g] as number)) / 2,
  );
}

/** How limbs of a world come to be where they are, with what does not change from limb to limb worked out once. */
class InventedLimbs {
  private readonly width: number;
  private readonly locations: readonly number[];
  private readonly draw: Int32Array;

  constructor(
    private readonly world: TrueWorld,
    private readonly reading: ReadingParameters,
    private readonly random: Random,
  ) {
    this.width = gradeWidth(reading);
    this.locations = classLocations(reading);
    this.draw = new Int32Array(reading.tendencies.length);
  }

  /** Where a limb of a patient lies: a position, or the location of the class of its grade. */
  first(patient: number): number {
    return this.placed(Math.SQRT1_2 * patient + Math.SQRT1_2 * this.random.normal());
  }

  /** Where it lies at the second visit. */
  second(first: number): number {
    const { world, reading, random } = this;
    const u = random.uniform();
    const way = u < FALLS ? -1 : u < FALLS + RISES ? 1 : 0;
    if (way === 0) return first;
    if (world === 'classes') {
      const steps = random.uniform() < ONE_STEP ? 1 : 2;
      const grade = Math.min(reading.cuts.length, Math.max(0, this.gradeAt(first) + way * steps));
      return this.locations[grade] as number;
    }
    const distance =
      world === 'continuum'
        ? Math.abs(MOVE.mean + MOVE.spread * random.normal())
        : -MOVE.small * Math.log(1 - random.uniform());
    return first + way * distance * this.width;
  }

  /** Grade of a position: how many cuts lie below it. */
  gradeAt(position: number): number {
    const { cuts } = this.reading;
    let grade = 0;
    while (grade < cuts.length && position > (cuts[grade] as number)) grade++;
    return grade;
  }

  /** What an assessor writes. */
  read(place: number, reader: number): number {
    const { reading, random } = this;
    if (random.uniform() < reading.slip) return random.below(reading.cuts.length + 1);
    const seen = place + (reading.tendencies[reader] as number) + (reading.spreads[reader] as number) * random.normal();
    return this.gradeAt(seen);
  }

  /** One of the assessors who have not been drawn since `drawn` was 0. */
  nextReader(drawn: number): number {
    const { draw, random } = this;
    if (drawn === 0) for (let a = 0; a < draw.length; a++) draw[a] = a;
    const left = draw.length - drawn - 1;
    const at = random.below(left + 1);
    const reader = draw[at] as number;
    for (let a = at; a < left; a++) draw[a] = draw[a + 1] as number;
    return reader;
  }

  private placed(position: number): number {
    return this.world === 'classes' ? (this.locations[this.gradeAt(position)] as number) : position;
  }
}

/** An agreement study: every assessor reads every site of every patient once. */
export function simulateStudy(world: TrueWorld, reading: ReadingParameters, patients: number, random: Random) {
  const limbs = new InventedLimbs(world, reading, random);
  const columns = { target: [] as number[], reader: [] as number[], category: [] as number[], cluster: [] as number[] };
  for (let patient = 0; patient < patients; patient++) {
    const level = random.normal();
    for (let site = 0; site < SITES; site++) {
      const place = limbs.first(level);
      for (let reader = 0; reader < reading.tendencies.length; reader++) {
        columns.target.push(patient * SITES + site);
        columns.cluster.push(patient);
        columns.reader.push(reader);
        columns.category.push(limbs.read(place, reader));
      }
    }
  }
  return columns;
}

/** Limbs read at two visits, with what is true of them. */
export interface SimulatedPairs {
  readonly pairs: CompiledPairs;
  /** 1 where the true grade changed, by target. */
  readonly changed: Uint8Array;
  /** First reading of each visit. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
}

/** Serial readings: each target on two occasions, each occasion by assessors drawn at random without repeats. */
export function simulatePairs(
  world: TrueWorld,
  reading: ReadingParameters,
  targets: number,
  readingsEach: number,
  random: Random,
): SimulatedPairs {
  const limbs = new InventedLimbs(world, reading, random);
  const rows = targets * 2 * readingsEach;
  const columns = {
    target: new Int32Array(rows),
    occasion: new Uint8Array(rows),
    reader: new Int32Array(rows),
    category: new Uint8Array(rows),
  };
  const changed = new Uint8Array(targets);
  const written = [new Uint8Array(targets), new Uint8Array(targets)] as const;
  let row = 0;
  for (let target = 0; target < targets; target++) {
    const first = limbs.first(random.normal());
    const second = limbs.second(first);
    changed[target] = limbs.gradeAt(first) === limbs.gradeAt(second) ? 0 : 1;
    for (const occasion of [0, 1] as const) {
      const place = occasion === 0 ? first : second;
      for (let drawn = 0; drawn < readingsEach; drawn++, row++) {
        const reader = limbs.nextReader(drawn);
        const category = limbs.read(place, reader);
        if (drawn === 0) written[occasion][target] = category;
        columns.target[row] = target;
        columns.occasion[row] = occasion;
        columns.reader[row] = reader;
        columns.category[row] = category;
      }
    }
  }
  return {
    pairs: pairedPatterns(columns, reading.cuts.length + 1, reading.tendencies.length),
    changed,
    before: written[0],
    after: written[1],
  };
}

/** The truth of a world as a change model, every number known. Small moves are too short for its places, so they have none. */
export function knownChange(world: 'continuum' | 'classes', reading: ReadingParameters): ChangeModel {
  return world === 'classes' ? knownClasses(reading) : knownContinuum(reading);
}

function knownClasses(reading: ReadingParameters): ChangeModel {
  const truth = { kind: 'classes', reading, locations: classLocations(reading) } as const;
  const grades = reading.cuts.length + 1;
  const below = [0, ...Array.from(reading.cuts, (cut) => normal.cdf(cut)), 1];
  const transitions = new Float64Array(grades * grades);
  for (let j = 0; j < grades; j++)
    for (const [share, way] of [
      [1 - FALLS - RISES, 0],
      [FALLS, -1],
      [RISES, 1],
    ] as const)
      for (const [part, steps] of [
        [ONE_STEP, 1],
        [1 - ONE_STEP, 2],
      ] as const) {
        const to = Math.min(grades - 1, Math.max(0, j + way * steps));
        transitions[j * grades + to] = (transitions[j * grades + to] as number) + share * part;
      }
  const first = Float64Array.from({ length: grades }, (_, g) => (below[g + 1] as number) - (below[g] as number));
  return { reading, places: truthPlaces(truth), first, transitions };
}

function knownContinuum(reading: ReadingParameters): ChangeModel {
  const bell = (x: number): number => Math.exp(-0.5 * x * x);
  const places = truthPlaces({ kind: 'positions', reading });
  const n = places.positions.length;
  const width = gradeWidth(reading);
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
      const masses = scaled(
        places.positions.map((x, k) => {
          const distance = (way * (x - (places.positions[j] as number))) / width;
          const density = bell((distance - MOVE.mean) / MOVE.spread) + bell((distance + MOVE.mean) / MOVE.spread);
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
