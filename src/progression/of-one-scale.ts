import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import { signOf } from '../signs/codebook.js';

/** Which readings are meant: one sign, on one scale. */
export interface OneScale {
  readonly sign: string;
  /** Needed where the sign is recorded on several. */
  readonly scale?: string;
  readonly site?: string | readonly string[];
}

/** The assessments of a sign on one scale. Throws `InputError`: `sign-not-present`, `scale-needed`. */
export function ofOneScale(assessments: Assessments, options: OneScale): Assessments {
  const sign = signOf(options.sign);
  const here = assessments.where({
    sign: sign.id,
    ...(options.scale === undefined ? {} : { scale: options.scale }),
    ...(options.site === undefined ? {} : { site: options.site }),
  });
  if (here.length === 0)
    throw refuse(
      'sign-not-present',
      ['options', 'sign'],
      `There are no such assessments of ${sign.label.toLowerCase()}.`,
    );
  if (here.scales.length > 1)
    throw refuse(
      'scale-needed',
      ['options', 'scale'],
      `The sign is recorded on ${here.scales.map((scale) => scale.id).join(', ')}.`,
      'name one scale.',
    );
  return here;
}
