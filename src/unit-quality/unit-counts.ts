import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import { signOf } from '../signs/codebook.js';
import type { Scale } from '../signs/sign.js';

/** What counts once in a period: a stay, or a person. */
export type Counted = 'stays' | 'patients';

/** How many people had the same worst grade on a scale in a period, and how many readings they had on it. */
export interface UnitCell {
  readonly period: number;
  /** The scale's id. */
  readonly scale: string;
  /** The index of the worst grade in the scale's categories. */
  readonly worst: number;
  readonly people: number;
  readonly readings: number;
}

/** A sign on a unit, counted by period, scale and worst grade: all that the figures of a unit need. */
export interface UnitCounts {
  readonly signLabel: string;
  readonly counted: Counted;
  /** The unit, where it is recorded. */
  readonly unit?: string;
  readonly scales: readonly Scale[];
  readonly cells: readonly UnitCell[];
  /** People with a row in each period, with or without a reading. */
  readonly present: ReadonlyMap<number, number>;
}

export interface UnitCountOptions {
  readonly sign: string;
  /** Only this unit. Needed when the assessments hold several. */
  readonly unit?: string;
  /** Default `'stays'` where stays are recorded, else `'patients'`. */
  readonly counted?: Counted;
}

/**
 * Counts the assessments of a sign on a unit: how many stays (or patients) had each grade as their worst in each period, on each
 * scale by itself. Reference readings do not count.
 *
 * @throws InputError `sign-not-present`, `not-graded`, `no-periods`, `unit-needed`.
 */
export function countUnit(assessments: Assessments, options: UnitCountOptions): UnitCounts {
  const ofUnit = assessments.where({
    sign: options.sign,
    ...(options.unit === undefined ? {} : { unit: options.unit }),
  });
  if (ofUnit.length === 0) throw signNotPresent(assessments, options);
  if (ofUnit.unit.values.length > 1) throw unitNeeded();
  refuseMeasuredUnit(ofUnit.scales);
  const present = new Map<number, Set<number>>();
  for (const period of ofUnit.period) if (!Number.isNaN(period) && !present.has(period)) present.set(period, new Set());
  if (present.size === 0) throw noPeriods();
  const counted = options.counted ?? (ofUnit.stay.values.length > 0 ? 'stays' : 'patients');
  const people = counted === 'stays' ? ofUnit.stay : ofUnit.patient;
  const worst = new Map<string, UnitCell>();
  for (let row = 0; row < ofUnit.length; row++) {
    const period = ofUnit.period[row]!;
    if (Number.isNaN(period) || ofUnit.reference[row] === 1) continue;
    const person = people.codes[row]!;
    present.get(period)!.add(person);
    const category = ofUnit.category[row]!;
    if (category < 0) continue;
    const scale = ofUnit.wordAt('scale', row)!;
    const key = `${period}/${scale}/${person}`;
    const before = worst.get(key);
    worst.set(key, {
      period,
      scale,
      worst: Math.max(before?.worst ?? 0, category),
      people: 1,
      readings: (before?.readings ?? 0) + 1,
    });
  }
  const [unit] = ofUnit.unit.values;
  return {
    signLabel: signOf(options.sign).label,
    counted,
    ...(unit === undefined ? {} : { unit }),
    scales: ofUnit.scales,
    cells: [...worst.values()],
    present: new Map([...present].map(([period, seen]) => [period, seen.size])),
  };
}

export function signNotPresent(assessments: Assessments, options: UnitCountOptions): Error {
  return refuse(
    'sign-not-present',
    ['options', 'sign'],
    `There are no assessments of "${options.sign}"${options.unit === undefined ? '' : ' on that unit'}.`,
    `the file holds ${assessments.sign.values.join(', ')}.`,
  );
}

export function unitNeeded(): Error {
  return refuse(
    'unit-needed',
    ['options', 'unit'],
    'The assessments are of several units; their periods are not one series.',
    'name one in the option unit.',
  );
}

export function refuseMeasuredUnit(scales: readonly Scale[]): void {
  if (scales.some((scale) => scale.categories === undefined))
    throw refuse(
      'not-graded',
      ['options', 'sign'],
      'This sign is measured, not graded; a worst grade does not exist for it.',
    );
}

export function noPeriods(): Error {
  return refuse(
    'no-periods',
    ['assessments'],
    'No period is recorded.',
    "give the unit's numbered periods in the column period.",
  );
}
