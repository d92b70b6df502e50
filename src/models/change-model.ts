import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { softmax } from './chain-likelihood.js';
import { diagonalMatrix } from './linear-algebra.js';
import { type Minimum, minimize } from './optimize.js';
import { howMinimumEnded } from './position-model-fit.js';
import { PatternTree, patternLikelihoods } from './reading-patterns.js';
import { fillReadingProbabilities, type ReadingParameters } from './reading-probabilities.js';
import { objectiveOf } from './value-and-gradient.js';

/** Readings of targets on two occasions, one row a reading, as columns of equal length. */
export interface PairedReadings {
  /** Any number that tells targets apart. */
  readonly target: ArrayLike<number>;
  /** 0 for the first occasion, 1 for the second. */
  readonly occasion: ArrayLike<number>;
  /** 0 … readers − 1, as in the reading model. */
  readonly reader: ArrayLike<number>;
  /** 0 … grades − 1. */
  readonly category: ArrayLike<number>;
}

/** Pairs by what is distinct. */
export interface CompiledPairs {
  /** Distinct sets of readings of one occasion. */
  readonly patterns: readonly (readonly number[])[];
  /** First and second pattern of each distinct pair, and how many targets show it. */
  readonly firsts: Int32Array;
  readonly seconds: Int32Array;
  readonly counts: Float64Array;
  /** The distinct pair of each target, and the targets' codes in the order met. */
  readonly pairOfTarget: Int32Array;
  readonly targets: Float64Array;
}

/** What a true grade is: a stretch of a continuum of positions, or a class at one location. */
export type TruthKind =
  | { readonly kind: 'positions'; readonly reading: ReadingParameters }
  | { readonly kind: 'classes'; readonly reading: ReadingParameters; readonly locations: ArrayLike<number> };

/** A truth on a finite number of places, each in one grade. */
export interface TruthPlaces {
  readonly positions: Float64Array;
  readonly grades: Int32Array;
  /** Weight of each place in an integral over positions; 1 for classes. */
  readonly widths: Float64Array;
}

/** f and T with every number given: the last thing needed for a probability of change. */
export interface ChangeModel {
  readonly reading: ReadingParameters;
  readonly places: TruthPlaces;
  /** f: P(place on the first occasion). */
  readonly first: Float64Array;
  /** T: P(place on the second occasion | place on the first), row by row. */
  readonly transitions: Float64Array;
}

/** T in a few numbers: most stay, some rise and some fall, by how much. */
export interface ChangeShares {
  /** P(rises), P(falls) where there is room to. */
  readonly rise: number;
  readonly fall: number;
  /** Positions: mean distance m of a rise and of a fall. Classes: ratio of the probability of each further grade to the one before. */
  readonly riseSize: number;
  readonly fallSize: number;
  /** Positions: shape s of the distances, density ∝ d^(s − 1) e^(−s d/m); the larger, the more alike they are. Not used by classes. */
  readonly shape: number;
}

export interface ChangeModelFit {
  readonly kind: 'change-model-fit';
  readonly truth: 'positions' | 'classes';
  readonly converged: boolean;
  readonly how: string;
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
  readonly logLikelihood: number;
  readonly penalty: number;
  readonly shares: ChangeShares;
  /** P(grade) on the first and on the second occasion. */
  readonly firstGrades: readonly number[];
  readonly secondGrades: readonly number[];
  /** Share of targets whose true grade rose or fell. */
  readonly gradeRose: number;
  readonly gradeFell: number;
  readonly model: ChangeModel;
  /** Parameters for a warm start of the next fit. */
  readonly point: Float64Array;
}

/** P(true grade rose), P(fell), P(stayed) of each target given all its readings. */
export interface ChangeProbabilities {
  readonly targets: Float64Array;
  readonly rose: Float64Array;
  readonly fell: Float64Array;
  readonly stayed: Float64Array;
}

/** Finds the distinct pairs; throws `InputError` (`unequal-columns`, `bad-value`, `one-occasion`) with every fault. */
export function pairedPatterns(data: PairedReadings, grades: number, readers: number): CompiledPairs {
  const rows = data.target.length;
  const problems: Problem[] = [];
  for (const [name, column] of [
    ['occasion', data.occasion],
    ['reader', data.reader],
    ['category', data.category],
  ] as const)
    if (column.length !== rows)
      problems.push({
        code: 'unequal-columns',
        path: [name],
        message: `${name} has ${column.length} entries, but target has ${rows}.`,
      });
  if (problems.length > 0) throw new InputError(problems);
  const bad = (column: string, row: number, value: number, expected: string): void => {
    problems.push({ code: 'bad-value', path: [column, row], message: `${column}[${row}] is ${value}.`, expected });
  };
  const fits = (value: number, bound: number): boolean => Number.isInteger(value) && value >= 0 && value < bound;
  // A target's number in the order met, and where its first row is.
  const numbers = new Map<number, number>();
  const firstRows: number[] = [];
  // The readings of one occasion of a target belong together: place 2 · number + occasion.
  const placeOfRow = new Int32Array(rows);
  const ends = new Int32Array(2 * rows);
  let last = Number.NaN;
  let number = -1;
  for (let row = 0; row < rows; row++) {
    const target = data.target[row] as number;
    const occasion = data.occasion[row] as number;
    const reader = data.reader[row] as number;
    const category = data.category[row] as number;
    if (!Number.isFinite(target)) bad('target', row, target, 'a number that names the target');
    if (!fits(occasion, 2)) bad('occasion', row, occasion, '0 or 1');
    if (!fits(reader, readers))
      bad('reader', row, reader, `a whole number from 0 to ${readers - 1}, as in the reading model`);
    if (!fits(category, grades)) bad('category', row, category, `a whole number from 0 to ${grades - 1}`);
    if (problems.length > 0) continue;
    if (target !== last) {
      number = numbers.get(target) ?? firstRows.push(row) - 1;
      numbers.set(target, number);
      last = target;
    }
    const place = 2 * number + occasion;
    placeOfRow[row] = place;
    ends[place] = (ends[place] as number) + 1;
  }
  const targets = firstRows.length;
  for (let t = 0; t < targets; t++)
    if (ends[2 * t] === 0 || ends[2 * t + 1] === 0)
      problems.push({
        code: 'one-occasion',
        path: ['target', firstRows[t] as number],
        message: `The target at row ${firstRows[t]} was read on one occasion only.`,
        mend: 'leave it out: without a second reading there is no change to speak of.',
      });
  if (problems.length > 0) throw new InputError(problems);

  // Counts become the first cell of each place, and while the cells are put there, the end of each.
  let filled = 0;
  for (let place = 0; place < 2 * targets; place++) {
    const own = ends[place] as number;
    ends[place] = filled;
    filled += own;
  }
  const cells = new Int32Array(rows);
  for (let row = 0; row < rows; row++) {
    const place = placeOfRow[row] as number;
    const at = ends[place] as number;
    cells[at] = (data.reader[row] as number) * grades + (data.category[row] as number);
    ends[place] = at + 1;
  }
  const tree = new PatternTree(readers * grades);
  const patternAt = new Int32Array(2 * targets);
  for (let place = 0, from = 0; place < 2 * targets; place++) {
    const to = ends[place] as number;
    patternAt[place] = tree.numberOf(cells, from, to);
    from = to;
  }
  const pairs = new Map<number, number>();
  const firsts: number[] = [];
  const seconds: number[] = [];
  const counts: number[] = [];
  const pairOfTarget = new Int32Array(targets);
  for (let t = 0; t < targets; t++) {
    const first = patternAt[2 * t] as number;
    const second = patternAt[2 * t + 1] as number;
    const key = first * tree.patterns.length + second;
    let pair = pairs.get(key);
    if (pair === undefined) {
      pair = firsts.push(first) - 1;
      seconds.push(second);
      counts.push(0);
      pairs.set(key, pair);
    }
    counts[pair] = (counts[pair] as number) + 1;
    pairOfTarget[t] = pair;
  }
  return {
    patterns: tree.patterns,
    firsts: Int32Array.from(firsts),
    seconds: Int32Array.from(seconds),
    counts: Float64Array.from(counts),
    pairOfTarget,
    targets: Float64Array.from(numbers.keys()),
  };
}

/** Nodes and weights of 8-point Gauss–Legendre quadrature on −1 … 1 (Abramowitz & Stegun, table 25.4). */
const LEGENDRE_NODES = [0.1834346424956498, 0.525532409916329, 0.7966664774136267, 0.9602898564975363];
const LEGENDRE_WEIGHTS = [0.362683783378362, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763];

/**
 * The places that stand for the truth: for classes their locations; for a continuum, quadrature nodes inside each grade, so that no place
 * straddles a cut. The outer grades reach to 4.5 on the study's scale, or 2 beyond the outer cut.
 */
export function truthPlaces(truth: TruthKind): TruthPlaces {
  if (truth.kind === 'classes') {
    const positions = Float64Array.from(truth.locations);
    return {
      positions,
      grades: Int32Array.from(positions, (_, g) => g),
      widths: new Float64Array(positions.length).fill(1),
    };
  }
  const cuts = Array.from(truth.reading.cuts);
  const edges = [
    Math.min(-4.5, (cuts[0] as number) - 2),
    ...cuts,
    Math.max(4.5, (cuts[cuts.length - 1] as number) + 2),
  ];
  const positions: number[] = [];
  const grades: number[] = [];
  const widths: number[] = [];
  for (let g = 0; g + 1 < edges.length; g++) {
    const [from, to] = [edges[g] as number, edges[g + 1] as number];
    // One panel for each 1.2 of width keeps the spacing below the narrowest spread met in practice.
    const panels = Math.max(1, Math.ceil((to - from) / 1.2));
    const half = (to - from) / panels / 2;
    for (let p = 0; p < panels; p++) {
      const center = from + (2 * p + 1) * half;
      for (const side of [-1, 1])
        for (let j = 0; j < 4; j++) {
          const node = side * (LEGENDRE_NODES[side < 0 ? 3 - j : j] as number);
          positions.push(center + half * node);
          widths.push(half * (LEGENDRE_WEIGHTS[side < 0 ? 3 - j : j] as number));
          grades.push(g);
        }
    }
  }
  return {
    positions: Float64Array.from(positions),
    grades: Int32Array.from(grades),
    widths: Float64Array.from(widths),
  };
}

/** T from its shares: stay where they were, or rise or fall by a distance; where there is no room to move, stay. */
export function changeTransitions(truth: TruthKind, places: TruthPlaces, shares: ChangeShares): Float64Array {
  const n = places.positions.length;
  const transitions = new Float64Array(n * n);
  const lengths = moveLengths(truth, places);
  const [up, down] = [noMoves(n), noMoves(n)];
  fillMoves(up, lengths, 'rise', Math.log(shares.riseSize), shares.shape);
  fillMoves(down, lengths, 'fall', Math.log(shares.fallSize), shares.shape);
  for (let j = 0; j < n; j++) {
    let stay = 1;
    for (const [share, kernel] of [
      [shares.rise, up.kernel],
      [shares.fall, down.kernel],
    ] as const) {
      let room = 0;
      for (let k = 0; k < n; k++) {
        const moved = share * (kernel[j * n + k] as number);
        transitions[j * n + k] = (transitions[j * n + k] as number) + moved;
        room += moved;
      }
      stay -= room;
    }
    transitions[j * n + j] = (transitions[j * n + j] as number) + stay;
  }
  return transitions;
}

/** Moves one way from each place. */
interface Moves {
  /** P(to | from, moves this way), row by row; a row of zeros where there is no room. */
  readonly kernel: Float64Array;
  /** 1 where there is room to move. */
  readonly room: Uint8Array;
  /** Mean length of the moves from each place, and mean ln length. */
  readonly meanLength: Float64Array;
  readonly meanLogLength: Float64Array;
}

function noMoves(n: number): Moves {
  return {
    kernel: new Float64Array(n * n),
    room: new Uint8Array(n),
    meanLength: new Float64Array(n),
    meanLogLength: new Float64Array(n),
  };
}

/** How long the move from each place to each other is, row by row: a distance, or steps beyond the first between classes. */
interface MoveLengths {
  readonly kind: TruthKind['kind'];
  readonly lengths: Float64Array;
  readonly logLengths: Float64Array;
  /** Widths of the places moved to. */
  readonly widths: Float64Array;
}

function moveLengths({ kind }: TruthKind, { positions, widths }: TruthPlaces): MoveLengths {
  const n = positions.length;
  const lengths = new Float64Array(n * n);
  for (let j = 0; j < n; j++)
    for (let k = 0; k < n; k++)
      lengths[j * n + k] =
        kind === 'classes' ? Math.abs(k - j) - 1 : Math.abs((positions[k] as number) - (positions[j] as number));
  return { kind, lengths, logLengths: kind === 'classes' ? lengths : lengths.map(Math.log), widths };
}

/** Fills the side of the diagonal that a way leads to; the other stays zero. */
function fillMoves(
  { kernel, room, meanLength, meanLogLength }: Moves,
  { kind, lengths, logLengths, widths }: MoveLengths,
  way: 'rise' | 'fall',
  logSize: number,
  shape: number,
): void {
  const n = widths.length;
  const size = Math.exp(logSize);
  for (let j = 0; j < n; j++) {
    const from = way === 'rise' ? j * n + j + 1 : j * n;
    const to = way === 'rise' ? j * n + n : j * n + j;
    let total = 0;
    let lengthSum = 0;
    let logLengthSum = 0;
    for (let at = from; at < to; at++) {
      const length = lengths[at] as number;
      const logLength = logLengths[at] as number;
      // d^(s−1) e^(−s d/m) against its height at d = m, which the division by the total takes out again.
      const height =
        kind === 'classes'
          ? size ** length
          : (widths[at - j * n] as number) *
            Math.exp((shape - 1) * (logLength - logSize) - shape * (length / size - 1));
      kernel[at] = height;
      total += height;
      lengthSum += height * length;
      logLengthSum += height * logLength;
    }
    room[j] = Number(total > 0);
    if (!(total > 0)) {
      kernel.fill(0, from, to);
      continue;
    }
    for (let at = from; at < to; at++) kernel[at] = (kernel[at] as number) / total;
    meanLength[j] = lengthSum / total;
    meanLogLength[j] = logLengthSum / total;
  }
}

/** From ∂ℓ/∂T to ∂ℓ by the share that moves this way and, for a share of 1, by ln size and ln shape. */
function moveDerivatives(
  { kernel, room, meanLength, meanLogLength }: Moves,
  { kind, lengths, logLengths, widths }: MoveLengths,
  way: 'rise' | 'fall',
  byTransition: Float64Array,
  size: number,
  shape: number,
): { readonly byShare: number; readonly bySize: number; readonly byShape: number } {
  const n = widths.length;
  let byShare = 0;
  let byLength = 0;
  let byLogLength = 0;
  for (let j = 0; j < n; j++) {
    const from = way === 'rise' ? j * n + j + 1 : j * n;
    const to = way === 'rise' ? j * n + n : j * n + j;
    if (room[j] === 0) byShare += byTransition[j * n + j] as number;
    let sum = 0;
    let lengthSum = 0;
    let logLengthSum = 0;
    for (let at = from; at < to; at++) {
      const own = (byTransition[at] as number) * (kernel[at] as number);
      sum += own;
      lengthSum += own * (lengths[at] as number);
      logLengthSum += own * (logLengths[at] as number);
    }
    byShare += sum;
    byLength += lengthSum - sum * (meanLength[j] as number);
    byLogLength += logLengthSum - sum * (meanLogLength[j] as number);
  }
  return kind === 'classes'
    ? { byShare, bySize: byLength, byShape: 0 }
    : { byShare, bySize: (shape / size) * byLength, byShape: shape * (byLogLength - byLength / size) };
}

/** Degree up to which ln of the density of positions may differ from that of N(0, 1). */
const TILTS = 4;
/** Prior standard deviation of each coefficient of that difference, on orthonormal Hermite polynomials. */
const TILT_SCALE = 1;
/** Dirichlet(1 + these) on the shares that stay, rise and fall: most stay. Without it few, singly read pairs leave the shares open, mostly upward. */
const STAY_PRIOR = 4;
const MOVE_PRIOR = 0.3;
/** Dirichlet(1 + this) on the shares of classes. */
const CLASS_PRIOR = 0.5;
/** ln of the ratio of each further class ~ N(ln center, scale²). */
const RATIO_CENTER = 0.3;
const RATIO_SCALE = 0.7;
/** ln of the mean distance ~ N(ln mean width of a grade, scale²); ln of the shape ~ N(ln center, scale²): moves of about one grade. */
const DISTANCE_SCALE = 0.4;
const SHAPE_CENTER = 6;
const SHAPE_SCALE = 0.3;

/** Center and scale of the prior of ln size: of distances for positions, of the ratio for classes. */
function sizePrior(truth: TruthKind): { readonly center: number; readonly scale: number } {
  if (truth.kind === 'classes') return { center: RATIO_CENTER, scale: RATIO_SCALE };
  const { cuts } = truth.reading;
  const last = cuts.length - 1;
  // A single cut bounds no grade; 0.8 is the width of a grade when five share a normal population about evenly.
  const width = last > 0 ? ((cuts[last] as number) - (cuts[0] as number)) / last : 0.8;
  return { center: width, scale: DISTANCE_SCALE };
}

/**
 * How true grades are spread and how they change between two occasions, from serial readings, with the reading model held fixed.
 * ℓ = Σ ln Σⱼₖ Π P(y₁ | θⱼ, a) fⱼ Tⱼₖ Π P(y₂ | θₖ, a′). f: on a continuum ln f = ln φ + Σ γₕ Heₕ(θ), h = 1 … 4 (positions N(0, 1) tilted); for classes free shares.
 * T: stay, rise or fall, with shares that are the same everywhere there is room. Neither is ever taken flat or by default: a flat prior calls four times as many
 * changes as there are. Weak priors (stated in `assumed`) keep the fit in range.
 *
 * @throws InputError `too-few-pairs` under 10 targets.
 * @example
 * const pairs = pairedPatterns(serial, 5, 3);
 * const fit = changeModelFit(pairs, { kind: 'positions', reading: continuum.reading });
 * changeProbabilities(pairs, fit.model).fell; // for each target
 *
 * Source: Efron B. Biometrika 2016;103:1–20, doi:10.1093/biomet/asv068 (the prior as an exponential family).
 */
export function changeModelFit(
  pairs: CompiledPairs,
  truth: TruthKind,
  options: { readonly start?: Float64Array; readonly counts?: Float64Array; readonly pointOnly?: boolean } = {},
): ChangeModelFit {
  const counts = options.counts ?? pairs.counts;
  const targets = counts.reduce((sum, count) => sum + count, 0);
  if (targets < 10)
    throw refuse(
      'too-few-pairs',
      ['pairs'],
      `${targets} targets read twice do not show how grades are spread and change.`,
      'add serial readings, or state f and T.',
    );
  const places = truthPlaces(truth);
  const n = places.positions.length;
  const gradeCount = truth.reading.cuts.length + 1;
  const counted = countedPairs(pairs, counts, placeLikelihoods(pairs.patterns, truth.reading, places), n);
  const lengths = moveLengths(truth, places);
  const [up, down] = [noMoves(n), noMoves(n)];
  const transitions = new Float64Array(n * n);
  const byTransition = new Float64Array(n * n);
  const firstSize = truth.kind === 'positions' ? TILTS : n - 1;
  const size = firstSize + (truth.kind === 'positions' ? 5 : 4);
  const prior = sizePrior(truth);
  const tilts = hermite(places.positions);
  const baseline = places.positions.map((x, i) => Math.log(places.widths[i] as number) - 0.5 * x * x);

  const firstAt = (point: Float64Array): Float64Array => {
    if (truth.kind === 'classes') return softmax(point, 0, n);
    const logs = baseline.map((own, i) => {
      let sum = own;
      for (let h = 0; h < TILTS; h++) sum += (point[h] as number) * (tilts[h * n + i] as number);
      return sum;
    });
    const largest = logs.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY);
    const masses = logs.map((value) => Math.exp(value - largest));
    const total = masses.reduce((sum, mass) => sum + mass, 0);
    return masses.map((mass) => mass / total);
  };
  const sharesAt = (point: Float64Array): ChangeShares => {
    const shares = softmax(point, firstSize, 3);
    return {
      rise: shares[1] as number,
      fall: shares[2] as number,
      riseSize: Math.exp(point[firstSize + 2] as number),
      fallSize: Math.exp(point[firstSize + 3] as number),
      shape: truth.kind === 'positions' ? Math.exp(point[firstSize + 4] as number) : 1,
    };
  };

  let parts = { logLikelihood: Number.NaN, penalty: Number.NaN };
  const evaluate = (point: Float64Array): { value: number; gradient: Float64Array } => {
    const first = firstAt(point);
    const shares = sharesAt(point);
    const stayShare = 1 - shares.rise - shares.fall;
    fillMoves(up, lengths, 'rise', point[firstSize + 2] as number, shares.shape);
    fillMoves(down, lengths, 'fall', point[firstSize + 3] as number, shares.shape);
    for (let j = 0; j < n; j++) {
      for (let k = 0; k < j; k++) transitions[j * n + k] = shares.fall * (down.kernel[j * n + k] as number);
      for (let k = j + 1; k < n; k++) transitions[j * n + k] = shares.rise * (up.kernel[j * n + k] as number);
      transitions[j * n + j] =
        stayShare + (up.room[j] === 1 ? 0 : shares.rise) + (down.room[j] === 1 ? 0 : shares.fall);
    }
    // ∂ℓ/∂f and ∂ℓ/∂T.
    const { logLikelihood, byFirst } = pairDerivatives(counted, first, transitions, byTransition);
    const gradient = new Float64Array(size);
    let penalty = 0;
    let total = 0;
    for (let j = 0; j < n; j++) total += (byFirst[j] as number) * (first[j] as number);
    if (truth.kind === 'classes') {
      for (let j = 0; j < n; j++) {
        penalty += CLASS_PRIOR * Math.log(first[j] as number);
        if (j > 0)
          gradient[j - 1] = (first[j] as number) * ((byFirst[j] as number) - total - CLASS_PRIOR * n) + CLASS_PRIOR;
      }
    } else {
      for (let h = 0; h < TILTS; h++) {
        let mean = 0;
        for (let j = 0; j < n; j++) mean += (first[j] as number) * (tilts[h * n + j] as number);
        let slope = 0;
        for (let j = 0; j < n; j++)
          slope += (byFirst[j] as number) * (first[j] as number) * ((tilts[h * n + j] as number) - mean);
        const own = (point[h] as number) / TILT_SCALE;
        penalty -= 0.5 * own * own;
        gradient[h] = slope - own / TILT_SCALE;
      }
    }
    let byStay = 0;
    for (let j = 0; j < n; j++) byStay += byTransition[j * n + j] as number;
    const rises = moveDerivatives(up, lengths, 'rise', byTransition, shares.riseSize, shares.shape);
    const falls = moveDerivatives(down, lengths, 'fall', byTransition, shares.fallSize, shares.shape);
    const meanBy = stayShare * byStay + shares.rise * rises.byShare + shares.fall * falls.byShare;
    penalty += STAY_PRIOR * Math.log(stayShare) + MOVE_PRIOR * (Math.log(shares.rise) + Math.log(shares.fall));
    gradient[firstSize] =
      shares.rise * (rises.byShare - meanBy) + MOVE_PRIOR - (STAY_PRIOR + 2 * MOVE_PRIOR) * shares.rise;
    gradient[firstSize + 1] =
      shares.fall * (falls.byShare - meanBy) + MOVE_PRIOR - (STAY_PRIOR + 2 * MOVE_PRIOR) * shares.fall;
    [shares.rise * rises.bySize, shares.fall * falls.bySize].forEach((slope, i) => {
      const away = ((point[firstSize + 2 + i] as number) - Math.log(prior.center)) / prior.scale;
      penalty -= 0.5 * away * away;
      gradient[firstSize + 2 + i] = slope - away / prior.scale;
    });
    if (truth.kind === 'positions') {
      const away = ((point[firstSize + 4] as number) - Math.log(SHAPE_CENTER)) / SHAPE_SCALE;
      penalty -= 0.5 * away * away;
      gradient[firstSize + 4] = shares.rise * rises.byShape + shares.fall * falls.byShape - away / SHAPE_SCALE;
    }
    parts = { logLikelihood, penalty };
    return { value: -(logLikelihood + penalty), gradient: gradient.map((slope) => -slope) };
  };

  const start = options.start ?? startingChange(truth, size, firstSize);
  const found: Minimum = minimize(objectiveOf(evaluate), start, {
    gradientTolerance: 1e-5 / Math.max(1, targets / 100),
    inverseHessian: diagonalMatrix(roughVariances(truth, firstSize, targets)),
    finalHessian: options.pointOnly !== true,
  });
  evaluate(found.point);
  const shares = sharesAt(found.point);
  const first = firstAt(found.point);
  const model: ChangeModel = {
    reading: truth.reading,
    places,
    first,
    transitions: changeTransitions(truth, places, shares),
  };
  const mix = gradeMix(model, gradeCount);
  return {
    kind: 'change-model-fit',
    truth: truth.kind,
    converged: found.converged,
    how: howMinimumEnded(found),
    assumed: [
      'Cuts, tendencies, spreads and the slip are those of the agreement study.',
      'Readings are independent given the true position or grade, on one occasion and across occasions.',
      'Rising and falling are equally likely wherever there is room, and equally likely for every target before it is read.',
      'Targets of one patient are taken as independent for the estimate.',
      truth.kind === 'positions'
        ? `Positions are N(0, 1) tilted by four Hermite polynomials with coefficients N(0, ${TILT_SCALE}²); distances d moved have density ∝ d^(s − 1) exp(−s d/m), ln m ~ N(ln ${prior.center.toFixed(2)}, ${prior.scale}²), ln s ~ N(ln ${SHAPE_CENTER}, ${SHAPE_SCALE}²).`
        : `Class shares Dirichlet(${1 + CLASS_PRIOR}); each further grade is less likely by a factor whose ln is N(ln ${prior.center}, ${prior.scale}²).`,
      `Shares that stay, rise and fall Dirichlet(${1 + STAY_PRIOR}, ${1 + MOVE_PRIOR}, ${1 + MOVE_PRIOR}).`,
    ],
    notes:
      targets < 1000
        ? [
            caution(
              'few-pairs',
              `${targets} targets were read on both occasions. Below about 1,000 singly read targets the share that changed is known to about ± 0.1 only, and the weak prior toward staying shows.`,
            ),
          ]
        : [],
    logLikelihood: parts.logLikelihood,
    penalty: parts.penalty,
    shares,
    ...mix,
    model,
    point: found.point,
  };
}

function startingChange(truth: TruthKind, size: number, firstSize: number): Float64Array {
  const start = new Float64Array(size);
  start[firstSize] = Math.log(0.1 / 0.8);
  start[firstSize + 1] = Math.log(0.1 / 0.8);
  start[firstSize + 2] = Math.log(sizePrior(truth).center);
  start[firstSize + 3] = Math.log(sizePrior(truth).center);
  if (truth.kind === 'positions') start[firstSize + 4] = Math.log(SHAPE_CENTER);
  return start;
}

/** About the variance of each number's estimate from so many targets: where the search begins its curvature; only how many steps it takes rests on it. */
function roughVariances(truth: TruthKind, firstSize: number, targets: number): number[] {
  const { scale } = sizePrior(truth);
  const ofFirst = truth.kind === 'positions' ? 1 / (TILT_SCALE ** -2 + targets / 2) : 10 / targets;
  const ofShares = Math.min(1, 40 / targets);
  const variances = [...new Array<number>(firstSize).fill(ofFirst), ofShares, ofShares, scale ** 2, scale ** 2];
  return truth.kind === 'positions' ? [...variances, SHAPE_SCALE ** 2] : variances;
}

/** Orthonormal Hermite polynomials of degree 1 … 4 at each place: He₁ = x, He₂ = (x² − 1)/√2, He₃ = (x³ − 3x)/√6, He₄ = (x⁴ − 6x² + 3)/√24. */
function hermite(positions: Float64Array): Float64Array {
  const n = positions.length;
  const values = new Float64Array(TILTS * n);
  for (let i = 0; i < n; i++) {
    const x = positions[i] as number;
    values[i] = x;
    values[n + i] = (x * x - 1) / Math.sqrt(2);
    values[2 * n + i] = (x ** 3 - 3 * x) / Math.sqrt(6);
    values[3 * n + i] = (x ** 4 - 6 * x * x + 3) / Math.sqrt(24);
  }
  return values;
}

/** Likelihood of every pattern at every place. */
function placeLikelihoods(
  patterns: readonly (readonly number[])[],
  reading: ReadingParameters,
  places: TruthPlaces,
): { readonly values: Float64Array; readonly logScale: Float64Array } {
  const n = places.positions.length;
  const table = new Float64Array(reading.tendencies.length * (reading.cuts.length + 1) * n);
  fillReadingProbabilities(reading, places.positions, table);
  return patternLikelihoods(patterns, table, n);
}

/** How many second patterns are worked on at once, so that each number of T is fetched once for them. */
const TOGETHER = 4;

/** The pairs that count, with what stays the same while f and T are sought. */
interface CountedPairs {
  readonly places: number;
  /** Where the likelihoods of each pair's patterns begin: of the first in `firstValues`, of the second in `secondValues`. */
  readonly firsts: Int32Array;
  readonly seconds: Int32Array;
  readonly counts: Float64Array;
  readonly firstValues: Float64Array;
  /** The distinct second patterns row by row, then rows of zeros up to a multiple of `TOGETHER`. */
  readonly secondValues: Float64Array;
  /** Σ count · (ln scale of both patterns). */
  readonly logScale: number;
}

function countedPairs(
  pairs: CompiledPairs,
  counts: Float64Array,
  { values, logScale }: { readonly values: Float64Array; readonly logScale: Float64Array },
  n: number,
): CountedPairs {
  const open = Array.from(counts.keys()).filter((pair) => counts[pair] !== 0);
  const used = [...new Set(open.map((pair) => pairs.seconds[pair] as number))];
  const rowOf = new Map(used.map((pattern, row) => [pattern, row]));
  const secondValues = new Float64Array(Math.ceil(used.length / TOGETHER) * TOGETHER * n);
  used.forEach((pattern, row) => {
    secondValues.set(values.subarray(pattern * n, (pattern + 1) * n), row * n);
  });
  return {
    places: n,
    firsts: Int32Array.from(open, (pair) => (pairs.firsts[pair] as number) * n),
    seconds: Int32Array.from(open, (pair) => (rowOf.get(pairs.seconds[pair] as number) as number) * n),
    counts: Float64Array.from(open, (pair) => counts[pair] as number),
    firstValues: values,
    secondValues,
    logScale: open.reduce(
      (sum, pair) =>
        sum +
        (counts[pair] as number) *
          ((logScale[pairs.firsts[pair] as number] as number) + (logScale[pairs.seconds[pair] as number] as number)),
      0,
    ),
  };
}

/** ℓ and ∂ℓ/∂f; leaves ∂ℓ/∂T in `byTransition`. */
function pairDerivatives(
  { places: n, firsts, seconds, counts, firstValues, secondValues, logScale }: CountedPairs,
  first: Float64Array,
  transitions: Float64Array,
  byTransition: Float64Array,
): { logLikelihood: number; byFirst: Float64Array } {
  // T l₂ once for each second pattern.
  const carried = new Float64Array(secondValues.length);
  for (let a = 0; a < carried.length; a += TOGETHER * n) {
    const [b, c, d] = [a + n, a + 2 * n, a + 3 * n];
    for (let j = 0; j < n; j++) {
      let [sumA, sumB, sumC, sumD] = [0, 0, 0, 0];
      for (let k = 0; k < n; k++) {
        const to = transitions[j * n + k] as number;
        sumA += to * (secondValues[a + k] as number);
        sumB += to * (secondValues[b + k] as number);
        sumC += to * (secondValues[c + k] as number);
        sumD += to * (secondValues[d + k] as number);
      }
      carried[a + j] = sumA;
      carried[b + j] = sumB;
      carried[c + j] = sumC;
      carried[d + j] = sumD;
    }
  }
  const byFirst = new Float64Array(n);
  let logLikelihood = logScale;
  // Pairs with one second pattern share their sum over first patterns: one outer product for each second pattern.
  const gathered = new Float64Array(secondValues.length);
  for (let i = 0; i < firsts.length; i++) {
    const one = firsts[i] as number;
    const two = seconds[i] as number;
    const count = counts[i] as number;
    let total = 0;
    for (let j = 0; j < n; j++)
      total += (firstValues[one + j] as number) * (first[j] as number) * (carried[two + j] as number);
    logLikelihood += count * Math.log(total);
    const weight = count / total;
    for (let j = 0; j < n; j++) {
      const own = weight * (firstValues[one + j] as number);
      byFirst[j] = (byFirst[j] as number) + own * (carried[two + j] as number);
      gathered[two + j] = (gathered[two + j] as number) + own * (first[j] as number);
    }
  }
  byTransition.fill(0);
  for (let a = 0; a < gathered.length; a += TOGETHER * n) {
    const [b, c, d] = [a + n, a + 2 * n, a + 3 * n];
    for (let j = 0; j < n; j++) {
      const massA = gathered[a + j] as number;
      const massB = gathered[b + j] as number;
      const massC = gathered[c + j] as number;
      const massD = gathered[d + j] as number;
      for (let k = 0; k < n; k++)
        byTransition[j * n + k] =
          (byTransition[j * n + k] as number) +
          massA * (secondValues[a + k] as number) +
          massB * (secondValues[b + k] as number) +
          massC * (secondValues[c + k] as number) +
          massD * (secondValues[d + k] as number);
    }
  }
  return { logLikelihood, byFirst };
}

/** Grades on both occasions and the share that changed, by the model alone. */
function gradeMix(
  model: ChangeModel,
  grades: number,
): Pick<ChangeModelFit, 'firstGrades' | 'secondGrades' | 'gradeRose' | 'gradeFell'> {
  const n = model.first.length;
  const before = new Float64Array(grades);
  const after = new Float64Array(grades);
  let gradeRose = 0;
  let gradeFell = 0;
  for (let j = 0; j < n; j++) {
    const from = model.places.grades[j] as number;
    before[from] = (before[from] as number) + (model.first[j] as number);
    for (let k = 0; k < n; k++) {
      const to = model.places.grades[k] as number;
      const mass = (model.first[j] as number) * (model.transitions[j * n + k] as number);
      after[to] = (after[to] as number) + mass;
      if (to > from) gradeRose += mass;
      if (to < from) gradeFell += mass;
    }
  }
  return { firstGrades: Array.from(before), secondGrades: Array.from(after), gradeRose, gradeFell };
}

/**
 * For each target the probability that its true grade rose, fell or stayed, given everything read on both occasions and who read it:
 * P(G₂ > G₁ | readings) = Σ_{g(k) > g(j)} l₁ⱼ fⱼ Tⱼₖ l₂ₖ / Σⱼₖ l₁ⱼ fⱼ Tⱼₖ l₂ₖ, and so on. Worked out once for each distinct pair.
 *
 * @example
 * const { rose, fell } = changeProbabilities(pairs, fit.model);
 *
 * Source: Bayes' rule over the hidden pair of places; see `changeModelFit`.
 */
export function changeProbabilities(pairs: CompiledPairs, model: ChangeModel): ChangeProbabilities {
  const n = model.first.length;
  const { values } = placeLikelihoods(pairs.patterns, model.reading, model.places);
  const { grades } = model.places;
  const patterns = pairs.patterns.length;
  // For each second pattern, Σ over places k above, below and within the grade of j.
  const above = new Float64Array(patterns * n);
  const below = new Float64Array(patterns * n);
  const within = new Float64Array(patterns * n);
  for (let p = 0; p < patterns; p++)
    for (let j = 0; j < n; j++) {
      const grade = grades[j] as number;
      let [up, down, same] = [0, 0, 0];
      for (let k = 0; k < n; k++) {
        const mass = (model.transitions[j * n + k] as number) * (values[p * n + k] as number);
        const to = grades[k] as number;
        if (to > grade) up += mass;
        else if (to < grade) down += mass;
        else same += mass;
      }
      above[p * n + j] = up;
      below[p * n + j] = down;
      within[p * n + j] = same;
    }
  const distinct = pairs.firsts.length;
  const rose = new Float64Array(distinct);
  const fell = new Float64Array(distinct);
  for (let i = 0; i < distinct; i++) {
    const one = (pairs.firsts[i] as number) * n;
    const two = (pairs.seconds[i] as number) * n;
    let up = 0;
    let down = 0;
    let same = 0;
    for (let j = 0; j < n; j++) {
      const mass = (values[one + j] as number) * (model.first[j] as number);
      up += mass * (above[two + j] as number);
      down += mass * (below[two + j] as number);
      same += mass * (within[two + j] as number);
    }
    const total = up + down + same;
    rose[i] = up / total;
    fell[i] = down / total;
  }
  const { pairOfTarget } = pairs;
  const ofTarget = (byPair: Float64Array): Float64Array => {
    const found = new Float64Array(pairOfTarget.length);
    for (let t = 0; t < found.length; t++) found[t] = byPair[pairOfTarget[t] as number] as number;
    return found;
  };
  return {
    targets: pairs.targets,
    rose: ofTarget(rose),
    fell: ofTarget(fell),
    stayed: ofTarget(rose.map((up, i) => Math.max(0, 1 - up - (fell[i] as number)))),
  };
}
