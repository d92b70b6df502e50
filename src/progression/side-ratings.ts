import type { Assessments } from '../assessments/assessments.js';
import { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { signOf } from '../signs/codebook.js';
import { type OneScale, ofOneScale } from './of-one-scale.js';

/**
 * Left and right of one patient as if they were two assessors: one row a patient, site, visit and assessor, columns "left" and "right". With them
 * every comparison of two columns answers whether the sides differ: `marginalShift` and `stuartMaxwellTest` for grades, `limitsOfAgreement` for lengths.
 *
 * Missing values: a row with one side stays as a gap. The patient is the cluster. Reference readings, bounds (`<2`) and repeats do not enter.
 *
 * @throws InputError `sign-not-present`, `scale-needed`, `no-sides`.
 * @example marginalShift(sideRatings(assessments, { sign: 'ankle-girth' }))
 */
export function sideRatings(assessments: Assessments, options: OneScale): Ratings {
  const sign = signOf(options.sign);
  const here = ofOneScale(assessments, options);
  const scale = here.scales[0]!;
  const rowOf = new Map<string, number>();
  const sites: string[] = [];
  const patients: number[] = [];
  const cells: { row: number; side: number; code: number; number: number }[] = [];
  const distinct =
    scale.categories === undefined
      ? [...new Set(here.number)].filter((value) => !Number.isNaN(value)).sort((a, b) => a - b)
      : [];
  const codeOfNumber = new Map(distinct.map((value, code) => [value, code]));
  for (let row = 0; row < here.length; row++) {
    const limb = here.wordAt('limb', row) ?? '';
    const side = limb.startsWith('left') ? 0 : limb.startsWith('right') ? 1 : -1;
    if (side < 0 || here.reference[row] === 1 || here.replicate[row]! > 1) continue;
    const part = limb.split('-')[1];
    const key = [
      here.patient.codes[row],
      part,
      here.site.codes[row],
      here.day[row],
      here.occasion.codes[row],
      here.assessor.codes[row],
    ].join('/');
    let target = rowOf.get(key);
    if (target === undefined) {
      target = rowOf.size;
      rowOf.set(key, target);
      sites.push(here.wordAt('site', row) ?? '');
      patients.push(here.patient.codes[row]!);
    }
    const number = here.number[row]!;
    const bound = scale.categories === undefined && here.comparator.codes[row]! >= 0;
    const code = scale.categories === undefined ? (bound ? -1 : (codeOfNumber.get(number) ?? -1)) : here.category[row]!;
    if (code >= 0) cells.push({ row: target, side, code, number });
  }
  if (cells.length === 0) throw refuse('no-sides', ['assessments'], 'No reading has a side.');
  const targets = rowOf.size;
  const codes = new Int32Array(2 * targets).fill(-1);
  const numbers = new Float64Array(2 * targets).fill(Number.NaN);
  for (const cell of cells) {
    codes[2 * cell.row + cell.side] = cell.code;
    numbers[2 * cell.row + cell.side] = cell.number;
  }
  const clusters = new Map<number, number>();
  const clusterOf = Int32Array.from(patients, (patient) => {
    if (!clusters.has(patient)) clusters.set(patient, clusters.size);
    return clusters.get(patient)!;
  });
  return new Ratings({
    level: scale.level,
    categories: scale.categories ?? distinct.map((value) => ({ value, words: String(value), score: value })),
    assessors: ['left', 'right'],
    codes,
    numbers,
    targets,
    columns: 2,
    clusterOf,
    clusters: clusters.size,
    clustersKnown: true,
    attributes: { site: sites },
    subject: {
      sign: sign.id,
      signLabel: sign.label,
      scale: scale.id,
      scaleLabel: scale.label,
      ...(scale.unit === undefined ? {} : { unit: scale.unit }),
    },
    notes: [
      information(
        'sides',
        'The two columns are the left and the right side of the same patient, read by the same assessor at the same visit.',
      ),
    ],
  });
}
