import { createHash } from 'node:crypto';
import { type Audience, markOf, requireMadeFor } from '../shared/audience.js';
import { Estimate, type EstimateFields } from '../shared/estimate.js';
import { type InputError, refuse } from '../shared/input-error.js';
import { CrossAssessorMatrix } from './cross-assessor-matrix.js';
import type { GradeError, LengthError, MeasurementError } from './measurement-error-of.js';
import { ReadingError } from './reading-error.js';

/** Raised when what is saved changes shape; a file of another format is refused, not guessed at. */
const FORMAT = 2;

/**
 * The error of measurement as text to save with a study and use later on another file. Holds no code of a patient: readings are kept as counted patterns. Codes of assessors are in it, because change
 * is worked out by who read. For others pass the error through `forAudience` first, which leaves out what could point at somebody. A checksum is saved with it, so that a file that was cut
 * or changed is refused, and whom it was made for.
 *
 * @param options.audience who will get the text; without it, oneself.
 * @throws InputError `not-for-audience` where an audience is named that the error was not made for.
 * @example await writeFile('pulse-error.json', measurementErrorText(error))
 * @example measurementErrorText(forAudience(error, 'outside'), { audience: 'outside' })
 */
export function measurementErrorText(error: MeasurementError, options: { readonly audience?: Audience } = {}): string {
  requireMadeFor(error, options.audience, 'This error of measurement');
  const saved = JSON.stringify(error, keepNumbers);
  const mark = markOf(error);
  const marked = mark === undefined ? '' : `"mark":${JSON.stringify(mark)},`;
  return `{"format":${FORMAT},${marked}"sha256":"${digestOf(saved)}","error":${saved}}\n`;
}

/**
 * The error of measurement from saved text, as it was: every number to the last digit.
 *
 * @throws InputError `not-an-error-file` (no such text), `other-format` (saved by another version), `changed-since-saved`.
 * @example const error = measurementErrorFromText(await readFile('pulse-error.json', 'utf8'))
 */
export function measurementErrorFromText(text: string): MeasurementError {
  let file: { format?: unknown; sha256?: unknown; error?: unknown } | null;
  let isUnchanged: boolean;
  try {
    file = JSON.parse(text) as typeof file;
    isUnchanged = digestOf(JSON.stringify(file?.error)) === file?.sha256;
  } catch {
    throw notAnErrorFile();
  }
  if (typeof file?.error !== 'object' || file.error === null) throw notAnErrorFile();
  if (file.format !== FORMAT)
    throw refuse(
      'other-format',
      ['text'],
      `The error was saved in ${typeof file.format === 'number' ? `format ${file.format}` : 'another format'}; this version reads ${FORMAT}.`,
      'estimate the error again from the agreement study and save it.',
    );
  if (!isUnchanged)
    throw refuse(
      'changed-since-saved',
      ['text'],
      'The text is not as it was saved: it was cut or changed.',
      'take the file from where it was saved, or estimate the error again from the agreement study.',
    );
  try {
    const { error } = JSON.parse(text, reviveNumbers) as { error: MeasurementError };
    return error.kind === 'grades' ? gradeError(error) : lengthError(error);
  } catch {
    throw notAnErrorFile();
  }
}

function notAnErrorFile(): InputError {
  return refuse(
    'not-an-error-file',
    ['text'],
    'The text is not a saved error of measurement.',
    'save it with measurementErrorText.',
  );
}

function digestOf(saved: string): string {
  return createHash('sha256').update(saved).digest('hex');
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
  if ('$whole' in value) return Int32Array.from(value.$whole as number[]);
  if ('$numbers' in value) return Float64Array.from(value.$numbers as number[]);
  return value;
}
