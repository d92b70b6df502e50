import { percentAgreement } from '../agreement/percent-agreement.js';
import type { Assessments } from '../assessments/assessments.js';
import { measurementErrorOf } from '../measurement-error/measurement-error-of.js';
import { changeCalls } from '../progression/change-calls.js';
import type { Ratings } from '../ratings/ratings.js';
import { ratingsFrom } from '../ratings/ratings-from.js';
import { InputError, problemSentence } from '../shared/input-error.js';
import { classSession } from '../teaching/class-session.js';
import { retrainingEffect } from '../teaching/retraining-effect.js';
import { shareByPeriod } from '../unit-quality/share-by-period.js';

/** Names of the tidy copies that the notebooks of a run read, beside them. */
export const OWN_FILE = 'assessments.csv';
export const LATER_FILE = 'later-visits.csv';
export const SMALL_TABLE = 'small-table';

/** What a person brought. */
export interface StudyMaterial {
  readonly assessments: Assessments;
  readonly later?: Assessments;
  /** The name of the copy of the unit's small table. */
  readonly smallTable?: string;
}

/** What a notebook gets: the settings that the file itself tells, and the parts for which the file has nothing. */
export interface FittedNotebook {
  readonly settings: Readonly<Record<string, unknown>>;
  readonly without: readonly PartTag[];
}

/** Tags of cells that only some files can fill. */
export const PART_TAGS = [
  'invented-data-only',
  'needs-repeat-readings',
  'needs-later-visits',
  'needs-second-round',
  'needs-seconds',
] as const;
export type PartTag = (typeof PART_TAGS)[number];

type Written = Readonly<Record<string, unknown>>;

/** Why a notebook is left out, in a sentence. */
class LeftOut extends Error {}

/**
 * What a notebook is given of a person's file, or the sentence why it is left out. Whether the file has what it needs is
 * asked of the functions that the notebook calls, so their own words are the reason.
 *
 * @param written the notebook's own settings from settings.json
 */
export function fitNotebook(name: string, material: StudyMaterial, written: Written): FittedNotebook | string {
  const fit = FITS[name];
  if (fit === undefined) return { settings: written, without: ['invented-data-only'] };
  try {
    const { settings, without } = fit(material, written);
    return { settings: { ...settings, ...written }, without: ['invented-data-only', ...without] };
  } catch (error) {
    if (error instanceof LeftOut) return error.message;
    if (error instanceof InputError) return error.problems.map(problemSentence).join(' ');
    throw error;
  }
}

const FITS: Readonly<Record<string, (material: StudyMaterial, written: Written) => FittedNotebook>> = {
  'plan-a-study': () => {
    throw new LeftOut('It plans a study and reads no file; open it with npm run notebooks.');
  },
  'can-a-chance-be-trusted': () => {
    throw new LeftOut('It tries the method on invented limbs and reads no file; open it with npm run notebooks.');
  },
  'do-the-intervals-hold': () => {
    throw new LeftOut('It tries the intervals on invented studies and reads no file; open it with npm run notebooks.');
  },
  'from-sheet-to-assessments': () => {
    throw new LeftOut('It is a lesson on one invented sheet; what was understood of yours is said above.');
  },
  'agreement-of-pulse-grades': fitAgreement,
  'has-it-really-changed': fitChange,
  'edema-trend-of-a-unit': fitUnit,
  'variability-between-assessors': fitClass,
};

const GRADED = ['pulse-grade', 'pitting-edema'] as const;

function fitAgreement({ assessments, later }: StudyMaterial, written: Written): FittedNotebook {
  const { sign, ratings } = ratingsOfTwo(assessments, written);
  const [firstAssessor, secondAssessor] = pairWithMost(ratings);
  const hasRepeats = ratings.repeats.length > 0 && works(() => percentAgreement(ratings.withinAssessors()));
  const isSeenAgain = works(() => limbsSeenAgain(assessments, later ?? assessments, sign));
  return {
    settings: {
      file: OWN_FILE,
      plan: 'none',
      reportFolder: 'agreement-report',
      laterVisits: isSeenAgain && later !== undefined ? LATER_FILE : OWN_FILE,
      sign,
      firstAssessor,
      secondAssessor,
    },
    without: [
      ...(hasRepeats ? [] : (['needs-repeat-readings'] as const)),
      ...(isSeenAgain ? [] : (['needs-later-visits'] as const)),
    ],
  };
}

function fitChange({ assessments, later }: StudyMaterial, written: Written): FittedNotebook {
  const { sign } = ratingsOfTwo(assessments, written);
  limbsSeenAgain(assessments, later ?? assessments, sign);
  if (written.lastVisitFrom === undefined)
    throw new LeftOut(
      'It needs the day from which a visit was the last one planned, counted from each patient’s first, in settings.json under "notebooks", "has-it-really-changed": "lastVisitFrom".',
    );
  return {
    settings: {
      study: OWN_FILE,
      laterVisits: later === undefined ? OWN_FILE : LATER_FILE,
      sign,
      worse: sign === 'pulse-grade' ? 'lower' : 'higher',
    },
    without: [],
  };
}

function fitUnit({ assessments, smallTable }: StudyMaterial, written: Written): FittedNotebook {
  shareByPeriod(assessments, { sign: 'pitting-edema', atLeast: String(written.atLeast ?? '2') });
  const open = ['action', 'owner', 'by'].filter((name) => written[name] === undefined);
  if (smallTable === undefined || open.length > 0)
    throw new LeftOut(
      `It needs ${[...(smallTable === undefined ? ['"smallTable" in settings.json, the file with one row a period and the stays of each'] : []), ...(open.length > 0 ? [`what only you can write in settings.json under "notebooks", "edema-trend-of-a-unit": ${open.map((name) => `"${name}"`).join(', ')}`] : [])].join('; and ')}.`,
    );
  return {
    settings: {
      file: OWN_FILE,
      reportFolder: 'unit-report',
      smallTable,
      ...(written.begun === undefined ? { begunInPeriod: 0, begun: 'nothing' } : {}),
    },
    without: [],
  };
}

function fitClass({ assessments }: StudyMaterial, written: Written): FittedNotebook {
  const sign = chosenSign(assessments, written, (one) =>
    classSession(assessments, { sign: one, ...roundOf(assessments, one, 0) }),
  );
  const session = classSession(assessments, { sign, ...roundOf(assessments, sign, 0) });
  if (session.references.length !== 2)
    throw new LeftOut(
      `It needs the readings of two experts (column "reference"); there are ${session.references.length}.`,
    );
  const [first, second] = roundsOf(assessments, sign);
  const hasSecond =
    second !== undefined && works(() => retrainingEffect(session, classSession(assessments, { sign, round: second })));
  const seconds = ['refill.seconds.toe', 'refill.seconds.finger'].find((scale) =>
    works(() => measurementErrorOf(ratingsFrom(assessments, { sign: 'capillary-refill', scale }))),
  );
  return {
    settings: {
      file: OWN_FILE,
      sign,
      inOwnShape: false,
      firstRound: first,
      ...(hasSecond ? { secondRound: second } : {}),
      ...(seconds === undefined ? {} : { secondsFile: OWN_FILE, seconds }),
    },
    without: [
      ...(hasSecond ? [] : (['needs-second-round'] as const)),
      ...(seconds === undefined ? (['needs-seconds'] as const) : []),
    ],
  };
}

/** The ratings of a graded sign that at least two assessors read on the same limbs. */
function ratingsOfTwo(assessments: Assessments, written: Written): { sign: string; ratings: Ratings } {
  if (assessments.reference.includes(1) && Object.keys(written).length === 0)
    throw new LeftOut(
      'It names assessors by their codes, and the file looks like a class (it has reference readings). Where it is none, give the notebook a setting in settings.json.',
    );
  const read = (sign: string) => {
    const ratings = ratingsFrom(assessments, { sign });
    if (ratings.assessors.length < 2)
      throw new LeftOut(`It needs two assessors who read the same limbs; there is ${ratings.assessors.length}.`);
    pairWithMost(ratings);
    return ratings;
  };
  const sign = chosenSign(assessments, written, read);
  return { sign, ratings: read(sign) };
}

/** The sign that the settings name, else the first graded one for which the file has what is needed. */
function chosenSign(assessments: Assessments, written: Written, read: (sign: string) => unknown): string {
  if (typeof written.sign === 'string') return written.sign;
  const there = GRADED.filter((sign) => assessments.sign.values.includes(sign));
  if (there.length === 0) throw new LeftOut('It is about graded pulses or pitting edema; the file holds neither.');
  return there.find((sign) => works(() => read(sign))) ?? there[0]!;
}

function roundsOf(assessments: Assessments, sign: string): readonly string[] {
  return [...assessments.where({ sign }).round.values].sort();
}

function roundOf(assessments: Assessments, sign: string, at: number): { round?: string } {
  const round = roundsOf(assessments, sign)[at];
  return round === undefined ? {} : { round };
}

/** The two assessors with the most readings in common. */
function pairWithMost(ratings: Ratings): [string, string] {
  const { assessors } = ratings;
  let best: { pair: [string, string]; shared: number } | undefined;
  for (let i = 0; i < assessors.length; i++)
    for (let j = i + 1; j < assessors.length; j++) {
      let shared = 0;
      for (let target = 0; target < ratings.targets; target++)
        if (ratings.codes[target * ratings.columns + i]! >= 0 && ratings.codes[target * ratings.columns + j]! >= 0)
          shared++;
      if (shared > (best?.shared ?? 0)) best = { pair: [assessors[i]!, assessors[j]!], shared };
    }
  if (best === undefined) throw new LeftOut('It needs two assessors who read the same limbs; no limb was read by two.');
  return best.pair;
}

/** Refuses where no limb was read at two visits on the scale of the study. */
function limbsSeenAgain(study: Assessments, later: Assessments, sign: string): void {
  const site = later.where({ sign }).site.values;
  const error = measurementErrorOf(ratingsFrom(study, { sign, ...(site.length === 0 ? {} : { site }) }), {
    mergeRareGrades: true,
  });
  if (error.kind !== 'grades' || error.reading === undefined)
    throw new LeftOut('It needs a graded sign whose error of reading is known.');
  if (changeCalls(later, error).limbs.length === 0)
    throw new LeftOut(
      'It needs limbs that were read on two days or more; give their file as "laterVisits" in settings.json.',
    );
}

function works(attempt: () => unknown): boolean {
  try {
    attempt();
    return true;
  } catch (error) {
    if (error instanceof InputError || error instanceof LeftOut) return false;
    throw error;
  }
}
