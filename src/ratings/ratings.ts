import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { ownValue } from '../shared/own-value.js';

/** The level of measurement, or `'unstated'` for readings typed in without a sign. */
export type RatingsLevel = 'nominal' | 'ordinal' | 'interval' | 'ratio' | 'unstated';

/** One category of the scale in its order. `score` is the grade that weights are taken on. */
export interface RatingCategory {
  readonly value: string | number;
  readonly words: string;
  readonly score: number;
}

/** A second, third … reading of a target by an assessor who has a reading in the matrix already. */
export interface RepeatReading {
  readonly target: number;
  readonly assessor: number;
  readonly replicate: number;
  readonly code: number;
  readonly number: number;
}

/** What the readings are of, in ids and in words. Absent for readings typed in. */
export interface RatingsSubject {
  readonly sign: string;
  readonly signLabel: string;
  readonly scale: string;
  readonly scaleLabel: string;
  readonly unit?: string;
}

export interface RatingsFields {
  readonly level: RatingsLevel;
  readonly categories: readonly RatingCategory[];
  /** Codes of the assessors, one a column; empty when who read is not known. */
  readonly assessors: readonly string[];
  /** targets × columns, row by row: index into `categories`, −1 where there is no reading. */
  readonly codes: Int32Array;
  /** targets × columns, row by row: the measured number or the category's score, `NaN` where there is no reading. */
  readonly numbers: Float64Array;
  readonly targets: number;
  readonly columns: number;
  /** The patient of each target, 0 … clusters − 1. */
  readonly clusterOf: Int32Array;
  readonly clusters: number;
  readonly clustersKnown: boolean;
  readonly repeats?: readonly RepeatReading[];
  readonly subject?: RatingsSubject;
  /** What is known of each target, by name: `site`, `limb`, `side`, `unit`, `phase`, `round`, `period` (only those recorded). */
  readonly attributes?: Readonly<Record<string, readonly string[]>>;
  /** The order in which to show the values of an attribute; default the order of the targets. */
  readonly groupOrder?: Readonly<Record<string, readonly string[]>>;
  readonly notes?: readonly Note[];
}

/**
 * Readings of the same targets by several assessors: a matrix targets × assessors with gaps, the
 * patient of each target, and the repeat readings beside it. A target is the same finding on the same
 * limb at the same time. Immutable. A coefficient refuses a level that does not suit it.
 *
 * Made by `ratingsFrom` (assessments), `ratingsOf` (rows), `ratingsOfTable` (a cross-table of two
 * assessors) or `ratingsOfCounts` (targets × categories, assessors unknown).
 */
export class Ratings {
  readonly level: RatingsLevel;
  readonly categories: readonly RatingCategory[];
  readonly assessors: readonly string[];
  readonly codes: Int32Array;
  readonly numbers: Float64Array;
  readonly targets: number;
  readonly columns: number;
  readonly clusterOf: Int32Array;
  readonly clusters: number;
  readonly clustersKnown: boolean;
  readonly repeats: readonly RepeatReading[];
  readonly subject: RatingsSubject | undefined;
  /** What is known of each target, by name; see `groups` and `ofGroup`. */
  readonly attributes: Readonly<Record<string, readonly string[]>>;
  readonly groupOrder: Readonly<Record<string, readonly string[]>>;
  readonly notes: readonly Note[];

  constructor(fields: RatingsFields) {
    this.level = fields.level;
    this.categories = Object.freeze([...fields.categories]);
    this.assessors = Object.freeze([...fields.assessors]);
    this.codes = fields.codes;
    this.numbers = fields.numbers;
    this.targets = fields.targets;
    this.columns = fields.columns;
    this.clusterOf = fields.clusterOf;
    this.clusters = fields.clusters;
    this.clustersKnown = fields.clustersKnown;
    this.repeats = Object.freeze([...(fields.repeats ?? [])]);
    this.subject = fields.subject;
    this.attributes = Object.freeze({ ...(fields.attributes ?? {}) });
    this.groupOrder = Object.freeze({ ...(fields.groupOrder ?? {}) });
    this.notes = Object.freeze([...(fields.notes ?? [])]);
    Object.freeze(this);
  }

  /** Number of readings in the matrix (repeats not counted). */
  get readings(): number {
    let count = 0;
    for (let i = 0; i < this.codes.length; i++) if (this.codes[i]! >= 0) count++;
    return count;
  }

  /** The column of an assessor; throws `InputError` `unknown-assessor`. */
  columnOf(assessor: string): number {
    const column = this.assessors.indexOf(assessor);
    if (column < 0)
      throw refuse(
        'unknown-assessor',
        ['assessors'],
        `No assessor has that code; the codes are ${this.assessors.join(', ')}.`,
      );
    return column;
  }

  /** The same targets with only the named assessors, in the order named. */
  ofAssessors(...names: readonly string[]): Ratings {
    const picked = names.map((name) => this.columnOf(name));
    const codes = new Int32Array(this.targets * picked.length);
    const numbers = new Float64Array(this.targets * picked.length);
    for (let target = 0; target < this.targets; target++) {
      for (let at = 0; at < picked.length; at++) {
        codes[target * picked.length + at] = this.codes[target * this.columns + picked[at]!]!;
        numbers[target * picked.length + at] = this.numbers[target * this.columns + picked[at]!]!;
      }
    }
    return new Ratings({
      ...this.fields(),
      assessors: names,
      columns: picked.length,
      codes,
      numbers,
      repeats: this.repeats
        .filter((repeat) => picked.includes(repeat.assessor))
        .map((repeat) => ({ ...repeat, assessor: picked.indexOf(repeat.assessor) })),
    });
  }

  /** Only the targets that `keep` accepts; patients without a target left drop out of the count of clusters. */
  ofTargets(keep: (target: number) => boolean): Ratings {
    const kept: number[] = [];
    for (let target = 0; target < this.targets; target++) if (keep(target)) kept.push(target);
    const codes = new Int32Array(kept.length * this.columns);
    const numbers = new Float64Array(kept.length * this.columns);
    const clusterOf = new Int32Array(kept.length);
    const newCluster = new Int32Array(this.clusters).fill(-1);
    const newTarget = new Int32Array(this.targets).fill(-1);
    let clusters = 0;
    for (let at = 0; at < kept.length; at++) {
      const target = kept[at]!;
      newTarget[target] = at;
      const cluster = this.clusterOf[target]!;
      if (newCluster[cluster] === -1) newCluster[cluster] = clusters++;
      clusterOf[at] = newCluster[cluster]!;
      for (let column = 0; column < this.columns; column++) {
        codes[at * this.columns + column] = this.codes[target * this.columns + column]!;
        numbers[at * this.columns + column] = this.numbers[target * this.columns + column]!;
      }
    }
    return new Ratings({
      ...this.fields(),
      targets: kept.length,
      codes,
      numbers,
      clusterOf,
      clusters,
      repeats: this.repeats
        .filter((repeat) => newTarget[repeat.target] !== -1)
        .map((repeat) => ({ ...repeat, target: newTarget[repeat.target]! })),
      attributes: pickTargets(this.attributes, kept),
    });
  }

  /** The different values of an attribute of the targets, as they first appeared in the source; empty where it was not recorded. */
  groups(attribute: string): readonly string[] {
    const present = new Set(ownValue(this.attributes, attribute) ?? []);
    return (ownValue(this.groupOrder, attribute) ?? [...present]).filter((value) => present.has(value));
  }

  /** Only the targets with this value of an attribute: `ratings.ofGroup('site', 'popliteal')`. */
  ofGroup(attribute: string, value: string): Ratings {
    const values = ownValue(this.attributes, attribute);
    if (values === undefined)
      throw refuse(
        'unknown-attribute',
        ['attribute'],
        `"${attribute}" is not recorded for these readings; there are ${Object.keys(this.attributes).join(', ') || 'none'}.`,
      );
    return this.ofTargets((target) => values[target] === value);
  }

  /**
   * Two readings of the same target by the same assessor, as ratings with two columns ("first",
   * "again") whose targets are target × assessor: what agreement within assessors is computed on.
   * The attribute `reader` says whose pair it is.
   */
  withinAssessors(): Ratings {
    const seconds = this.repeats.filter(
      (repeat) => repeat.code >= 0 && this.codes[repeat.target * this.columns + repeat.assessor]! >= 0,
    );
    const first = new Map<string, RepeatReading>();
    for (const repeat of seconds) {
      const key = `${repeat.target}/${repeat.assessor}`;
      const known = first.get(key);
      if (known === undefined || repeat.replicate < known.replicate) first.set(key, repeat);
    }
    const pairs = [...first.values()];
    const codes = new Int32Array(pairs.length * 2);
    const numbers = new Float64Array(pairs.length * 2);
    const clusterOf = new Int32Array(pairs.length);
    const newCluster = new Map<number, number>();
    pairs.forEach((repeat, at) => {
      const from = repeat.target * this.columns + repeat.assessor;
      codes[2 * at] = this.codes[from]!;
      codes[2 * at + 1] = repeat.code;
      numbers[2 * at] = this.numbers[from]!;
      numbers[2 * at + 1] = repeat.number;
      const cluster = this.clusterOf[repeat.target]!;
      if (!newCluster.has(cluster)) newCluster.set(cluster, newCluster.size);
      clusterOf[at] = newCluster.get(cluster)!;
    });
    return new Ratings({
      ...this.fields(),
      attributes: {
        ...pickTargets(
          this.attributes,
          pairs.map((repeat) => repeat.target),
        ),
        reader: pairs.map((repeat) => this.assessors[repeat.assessor] ?? String(repeat.assessor)),
      },
      assessors: ['first', 'again'],
      columns: 2,
      targets: pairs.length,
      codes,
      numbers,
      clusterOf,
      clusters: newCluster.size,
      repeats: [],
      notes: [
        ...this.notes,
        information('within-assessors', 'Each pair is one assessor reading the same target twice.'),
      ],
    });
  }

  /** How many people read: one for each column, or, where a column holds the readings of several, the attribute `reader`'s. */
  get readers(): number {
    const { reader } = this.attributes;
    return reader === undefined ? this.assessors.length : new Set(reader).size;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    const what =
      this.subject === undefined ? 'Ratings' : `Ratings of ${this.subject.signLabel} (${this.subject.scaleLabel})`;
    const who =
      this.readers === 0 ? 'assessors unknown' : `${this.readers} ${this.readers === 1 ? 'assessor' : 'assessors'}`;
    const patients = this.clustersKnown ? `${this.clusters} patients` : 'patients not given';
    const repeats = this.repeats.length === 0 ? '' : `, ${this.repeats.length} repeat readings`;
    return `${what}: ${this.targets} targets, ${patients}, ${who}, ${this.readings} readings${repeats}`;
  }

  private fields(): RatingsFields {
    return {
      level: this.level,
      categories: this.categories,
      assessors: this.assessors,
      codes: this.codes,
      numbers: this.numbers,
      targets: this.targets,
      columns: this.columns,
      clusterOf: this.clusterOf,
      clusters: this.clusters,
      clustersKnown: this.clustersKnown,
      repeats: this.repeats,
      notes: this.notes,
      ...(this.subject === undefined ? {} : { subject: this.subject }),
      attributes: this.attributes,
      groupOrder: this.groupOrder,
    };
  }
}

function pickTargets(
  attributes: Readonly<Record<string, readonly string[]>>,
  targets: readonly number[],
): Record<string, readonly string[]> {
  return Object.fromEntries(
    Object.entries(attributes).map(([name, values]) => [name, targets.map((target) => values[target]!)]),
  );
}
