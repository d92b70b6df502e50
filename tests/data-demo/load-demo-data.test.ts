import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { ownScale } from '../../src/signs/own-scale.ts';
import { madeDemoData, rowsOf, textOf, truthOf } from './demo-data.ts';

const files = madeDemoData();

describe('the demo data in the library', () => {
  it.each(['agreement-study.csv', 'unit-edema.csv', 'serial-limbs.csv'])('%s loads whole', async (name) => {
    const assessments = await loadAssessments({ text: textOf(files, name) });
    const rows = rowsOf(files, name);
    expect(assessments.length).toBe(rows.length);
    expect(assessments.toRows().filter((row) => row.value !== null)).toHaveLength(
      rows.filter((row) => row.value !== '').length,
    );
  });

  it('the clinic file loads by its own columns, constants and an own scale, and keeps its transitions', async () => {
    const truth = truthOf<{ levels: string[]; transitionsFromRowToColumn: number[][] }>(files, 'liver-clinic-edema');
    const scale = ownScale({
      id: 'clinic.edema.0-half-1',
      sign: 'edema-overall',
      label: 'none, gone with diuretics, there in spite of them',
      level: 'ordinal',
      categories: [
        { value: '0', words: 'none', score: 0 },
        { value: '0.5', words: 'gone with diuretics', score: 0.5 },
        { value: '1', words: 'there in spite of diuretics', score: 1 },
      ],
    });
    const assessments = await loadAssessments(
      { text: textOf(files, 'liver-clinic-edema.csv') },
      {
        columns: { patient: 'id', value: 'edema' },
        constants: { sign: 'edema-overall' },
        scales: { 'edema-overall': scale },
      },
    );
    const counts = truth.levels.map(() => truth.levels.map(() => 0));
    const rows = assessments.toRows();
    rows.forEach((row, i) => {
      const next = rows[i + 1];
      const line = counts[truth.levels.indexOf(String(row.value))];
      if (next?.patient !== row.patient || line === undefined) return;
      const to = truth.levels.indexOf(String(next.value));
      line[to] = (line[to] ?? Number.NaN) + 1;
    });
    expect(counts).toEqual(truth.transitionsFromRowToColumn);
  });

  it('the broken file is refused with one problem for each fault, at its row, and nothing else', async () => {
    const { faults } = truthOf<{ faults: { row: number }[] }>(files, 'broken-file');
    const refusal = await loadAssessments({ text: textOf(files, 'broken-file.csv') }).catch((error: unknown) => error);
    expect(refusal).toBeInstanceOf(InputError);
    if (refusal instanceof InputError)
      expect(refusal.problems.map(({ row }) => row)).toEqual(faults.map(({ row }) => row));
  });

  it('the error of the agreement study finds most true changes of the cohort, none the wrong way, few where nothing changed', async () => {
    interface Leg {
      patient: string;
      limb: string;
      fate: 'stable' | 'worsens' | 'improves';
    }
    const { legs } = truthOf<{ legs: Leg[] }>(files, 'serial-limbs');
    const fateOf = new Map(legs.map(({ patient, limb, fate }) => [`${patient} ${limb}`, fate]));
    const study = await loadAssessments({ text: textOf(files, 'agreement-study.csv') });
    const site = ['posterior-tibial', 'dorsalis-pedis'];
    const error = measurementErrorOf(ratingsFrom(study, { sign: 'pulse-grade', site }));
    const { limbs } = changeCalls(await loadAssessments({ text: textOf(files, 'serial-limbs.csv') }), error);
    const calls = (fate: Leg['fate']) =>
      limbs.filter(({ series }) => fateOf.get(`${series.patient} ${series.limb}`) === fate).map(({ call }) => call);
    const share = (all: string[], call: string) => all.filter((one) => one === call).length / all.length;
    expect(share(calls('worsens'), 'beyond error, lower')).toBeGreaterThan(0.5);
    expect(share(calls('improves'), 'beyond error, higher')).toBeGreaterThanOrEqual(0.5);
    expect(share(calls('worsens'), 'beyond error, higher')).toBe(0);
    expect(share(calls('improves'), 'beyond error, lower')).toBe(0);
    const falseCalls = calls('stable').filter((call) => call.startsWith('beyond')).length;
    expect(falseCalls / calls('stable').length).toBeLessThan(0.05);
  });
});
