import { kendallTau } from '../agreement/kendall-tau.js';
import type { Assessments } from '../assessments/assessments.js';
import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import type { ReadingError } from '../measurement-error/reading-error.js';
import { studyMix } from '../models/reading-error-matrices.js';
import { fillReadingProbabilities } from '../models/reading-probabilities.js';
import { ratingsOf } from '../ratings/ratings-of.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber, Table } from '../shared/table.js';
import { type LimbSeries, limbSeriesOf } from './limb-series.js';

/** One look at serial readings before change is believed. */
export interface SerialCheck {
  readonly question: string;
  readonly answer: string;
  /** Whether somebody should look closer. */
  readonly look: boolean;
}

export class SerialChecks {
  readonly kind = 'serial-checks';

  constructor(readonly checks: readonly SerialCheck[]) {
    Object.freeze(this);
  }

  get table(): Table {
    return new Table(
      'Before change is believed: do the serial readings look as readings should?',
      [
        { key: 'question', label: 'question', kind: 'text' },
        { key: 'answer', label: 'answer', kind: 'text' },
        { key: 'look', label: 'look closer', kind: 'text' },
      ],
      this.checks.map((check) => ({ question: check.question, answer: check.answer, look: check.look ? 'yes' : 'no' })),
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * Checks that belong with change: readings copied forward, visits whose timing depends on the grade, and assessors who changed over time.
 *
 * Copied forward: pairs of consecutive readings of a limb-site by one assessor that are the same grade, against the most that the reading model allows — P(same | first reading) of an unchanged
 * limb, ∫ P(y | θ, a)² dF / ∫ P(y | θ, a) dF. More than two standard errors above it (patients as units) is a reason to ask how the visits were charted. Timing: Kendall's tau-b of a
 * grade and the days to the next visit, patients as clusters. Assessors: share of the last readings by someone who gave none of the first.
 *
 * @throws InputError `grades-needed` (the error is not that of a graded sign with a reading model).
 */
export function serialChecks(assessments: Assessments, error: MeasurementError): SerialChecks {
  if (error.kind !== 'grades' || error.reading === undefined || error.subject === undefined)
    throw refuse('grades-needed', ['error'], 'These checks need the reading model of a graded sign.');
  const here = assessments.where({ sign: error.subject.sign, scale: error.subject.scale });
  const series = here.length === 0 ? [] : limbSeriesOf(here, here.scales[0]!);
  return new SerialChecks([copiedForward(series, error.reading), timing(series), changedAssessors(series)]);
}

function copiedForward(series: readonly LimbSeries[], error: ReadingError): SerialCheck {
  const { reading } = error.continuum;
  const { places, shares } = studyMix(reading);
  const n = places.positions.length;
  const grades = error.grades.length;
  const table = new Float64Array(error.assessors.length * grades * n);
  fillReadingProbabilities(reading, places.positions, table);
  const mostAlike = (assessor: number, grade: number): number => {
    let both = 0;
    let one = 0;
    for (let i = 0; i < n; i++) {
      const chance = table[(assessor * grades + grade) * n + i]!;
      both += shares[i]! * chance * chance;
      one += shares[i]! * chance;
    }
    return both / one;
  };
  const excess = new Map<string, number>();
  let pairs = 0;
  let same = 0;
  let expected = 0;
  for (const one of series) {
    const lastOf = new Map<string, number>();
    for (const { assessor, step } of one.readings) {
      const at = error.assessors.indexOf(assessor);
      const grade = error.gradeOf[step]!;
      const before = lastOf.get(assessor);
      if (at >= 0 && grade >= 0) {
        if (before !== undefined) {
          const chance = mostAlike(at, before);
          pairs++;
          expected += chance;
          if (before === grade) same++;
          excess.set(one.patient, (excess.get(one.patient) ?? 0) + (before === grade ? 1 : 0) - chance);
        }
        lastOf.set(assessor, grade);
      }
    }
  }
  let squares = 0;
  for (const sum of excess.values()) squares += sum * sum;
  const question = 'Are readings copied forward from the visit before?';
  if (pairs === 0) return { question, answer: 'No assessor read a limb on two visits in a row.', look: false };
  const look = same - expected > 2 * Math.sqrt(squares);
  return {
    question,
    answer: `${same} of ${pairs} readings repeat the grade the same assessor gave before; fresh readings of unchanged limbs would repeat at most about ${Math.round(expected)}.`,
    look,
  };
}

function timing(series: readonly LimbSeries[]): SerialCheck {
  const rows: [number, number][] = [];
  const patients: string[] = [];
  for (const { readings, patient } of series) {
    const days = [...new Set(readings.map((reading) => reading.day))];
    days.slice(0, -1).forEach((day, at) => {
      rows.push([readings.find((reading) => reading.day === day)!.step, days[at + 1]! - day]);
      patients.push(patient);
    });
  }
  const question = 'Does the time to the next visit depend on the grade?';
  if (rows.length < 10) return { question, answer: 'There are fewer than ten gaps between visits.', look: false };
  const tau = kendallTau(ratingsOf(rows, { clusters: patients }));
  const { lower, upper } = tau.interval;
  const look = lower > 0 || upper < 0 || Math.abs(tau.value) === 1;
  return {
    question,
    answer: `Kendall tau of grade and days to the next visit ${formatNumber(tau.value)} (${formatNumber(lower)} to ${formatNumber(upper)})${look ? ': visits are not at random times' : ''}.`,
    look,
  };
}

function changedAssessors(series: readonly LimbSeries[]): SerialCheck {
  let others = 0;
  let followed = 0;
  for (const { readings } of series) {
    const [first, last] = [readings[0]!.day, readings.at(-1)!.day];
    if (first === last) continue;
    followed++;
    const began = new Set(readings.filter((reading) => reading.day === first).map((reading) => reading.assessor));
    if (!readings.some((reading) => reading.day === last && began.has(reading.assessor))) others++;
  }
  return {
    question: 'Were first and last visits read by different people?',
    answer: `${others} of ${followed} limb-sites were read at the last visit by nobody who read the first.`,
    look: followed > 0 && others / followed > 0.5,
  };
}
