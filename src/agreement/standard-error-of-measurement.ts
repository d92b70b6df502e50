import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { clusterSums } from './coefficient.js';
import { assessorsWhoRead, measuredNumbers, type NumberOptions } from './measured-numbers.js';
import { type Spread, spreadEstimate } from './spread-estimate.js';
import { spreadAboutTargets, spreadAcrossRepeats, spreadOfRepeats, spreadOfResiduals } from './within-target-spread.js';

/** Which two readings of an unchanged finding the error is between. */
export interface ErrorKind {
  /** The second reading is by the same assessor or by a different one. Default `'different'`. */
  readonly assessor?: 'same' | 'different';
  /** The second reading is on the same day or on another one. Default `'same'`. */
  readonly day?: 'same' | 'another';
  /** `'agreement'`: steady differences (between assessors, or first and later readings) count. `'consistency'`: they do not. Default `'agreement'`. */
  readonly definition?: 'agreement' | 'consistency';
  /** When the repeat readings were made; only whoever made them knows. Default `'same day'`. */
  readonly repeatsMade?: 'same day' | 'another day';
  /** `'repeats'` where the columns are repeat readings by one assessor. Default `'assessors'`, except for `ratings.withinAssessors()`. */
  readonly columnsAre?: 'assessors' | 'repeats';
}

export interface StandardErrorOfMeasurementOptions extends ErrorKind, IntervalOptions, NumberOptions {}

/**
 * Standard error of measurement: the standard deviation of readings of one unchanged finding, in the reading's own unit, in four kinds:
 * by the same or a different assessor, on the same or another day.
 *
 * Different assessor, same day: agreement √(Σₜ Σᵢ (xₜᵢ − x̄ₜ)² / Σₜ (mₜ − 1)), xₜᵢ the mₜ readings of target t, which on complete data is √(σₐ² + σₑ²)
 * of the two-way analysis of variance; consistency √σₑ² = √MSₑ (restricted maximum likelihood with gaps). Same assessor: the same with the
 * readings of a target by one assessor (matrix and repeats) about their own mean; consistency leaves out the mean difference of
 * first and second readings. Different assessor, another day: √(½ mean d²), d a repeat by one assessor less the first reading by
 * another; consistency leaves out the mean d of each pair of assessors. It is not SD·√(1 − ICC), which only comes near.
 *
 * Undefined (`NaN` with a note) when nothing was read twice in that way. Missing values: a target enters with the readings it has.
 *
 * Intervals on the log scale. Asymptotic: χ² for independent targets; across assessors with Satterthwaite's degrees of freedom, for any
 * assessors; another assessor on another day has none, and targets stand in for patients where those are not known.
 * `details.degreesOfFreedom` where the χ² law holds.
 *
 * @param given numbers in one unit; grades only with `gradesAsNumbers: true`.
 * @throws InputError `unknown-choice`, `level-not-suited`, `grades-not-numbers`, `repeats-needed`, `another-day-needed`, `same-day-needed`,
 * `assessors-needed`, `two-assessors-needed`, `interval-not-available`, `bad-option`.
 * @example standardErrorOfMeasurement(ratingsOf([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]])).value // 2.503
 * Source: de Vet HCW, Terwee CB, Knol DL, Bouter LM. J Clin Epidemiol 2006;59:1033–1039, doi:10.1016/j.jclinepi.2005.10.015.
 */
export function standardErrorOfMeasurement(given: Ratings, options: StandardErrorOfMeasurementOptions = {}): Estimate {
  const notes = measuredNumbers(given, options, 'standardErrorOfMeasurement');
  const ratings = assessorsWhoRead(given);
  const kind = kindOf(ratings, options);
  const { assessor, day, definition } = kind;
  const name = `standard error of measurement, ${assessor} assessor${assessor === 'same' ? '' : 's'}, ${day === 'same' ? 'one day' : 'another day'}`;
  // Within one assessor the mean change from first to second is taken out over pairs of readings, whoever made them.
  const pairs =
    assessor === 'same' && definition === 'consistency' && kind.columnsAre === 'assessors'
      ? ratings.withinAssessors()
      : ratings;
  const spread = spreadOf(pairs, kind, name);
  if (spread.degrees === undefined && options.interval === 'asymptotic')
    throw refuse(
      'interval-not-available',
      ['options', 'interval'],
      'No asymptotic law is known for this kind of error.',
      "use interval: 'cluster-robust' or 'bootstrap'.",
    );
  return spreadEstimate(
    pairs,
    { ...spread, notes: [...notes, ...kindNotes(pairs, kind, spread), ...(spread.notes ?? [])] },
    options,
    { assessor, day, definition },
  );
}

type CheckedKind = Required<Omit<ErrorKind, 'repeatsMade'>>;

function spreadOf(ratings: Ratings, { assessor, day, definition, columnsAre }: CheckedKind, name: string): Spread {
  if (definition === 'consistency')
    return assessor === 'different' && day === 'another'
      ? spreadAcrossRepeats(ratings, name, true)
      : spreadOfResiduals(ratings, name);
  if (columnsAre === 'repeats') return spreadAboutTargets(ratings, name, 'repeats');
  if (assessor === 'same') return spreadOfRepeats(ratings, name);
  return day === 'another' ? spreadAcrossRepeats(ratings, name, false) : spreadAboutTargets(ratings, name, 'assessors');
}

/** The kind asked for with its defaults; throws where the readings cannot tell it. */
function kindOf(ratings: Ratings, options: ErrorKind): CheckedKind {
  const within = ratings.notes.some(({ code }) => code === 'within-assessors');
  const columnsAre = checkChoice('columnsAre', options.columnsAre ?? (within ? 'repeats' : 'assessors'), [
    'assessors',
    'repeats',
  ]);
  const assessor = checkChoice('assessor', options.assessor ?? (columnsAre === 'repeats' ? 'same' : 'different'), [
    'same',
    'different',
  ]);
  const day = checkChoice('day', options.day ?? 'same', ['same', 'another']);
  const definition = checkChoice('definition', options.definition ?? 'agreement', ['agreement', 'consistency']);
  const repeatsMade = checkChoice('repeatsMade', options.repeatsMade ?? 'same day', ['same day', 'another day']);
  if (columnsAre === 'repeats' && assessor === 'different')
    throw refuse(
      'assessors-needed',
      ['options', 'assessor'],
      'The columns are repeat readings by one assessor, so nothing is known of different assessors.',
      "use assessor: 'same', or give ratings with one column an assessor.",
    );
  const fromRepeats = assessor === 'same' || day === 'another';
  if (fromRepeats && columnsAre === 'assessors' && ratings.repeats.length === 0)
    throw refuse(
      'repeats-needed',
      ['ratings'],
      'No assessor read a finding twice, so this kind of error cannot be known from these readings.',
      "read limbs again, or say columnsAre: 'repeats' where the columns are one assessor's repeat readings.",
    );
  if (day === 'another' && repeatsMade !== 'another day')
    throw refuse(
      'another-day-needed',
      ['options', 'repeatsMade'],
      'The error between days needs findings that did not change and were read again on another day.',
      "say repeatsMade: 'another day' if the repeat readings were.",
    );
  if (assessor === 'same' && day === 'same' && repeatsMade === 'another day')
    throw refuse(
      'same-day-needed',
      ['options', 'day'],
      'The repeat readings were made on another day, so the error of one assessor on one day is not known.',
      "use day: 'another'.",
    );
  if (definition === 'consistency' && ratings.assessors.length === 0)
    throw refuse(
      'assessors-needed',
      ['ratings'],
      'Steady differences between assessors cannot be left out, since who gave which reading is not known here.',
      "use definition: 'agreement'.",
    );
  return { assessor, day, definition, columnsAre };
}

function kindNotes(ratings: Ratings, { assessor, day, definition }: CheckedKind, { coefficient }: Spread): Note[] {
  const { clusters } = clusterSums(ratings, coefficient);
  return [
    ...(day === 'same'
      ? [
          information(
            'one-day',
            'The readings of a finding were made at one time, so the error between days may be larger.',
          ),
        ]
      : [
          information(
            'stable-findings',
            'The findings are taken as unchanged between the days; what changed counts as error.',
          ),
        ]),
    ...(definition === 'consistency'
      ? [
          information(
            'steady-differences-left-out',
            assessor === 'different'
              ? 'Steady differences between assessors are left out: this error is too small where another assessor reads the second time.'
              : 'The mean change from first to second reading is left out.',
          ),
        ]
      : []),
    ...(ratings.clustersKnown && clusters < 30
      ? [
          caution(
            'few-patients-for-error',
            `The error rests on ${clusters} patients; with fewer than 30 it is known only roughly.`,
          ),
        ]
      : []),
  ];
}
