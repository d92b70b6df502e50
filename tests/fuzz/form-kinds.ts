import { gzipSync } from 'node:zlib';
import fc from 'fast-check';
import type { Assessments } from '../../src/assessments/assessments.ts';
import { fhirObservations } from '../../src/assessments/fhir-observations.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { parquetBytes } from '../../src/shared/parquet-bytes.ts';
import { fileOf, saidBy, sameAsMade, unescaped } from './assessment-kinds.ts';
import { kind, outcomeOf, same } from './kind.ts';
import { damaged, damages, type MadeRow, madeRows, pulseRows, recordsOf, textOf } from './made-table.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

const FORMS = ['lines', 'array', 'packed text', 'packed lines', 'parquet'] as const;
type Form = (typeof FORMS)[number];

/** The names of the columns of every made row. */
const COLUMNS = 'patient assessor method occasion day blinded limb site sign scale value missing'.split(' ');

const linesOf = (rows: readonly MadeRow[]): string => rows.map(({ written }) => JSON.stringify(written)).join('\n');

async function bytesOf(form: Form, rows: readonly MadeRow[]): Promise<Buffer> {
  if (form === 'lines') return Buffer.from(linesOf(rows));
  if (form === 'array') return Buffer.from(JSON.stringify(rows.map(({ written }) => written)));
  if (form === 'packed lines') return gzipSync(linesOf(rows));
  if (form === 'packed text')
    return gzipSync(
      textOf(recordsOf(rows, COLUMNS), {
        delimiter: ',',
        lineEnd: '\n',
        quoting: 'always',
        mark: false,
        lastLineEnd: true,
        emptyLines: [],
      }),
    );
  return Buffer.from(
    await parquetBytes(COLUMNS.map((name) => ({ name, values: rows.map(({ written }) => written[name] ?? '') }))),
  );
}

/** A quote that keeps a cell from being a formula belongs to delimited text alone. */
const asReadIn = (form: Form): ((cell: string) => string) => (form === 'packed text' ? unescaped : (cell) => cell);

/** Whatever its form, a file is loaded as it was made, cell by cell. */
const whole = kind(
  'form: whole',
  4,
  fc.record({ form: fc.constantFrom(...FORMS), rows: madeRows }),
  async ({ form, rows }) => {
    const path = fileOf('whole.bin', await bytesOf(form, rows));
    const { value, refused } = await outcomeOf(() => loadAssessments(path));
    if (value === undefined) throw new Error(`Refused: ${refused.message}`);
    sameAsMade(value, rows, asReadIn(form));
    saidBy(value);
  },
);

/** A damaged file is refused, or is still rows and loaded as those. A Parquet file has no sums to tell by, so only that it ends. */
const broken = kind(
  'form: damaged',
  6,
  fc.record({ form: fc.constantFrom(...FORMS), rows: pulseRows, list: damages }),
  async ({ form, rows, list }) => {
    const bytes = damaged(await bytesOf(form, rows), list);
    const { value } = await outcomeOf(() => loadAssessments(fileOf('damaged.bin', bytes)));
    if (value === undefined) return;
    saidBy(value);
    if (form === 'packed text' || form === 'packed lines') sameAsMade(value, rows, asReadIn(form));
    if (form === 'lines' || form === 'array') sameAsParsed(value, bytes, form);
  },
);

/** By a second reader: the language's own. */
function sameAsParsed(value: Assessments, bytes: Buffer, form: 'lines' | 'array'): void {
  const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  const lines = text.split('\n').filter((line) => line.trim() !== '');
  const objects = (form === 'array' && lines.length > 0 ? JSON.parse(text) : lines.map((line) => JSON.parse(line))) as
    | Record<string, unknown>[]
    | Record<string, unknown>;
  const rows = Array.isArray(objects) ? objects : [objects];
  same(value.length, rows.length, 'Rows');
  // A damaged name can still be understood ("assesSor"), which the second reader does not try.
  const named = rows.every((row) => Object.keys(row).every((name) => COLUMNS.includes(name)));
  for (const name of named ? (['patient', 'assessor', 'occasion'] as const) : [])
    same(
      value.toRows().map((row) => row[name] ?? ''),
      rows.map((row) => String(row[name] ?? '').trim()),
      name,
    );
}

/** Observations written and damaged: refused, or loaded without saying what was planted in them. */
const observations = kind(
  'form: observations',
  3,
  fc.record({
    rows: pulseRows,
    bundle: fc.boolean(),
    list: fc.option(damages, { nil: undefined }),
    planted: fc.option(secret, { nil: undefined }),
  }),
  async ({ rows, bundle, list, planted }) => {
    const plain = await outcomeOf(() => loadAssessments({ rows: rows.map(({ written }) => written) }));
    if (plain.value === undefined) throw new Error(`Refused: ${plain.refused.message}`);
    const made = fhirObservations(plain.value);
    const text = bundle ? made.toBundle() : made.toNdjson();
    const whole = planted === undefined ? text : text.replace('"status"', `"note":[{"text":"${planted}"}],"status"`);
    const bytes = list === undefined ? Buffer.from(whole) : damaged(Buffer.from(whole), list);
    const path = fileOf('observations.bin', bytes);
    const { value } = await outcomeOf(() => loadAssessments(path));
    if (list === undefined && planted === undefined && value?.fingerprint() !== plain.value.fingerprint())
      throw new Error('Observations were not loaded as they were written.');
    if (value !== undefined) saidBy(value);
    const without = await outcomeOf(() => loadAssessments(path, { fhir: { identifying: 'leave-out' } }));
    if (without.value !== undefined) saidBy(without.value);
  },
);

const nested = fc
  .tuple(fc.constantFrom('[', '{"a":', '{"resourceType":"Bundle","entry":[', '[{"patient":'), fc.nat(60_000))
  .map(([letter, count]) => letter.repeat(count));
const oddRow = fc.dictionary(
  fc.oneof(prototypeWord, oddText, fc.constantFrom(...COLUMNS, 'resourceType')),
  fc.oneof(oddText, fc.double(), fc.constant(null), fc.boolean(), fc.array(oddText, { maxLength: 2 })),
  { maxKeys: 8 },
);

/** Objects of any keys and values, and brackets without end. */
const odd = kind(
  'form: odd objects',
  4,
  fc.oneof(
    { weight: 1, arbitrary: nested },
    { weight: 5, arbitrary: fc.array(oddRow, { maxLength: 6 }).map((rows) => JSON.stringify(rows)) },
    {
      weight: 5,
      arbitrary: fc.array(oddRow, { maxLength: 6 }).map((rows) => rows.map((row) => JSON.stringify(row)).join('\n')),
    },
  ),
  async (text) => {
    const { value } = await outcomeOf(() => loadAssessments(fileOf('odd.bin', text)));
    if (value !== undefined) saidBy(value);
  },
);

export const formKinds = [whole, broken, observations, odd];
