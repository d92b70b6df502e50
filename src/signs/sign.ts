/** What kind of quantity a scale holds, which decides the statistics that suit it. */
export type Level = 'nominal' | 'ordinal' | 'interval' | 'ratio';

/**
 * What a higher value means. `two-ended`: both ends are abnormal (felt temperature, pulse grade);
 * `higher-is-more`: more of a quantity that is neither good nor bad in itself (girth); `none`: no order.
 */
export type Direction = 'higher-is-worse' | 'lower-is-worse' | 'higher-is-more' | 'two-ended' | 'none';

/** How well a fact is supported. */
export type Evidence = 'confirmed' | 'from memory' | 'common practice, no source';

/** One step of a graded scale, or one kind of a nominal one, in the scale's order. `score` is the grade (trace is 0.5). */
export interface Category {
  readonly value: string;
  readonly words: string;
  readonly score: number;
}

/** A limit in use, for a group of people or a site. Ends are inclusive unless `words` says otherwise. */
export interface Limit {
  readonly words: string;
  readonly lower?: number;
  readonly upper?: number;
  readonly group?: string;
  readonly sites?: readonly string[];
  readonly source: string;
  readonly edition?: string;
  readonly evidence: Evidence;
}

/** What is usual on a scale: the categories, or the bounds of a measured value. */
export interface Normal {
  readonly words: string;
  readonly categories?: readonly string[];
  readonly lower?: number;
  readonly upper?: number;
}

/** How a sign is written down. Readings on two scales are never pooled because their digits match. */
export interface Scale {
  readonly id: string;
  /** Id of the sign it records. */
  readonly sign: string;
  readonly label: string;
  readonly level: Level;
  /** In the scale's order; absent for a measured value. */
  readonly categories?: readonly Category[];
  /** Unit in UCUM notation. */
  readonly unit?: string;
  /** What can be written down at all; a value outside is refused. */
  readonly range?: { readonly lowest: number; readonly highest: number };
  readonly direction: Direction;
  readonly normal?: Normal;
  readonly limits: readonly Limit[];
  readonly source: string;
  readonly evidence: Evidence;
  /** Decimals usual for a measured value, for print only. */
  readonly decimals?: number;
  /** The sites this scale is for; absent where it fits every site of its sign. Readings on it are not pooled with others. */
  readonly sites?: readonly string[];
  readonly notes?: readonly string[];
}

export type Limb = 'left-arm' | 'right-arm' | 'left-leg' | 'right-leg';

/** Where on the body a sign is looked for. */
export interface Site {
  readonly id: string;
  readonly label: string;
  /** A midline site takes no side. */
  readonly region: 'arm' | 'leg' | 'midline';
  /** Other words a file may use for it. */
  readonly aliases: readonly string[];
  /** Head to toe, arms before legs: the order of charts and sheets. */
  readonly order: number;
}

/** A bedside sign: what is looked for, where, and on which scales it is written down. */
export interface Sign {
  readonly id: string;
  readonly label: string;
  /** In a nurse's words. */
  readonly words: string;
  readonly limbs: readonly Limb[];
  /** Site ids; empty where the sign belongs to the whole limb. */
  readonly sites: readonly string[];
  readonly midlineSites: readonly string[];
  /** Compares the two sides: recorded once for both, without a side. */
  readonly isPaired?: boolean;
  /** How, in what position and measured from where it is done: words that sheets and columns should use. */
  readonly methods?: readonly string[];
  readonly positions?: readonly string[];
  readonly landmarks?: readonly string[];
  readonly scales: readonly Scale[];
  /** Fitting statistics by the names under which the library exports them. */
  readonly statistics: readonly string[];
  readonly notes: readonly string[];
}
