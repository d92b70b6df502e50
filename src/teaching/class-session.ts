import { type AssessmentColumns, Assessments } from '../assessments/assessments.js';
import type { Ratings } from '../ratings/ratings.js';
import { ratingsFrom } from '../ratings/ratings-from.js';
import { refuse } from '../shared/input-error.js';
import { siteOf, sites } from '../signs/site.js';

export interface ClassSessionOptions {
  readonly sign: string;
  /** Needed when the sign was read on several scales. */
  readonly scale?: string;
  /** Needed when the file holds several rounds: they are never pooled. */
  readonly round?: string;
  /** Codes of the experts, where the file does not mark their readings as the reference. */
  readonly references?: readonly string[];
}

/** What the experts wrote for one limb: their lowest and highest reading, which differ where they do. */
export interface ReferenceRange {
  readonly lower: number;
  readonly upper: number;
  readonly readings: number;
}

/** One finding of one volunteer that the class read. `lower` and `upper` are places in the scale's order, from 0. */
export interface ClassLimb {
  /** Its row in the ratings. */
  readonly target: number;
  readonly volunteer: string;
  readonly limb: string;
  readonly site: string;
  readonly siteLabel: string;
  /** "V3, left leg, top of the foot (dorsalis pedis artery)". */
  readonly label: string;
  readonly reference: ReferenceRange | undefined;
}

/** A class and its experts on the same limbs, in one round: the readings of all, and who is which. */
export interface ClassSession {
  readonly kind: 'class-session';
  readonly round: string | undefined;
  /** All readings: learners and experts are columns alike, for both are assessors with error. */
  readonly ratings: Ratings;
  readonly learners: readonly string[];
  readonly references: readonly string[];
  readonly limbs: readonly ClassLimb[];
  /** Readings that are there, and those a full sheet would have. */
  readonly readings: { readonly there: number; readonly full: number };
}

/**
 * The readings of a class and its experts in one round, of one sign on one scale.
 *
 * Experts are two more assessors with error, not truth: their readings enter as columns, and what they wrote for a limb is a range from their lower to
 * their higher reading. A limb is one site on one limb of one volunteer.
 *
 * Undefined: a limb the experts did not read has no reference. Missing values: gaps stay gaps; `readings` says how many of a full sheet are there.
 *
 * @throws InputError `not-graded`, `round-needed`, `round-not-present`, `too-few-learners` (below 3), and what `ratingsFrom` throws.
 * @example classSession(assessments, { sign: 'pulse-grade', round: '1' }).learners.length // 12
 * Source: experts as assessors, Dawid AP, Skene AM. Appl Stat 1979;28:20–28, doi:10.2307/2346806 (the view, not the method).
 */
export function classSession(assessments: Assessments, options: ClassSessionOptions): ClassSession {
  const ofSign = assessments.where({ sign: options.sign });
  const rounds = ofSign.round.values;
  if (options.round === undefined && rounds.length > 1)
    throw refuse(
      'round-needed',
      ['options', 'round'],
      `The file holds ${rounds.length} rounds (${rounds.join(', ')}); they are not pooled.`,
      'name one in the option round.',
    );
  if (options.round !== undefined && !rounds.includes(options.round))
    throw refuse(
      'round-not-present',
      ['options', 'round'],
      `There is no round "${options.round}".`,
      `choose one of ${rounds.join(', ')}.`,
    );
  const chosen = options.round === undefined ? ofSign : ofSign.where({ round: options.round });
  const references = referencesOf(chosen, options.references ?? []);
  const ratings = ratingsFrom(withoutFlags(chosen), {
    sign: options.sign,
    ...(options.scale === undefined ? {} : { scale: options.scale }),
  });
  if (ratings.level !== 'ordinal')
    throw refuse('not-graded', ['options', 'sign'], 'This sign is not graded; a class is compared on grades.');
  const learners = ratings.assessors.filter((code) => !references.includes(code));
  if (learners.length < 3)
    throw refuse(
      'too-few-learners',
      ['assessments'],
      `There are ${learners.length} learners; among fewer than three nobody's page is private.`,
    );
  const volunteers = volunteersOf(chosen, ratings.subject?.scale ?? '');
  const { limb: limbs = [], site: places = [] } = ratings.attributes;
  // Ratings number the volunteers by their codes.
  const codes = [...volunteers].sort();
  return {
    kind: 'class-session',
    round: options.round ?? rounds[0],
    ratings,
    learners,
    references: ratings.assessors.filter((code) => references.includes(code)),
    limbs: Array.from({ length: ratings.targets }, (_, target): ClassLimb => {
      const volunteer = codes[ratings.clusterOf[target]!] ?? '';
      const [limb, site] = [limbs[target] ?? '', places[target] ?? ''];
      return {
        target,
        volunteer,
        limb,
        site,
        siteLabel: siteLabel(site),
        label: [volunteer, limb.replace('-', ' '), siteLabel(site)].filter((part) => part !== '').join(', '),
        reference: rangeOf(references.flatMap((code) => readingOf(ratings, target, code))),
      };
    }).sort(
      (a, b) =>
        volunteers.indexOf(a.volunteer) - volunteers.indexOf(b.volunteer) ||
        compare(a.limb, b.limb) ||
        headToToe(a.site) - headToToe(b.site) ||
        a.target - b.target,
    ),
    readings: {
      there: learners.reduce((sum, code) => sum + readBy(ratings, code).length, 0),
      full: ratings.targets * learners.length,
    },
  };
}

/** The grade one person wrote for a limb, as a place in the scale's order; none where nothing was written. */
export function readingOf(ratings: Ratings, target: number, code: string): readonly number[] {
  const column = ratings.assessors.indexOf(code);
  const reading = column < 0 ? -1 : ratings.codes[target * ratings.columns + column]!;
  return reading < 0 ? [] : [reading];
}

/** The limbs one person read. */
export function readBy(ratings: Ratings, code: string): readonly number[] {
  return Array.from({ length: ratings.targets }, (_, target) => target).filter(
    (target) => readingOf(ratings, target, code).length > 0,
  );
}

/**
 * What a reading of a limb is held against: the experts' range, or where they did not read it the middle of the class (one or two
 * grades, where an even number of readings is parted).
 */
export function yardstickOf(session: ClassSession, limb: ClassLimb): ReferenceRange | undefined {
  if (limb.reference !== undefined) return limb.reference;
  const readings = session.learners
    .flatMap((code) => readingOf(session.ratings, limb.target, code))
    .sort((a, b) => a - b);
  if (readings.length === 0) return undefined;
  return {
    lower: readings[Math.floor((readings.length - 1) / 2)]!,
    upper: readings[Math.floor(readings.length / 2)]!,
    readings: 0,
  };
}

function rangeOf(readings: readonly number[]): ReferenceRange | undefined {
  if (readings.length === 0) return undefined;
  return { lower: Math.min(...readings), upper: Math.max(...readings), readings: readings.length };
}

function referencesOf(chosen: Assessments, named: readonly string[]): readonly string[] {
  const codes = new Set<number>();
  for (let row = 0; row < chosen.length; row++) {
    const code = chosen.assessor.codes[row]!;
    if (code >= 0 && chosen.reference[row] === 1) codes.add(code);
  }
  return [...new Set([...[...codes].map((code) => chosen.assessor.values[code]!), ...named])];
}

function withoutFlags(chosen: Assessments): Assessments {
  const columns: AssessmentColumns = { ...chosen, reference: new Int8Array(chosen.length).fill(-1) };
  return new Assessments(columns, chosen.scales, chosen.source, chosen.notes);
}

/** Codes of the volunteers in the order of their first rows. */
function volunteersOf(chosen: Assessments, scale: string): readonly string[] {
  const readings = chosen.where({ scale });
  const order = new Set<number>();
  for (let row = 0; row < readings.length; row++)
    if (readings.assessor.codes[row]! >= 0) order.add(readings.patient.codes[row]!);
  return [...order].map((code) => readings.patient.values[code]!);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function headToToe(site: string): number {
  return sites.findIndex(({ id }) => id === site);
}

function siteLabel(site: string): string {
  return site === '' ? '' : siteOf(site).label.toLowerCase();
}
