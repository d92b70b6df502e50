import { caution, type Note } from '../shared/note.js';
import { formatCount } from '../shared/table.js';
import type { Scale } from '../signs/sign.js';
import type { AssessmentColumns } from './assessments.js';

/**
 * Where the equality of two pulses as recorded contradicts their two grades on the same scale: recorded equal with
 * different grades, or one side recorded weaker whose grade is not lower. A note with counts, or nothing. Which of
 * the two is right cannot be known, so nothing is changed.
 */
export function equalityContradictions(
  table: AssessmentColumns,
  rows: number,
  scales: readonly Scale[],
): readonly Note[] {
  const equality = table.sign.values.indexOf('pulse-equality');
  const grade = table.sign.values.indexOf('pulse-grade');
  if (equality < 0 || grade < 0) return [];
  const graded = new Map<string, { scale: number; category: number }>();
  const keyOf = (row: number, limb: string): string =>
    [
      table.patient.codes[row],
      table.stay.codes[row],
      table.day[row],
      table.period[row],
      table.occasion.codes[row],
      table.round.codes[row],
      table.phase.codes[row],
      table.assessor.codes[row],
      Number.isNaN(table.replicate[row]) ? 1 : table.replicate[row],
      table.site.codes[row],
      limb,
    ].join();
  for (let row = 0; row < rows; row++) {
    if (table.sign.codes[row] !== grade || (table.category[row] ?? -1) < 0) continue;
    const side = table.limb.values[table.limb.codes[row] ?? -1]?.startsWith('left') === true ? 'left' : 'right';
    graded.set(keyOf(row, side), { scale: table.scale.codes[row] ?? -1, category: table.category[row] ?? -1 });
  }
  const words = scales.find(({ sign }) => sign === 'pulse-equality')?.categories?.map(({ value }) => value) ?? [];
  let compared = 0;
  let contradicting = 0;
  for (let row = 0; row < rows; row++) {
    if (table.sign.codes[row] !== equality) continue;
    const recorded = words[table.category[row] ?? -1];
    const left = graded.get(keyOf(row, 'left'));
    const right = graded.get(keyOf(row, 'right'));
    if (recorded === undefined || recorded === 'not-compared' || left === undefined || right === undefined) continue;
    if (left.scale !== right.scale) continue;
    compared++;
    const byGrades =
      left.category === right.category ? 'equal' : left.category < right.category ? 'left-weaker' : 'right-weaker';
    if (byGrades !== recorded) contradicting++;
  }
  if (contradicting === 0) return [];
  return [
    caution(
      'equality-contradicts-grades',
      `In ${formatCount(contradicting)} of ${formatCount(compared)} comparisons the recorded equality of two pulses contradicts their grades. Both are kept as they are: ask whoever recorded them.`,
    ),
  ];
}
