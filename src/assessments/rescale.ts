import { InputError } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { scaleOf } from '../signs/codebook.js';
import { mapCategory } from '../signs/scale-mapping.js';
import { type AssessmentColumns, Assessments, FLAG_COLUMNS, NUMBER_COLUMNS, TEXT_COLUMNS } from './assessments.js';

/**
 * The assessments with every reading on the scale named, by the safe mappings of the codebook only.
 *
 * Readings that are on that scale stay; those on other scales are mapped category by category. Missing and empty
 * readings stay missing and empty on the new scale. The mapping is told in the notes.
 *
 * @throws InputError `unknown-scale`, `unsafe-mapping` with the safe ways offered, for every scale that has none
 * to the one named.
 * @example
 * rescale(assessments, 'pulse.below-normal-above').scales.length // 1
 */
export function rescale(assessments: Assessments, toScale: string): Assessments {
  const target = scaleOf(toScale);
  const targetIndex = new Map(target.categories?.map(({ value }, at) => [value, at]));
  const problems = [];
  const indexes = new Map<number, readonly number[]>();
  for (const scale of assessments.scales) {
    try {
      // A measured scale has no category, and no safe way to another scale: asking for one says so.
      const mapped = (scale.categories ?? [{ value: '' }]).map(
        ({ value }) => targetIndex.get(mapCategory(scale.id, target.id, value)) ?? -1,
      );
      indexes.set(assessments.scale.values.indexOf(scale.id), mapped);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      problems.push(...error.problems);
    }
  }
  if (problems.length > 0) throw new InputError(problems);
  const { scale, category, number, length } = assessments;
  const newCategory = new Int16Array(length);
  const newNumber = new Float64Array(length);
  for (let row = 0; row < length; row++) {
    const before = category[row] ?? -1;
    const index = before < 0 ? -1 : (indexes.get(scale.codes[row] ?? -1)?.[before] ?? -1);
    newCategory[row] = index;
    newNumber[row] = target.categories?.[index]?.score ?? number[row] ?? Number.NaN;
  }
  const columns: Record<string, unknown> = {};
  for (const name of [...TEXT_COLUMNS, ...NUMBER_COLUMNS, ...FLAG_COLUMNS]) columns[name] = assessments[name];
  columns.scale = { codes: scale.codes.map((code) => (code < 0 ? -1 : 0)), values: [target.id] };
  columns.category = newCategory;
  columns.number = newNumber;
  const mapped = assessments.scales.filter(({ id }) => id !== target.id).map(({ id }) => id);
  const notes =
    mapped.length === 0
      ? []
      : [
          information(
            'scale-mapped',
            `Readings on ${mapped.join(', ')} were mapped to ${target.id} (${target.label}).`,
          ),
        ];
  return new Assessments(columns as unknown as AssessmentColumns, [target], assessments.source, [
    ...assessments.notes,
    ...notes,
  ]);
}
