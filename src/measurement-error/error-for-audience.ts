import type { Audience } from '../shared/audience.js';
import { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { roundedEstimate, withoutFigures } from '../shared/rounded-estimate.js';
import { CrossAssessorMatrix } from './cross-assessor-matrix.js';
import type { GradeShifts } from './grade-shifts.js';
import type { GradeError, LengthError, MeasurementError } from './measurement-error-of.js';

/**
 * The error of measurement as others may have it. Left out: who read, how each assessor reads (its counted patterns are single findings), a matrix in which one cell could rest on 1 to 4
 * findings, with all its cells, and shares of pairs that 1 to 4 findings make, or make together with the next. The smallest change beyond the error stays, so calls of change can be made
 * with it; chances of change cannot. Outside the hospital numbers are rounded to three decimals.
 *
 * A matrix is shown whole or not at all: it is symmetric, and its sums by distance are the shares of pairs, from which a cell hidden alone could be had by subtraction. One finding gives a
 * cell at most ⌊m²/4⌋ pairs off the diagonal and m(m − 1) on it, m the assessors; where they are not known the matrix is hidden.
 *
 * @throws InputError `too-few-people`.
 */
export function errorForAudience(error: MeasurementError, audience: Exclude<Audience, 'own'>): MeasurementError {
  const people = peopleOf(error);
  if (people < FEWEST_SHOWN)
    throw refuse(
      'too-few-people',
      ['error'],
      `This error of measurement rests on fewer than ${FEWEST_SHOWN} people and cannot be given to others.`,
      'keep it to yourself, or examine more.',
    );
  return error.kind === 'grades' ? gradesFor(error, audience) : lengthsFor(error, audience);
}

function peopleOf(error: MeasurementError): number {
  return error.kind === 'grades' ? error.matrix.clusters : error.standardError.differentAssessor.counts.clusters;
}

function gradesFor(error: GradeError, audience: Audience): GradeError {
  const { assessors, matrix, differentAssessor, sameAssessor, reading, notes, ...rest } = error;
  const isShown = isLarge(matrix, assessors?.length);
  const hidden = matrix.counts.map((row) => row.map(() => Number.NaN));
  const same = sameAssessor !== undefined && isOfEnough(sameAssessor.atLeast[0]?.share) ? sameAssessor : undefined;
  return {
    ...rest,
    matrix: isShown
      ? matrix
      : new CrossAssessorMatrix(matrix.categories, hidden, hidden, matrix.targets, matrix.clusters),
    differentAssessor: shiftsFor(differentAssessor, audience),
    sameAssessor: same === undefined ? undefined : shiftsFor(same, audience),
    reading: undefined,
    audience,
    notes: [
      ...(audience === 'outside' ? withoutFigures(notes) : notes),
      ...(isShown
        ? []
        : [
            information(
              'matrix-hidden',
              `How often each grade is read as another is hidden: numbers under ${FEWEST_SHOWN} could point at somebody.`,
            ),
          ]),
      ...(reading === undefined
        ? []
        : [
            information(
              'reading-left-out',
              'How each assessor reads is left out of this copy: it gives calls of change, and no chances.',
            ),
          ]),
    ],
  };
}

function lengthsFor(error: LengthError, audience: Audience): LengthError {
  const { assessors: _assessors, notes, ...rest } = error;
  const both = (one: LengthError['standardError']): LengthError['standardError'] => ({
    differentAssessor: estimateFor(one.differentAssessor, audience),
    sameAssessor: isOfEnough(one.sameAssessor) ? estimateFor(one.sameAssessor!, audience) : undefined,
  });
  return {
    ...rest,
    standardError: both(error.standardError),
    smallestDetectableChange: both(error.smallestDetectableChange),
    audience,
    notes: audience === 'outside' ? withoutFigures(notes) : notes,
  };
}

/** Whether every cell that is not empty rests on enough findings, whatever pairs one finding gives. */
function isLarge({ counts }: CrossAssessorMatrix, assessors: number | undefined): boolean {
  if (assessors === undefined) return false;
  const most = (onDiagonal: boolean): number =>
    onDiagonal ? assessors * (assessors - 1) : Math.floor(assessors ** 2 / 4);
  return counts.every((row, i) => row.every((pairs, j) => pairs === 0 || pairs > (FEWEST_SHOWN - 1) * most(i === j)));
}

/** Shares with those left out that few findings make, alone or as the step to the last one shown. */
function shiftsFor(shifts: GradeShifts, audience: Audience): GradeShifts {
  let last = 1;
  const atLeast = shifts.atLeast.map(({ grades, share }) => {
    const findings = share.value * share.counts.targets;
    const step = (last - share.value) * share.counts.targets;
    if (isFewFindings(findings) || isFewFindings(step)) return { grades, share: withoutValue(share) };
    last = share.value;
    return { grades, share: estimateFor(share, audience) };
  });
  return { ...shifts, atLeast };
}

/** Shares are means over findings, so the number of findings behind one is at least this. */
function isFewFindings(findings: number): boolean {
  return findings > 1e-9 && findings < FEWEST_SHOWN - 1e-9;
}

function isOfEnough(estimate: Estimate | undefined): boolean {
  return estimate !== undefined && estimate.counts.clusters >= FEWEST_SHOWN;
}

function estimateFor(estimate: Estimate, audience: Audience): Estimate {
  return audience === 'outside' ? roundedEstimate(estimate) : new Estimate({ ...estimate, details: {} });
}

function withoutValue(estimate: Estimate): Estimate {
  const unknown = Number.NaN;
  return new Estimate({
    ...estimate,
    value: unknown,
    standardError: unknown,
    interval: { ...estimate.interval, lower: unknown, upper: unknown },
    details: {},
    notes: [information('too-few-to-show', `Numbers under ${FEWEST_SHOWN} could point at somebody.`)],
  });
}
