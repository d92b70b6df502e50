import type { Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import type { Scale } from '../signs/sign.js';
import { type Cells, reportResults } from './cells.js';
import { type Coded, type Combined, combineCodes } from './combine-codes.js';
import type { LoadOptions } from './load-options.js';
import type { ProblemList } from './problem-list.js';
import { type Reading, type UnderstoodReading, understandReading } from './reading.js';
import type { Scales } from './resolve-scales.js';

type RowProblem = Omit<Problem, 'row'>;

export interface Readings {
  readonly combined: Combined;
  readonly found: readonly (Reading | undefined)[];
}

export function understandReadings(
  columns: { value: Cells; comparator: Cells; unit: Cells; missing: Cells },
  scales: Scales,
  options: LoadOptions,
  problems: ProblemList,
  rows: number,
  notes: Note[],
): Readings {
  const { value, comparator, unit, missing } = columns;
  const where = { value: value.where, comparator: comparator.where, unit: unit.where, missing: missing.where };
  const index = new Map(scales.used.map((scale, at) => [scale.id, at]));
  const scaleCodes = scales.found.map((scale) => (scale === undefined ? -1 : (index.get(scale.id) ?? -1)));
  const scaleOfRow: Coded =
    scales.combined.codes === undefined
      ? { only: scaleCodes[0] ?? -1, size: scales.used.length }
      : { codes: scales.combined.codes.map((code) => scaleCodes[code] ?? -1), size: scales.used.length };
  const combined = combineCodes([scaleOfRow, value, comparator, unit, missing], rows);
  const wrongDecimal = decimalCheck(combined, value, scales.used, options, rows);
  const results = combined.parts.map(
    ([scaleCode = -1, valueCode = -1, comparatorCode = -1, unitCode = -1, missingCode = -1]) => {
      const scale = scales.used[scaleCode];
      if (scale === undefined) return { problems: [] } satisfies UnderstoodReading;
      const text = value.values[valueCode];
      if (text !== undefined && scale.categories === undefined) {
        const problem = wrongDecimal(text);
        if (problem !== undefined) return { problems: [{ ...problem, ...where.value }] } satisfies UnderstoodReading;
      }
      const cells = {
        ...optional('value', text),
        ...optional('comparator', comparator.values[comparatorCode]),
        ...optional('unit', unit.values[unitCode]),
        ...optional('missing', missing.values[missingCode]),
      };
      return understandReading(cells, scale, where);
    },
  );
  reportResults(
    combined,
    results.map((result) => result.problems),
    problems,
  );
  const found = results.map((result) => ('reading' in result ? result.reading : undefined));
  const spelled = new Set(found.flatMap((reading) => reading?.spelledUnit ?? []));
  if (spelled.size > 0)
    notes.push(
      information(
        'unit-spelling',
        `Units not spelled as UCUM spells them were understood: ${[...spelled].join(', ')}.`,
      ),
    );
  return { combined, found };
}

function optional<K extends string>(key: K, value: string | undefined): { [key in K]?: string } {
  return (value === undefined ? {} : { [key]: value }) as { [key in K]?: string };
}

const WITH_DECIMALS = /^[<>=≤≥\s]*[+-]?\d*([.,])(\d+)/;

/** Decimal commas and decimal points in one column are a sign of two typings; only one of them can be meant. */
function decimalCheck(
  combined: Combined,
  value: Cells,
  scales: readonly Scale[],
  { decimal }: LoadOptions,
  rows: number,
): (text: string) => RowProblem | undefined {
  const counts = { '.': 0, ',': 0 };
  let isClear = decimal !== undefined;
  const rowsOf = rowCounts(combined, rows);
  combined.parts.forEach(([scaleCode = -1, valueCode = -1], at) => {
    const scale = scales[scaleCode];
    const written = WITH_DECIMALS.exec(value.values[valueCode] ?? '');
    if (scale === undefined || scale.categories !== undefined || written === null) return;
    if (written[1] === ',') {
      counts[','] += rowsOf[at] ?? 0;
      if (written[2]?.length !== 3) isClear = true;
    } else counts['.'] += rowsOf[at] ?? 0;
  });
  const expected = decimal ?? (counts[','] > counts['.'] ? ',' : '.');
  return (text) => {
    const written = WITH_DECIMALS.exec(text);
    if (written === null) return undefined;
    if (written[1] !== expected) {
      return {
        code: 'mixed-decimals',
        message: `The number is written with a decimal ${written[1] === ',' ? 'comma' : 'point'}, ${decimal === undefined ? 'most others' : 'by the option all'} with a decimal ${expected === ',' ? 'comma' : 'point'}.`,
        mend: 'look whether the sign of thousands is meant, and write all numbers one way.',
      };
    }
    if (expected === ',' && !isClear) {
      return {
        code: 'unclear-comma',
        message: 'The comma can be a decimal comma or a sign of thousands.',
        mend: "say { decimal: ',' } in the options if it is a decimal comma; else take it out.",
      };
    }
    return undefined;
  };
}

function rowCounts(combined: Combined, rows: number): Float64Array {
  const counts = new Float64Array(combined.count);
  if (combined.codes === undefined) counts[0] = rows;
  else for (const code of combined.codes) counts[code] = (counts[code] ?? 0) + 1;
  return counts;
}
