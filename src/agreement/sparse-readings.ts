import { alikeReadings } from '../ratings/alike-readings.js';
import type { Ratings } from '../ratings/ratings.js';
import { caution, information, type Note } from '../shared/note.js';

/** Patients needed to carry a category other than the commonest before an interval is trusted; from coverage simulations. */
const MINORITY_PATIENTS = 10;

/** A caution when fewer than ten patients carry any reading other than the commonest category. */
export function fewMinorityPatients(ratings: Ratings): Note[] {
  const commonestCode = commonestCategory(ratings).code;
  if (ratings.categories.length > 12) return [];
  const carriers = new Set<number>();
  for (let target = 0; target < ratings.targets && carriers.size < MINORITY_PATIENTS; target++) {
    for (let column = 0; column < ratings.columns; column++) {
      const code = ratings.codes[target * ratings.columns + column]!;
      if (code >= 0 && code !== commonestCode) carriers.add(ratings.clusterOf[target]!);
    }
  }
  const patients = carriers.size;
  if (patients >= MINORITY_PATIENTS) return [];
  return [
    caution(
      'few-minority-patients',
      `Only ${patients} patients carry a reading other than "${ratings.categories[commonestCode]?.words ?? ''}"; the interval may be too narrow.`,
    ),
  ];
}

/** The category most readings fall in, and its share of the readings. */
export function commonestCategory(ratings: Ratings): { code: number; share: number } {
  const known = commonest.get(ratings);
  if (known !== undefined) return known;
  const found = findCommonest(ratings);
  commonest.set(ratings, found);
  return found;
}

/** Ratings do not change, and one estimate asks several times. */
const commonest = new WeakMap<Ratings, { code: number; share: number }>();

function findCommonest(ratings: Ratings): { code: number; share: number } {
  const { categories, columns } = ratings;
  const { codes, targets, times } = alikeReadings(ratings);
  // Two tables in turns: adding twice to one place waits for the first. A reading that is missing counts at place 0.
  const size = categories.length + 1;
  const counts = new Int32Array(2 * size);
  for (let target = 0, at = 0; target < targets; target++) {
    const often = times === undefined ? 1 : times[target]!;
    for (const end = at + columns; at < end; at++) counts[(at & 1) * size + codes[at]! + 1]! += often;
  }
  let code = 0;
  let most = 0;
  let readings = 0;
  for (let category = 0; category < categories.length; category++) {
    const count = counts[category + 1]! + counts[size + category + 1]!;
    readings += count;
    if (count > most) {
      code = category;
      most = count;
    }
  }
  return { code, share: readings === 0 ? Number.NaN : most / readings };
}

/** Above this share of one category a chance-corrected coefficient says little: prevalence index .6 at two categories. */
const ALIKE = 0.8;

/** "Nearly all readings are alike", where a chance-corrected coefficient can be low although assessors agree. */
export function alikeNote(ratings: Ratings): Note[] {
  const { code, share } = commonestCategory(ratings);
  if (!(share > ALIKE) || share === 1) return [];
  return [
    caution(
      'nearly-all-alike',
      `Nearly all readings are alike (${Math.round(100 * share)} % are "${ratings.categories[code]!.words}"): a coefficient corrected for chance says little here; read the specific agreement of the other categories.`,
    ),
  ];
}

/** Why a coefficient corrected for chance is not defined: one category only, or no target read twice. */
export function undefinedNote(value: number, statistic: string): Note[] {
  if (!Number.isNaN(value)) return [];
  return [
    information(
      'not-defined',
      `${statistic} is not defined: all readings that could be compared are of one category, or there are none.`,
    ),
  ];
}

/** Where chance depends on the number of categories, but only those that occur are known. */
export function observedCategoriesNote(ratings: Ratings): Note[] {
  if (!ratings.notes.some((note) => note.code === 'observed-categories')) return [];
  return [
    caution(
      'categories-matter',
      'This coefficient depends on how many grades the scale has, and only those that occur are known here: give the categories.',
    ),
  ];
}
