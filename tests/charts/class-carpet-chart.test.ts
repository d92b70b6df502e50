import { describe, expect, it } from 'vitest';
import { classCarpetChart } from '../../src/charts/class-carpet-chart.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { classSession } from './examples.ts';
import { rowsWith } from './spec-data.ts';

describe('classCarpetChart', () => {
  const { carpet } = classSession();
  const chart = classCarpetChart(carpet);

  it('has a mark for every reading made and none for those that were not', () => {
    const made = carpet.rows.flat().filter((mark) => mark !== 'not read');
    expect(rowsWith(chart, 'reading')).toHaveLength(made.length);
  });

  it('tells the three marks apart by shape', () => {
    const json = JSON.stringify(chart.spec);
    for (const shape of ['triangle-down', 'circle', 'triangle-up']) expect(json).toContain(`"shape":"${shape}"`);
  });

  it('has nothing that says who: no code, no total of a row, no row to point at', () => {
    for (const cell of rowsWith(chart, 'reading')) expect(Object.keys(cell).sort()).toEqual(['reading', 'x', 'y']);
    expect(rowsWith(chart, 'words')).toHaveLength(carpet.limbs.length);
  });

  it('is not drawn of so few that anybody could be picked out', () => {
    expect(() => classCarpetChart({ ...carpet, rows: carpet.rows.slice(0, 4) })).toThrow(InputError);
  });
});
