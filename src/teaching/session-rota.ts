import { InputError, type Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { seededRandom } from '../shared/random.js';
import { Table } from '../shared/table.js';

export interface SessionRotaOptions {
  readonly learners: number;
  readonly volunteers: number;
  /** Findings read on one volunteer, both sides counted. Default 8. */
  readonly limbsPerVolunteer?: number;
  /** How often one place may be felt or pressed in the session, experts included. Default 8 (common practice, no source). */
  readonly mostRepeats?: number;
  /** Experts who read every volunteer before the class does. Default 2. */
  readonly experts?: number;
  readonly minutesPerStation?: number;
  readonly restMinutes?: number;
  /** Of the draw of codes and first stations. Default 20260301. */
  readonly seed?: number;
}

/** Who is where, when, and which side first. */
export interface RotaVisit {
  readonly slot: number;
  readonly learner: string;
  readonly volunteer: string;
  readonly firstSide: 'left' | 'right';
}

export interface SessionRota {
  readonly kind: 'session-rota';
  readonly codes: readonly string[];
  readonly visits: readonly RotaVisit[];
  readonly slots: number;
  /** How often each place of a volunteer is read in the session. */
  readonly repeats: number;
  readonly limbsPerLearner: number;
  readonly minutes: number;
  readonly table: Table;
  readonly notes: readonly Note[];
}

/** Limbs shared with at least two others, without which tendencies and hard limbs cannot be told apart (see `gradingTendencies`). */
const SHARED_LIMBS = 6;
const LINKED_OTHERS = 2;

/**
 * A rota for a session: groups of learners move from volunteer to volunteer, no place is felt or pressed more often than allowed, and every learner shares
 * enough limbs with others.
 *
 * Groups of k = ⌈learners / volunteers⌉ start at different volunteers and move on by one in every slot; slots = min(volunteers, ⌊(most repeats − experts)/k⌋). Half of
 * a group begins on the left, half on the right, and the sides change with each slot. Codes and starting places are drawn with the seed.
 *
 * Undefined: nothing. Missing values: none.
 *
 * @throws InputError `bad-option`, `too-many-repeats` (not even one slot), `unconnected`: all at once.
 * @example sessionRota({ learners: 12, volunteers: 6 }).repeats // 8
 * Source: cyclic designs, John JA, Williams ER. Cyclic and Computer Generated Designs, 1995 (from memory).
 */
export function sessionRota(options: SessionRotaOptions): SessionRota {
  const {
    learners,
    volunteers,
    limbsPerVolunteer = 8,
    mostRepeats = 8,
    experts = 2,
    minutesPerStation = 10,
    restMinutes = 3,
    seed = 20260301,
  } = options;
  const problems: Problem[] = [];
  for (const [name, value, least] of [
    ['learners', learners, 3],
    ['volunteers', volunteers, 1],
    ['limbsPerVolunteer', limbsPerVolunteer, 1],
    ['mostRepeats', mostRepeats, 1],
    ['experts', experts, 0],
    ['minutesPerStation', minutesPerStation, 1],
    ['restMinutes', restMinutes, 0],
  ] as const)
    if (!Number.isInteger(value) || value < least)
      problems.push({
        code: 'bad-option',
        path: ['options', name],
        message: `${name} is ${value}.`,
        expected: `a whole number from ${least}`,
      });
  if (problems.length > 0) throw new InputError(problems);
  const groupSize = Math.ceil(learners / volunteers);
  const slots = Math.min(volunteers, Math.floor((mostRepeats - experts) / groupSize));
  if (slots < 1)
    throw new InputError([
      {
        code: 'too-many-repeats',
        path: ['options', 'mostRepeats'],
        message: `${groupSize} learners at a station and ${experts} experts are more than the ${mostRepeats} times a place may be felt.`,
        mend: 'invite more volunteers, or let fewer learners take part at once.',
      },
    ]);
  const random = seededRandom(seed);
  const codes = shuffled(
    Array.from({ length: learners }, (_, at) => `L${String(at + 1).padStart(2, '0')}`),
    random,
  );
  const groups = Math.ceil(learners / groupSize);
  const visits: RotaVisit[] = [];
  for (let slot = 0; slot < slots; slot++)
    codes.forEach((learner, at) => {
      const group = Math.floor((at * groups) / learners);
      visits.push({
        slot: slot + 1,
        learner,
        volunteer: `V${((Math.floor((group * volunteers) / groups) + slot) % volunteers) + 1}`,
        firstSide: (at + slot) % 2 === 0 ? 'left' : 'right',
      });
    });
  requireShared(codes, visits, limbsPerVolunteer);
  const perVolunteer = new Map<string, number>();
  for (const { volunteer } of visits) perVolunteer.set(volunteer, (perVolunteer.get(volunteer) ?? 0) + 1);
  const repeats = experts + Math.max(...perVolunteer.values());
  const notes = [
    information(
      'rest',
      `Each place is felt or pressed at most ${repeats} times, experts included, with ${restMinutes} minutes of rest between groups. Where a spot was pressed, press beside it while the pit is there.`,
    ),
    ...(limbsPerVolunteer * slots < 12
      ? [
          information(
            'few-limbs',
            `${limbsPerVolunteer * slots} limbs a learner are few: a tendency below about 0.3 grades will not show.`,
          ),
        ]
      : []),
  ];
  const sorted = [...codes].sort();
  return {
    kind: 'session-rota',
    codes,
    visits,
    slots,
    repeats,
    limbsPerLearner: slots * limbsPerVolunteer,
    minutes: slots * minutesPerStation + (slots - 1) * restMinutes,
    table: new Table(
      'Who is at which volunteer, and which side first?',
      [
        { key: 'learner', label: 'learner', kind: 'text' },
        ...Array.from({ length: slots }, (_, slot) => ({
          key: `slot ${slot + 1}`,
          label: `turn ${slot + 1}`,
          kind: 'text' as const,
        })),
      ],
      sorted.map((learner) => ({
        learner,
        ...Object.fromEntries(
          visits
            .filter((visit) => visit.learner === learner)
            .map(({ slot, volunteer, firstSide }) => [`slot ${slot}`, `${volunteer}, ${firstSide} first`]),
        ),
      })),
      notes,
    ),
    notes,
  };
}

function requireShared(codes: readonly string[], visits: readonly RotaVisit[], limbsPerVolunteer: number): void {
  const seen = codes.map(
    (code) => new Set(visits.filter(({ learner }) => learner === code).map(({ volunteer }) => volunteer)),
  );
  const lonely = seen.filter(
    (own, at) =>
      seen.filter(
        (other, to) => to !== at && limbsPerVolunteer * [...own].filter((one) => other.has(one)).length >= SHARED_LIMBS,
      ).length < LINKED_OTHERS,
  ).length;
  if (lonely > 0)
    throw new InputError([
      {
        code: 'unconnected',
        path: ['options'],
        message: `${lonely} of ${codes.length} learners would share ${SHARED_LIMBS} limbs with fewer than ${LINKED_OTHERS} others.`,
        mend: 'read more places on each volunteer, allow more repeats, or invite more volunteers.',
      },
    ]);
}

function shuffled(list: string[], random: { below(bound: number): number }): string[] {
  for (let at = list.length - 1; at > 0; at--) {
    const other = random.below(at + 1);
    [list[at], list[other]] = [list[other]!, list[at]!];
  }
  return list;
}
