import { type LocatedClassFit, locatedClassFit } from '../models/located-class-fit.js';
import { type PositionModelFit, positionModelFit } from '../models/position-model-fit.js';
import { readingErrorMatrices, studyMix } from '../models/reading-error-matrices.js';
import { type ReadingPatterns, readingPatterns } from '../models/reading-patterns.js';
import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { caution, information, type Note } from '../shared/note.js';
import { formatNumber, Table } from '../shared/table.js';

/**
 * How each assessor of a study turns a limb's position on the scale into a grade: tendency (grades high or low), spread (how far repeat readings
 * of one limb scatter) and slips, with the limbs as a continuum and, as a check, as classes. What change is worked out from.
 */
export class ReadingError {
  readonly kind = 'reading-error';

  constructor(
    readonly assessors: readonly string[],
    /** The grades that were used, in order, a rare one at an end with its neighbor if so asked; the models know no others. */
    readonly grades: readonly RatingCategory[],
    /** Index in `grades` of each category of the scale, −1 where it was never used. */
    readonly gradeOf: readonly number[],
    readonly patterns: ReadingPatterns,
    readonly continuum: PositionModelFit,
    readonly classes: LocatedClassFit,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** Tendency and spread of each assessor in grades: divided by the mean width of a grade between the outer cuts. */
  get table(): Table {
    const { cuts } = this.continuum.reading;
    // Not a number where there is one cut: 0/0.
    const width = (cuts[cuts.length - 1]! - cuts[0]!) / (cuts.length - 1);
    const unit = Number.isNaN(width) ? 1 : width;
    return new Table(
      `Who tends to grade high or low, and how far do repeat readings scatter? (${Number.isNaN(width) ? 'in standard deviations of the limbs' : 'in grades'}; 0 is the average of these assessors)`,
      [
        { key: 'assessor', label: 'assessor', kind: 'text' },
        { key: 'tendency', label: 'grades higher by', kind: 'number' },
        { key: 'lower', label: 'from', kind: 'number' },
        { key: 'upper', label: 'to', kind: 'number' },
        { key: 'spread', label: 'scatter', kind: 'number' },
      ],
      this.assessors.map((assessor, at) => {
        const tendency = this.continuum.tendencies[at]!;
        return {
          assessor,
          tendency: tendency.value / unit,
          lower: tendency.lower / unit,
          upper: tendency.upper / unit,
          spread: this.continuum.spreads[at]!.value / unit,
        };
      }),
      [
        ...this.notes,
        information(
          'not-a-ranking',
          'Who differs from the others is not therefore wrong; two people at the ends of the table may read the same limbs equally well.',
        ),
      ],
    );
  }

  /** How often one assessor reads each grade when the consensus grade is known, for the study's own mix of limbs. Rows: consensus grade. */
  matrixOf(assessor: string): Table {
    const at = this.assessors.indexOf(assessor);
    const matrix = readingErrorMatrices(this.continuum.reading, studyMix(this.continuum.reading))[at] ?? [];
    return new Table(
      `How does ${assessor} read limbs of each consensus grade? (in this study's mix of limbs; another mix gives other shares)`,
      [
        { key: 'grade', label: 'consensus grade', kind: 'text' },
        ...this.grades.map((grade, k) => ({
          key: `read${k}`,
          label: `reads ${grade.words}`,
          kind: 'percent' as const,
        })),
      ],
      matrix.map((row, g) => ({
        grade: this.grades[g]!.words,
        ...Object.fromEntries(row.map((share, k) => [`read${k}`, share])),
      })),
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/** Readings a used grade needs before its cuts are more than the prior's word. */
const LEAST_READINGS = 10;

/**
 * The reading models of a study, or why there is none.
 *
 * Both models are fitted: positions on a continuum (`positionModelFit`) and located classes (`locatedClassFit`). Needs two assessors who read the same limbs and
 * every used grade written at least ten times (or `mergeRare`, which counts a rare grade at an end with its neighbor); two assessors share one spread.
 */
export function readingErrorOf(
  ratings: Ratings,
  mergeRare: boolean,
): { readonly error: ReadingError | undefined; readonly notes: readonly Note[] } {
  const none = (code: string, message: string): { error: undefined; notes: Note[] } => ({
    error: undefined,
    notes: [information(code, message)],
  });
  if (ratings.assessors.length < 2)
    return none('no-reading-model', 'How each assessor reads needs at least two assessors known by code.');
  const counts = readingsByCategory(ratings);
  let groups = ratings.categories.flatMap((_, code) => (counts[code]! > 0 ? [[code]] : []));
  const readingsOf = (group: readonly number[]): number => group.reduce((sum, code) => sum + counts[code]!, 0);
  if (mergeRare) {
    while (groups.length > 2 && readingsOf(groups[0]!) < LEAST_READINGS)
      groups = [[...groups[0]!, ...groups[1]!], ...groups.slice(2)];
    while (groups.length > 2 && readingsOf(groups.at(-1)!) < LEAST_READINGS)
      groups = [...groups.slice(0, -2), [...groups.at(-2)!, ...groups.at(-1)!]];
  }
  if (groups.length < 2)
    return none('no-reading-model', 'Only one grade was used, so nothing can be said about how grades are read.');
  const rare = groups.filter((group) => readingsOf(group) < LEAST_READINGS);
  const wordsOf = (group: readonly number[]): string =>
    group.map((code) => ratings.categories[code]!.words).join(' or ');
  if (rare.length > 0)
    return none(
      'grade-too-rare',
      `${rare.map((group) => `"${wordsOf(group)}" (${readingsOf(group)} readings)`).join(', ')}: a grade needs ${LEAST_READINGS} readings before chances of change can be worked out; map the readings to a coarser scale, or ask for mergeRareGrades.`,
    );
  const gradeOf = ratings.categories.map((_, code) => groups.findIndex((group) => group.includes(code)));
  const patterns = readingPatterns(allReadings(ratings, gradeOf), groups.length, ratings.assessors.length);
  if (!patterns.patterns.some((cells) => cells.length > 1))
    return none('no-reading-model', 'No finding was read twice, so error and limbs cannot be told apart.');
  const continuum = positionModelFit(patterns);
  const classes = locatedClassFit(patterns, { scale: continuum.reading });
  const merged = groups.filter((group) => group.length > 1);
  const grades = groups.map((group) => ({ ...ratings.categories[group[0]!]!, words: wordsOf(group) }));
  return {
    error: new ReadingError(ratings.assessors, grades, gradeOf, patterns, continuum, classes, [
      ...continuum.notes,
      ...(continuum.converged && classes.converged
        ? []
        : [caution('not-converged', `The reading models did not converge (${continuum.how}; ${classes.how}).`)]),
      ...(merged.length === 0
        ? []
        : [
            information(
              'merged-grades',
              `Counted as one grade because one of them was read fewer than ${LEAST_READINGS} times: ${merged.map(wordsOf).join('; ')}.`,
            ),
          ]),
      information(
        'consensus',
        `The true grade is the consensus of these ${ratings.assessors.length} assessors (slips ${formatNumber(100 * continuum.reading.slip, 1)} % of readings); all can be wrong together.`,
      ),
    ]),
    notes: [],
  };
}

function readingsByCategory(ratings: Ratings): Float64Array {
  const counts = new Float64Array(ratings.categories.length);
  for (const code of ratings.codes) if (code >= 0) counts[code]!++;
  for (const repeat of ratings.repeats) if (repeat.code >= 0) counts[repeat.code]!++;
  return counts;
}

function allReadings(
  ratings: Ratings,
  gradeOf: readonly number[],
): { target: number[]; reader: number[]; category: number[]; cluster: number[] } {
  const target: number[] = [];
  const reader: number[] = [];
  const category: number[] = [];
  const cluster: number[] = [];
  const add = (of: number, by: number, code: number): void => {
    if (code < 0) return;
    target.push(of);
    reader.push(by);
    category.push(gradeOf[code]!);
    cluster.push(ratings.clusterOf[of]!);
  };
  for (let of = 0; of < ratings.targets; of++)
    for (let by = 0; by < ratings.columns; by++) add(of, by, ratings.codes[of * ratings.columns + by]!);
  for (const repeat of ratings.repeats) add(repeat.target, repeat.assessor, repeat.code);
  return { target, reader, category, cluster };
}
