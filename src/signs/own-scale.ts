import { InputError, type Problem } from '../shared/input-error.js';
import { codebook } from './codebook.js';
import type { Category, Direction, Level, Scale } from './sign.js';

/** A scale of your own, as a plain object. Scores default to 0, 1, 2, … in the order of the categories. */
export interface OwnScale {
  /** A name no scale of the codebook has, such as `'our-unit.edema.0-2'`. */
  readonly id: string;
  /** Id of the sign it records. */
  readonly sign: string;
  readonly label: string;
  readonly level: Level;
  /** For nominal and ordinal scales, in order, lowest first. */
  readonly categories?: readonly { readonly value: string; readonly words: string; readonly score?: number }[];
  /** For measured values, in UCUM notation: `'s'`, `'mm'`, `'cm'`, `'Cel'`, `'mm[Hg]'`. */
  readonly unit?: string;
  readonly range?: { readonly lowest: number; readonly highest: number };
  readonly direction?: Direction;
  /** Values of the normal categories. */
  readonly normal?: readonly string[];
  /** Who says so. Default: "own scale, no source given". */
  readonly source?: string;
}

const LEVELS: readonly Level[] = ['nominal', 'ordinal', 'interval', 'ratio'];
const DIRECTIONS: readonly Direction[] = ['higher-is-worse', 'lower-is-worse', 'higher-is-more', 'two-ended', 'none'];

/**
 * A scale made from a plain object, for a wording the codebook lacks.
 *
 * Throws `InputError` with every fault at once: `bad-scale-id`, `scale-id-taken`, `unknown-sign`, `unknown-choice`,
 * `bad-categories`, `bad-scores`, `bad-range`, `bad-unit`, `bad-normal`.
 *
 * @example
 * ownScale({
 *   id: 'clinic.edema.0-2', sign: 'edema-overall', label: 'none, with treatment, despite treatment', level: 'ordinal',
 *   categories: [
 *     { value: '0', words: 'none' }, { value: '1', words: 'with treatment' }, { value: '2', words: 'despite treatment' },
 *   ],
 * }).categories.length // 3
 */
export function ownScale(definition: OwnScale): Scale {
  const problems: Problem[] = [];
  const fault = (code: string, field: string, message: string, expected?: string): void => {
    problems.push({ code, path: [field], message, ...(expected === undefined ? {} : { expected }) });
  };
  const { id, sign, label, level, unit, range } = definition;
  const graded = level === 'nominal' || level === 'ordinal';

  if (typeof id !== 'string' || !/^[A-Za-z0-9][\w.-]*$/.test(id))
    fault(
      'bad-scale-id',
      'id',
      'The id is missing or holds other signs.',
      'letters, digits, dots, hyphens, underscores',
    );
  else if (codebook.some((known) => known.scales.some((scale) => scale.id === id)))
    fault('scale-id-taken', 'id', `The codebook has a scale "${id}" already.`, 'a name of your own');
  if (!codebook.some((known) => known.id === sign))
    fault('unknown-sign', 'sign', 'There is no such sign.', `one of ${codebook.map((known) => known.id).join(', ')}`);
  if (typeof label !== 'string' || label.trim() === '')
    fault('bad-label', 'label', 'The label is empty.', 'a few words that people see');
  if (!LEVELS.includes(level))
    fault('unknown-choice', 'level', 'There is no such level.', `one of ${LEVELS.join(', ')}`);
  if (definition.direction !== undefined && !DIRECTIONS.includes(definition.direction))
    fault('unknown-choice', 'direction', 'There is no such direction.', `one of ${DIRECTIONS.join(', ')}`);

  const categories = (definition.categories ?? []).map(
    ({ value, words, score }, at): Category => ({ value, words, score: score ?? at }),
  );
  if (graded) checkCategories(categories, level, fault);
  else {
    if (categories.length > 0)
      fault(
        'bad-categories',
        'categories',
        'A measured value has no categories.',
        'no categories, or the level ordinal',
      );
    if (unit === undefined || unit.trim() === '')
      fault('bad-unit', 'unit', 'A measured value needs its unit.', "a unit in UCUM notation, such as 's', 'mm', 'cm'");
  }
  if (range !== undefined && !(range.lowest < range.highest))
    fault('bad-range', 'range', 'The lowest value is not below the highest.', 'two numbers, the lower first');
  for (const value of definition.normal ?? []) {
    if (!categories.some((category) => category.value === value))
      fault('bad-normal', 'normal', `"${value}" is not one of the categories.`, 'values of the categories');
  }
  if (problems.length > 0)
    throw new InputError(problems, `The scale has ${problems.length === 1 ? 'a fault' : `${problems.length} faults`}:`);

  return Object.freeze({
    id,
    sign,
    label,
    level,
    ...(graded ? { categories: Object.freeze(categories.map((category) => Object.freeze(category))) } : {}),
    ...(unit === undefined ? {} : { unit }),
    ...(range === undefined ? {} : { range: Object.freeze({ ...range }) }),
    direction: definition.direction ?? 'none',
    ...(definition.normal === undefined
      ? {}
      : { normal: { words: definition.normal.join(', '), categories: Object.freeze([...definition.normal]) } }),
    limits: [],
    source: definition.source ?? 'own scale, no source given',
    evidence: 'common practice, no source',
  });
}

function checkCategories(
  categories: readonly Category[],
  level: Level,
  fault: (code: string, field: string, message: string, expected?: string) => void,
): void {
  if (categories.length < 2)
    fault('bad-categories', 'categories', `There are ${categories.length} categories.`, 'two or more, lowest first');
  const values = new Set<string>();
  categories.forEach((category, at) => {
    if (typeof category.value !== 'string' || category.value.trim() === '')
      fault('bad-categories', `categories.${at}`, 'The value is empty or not a text.', "a text such as '0' or 'trace'");
    else if (values.has(category.value.toLowerCase()))
      fault('bad-categories', `categories.${at}`, 'The value occurs twice.', 'every value once');
    else values.add(category.value.toLowerCase());
    if (typeof category.words !== 'string' || category.words.trim() === '')
      fault('bad-categories', `categories.${at}`, 'The words are empty.', 'what the category means, in words');
    if (!Number.isFinite(category.score))
      fault('bad-scores', `categories.${at}`, 'The score is not a number.', 'a number, or none for 0, 1, 2, …');
  });
  if (level !== 'ordinal') return;
  categories.forEach(({ score }, at) => {
    const before = categories[at - 1];
    if (before !== undefined && !(score > before.score))
      fault(
        'bad-scores',
        `categories.${at}`,
        'The score is not above the one before.',
        'scores that rise with the order',
      );
  });
}
