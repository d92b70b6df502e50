import type { Assessments } from '../assessments/assessments.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import { refuse } from '../shared/input-error.js';
import { Table } from '../shared/table.js';
import type { UnitCounts } from './unit-counts.js';
import { scaleSegments, type UnitPeriodOptions, unitPeriods } from './unit-periods.js';

export interface UnitDefinitionOptions extends UnitPeriodOptions {
  /** The lowest grade that counts, as it is written on the scale: "2". */
  readonly atLeast: string;
  /** A number for this definition, raised when anything in it changes. Default 1. */
  readonly version?: number;
}

/**
 * What a unit's figure counts, as a card to pin beside the chart: what counts and what never does, over which denominator, on which scale, from
 * which period to which.
 *
 * @throws InputError `unknown-category` (the grade is not on a scale in use), and what `unitPeriods` throws.
 * @example await show(unitDefinition(assessments, { sign: 'pitting-edema', atLeast: '2' }))
 * Source: parts of an operational definition, common practice, no source.
 */
export function unitDefinition(assessments: Assessments | UnitCounts, options: UnitDefinitionOptions): Table {
  const unit = unitPeriods(assessments, options);
  const segments = scaleSegments(unit.periods);
  const counting = segments.map(({ scale }) => {
    const from = scale.categories!.findIndex(({ value }) => value === options.atLeast);
    if (from < 0)
      throw refuse(
        'unknown-category',
        ['options', 'atLeast'],
        `The scale ${scale.id} has no grade "${options.atLeast}".`,
        `choose one of ${scale.categories!.map(({ value }) => value).join(', ')}.`,
      );
    return scale.categories!.slice(from).map(gradeLabel).join('; ');
  });
  const denominators = (options.denominators ?? []).some(({ present }) => present !== undefined);
  const scales = segments.map(({ scale, periods }) => {
    const [first, last] = [periods[0]!.label, periods.at(-1)!.label];
    return `${scale.label} (${scale.id}), ${first === last ? `period ${first}` : `periods ${first} to ${last}`}`;
  });
  const rows: readonly (readonly [part: string, words: string])[] = [
    ['version', String(options.version ?? 1)],
    ['finding', `${unit.signLabel}, grade ${options.atLeast} or more, on either side, any site read`],
    ['these grades count', [...new Set(counting)].join(' — after the change of scale: ')],
    [
      'each counted once',
      `${unit.counted}, by the worst reading in the period; one that spans two periods counts in both`,
    ],
    [
      'over',
      `${unit.counted} with a reading in the period; shown beside it: ${unit.counted} there, ${denominators ? 'from the unit’s table of denominators' : 'as far as they have a row in the file'}`,
    ],
    [
      'new in stay',
      'read below the grade on arrival, at the grade later; what was there on arrival never counts as new, and unknown on arrival is not new',
    ],
    ['not assessed', 'is counted by itself, never as normal'],
    ['scale', scales.join('; then ')],
    ...(scales.length > 1 ? [['change of scale', 'a gap: what lies before and after is not compared'] as const] : []),
  ];
  return new Table(
    `What is counted? (definition ${options.version ?? 1})`,
    [
      { key: 'part', label: '', kind: 'text' },
      { key: 'words', label: '', kind: 'text' },
    ],
    rows.map(([part, words]) => ({ part, words })),
    unit.notes,
    // What the card says is no number of people; a note about left-out readings would be.
    unit.notes.length === 0 ? ABOUT_NOBODY : {},
  );
}
