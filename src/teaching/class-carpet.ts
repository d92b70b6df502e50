import type { MadeFor } from '../shared/audience.js';
import { seededRandom } from '../shared/random.js';
import { type ClassSession, readingOf, yardstickOf } from './class-session.js';

/** How one reading compares with what the experts wrote: lower, the same, higher, or not read. */
export type CarpetMark = 'lower' | 'same' | 'higher' | 'not read';

/** The readings of a class on its limbs in three marks, learners without codes in an order drawn anew each time. */
export interface ClassCarpet extends MadeFor {
  readonly kind: 'class-carpet';
  readonly signLabel: string;
  readonly scaleLabel: string;
  readonly limbs: readonly {
    readonly label: string;
    readonly volunteer: string;
    readonly limb: string;
    readonly siteLabel: string;
  }[];
  /**
   * One mark a limb in every row. `'learners'`: a row is a learner, in an order that says nothing; `'loose'`: the marks of each limb are shuffled by
   * themselves, so that no row is a person.
   */
  readonly of: 'learners' | 'loose';
  readonly rows: readonly (readonly CarpetMark[])[];
}

export interface ClassCarpetOptions {
  /** Only for tests and for printing the same carpet again; without it the order is drawn from the clock. */
  readonly seed?: number;
  /** Default: learners, or loose where a row would stand out. */
  readonly rows?: 'learners' | 'loose';
}

/** Share of a row's readings on one side of the experts from which somebody could be guessed. */
const STANDS_OUT = 0.5;

/**
 * The class carpet: every reading of the class as lower, same or higher than the experts', limbs across, learners in an order drawn each time.
 *
 * No code, no total and no order by result: nobody can be followed from one drawing to the next. Where a row would stand out (more than half of its readings to one side), somebody could be
 * guessed from it; the marks of each limb are then shuffled by themselves, and no row is a person. Limbs are in the order of the file.
 *
 * Undefined: nothing. Missing values: "not read".
 *
 * @example classCarpet(session).rows.length // 12
 * Source: common practice, no source.
 */
export function classCarpet(session: ClassSession, options: ClassCarpetOptions = {}): ClassCarpet {
  const { ratings, learners } = session;
  const limbs = session.limbs.flatMap((limb) => {
    const yardstick = yardstickOf(session, limb);
    return yardstick === undefined ? [] : [{ limb, yardstick }];
  });
  const rows = learners.map((code) =>
    limbs.map(({ limb, yardstick }): CarpetMark => {
      const [reading] = readingOf(ratings, limb.target, code);
      if (reading === undefined) return 'not read';
      if (reading < yardstick.lower) return 'lower';
      return reading > yardstick.upper ? 'higher' : 'same';
    }),
  );
  const random = seededRandom(options.seed ?? Date.now());
  const of = options.rows ?? (rows.some(standsOut) ? 'loose' : 'learners');
  if (of === 'loose')
    limbs.forEach((_, column) => {
      for (let at = rows.length - 1; at > 0; at--) {
        const other = random.below(at + 1);
        [rows[at]![column], rows[other]![column]] = [rows[other]![column]!, rows[at]![column]!];
      }
    });
  for (let at = rows.length - 1; at > 0; at--) {
    const other = random.below(at + 1);
    [rows[at], rows[other]] = [rows[other]!, rows[at]!];
  }
  return {
    kind: 'class-carpet',
    signLabel: ratings.subject?.signLabel ?? 'Readings',
    scaleLabel: ratings.subject?.scaleLabel ?? '',
    limbs: limbs.map(({ limb: { label, volunteer, limb, siteLabel } }) => ({ label, volunteer, limb, siteLabel })),
    of,
    rows,
  };
}

function standsOut(row: readonly CarpetMark[]): boolean {
  const read = row.filter((mark) => mark !== 'not read').length;
  return (['lower', 'higher'] as const).some((side) => row.filter((mark) => mark === side).length > STANDS_OUT * read);
}
