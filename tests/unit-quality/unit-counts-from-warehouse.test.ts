import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { gradesByPeriod } from '../../src/unit-quality/grades-by-period.ts';
import { shareByPeriod } from '../../src/unit-quality/share-by-period.ts';
import { unitCountsFromWarehouse } from '../../src/unit-quality/unit-counts-from-warehouse.ts';
import { unitDefinition } from '../../src/unit-quality/unit-definition.ts';
import { type TextRow, WAREHOUSES, type Warehouse } from '../support/warehouses.ts';

const PLACE = ['quality', 'edema'] as const;
const COLUMNS = {
  patient: 'person',
  stay: 'stay code',
  unit: 'ward',
  day: 'day',
  period: 'month no',
  assessor: 'nurse',
  reference: 'reference',
  limb: 'limb',
  site: 'site',
  sign: 'sign',
  scale: 'scale',
  value: 'grade',
  missing: 'missing',
} as const;
const OLD = 'pit.0-4.bands-2-4-6-8.long';
const NEW = 'pit.0-4.hogan';

/** Two units over 14 periods; the scale changes in the eighth, in which both are used. */
function inventedRows(): TextRow[] {
  const random = seededRandom(14);
  const rows: TextRow[] = [];
  for (const ward of ['U1', 'U2'])
    for (let period = 1; period <= 14; period++)
      for (let stay = 0; stay < 18; stay++)
        for (const limb of ['left-leg', 'right-leg']) {
          const isNew = period > 8 || (period === 8 && random.below(3) > 0);
          const fate = random.uniform();
          rows.push({
            person: `${ward}p${stay}`,
            'stay code': stay === 17 ? ' ' : `${ward}-${period}-${stay}`,
            ward,
            day: '0',
            'month no': stay === 16 ? null : String(period),
            nurse: `K${random.below(3)}`,
            reference: fate > 0.95 ? 'yes' : null,
            limb,
            site: 'shin',
            sign: 'pitting-edema',
            scale: isNew ? NEW : OLD,
            grade: fate < 0.1 ? null : fate < 0.13 ? 'covered' : `${random.below(5)}${fate < 0.4 ? '+' : ''}`,
            missing: fate < 0.05 ? 'refused' : null,
          });
        }
  return rows;
}

const rows = inventedRows();
const table = { table: PLACE, columns: COLUMNS };
const edema = { sign: 'pitting-edema', unit: 'U1' } as const;

for (const { name, isHere, open } of WAREHOUSES) {
  describe.runIf(isHere)(`a unit counted by ${name}`, () => {
    let warehouse: Warehouse;
    beforeAll(async () => {
      warehouse = await open();
      await warehouse.fill(PLACE, rows);
    });
    afterAll(() => warehouse?.close());

    it.each([undefined, 'stays', 'patients'] as const)(
      'its shares and grades are those of the rows in memory (%s)',
      async (counted) => {
        const options = { ...edema, ...(counted === undefined ? {} : { counted }) };
        const counts = await unitCountsFromWarehouse(warehouse.engine, table, options);
        const loaded = await loadAssessments({ rows }, { columns: COLUMNS });
        const share = shareByPeriod(loaded, { ...options, atLeast: '2' });
        expect(share.segments.map(({ periods }) => periods.length)).toEqual([7, 7]);
        expect(share.notes.map(({ code }) => code)).toContain('two-scales-in-a-period');
        expect(shareByPeriod(counts, { ...options, atLeast: '2' })).toEqual(share);
        expect(gradesByPeriod(counts, options)).toEqual(gradesByPeriod(loaded, options));
        expect(unitDefinition(counts, { ...options, atLeast: '3' })).toEqual(
          unitDefinition(loaded, { ...options, atLeast: '3' }),
        );
      },
    );

    it('refuses two units as one, and a sign that is not there', async () => {
      const codes = (options: { sign: string; unit?: string }): Promise<unknown> =>
        unitCountsFromWarehouse(warehouse.engine, table, options).catch((error: InputError) =>
          error.problems.map(({ code }) => code),
        );
      expect(await codes({ sign: 'pitting-edema' })).toEqual(['unit-needed']);
      expect(await codes({ ...edema, unit: 'U9' })).toEqual(['no-assessments']);
      expect(await codes({ ...edema, sign: 'pulse-grade' })).toEqual(['sign-not-present']);
    });
  });
}
