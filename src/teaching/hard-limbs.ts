import { wilson } from '../agreement/percent-agreement.js';
import type { MadeFor } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import { information, type Note } from '../shared/note.js';
import { Table } from '../shared/table.js';
import { type ClassSession, readingOf, yardstickOf } from './class-session.js';

/** How the class read one limb, nobody by code. */
export interface HardLimb {
  readonly label: string;
  readonly site: string;
  /** What it is held against, in the scale's words: "2: normal", or "1: weak to 2: normal" where the experts differ. */
  readonly against: string;
  readonly fromExperts: boolean;
  readonly lower: number;
  readonly same: number;
  readonly higher: number;
  readonly notRead: number;
  /** Readings that are not the same, of those there; with Wilson's interval over the learners. */
  readonly apart: { readonly share: number; readonly lower: number; readonly upper: number };
}

/** The limbs of a session, the hardest first. */
export interface HardLimbs extends MadeFor {
  readonly kind: 'hard-limbs';
  readonly signLabel: string;
  readonly scaleLabel: string;
  readonly learners: number;
  readonly limbs: readonly HardLimb[];
  /** Words of the scale's grades, lowest first. */
  readonly grades: readonly string[];
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * Hard limbs: on which limbs did the class read lower or higher than the experts, and how many did?
 *
 * A reading is the same when it lies within what the experts wrote for the limb, lower or higher when it lies outside. share apart = (lower + higher) /
 * readings, with Wilson's 95 % interval over the learners who read the limb. Hardest first; equal ones in the order of the file. Where the experts did not read a limb it is held against
 * the middle of the class, and says so. A hard limb says nothing about anybody.
 *
 * Undefined: a limb nobody read is left out. Missing values: counted as not read.
 *
 * @example hardLimbs(session).limbs[0].label // 'V3, left leg, dorsalis pedis artery'
 * Source: common practice, no source.
 */
export function hardLimbs(session: ClassSession): HardLimbs {
  const { ratings, learners } = session;
  const words = ratings.categories.map(gradeLabel);
  const limbs = session.limbs.flatMap((limb): HardLimb[] => {
    const yardstick = yardstickOf(session, limb);
    const readings = learners.flatMap((code) => readingOf(ratings, limb.target, code));
    if (yardstick === undefined || readings.length === 0) return [];
    const lower = readings.filter((reading) => reading < yardstick.lower).length;
    const higher = readings.filter((reading) => reading > yardstick.upper).length;
    return [
      {
        label: limb.label,
        site: limb.site,
        against:
          yardstick.lower === yardstick.upper
            ? words[yardstick.lower]!
            : `${words[yardstick.lower]} to ${words[yardstick.upper]}`,
        fromExperts: limb.reference !== undefined,
        lower,
        same: readings.length - lower - higher,
        higher,
        notRead: learners.length - readings.length,
        apart: { share: (lower + higher) / readings.length, ...wilson(lower + higher, readings.length, 0.95) },
      },
    ];
  });
  const ordered = limbs
    .map((limb, at) => ({ limb, at }))
    .sort((a, b) => b.limb.apart.share - a.limb.apart.share || a.at - b.at)
    .map(({ limb }) => limb);
  const without = limbs.filter(({ fromExperts }) => !fromExperts).length;
  const parted = session.limbs.filter(({ reference }) => reference !== undefined && reference.lower < reference.upper);
  const notes = [
    information(
      'experts-differ',
      `The experts differ on ${parted.length} of ${session.limbs.filter(({ reference }) => (reference?.readings ?? 0) > 1).length} limbs that two or more of them read; any grade between theirs counts as the same.`,
    ),
    ...(without === 0
      ? []
      : [information('no-expert', `${without} limbs no expert read are held against the middle of the class.`)]),
  ];
  return {
    kind: 'hard-limbs',
    signLabel: ratings.subject?.signLabel ?? 'Readings',
    scaleLabel: ratings.subject?.scaleLabel ?? '',
    learners: learners.length,
    limbs: ordered,
    grades: words,
    table: new Table(
      'Which limbs are hard? (how many of the class read lower, the same or higher)',
      [
        { key: 'limb', label: 'limb', kind: 'text' },
        { key: 'against', label: 'experts', kind: 'text' },
        { key: 'lower', label: 'lower', kind: 'count' },
        { key: 'same', label: 'same', kind: 'count' },
        { key: 'higher', label: 'higher', kind: 'count' },
        { key: 'notRead', label: 'not read', kind: 'count' },
      ],
      ordered.map(({ label, against, fromExperts, lower, same, higher, notRead }) => ({
        limb: label,
        against: fromExperts ? against : `${against} (class)`,
        lower,
        same,
        higher,
        notRead,
      })),
      notes,
    ),
    notes,
  };
}
