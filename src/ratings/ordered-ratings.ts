import { Ratings, type RatingsFields, type RepeatReading } from './ratings.js';

/** Readings of targets in any order; where several targets of a patient were read alike they can stand as one. */
export interface UnorderedRatings
  extends Pick<
    RatingsFields,
    'level' | 'categories' | 'assessors' | 'codes' | 'repeats' | 'subject' | 'attributes' | 'groupOrder' | 'notes'
  > {
  /** The patient's code of each target. */
  readonly patients: readonly string[];
  /** How many targets each one stands for. Default 1. */
  readonly times?: readonly number[];
}

/**
 * Ratings whose targets stand in an order that the readings alone decide: by the patient's code, then by the category of
 * each assessor, then by the repeat readings. Sums of fractions and drawn samples depend on an order, so the same
 * readings give the same digits however their source was sorted, and whether it came as rows or as counts.
 */
export function orderedRatings(given: UnorderedRatings): Ratings {
  const { patients, codes, categories, assessors, times, repeats = [], attributes = {}, ...about } = given;
  const columns = assessors.length;
  const names = [...new Set(patients)].sort();
  const rank = new Map(names.map((name, at) => [name, at]));
  const ranks = Int32Array.from(patients, (patient) => rank.get(patient)!);
  const again = new Map<number, RepeatReading[]>();
  for (const repeat of repeats) {
    const before = again.get(repeat.target);
    if (before === undefined) again.set(repeat.target, [repeat]);
    else before.push(repeat);
  }
  const order = new Int32Array(patients.length).map((_, target) => target);
  order.sort(
    (a, b) => ranks[a]! - ranks[b]! || compareCodes(a, b) || compareRepeats(again.get(a), again.get(b)) || a - b,
  );

  const targets = times === undefined ? patients.length : times.reduce((sum, count) => sum + count, 0);
  const scores = categories.map(({ score }) => score);
  const ordered = { codes: new Int32Array(targets * columns), numbers: new Float64Array(targets * columns) };
  const clusterOf = new Int32Array(targets);
  const from = new Int32Array(targets);
  const orderedRepeats: RepeatReading[] = [];
  let at = 0;
  for (const target of order) {
    const own = codes.subarray(target * columns, (target + 1) * columns);
    for (let time = times?.[target] ?? 1; time > 0; time--, at++) {
      ordered.codes.set(own, at * columns);
      for (let column = 0; column < columns; column++)
        ordered.numbers[at * columns + column] = own[column]! < 0 ? Number.NaN : scores[own[column]!]!;
      clusterOf[at] = ranks[target]!;
      from[at] = target;
      for (const repeat of again.get(target) ?? []) orderedRepeats.push({ ...repeat, target: at });
    }
  }
  return new Ratings({
    // The order of appearance, unless another is given.
    groupOrder: Object.fromEntries(Object.entries(attributes).map(([name, values]) => [name, [...new Set(values)]])),
    ...about,
    categories,
    assessors,
    ...ordered,
    targets,
    columns,
    clusterOf,
    clusters: names.length,
    clustersKnown: true,
    repeats: orderedRepeats,
    attributes: Object.fromEntries(
      Object.entries(attributes).map(([name, values]) => [name, Array.from(from, (target) => values[target]!)]),
    ),
  });

  function compareCodes(a: number, b: number): number {
    for (let column = 0; column < columns; column++) {
      const difference = codes[a * columns + column]! - codes[b * columns + column]!;
      if (difference !== 0) return difference;
    }
    return 0;
  }
}

function compareRepeats(a: readonly RepeatReading[] = [], b: readonly RepeatReading[] = []): number {
  for (const [at, one] of a.entries()) {
    const other = b[at];
    if (other === undefined) return 1;
    const difference = one.assessor - other.assessor || one.replicate - other.replicate || one.code - other.code;
    if (difference !== 0) return difference;
  }
  return a.length - b.length;
}
