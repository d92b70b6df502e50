import type { Assessments } from '../assessments/assessments.js';
import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import { refuse } from '../shared/input-error.js';
import { siteOf } from '../signs/site.js';
import { type LimbCourse, limbCourse } from './limb-course.js';

/**
 * The courses of every limb-site of one patient at which the error's sign was looked for, head to toe, arms before legs, left before right.
 *
 * Each is what `limbCourse` gives. Missing values: a site that was looked at and never read has a course without readings. The code of the patient chooses and appears nowhere.
 *
 * @throws InputError `no-readings` (nothing recorded of this sign there), `subject-needed`, and what `changeCalls` throws.
 * @example limbCourses(assessments, error, { patient: 'P07' }).length
 */
export function limbCourses(
  assessments: Assessments,
  error: MeasurementError,
  of: { readonly patient: string },
): readonly LimbCourse[] {
  if (error.subject === undefined)
    throw refuse(
      'subject-needed',
      ['error'],
      'This error was estimated from readings without a sign.',
      'estimate it with ratingsFrom(assessments, …), so that sign and scale are known.',
    );
  const here = assessments.where({ patient: of.patient, sign: error.subject.sign });
  const places = new Map<string, { limb: string; site: string }>();
  for (let row = 0; row < here.length; row++) {
    const [limb, site] = [here.wordAt('limb', row) ?? '', here.wordAt('site', row) ?? ''];
    places.set(`${limb}/${site}`, { limb, site });
  }
  if (places.size === 0)
    throw refuse('no-readings', ['of', 'patient'], 'Nothing is recorded of this sign for that patient.');
  return [...places.values()]
    .sort((a, b) => orderOf(a) - orderOf(b) || (a.limb < b.limb ? -1 : a.limb > b.limb ? 1 : 0))
    .map(({ limb, site }) =>
      limbCourse(assessments, error, {
        patient: of.patient,
        ...(limb === '' ? {} : { limb }),
        ...(site === '' ? {} : { site }),
      }),
    );
}

/** Where the sign takes no site, arms stand before legs. */
function orderOf({ limb, site }: { limb: string; site: string }): number {
  return site === '' ? (limb.endsWith('arm') ? -2 : -1) : siteOf(site).order;
}
