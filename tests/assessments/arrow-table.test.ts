import {
  Bool,
  DateDay,
  Decimal,
  Field,
  Float16,
  Float32,
  Float64,
  Int8,
  Int64,
  LargeUtf8,
  List,
  Null,
  Table,
  TimestampMillisecond,
  tableFromArrays,
  tableFromIPC,
  tableToIPC,
  Uint16,
  Utf8,
  type Vector,
  vectorFromArray,
} from 'apache-arrow';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { MISSING_REASONS } from '../../src/assessments/missing-reason.ts';
import { problemsOf, refusalsOf } from '../support/problems-of.ts';

const rows = [
  ...['0', '1.5', '<2', '>15'].map((value) => ({ value })),
  ...MISSING_REASONS.map((missing) => ({ missing })),
  {},
].map((reading, at) => ({
  patient: `P${at}`,
  assessor: 'Ä',
  day: at - 2.5,
  ...(at % 3 === 0 ? { blinded: at % 2 === 0 } : {}),
  limb: 'left-leg',
  site: 'great-toe',
  sign: 'capillary-refill',
  scale: 'refill.seconds.toe',
  ...reading,
}));

test('assessments become an Arrow table and the same assessments again, in memory and as a stream of bytes', async () => {
  const assessments = await loadAssessments({ rows });
  const table = (await assessments.toArrow()) as unknown as Table;
  expect(table.numRows).toBe(rows.length);
  for (const again of [table, tableFromIPC(tableToIPC(table))]) {
    const loaded = await loadAssessments({ table: again });
    expect(loaded.fingerprint()).toBe(assessments.fingerprint());
    expect(loaded.toRows()).toEqual(assessments.toRows());
  }
});

const base = { patient: ['P1'], assessor: ['A'], limb: ['left-leg'], site: ['great-toe'], sign: ['capillary-refill'] };
const SCALE = { scale: ['refill.seconds.toe'] };
const withColumn = (name: string, vector: Vector) =>
  tableFromArrays({ ...base, ...SCALE, ...(name === 'value' ? {} : { value: [1] }) }).assign(
    new Table({ [name]: vector }),
  );

test.each([
  ['a half', vectorFromArray([2.3], new Float16()), 2.3],
  ['a single', vectorFromArray([2.3], new Float32()), 2.3],
  ['a double', vectorFromArray([0.30000000000000004], new Float64()), 0.30000000000000004],
  ['a small double', vectorFromArray([1e-7], new Float64()), 1e-7],
  ['a byte', vectorFromArray([3], new Int8()), 3],
  ['an unsigned number', vectorFromArray([3], new Uint16()), 3],
  ['a long number', vectorFromArray([3n], new Int64()), 3],
  ['a text', vectorFromArray(['2,5'], new Utf8()), 2.5],
  ['a large text', vectorFromArray(['2.5'], new LargeUtf8()), 2.5],
])('%s is read exactly', async (_, vector, number) => {
  expect((await loadAssessments({ table: withColumn('value', vector) })).number[0]).toBe(number);
});

test.each([
  [[250, 0, 0, 0], 2, '2.5'],
  [[0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff], 1, '-0.1'],
  [[0, 1, 0, 0], 0, '4294967296'],
])('the decimal %j with %d digits after the point is %s', async (words, scale, text) => {
  const decimal = {
    numRows: 1,
    schema: { fields: [{ name: 'patient', type: new Decimal(scale, 38) }, ...tableFromArrays(rest).schema.fields] },
    getChildAt: (at: number) =>
      at === 0 ? { get: () => Uint32Array.from(words) } : tableFromArrays(rest).getChildAt(at - 1),
  };
  expect((await loadAssessments({ table: decimal }, { notIdentifying: ['patient'] })).patient.values).toEqual([text]);
});
const { patient: _, ...others } = base;
const rest = { ...others, ...SCALE, value: [1] };

test('null columns and null cells are empty', async () => {
  const loaded = await loadAssessments({ table: withColumn('unit', vectorFromArray([null], new Null())) });
  expect(loaded.toRows()[0]?.unit).toBeNull();
});

test.each([
  ['dates', vectorFromArray([new Date(0)], new DateDay()), ['- extra identifier-column']],
  ['timestamps', vectorFromArray([0], new TimestampMillisecond()), ['- extra identifier-column']],
  ['lists', vectorFromArray([[1]], new List(new Field('item', new Float64()))), ['- extra column-type']],
  ['NaN', vectorFromArray([Number.NaN], new Float64()), ['2 extra cell-type']],
  ['infinity', vectorFromArray([Number.POSITIVE_INFINITY], new Float32()), ['2 extra cell-type']],
])('%s are refused', async (_, vector, refusals) => {
  expect(await refusalsOf({ table: withColumn('extra', vector) })).toEqual(refusals);
});

test('booleans are yes and no', async () => {
  const loaded = await loadAssessments({ table: withColumn('blinded', vectorFromArray([true], new Bool())) });
  expect(loaded.blinded[0]).toBe(1);
});

test('what is no table is refused, and a bad cell named by row and column', async () => {
  expect((await problemsOf({ table: [] as never })).map(({ code }) => code)).toEqual(['not-a-table']);
  const bad = { table: withColumn('value', vectorFromArray(['two'], new Utf8())) };
  expect(await refusalsOf(bad)).toEqual(['2 value not-a-number']);
});
