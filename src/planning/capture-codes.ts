import { MISSING_REASONS } from '../assessments/missing-reason.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { type Cell, Table } from '../shared/table.js';
import type { StudyPlan } from './plan-study.js';

/**
 * What may stand in the columns `value` and `missing` of the capture sheet: every grade of every planned scale in words, the range of measured signs, and the reasons for a
 * missing reading.
 *
 * @example captureCodes(plan).rows.filter((row) => row.column === 'missing').length // 7
 */
export function captureCodes(plan: StudyPlan): Table {
  const scales = new Map(plan.findings.map(({ sign, scale }) => [scale.id, { sign, scale }]));
  const values = [...scales.values()].flatMap(({ sign, scale }): Record<string, Cell>[] =>
    scale.categories === undefined
      ? [
          {
            sign: sign.label,
            column: 'value',
            write: 'a number',
            words: `in ${scale.unit ?? 'the unit of the scale'}${scale.range === undefined ? '' : `, ${scale.range.lowest} to ${scale.range.highest}`}`,
          },
        ]
      : scale.categories.map(({ value, words }) => ({ sign: sign.label, column: 'value', write: value, words })),
  );
  const reasons = MISSING_REASONS.map((reason) => ({
    sign: 'every sign',
    column: 'missing',
    write: reason,
    words: reason.replaceAll('-', ' '),
  }));
  return new Table(
    'What may be written into the capture sheet',
    [
      { key: 'sign', label: 'sign', kind: 'text' },
      { key: 'column', label: 'column', kind: 'text' },
      { key: 'write', label: 'write', kind: 'text' },
      { key: 'words', label: 'it means', kind: 'text' },
    ],
    [...values, ...reasons],
    [],
    ABOUT_NOBODY,
  );
}
