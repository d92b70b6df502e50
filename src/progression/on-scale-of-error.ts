import type { Assessments } from '../assessments/assessments.js';
import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import { refuse } from '../shared/input-error.js';

/**
 * The assessments of the error's sign, and those of them on its scale.
 *
 * Throws `InputError`: `subject-needed`, `different-sign`, `different-scale`, `error-not-known` (against an error that the study could not find nothing would ever be beyond it).
 */
export function onScaleOfError(
  assessments: Assessments,
  error: MeasurementError,
): { readonly ofSign: Assessments; readonly onScale: Assessments } {
  const { subject } = error;
  if (subject === undefined)
    throw refuse(
      'subject-needed',
      ['error'],
      'This error was estimated from readings without a sign.',
      'estimate it with ratingsFrom(assessments, …), so that sign and scale are known.',
    );
  const ofSign = assessments.where({ sign: subject.sign });
  if (ofSign.length === 0)
    throw refuse(
      'different-sign',
      ['assessments'],
      `The error is that of ${subject.signLabel.toLowerCase()}; these assessments hold none.`,
    );
  const onScale = ofSign.where({ scale: subject.scale });
  if (onScale.length === 0)
    throw refuse(
      'different-scale',
      ['assessments'],
      `The error was measured on the scale ${subject.scale}; these assessments use ${ofSign.scales.map((scale) => scale.id).join(', ')}.`,
      'measure the error on the scale in use.',
    );
  if (error.kind === 'lengths' && Number.isNaN(error.standardError.differentAssessor.value))
    throw refuse(
      'error-not-known',
      ['error'],
      'The agreement study does not say how large the error is; its notes say why.',
      'use a study in which the same limbs were read by two assessors.',
    );
  return { ofSign, onScale };
}
