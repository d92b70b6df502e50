import type { LengthError } from '../measurement-error/measurement-error-of.js';
import { refuse } from '../shared/input-error.js';

/** Refuses an error that the study could not find: against it nothing would ever be beyond the error. */
export function checkErrorIsKnown(error: LengthError): void {
  if (!Number.isNaN(error.standardError.differentAssessor.value)) return;
  throw refuse(
    'error-not-known',
    ['error'],
    'The agreement study does not say how large the error is; its notes say why.',
    'use a study in which the same limbs were read by two assessors.',
  );
}
