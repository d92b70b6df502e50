import { Estimate, type EstimateFields } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { CrossAssessorMatrix } from './cross-assessor-matrix.js';
import type { GradeError, LengthError, MeasurementError } from './measurement-error-of.js';
import { ReadingError } from './reading-error.js';

/** Raised when what is saved changes shape; a file of another format is refused, not guessed at. */
const FORMAT = 1;

/**
 * The error of measurement as text to save with a study and use later on another file. Holds no code of a patient: readings are kept as counted patterns. Codes of assessors are in it, because change
 * is worked out by who read.
 *
 * @example await writeFile('pulse-error.json', measurementErrorText(error))
 */
export function measurementErrorText(error: MeasurementError): string {
  return `${JSON.stringify({ format: FORMAT, error }, keepNumbers)}\n`;
}

/**
 * The error of measurement from saved text, as it was: every number to the last digit.
 *
 * @throws InputError `not-an-error-file` (no such text), `other-format` (saved by another version).
 * @example const error = measurementErrorFromText(await readFile('pulse-error.json', 'utf8'))
 */
export function measurementErrorFromText(text: string): MeasurementError {
  let saved: { format?: number; error?: MeasurementError };
  try {
    saved = JSON.parse(text, reviveNumbers) as typeof saved;
  } catch {
    throw refuse(
      'not-an-error-file',
      ['text'],
      'The text is not a saved error of measurement.',
      'save it with measurementErrorText.',
    );
  }
  const { error } = saved ?? {};
  if (saved?.format !== FORMAT || error === undefined)
    throw refuse(
      error === undefined ? 'not-an-error-file' : 'other-format',
      ['text'],
      error === undefined
        ? 'The text is not a saved error of measurement.'
        : `The error was saved in format ${saved.format}; this version reads ${FORMAT}.`,
      'estimate the error again from the agreement study and save it.',
    );
  return error.kind === 'grades' ? gradeError(error) : lengthError(error);
}

function gradeError(saved: GradeError): GradeError {
  const { matrix, differentAssessor, sameAssessor, reading } = saved;
  const shifts = (one: GradeError['differentAssessor']): GradeError['differentAssessor'] => ({
    ...one,
    atLeast: one.atLeast.map(({ grades, share }) => ({ grades, share: estimate(share) })),
  });
  return {
    ...saved,
    matrix: new CrossAssessorMatrix(matrix.categories, matrix.counts, matrix.shares, matrix.targets, matrix.clusters),
    differentAssessor: shifts(differentAssessor),
    sameAssessor: sameAssessor === undefined ? undefined : shifts(sameAssessor),
    reading:
      reading === undefined
        ? undefined
        : new ReadingError(
            reading.assessors,
            reading.grades,
            reading.gradeOf,
            reading.patterns,
            reading.continuum,
            reading.classes,
            reading.notes,
          ),
    subject: saved.subject,
  };
}

function lengthError(saved: LengthError): LengthError {
  const both = (one: LengthError['standardError']): LengthError['standardError'] => ({
    differentAssessor: estimate(one.differentAssessor),
    sameAssessor: one.sameAssessor === undefined ? undefined : estimate(one.sameAssessor),
  });
  return {
    ...saved,
    standardError: both(saved.standardError),
    smallestDetectableChange: both(saved.smallestDetectableChange),
    subject: saved.subject,
  };
}

function estimate(saved: EstimateFields): Estimate {
  return new Estimate(saved);
}

/** JSON knows neither typed arrays nor NaN and infinities. */
function keepNumbers(_key: string, value: unknown): unknown {
  if (value instanceof Float64Array) return { $numbers: Array.from(value, (x) => keepNumbers('', x)) };
  if (value instanceof Int32Array) return { $whole: Array.from(value) };
  if (typeof value === 'number' && !Number.isFinite(value)) return { $special: String(value) };
  return value;
}

function reviveNumbers(_key: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if ('$special' in value) return Number(value.$special);
  if ('$whole' in value && Array.isArray(value.$whole)) return Int32Array.from(value.$whole as number[]);
  if ('$numbers' in value && Array.isArray(value.$numbers)) return Float64Array.from(value.$numbers as number[]);
  return value;
}
