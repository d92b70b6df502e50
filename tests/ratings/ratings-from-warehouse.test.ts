import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { brennanPrediger } from '../../src/agreement/brennan-prediger.ts';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { compareAgreement, splitRatings } from '../../src/agreement/compare-agreement.ts';
import { congerKappa } from '../../src/agreement/conger-kappa.ts';
import { fleissKappa } from '../../src/agreement/fleiss-kappa.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { lightKappa } from '../../src/agreement/light-kappa.ts';
import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { percentAgreement } from '../../src/agreement/percent-agreement.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import { specificAgreement } from '../../src/agreement/specific-agreement.ts';
import { stuartMaxwellTest } from '../../src/agreement/stuart-maxwell-test.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { SqlTable } from '../../src/assessments/sql-table.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsFromWarehouse } from '../../src/ratings/ratings-from-warehouse.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { type Random, seededRandom } from '../../src/shared/random.ts';
import { type TextRow, WAREHOUSES, type Warehouse } from '../support/warehouses.ts';

const PLACE = ['Ward "4"', 'night\'s "readings"; --'] as const;
/** Names as somebody else chose them, some of them awkward. */
const COLUMNS = {
  patient: 'Code "P"',
  assessor: "reader's code",
  reference: 'is_reference',
  occasion: 'Round No',
  day: 'day',
  replicate: 'again',
  side: 'LR',
  site: 'where',
  sign: 'what',
  scale: 'scale',
  value: 'SELECT',
  valueUnit: 'measured in',
  missing: 'why not',
} as const;
const NOTHING: TextRow = Object.fromEntries(Object.values(COLUMNS).map((name) => [name, null]));
const SITES = ['femoral', 'popliteal', 'DP'];
const READERS = ["A'1", 'Z9', 'b-7', 'N"3'];

/** Pulses and refills of patients of unequal numbers, with everything that can be amiss and may be. */
function inventedRows(random: Random): TextRow[] {
  const rows: TextRow[] = [];
  const add = (cells: Partial<Record<keyof typeof COLUMNS, string | null>>): void => {
    rows.push({
      ...NOTHING,
      ...Object.fromEntries(Object.entries(cells).map(([name, cell]) => [COLUMNS[name as keyof typeof COLUMNS], cell])),
    });
  };
  for (let patient = 0; patient < 25; patient++) {
    // Capitals and small letters: databases and JavaScript sort them differently.
    const code = `${['k', 'K', 'm', '_', 'Z'][patient % 5]}${random.below(900) + 100}${patient}`;
    for (let visit = 0; visit <= random.below(3); visit++) {
      for (const side of ['L', 'R']) {
        for (const site of SITES) {
          const truth = random.below(4);
          for (const assessor of READERS) {
            if (random.uniform() < 0.4) continue;
            const grade = Math.max(0, Math.min(3, truth + random.below(3) - 1));
            const about = {
              patient: ` ${code} `,
              assessor,
              occasion: `visit-${visit}`,
              day: String(visit * 7),
              side,
              site,
              sign: 'pulse-grade',
              scale: 'pulse.0-3.normal2',
            };
            const value = [String(grade), `${grade}+`, `+${grade}`][random.below(3)]!;
            const fate = random.uniform();
            if (fate < 0.04) add({ ...about, missing: 'covered' });
            else if (fate < 0.07) add({ ...about, value: 'Refused' });
            else if (fate < 0.1) add({ ...about, value: '  ' });
            else add({ ...about, value });
            if (fate > 0.9) add({ ...about, value: String(truth), replicate: '2' });
            if (fate > 0.97) add({ ...about, value: '0', replicate: '3' });
          }
          if (random.uniform() < 0.1)
            add({
              patient: code,
              assessor: 'R0',
              occasion: `visit-${visit}`,
              side,
              site,
              sign: 'pulse-grade',
              scale: 'pulse.0-3.normal2',
              value: String(truth),
              reference: 'Yes',
            });
          if (random.uniform() < 0.05)
            add({
              patient: code,
              occasion: `visit-${visit}`,
              side,
              site,
              sign: 'pulse-grade',
              scale: 'pulse.0-3.normal2',
              value: '1',
              replicate: '9',
            });
        }
        const refill = 1.5 + 2 * random.uniform();
        for (const assessor of READERS.slice(0, 2)) {
          const seconds = refill + 0.4 * random.normal();
          add({
            patient: code,
            assessor,
            day: String(visit * 7),
            side,
            site: 'great-toe',
            sign: 'capillary-refill',
            scale: 'refill.seconds.toe',
            ...(seconds < 1.6
              ? { value: '<2' }
              : random.uniform() < 0.5
                ? { value: (seconds / 60).toFixed(4), valueUnit: 'min' }
                : { value: seconds.toFixed(1) }),
          });
        }
      }
    }
  }
  return rows;
}

function shuffled<T>(items: readonly T[], random: Random): T[] {
  const left = [...items];
  return items.map(() => left.splice(random.below(left.length), 1)[0]!);
}

/** Every kind of number a coefficient gives, by each interval. */
const COEFFICIENTS: readonly ((ratings: Ratings) => unknown)[] = [
  (ratings) => percentAgreement(ratings),
  (ratings) => percentAgreement(ratings, { within: 1, interval: 'asymptotic' }),
  (ratings) => specificAgreement(ratings),
  (ratings) => cohenKappa(ratings.ofAssessors("A'1", 'Z9'), { weights: 'quadratic' }),
  (ratings) => cohenKappa(ratings.ofAssessors("A'1", 'b-7'), { weights: 'radical', interval: 'asymptotic' }),
  (ratings) => cohenKappa(ratings.withinAssessors(), { weights: 'linear', interval: 'cluster-robust' }),
  (ratings) => scottPi(ratings.ofAssessors('Z9', 'b-7')),
  (ratings) => congerKappa(ratings, { weights: 'radical' }),
  (ratings) => congerKappa(ratings, { weights: 'linear', interval: 'asymptotic' }),
  (ratings) => fleissKappa(ratings, { weights: 'ordinal' }),
  (ratings) => fleissKappa(ratings, { counting: 'pair-weighted', interval: 'cluster-robust' }),
  (ratings) => lightKappa(ratings, { interval: 'cluster-robust' }),
  (ratings) => gwetAgreement(ratings, { weights: 'quadratic' }),
  (ratings) => brennanPrediger(ratings, { weights: 'linear', interval: 'asymptotic' }),
  (ratings) => krippendorffAlpha(ratings, { metric: 'ordinal' }),
  (ratings) => krippendorffAlpha(ratings, { metric: 'interval', interval: 'asymptotic' }),
  (ratings) => stuartMaxwellTest(ratings.ofAssessors("A'1", 'Z9')),
];

/** All of ratings but what each target was of, which counts do not keep. */
function readingsIn({ attributes: _, groupOrder: __, ...rest }: Ratings): unknown {
  return rest;
}

const rows = inventedRows(seededRandom(8));
const pulse = { sign: 'pulse-grade' } as const;
const table: SqlTable = { table: PLACE, columns: COLUMNS };
const inMemory = (order: number) =>
  loadAssessments({ rows: shuffled(rows, seededRandom(order)) }, { columns: COLUMNS });

it('in memory the order of the rows makes no difference to any digit', async () => {
  const [first, second] = [ratingsFrom(await inMemory(1), pulse), ratingsFrom(await inMemory(2), pulse)];
  expect(readingsIn(second)).toEqual(readingsIn(first));
  for (const coefficient of COEFFICIENTS) expect(coefficient(second)).toEqual(coefficient(first));
});

for (const { name, isHere, open } of WAREHOUSES) {
  describe.runIf(isHere)(`counted by ${name}`, () => {
    let warehouse: Warehouse;
    beforeAll(async () => {
      warehouse = await open();
      await warehouse.fill(PLACE, rows);
    });
    afterAll(() => warehouse?.close());

    it('every coefficient is that of the rows in memory, to the last digit', async () => {
      const queries: string[] = [];
      const counted = await ratingsFromWarehouse(warehouse.engine, table, {
        ...pulse,
        print: (sql) => queries.push(sql),
      });
      const loaded = ratingsFrom(await inMemory(3), pulse);
      expect(loaded.targets).toBeGreaterThan(200);
      expect(loaded.repeats.length).toBeGreaterThan(20);
      expect(loaded.notes.map(({ code }) => code)).toEqual(['gaps', 'references-left-out', 'no-assessor']);
      expect(readingsIn(counted)).toEqual(readingsIn(loaded));
      for (const coefficient of COEFFICIENTS) expect(coefficient(counted)).toEqual(coefficient(loaded));
      // Words, replicate numbers, assessors, counts; nothing is written.
      expect(queries).toHaveLength(4);
      for (const sql of queries) expect(sql).toMatch(/^WITH readings AS \(/);
    });

    it('one site, and agreement compared between sites', async () => {
      const loaded = await inMemory(4);
      const one = { ...pulse, site: 'dorsalis-pedis' };
      expect(readingsIn(await ratingsFromWarehouse(warehouse.engine, table, one))).toEqual(
        readingsIn(ratingsFrom(loaded, one)),
      );
      const counted = await ratingsFromWarehouse(warehouse.engine, table, { ...pulse, by: ['site', 'limb'] });
      const whole = ratingsFrom(loaded, pulse);
      const bySite = (ratings: Ratings) =>
        compareAgreement(splitRatings(ratings, 'site').sort((a, b) => (a.label < b.label ? -1 : 1)));
      expect(bySite(counted)).toEqual(bySite(whole));
      for (const side of ['left', 'right'])
        expect(congerKappa(counted.ofGroup('side', side))).toEqual(congerKappa(whole.ofGroup('side', side)));
    });

    it('measured values, with units and bounds', async () => {
      const refill = { sign: 'capillary-refill', window: 'day' } as const;
      const counted = await ratingsFromWarehouse(warehouse.engine, table, refill);
      const loaded = ratingsFrom(await inMemory(5), refill);
      expect(loaded.notes.map(({ code }) => code)).toContain('bounds-left-out');
      expect(readingsIn(counted)).toEqual(readingsIn(loaded));
      const model = { model: 'two-way', definition: 'agreement', unit: 'single' } as const;
      expect(intraclassCorrelation(counted, model)).toEqual(intraclassCorrelation(loaded, model));
      expect(limitsOfAgreement(counted)).toEqual(limitsOfAgreement(loaded));
    });

    describe('refuses', () => {
      let made = 0;
      const good = {
        patient: 'p1',
        assessor: 'A',
        day: '0',
        side: 'L',
        site: 'popliteal',
        sign: 'pulse-grade',
        scale: 'pulse.0-3.normal2',
        value: '2',
      };
      const codesOf = async (...changes: Partial<Record<keyof typeof COLUMNS, string | null>>[]): Promise<string[]> => {
        const place = ['refused', `t${made++}`] as const;
        await warehouse.fill(
          place,
          [{}, ...changes].map((change) => ({
            ...NOTHING,
            ...Object.fromEntries(
              Object.entries({ ...good, ...change }).map(([key, cell]) => [
                COLUMNS[key as keyof typeof COLUMNS],
                cell ?? null,
              ]),
            ),
          })),
        );
        const error = await ratingsFromWarehouse(warehouse.engine, { ...table, table: place }, pulse).then(
          () => undefined,
          (reason: InputError) => reason,
        );
        for (const word of ['Margaret', '2026-03-01']) expect(error?.message ?? '').not.toContain(word);
        return error?.problems?.map(({ code }) => code) ?? [];
      };

      it('what a file is refused for, all at once', async () => {
        expect(
          (await codesOf({ value: '7' }, { missing: 'forgot', value: null }, { site: 'knee-ish' })).sort(),
        ).toEqual(['off-scale', 'unknown-reason', 'unknown-site']);
        expect(await codesOf({ patient: ' ' })).toEqual(['patient-missing']);
        expect(await codesOf({ patient: 'Margaret Smith', assessor: 'B' })).toEqual(['identifier-value']);
        expect(await codesOf({ assessor: 'B', day: '2026-03-01' })).toEqual(['not-a-number']);
      });

      it('one assessor twice, and what the engine would tell apart though it is the same', async () => {
        expect(await codesOf({ value: '1' })).toEqual(['same-assessor-twice']);
        expect(await codesOf({ value: '1', replicate: '1' })).toEqual(['same-assessor-twice']);
        expect(await codesOf({ value: null, missing: 'covered' }, { assessor: 'B' })).toEqual([]);
        expect(await codesOf({ assessor: 'B', side: 'left' })).toEqual(['spelled-twice']);
        expect(await codesOf({ assessor: 'B', day: '0.0' })).toEqual(['spelled-twice']);
        expect(await codesOf({ assessor: 'B', scale: 'pulse.0-4.normal2' })).toEqual(['scale-needed']);
      });
    });
  });
}

it('names are quoted, and names that hold identifiers refused', async () => {
  const engine = { query: async () => [] };
  const codes = async (change: object): Promise<unknown> =>
    ratingsFromWarehouse(engine, { ...table, ...change }, pulse).catch((error: InputError) =>
      error.problems.map(({ code }) => code),
    );
  expect(await codes({ columns: { ...COLUMNS, patient: 'mrn' } })).toEqual(['identifier-column']);
  expect(await codes({ columns: { ...COLUMNS, pulse: 'x' } })).toEqual(['unknown-column']);
  expect(await codes({ columns: { assessor: 'a', value: 'v' } })).toEqual(['column-missing']);
  expect(await codes({ table: 'a\0b' })).toEqual(['bad-name']);
});
