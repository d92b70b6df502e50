import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { tableFromArrays } from 'apache-arrow';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type AssessmentSource, loadAssessments } from '../../src/assessments/load-assessments.ts';
import { MISSING_REASONS } from '../../src/assessments/missing-reason.ts';
import { plainNumber } from '../../src/assessments/plain-number.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { runDuckdb } from '../support/duckdb.ts';
import { refusalsOf } from '../support/problems-of.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'forms-'));
});
afterAll(() => rm(folder, { recursive: true }));
const at = (name: string): string => join(folder, name);

const PULSE = { sign: 'pulse-grade', scale: 'pulse.0-3.normal2', site: 'DP' };
const rows = [
  ...['0', '1', '2', '3'].map((value, index) => ({ patient: `P${index}`, ...PULSE, value })),
  ...MISSING_REASONS.map((missing, index) => ({ patient: `Q${index}`, ...PULSE, missing })),
  { patient: 'blank "quoted", cell', ...PULSE },
  { patient: 'R1', sign: 'capillary-refill', scale: 'refill.seconds.toe', site: 'great toe', value: '<2.5' },
  { patient: 'R2', sign: 'capillary-refill', scale: 'refill.seconds.toe', site: 'great toe', value: '0.1' },
  { patient: 'R3', sign: 'pitting-edema', scale: 'pit.0-4.hogan.trace', site: 'shin', value: 'trace' },
].map((row, index) => ({ day: index - 3, assessor: 'Ä', limb: 'left-leg', blinded: index % 2 === 0, ...row }));
const header = ['day', 'assessor', 'limb', 'blinded', 'patient', 'sign', 'scale', 'site', 'value', 'missing'] as const;
const cell = (row: object, name: string): unknown => (row as Record<string, unknown>)[name];
const csv = (part: readonly object[]): string =>
  [header, ...part.map((row) => header.map((name) => cell(row, name) ?? ''))]
    .map((line) => line.map((text) => `"${String(text).replaceAll('"', '""')}"`).join(','))
    .join('\r\n');
const lines = (part: readonly object[]): string => part.map((row) => JSON.stringify(row)).join('\n');

describe('the same rows in every form', () => {
  test('give the same assessments, notes and print', async () => {
    const expected = await loadAssessments({ rows });
    await writeFile(at('a.csv'), csv(rows));
    await writeFile(at('a.csv.gz'), gzipSync(csv(rows)));
    await writeFile(at('lines'), lines(rows));
    await writeFile(at('lines.gz'), gzipSync(lines(rows)));
    await writeFile(at('array.json'), JSON.stringify(rows, undefined, 2));
    await runDuckdb(
      `CREATE TABLE t AS SELECT * FROM read_csv('${at('a.csv')}', all_varchar = true)`,
      `COPY t TO '${at('texts.parquet')}' (FORMAT parquet)`,
      `COPY (SELECT * REPLACE (day::SMALLINT AS day, blinded::BOOLEAN AS blinded) FROM t) TO '${at('types.parquet')}' (FORMAT parquet, COMPRESSION zstd)`,
      `COPY (SELECT * REPLACE (day::DOUBLE AS day, blinded::BOOLEAN AS blinded) FROM t) TO '${at('doubles.parquet')}' (FORMAT parquet)`,
      `COPY (SELECT * REPLACE (day::DECIMAL(9, 3) AS day) FROM t) TO '${at('decimals.parquet')}' (FORMAT parquet)`,
      `COPY (SELECT * REPLACE (day::HUGEINT AS day) FROM t) TO '${at('written.ndjson')}' (FORMAT json)`,
      `COPY (SELECT * REPLACE (day::INTEGER AS day) FROM t) TO '${at('written.json')}' (FORMAT json, ARRAY true)`,
      `COPY t TO '${at('written.json.gz')}' (FORMAT json, COMPRESSION gzip)`,
    );
    const sources = [
      ...['a.csv', 'a.csv.gz', 'lines', 'lines.gz', 'array.json', 'texts.parquet', 'types.parquet'].map(at),
      ...['doubles.parquet', 'decimals.parquet', 'written.ndjson', 'written.json', 'written.json.gz'].map(at),
      { text: csv(rows) },
      { text: lines(rows) },
      { text: `\uFEFF${lines(rows)}` },
      { text: JSON.stringify(rows) },
    ];
    for (const source of sources) {
      const loaded = await loadAssessments(source);
      expect(loaded.toRows(), JSON.stringify(source)).toEqual(expected.toRows());
      expect(loaded.fingerprint(), JSON.stringify(source)).toBe(expected.fingerprint());
      expect(String(loaded)).toBe(String(expected));
    }
  });

  test('give the same assessments whatever letters and numbers they hold', async () => {
    const word = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 9 });
    const row = fc.record({
      patient: fc.oneof(
        word,
        fc.constantFrom('007', '1e3', '-', 'null', '=1+1', '"', "'", ',', ' a ', '[1]', '{}', '\\u0041'),
      ),
      unit: fc.option(word, { nil: '' }),
      day: fc
        .oneof(fc.integer(), fc.double({ noNaN: true, noDefaultInfinity: true }))
        .map((day) => plainNumber(String(day))),
      value: fc.double({ min: 0, max: 60, noNaN: true }).map((value) => plainNumber(String(value))),
      missing: fc.constant(''),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 6 }), async (some) => {
        const place = { limb: 'left-leg', site: 'great toe', sign: 'capillary-refill', scale: 'refill.seconds.toe' };
        const readings = some.map((one, index) => ({ assessor: `A${index}`, ...place, ...one }));
        // Words that look like a name or a record number are refused in every form.
        const outcome = async (source: AssessmentSource): Promise<string> =>
          loadAssessments(source).then(
            (loaded) => loaded.fingerprint(),
            (error: InputError) => error.problems.map(({ row: at, column, code }) => `${at} ${column} ${code}`).join(),
          );
        const names = [...Object.keys(readings[0] ?? {})];
        const text = [names, ...readings.map((one) => names.map((name) => String(cell(one, name))))]
          .map((line) => line.map((written) => `"${written.replaceAll('"', '""')}"`).join(','))
          .join('\n');
        const table = tableFromArrays(
          Object.fromEntries(names.map((name) => [name, readings.map((one) => String(cell(one, name)))])),
        );
        const expected = await outcome({ rows: readings });
        expect(await outcome({ text: JSON.stringify(readings) })).toBe(expected);
        expect(await outcome({ table })).toBe(expected);
        if (!/\0/.test(text)) expect(await outcome({ text })).toBe(expected);
      }),
      { numRuns: 60, seed: 20260301 },
    );
  });

  test('may be spread over files of different forms, in a list or a pattern', async () => {
    await writeFile(at('part-1.csv'), csv(rows.slice(0, 3)));
    await writeFile(at('part-2.json.gz'), gzipSync(lines(rows.slice(3, 6))));
    await writeFile(at('rest.csv'), csv(rows.slice(6)));
    await runDuckdb(
      `COPY (SELECT * FROM read_csv('${at('rest.csv')}', all_varchar = true)) TO '${at('part-3.parquet')}' (FORMAT parquet)`,
    );
    const expected = (await loadAssessments({ rows })).fingerprint();
    expect((await loadAssessments(at('part-*'))).fingerprint()).toBe(expected);
    expect((await loadAssessments([at('part-[12]*'), at('part-3.parquet')])).fingerprint()).toBe(expected);
  });

  test('a problem names its file, row and column', async () => {
    const bad = rows.map((row) => (row.patient === 'P2' ? { ...row, value: '9' } : row));
    await writeFile(at('bad.csv'), csv(bad));
    await writeFile(at('bad.ndjson.gz'), gzipSync(`\n${lines(bad)}`));
    await runDuckdb(
      `COPY (SELECT * FROM read_csv('${at('bad.csv')}', all_varchar = true)) TO '${at('bad.parquet')}' (FORMAT parquet)`,
    );
    const refusal = 'value off-scale';
    expect(await refusalsOf(at('bad.csv'))).toEqual([`4 ${refusal}`]);
    expect(await refusalsOf(at('bad.parquet'))).toEqual([`4 ${refusal}`]);
    // Line 4 of the file: a blank line stands first.
    expect(await refusalsOf(at('bad.ndjson.gz'))).toEqual([`4 ${refusal}`]);
    expect(await refusalsOf({ text: JSON.stringify(bad) })).toEqual([`4 ${refusal}`]);
  });

  test('an identifier is refused in every form and never repeated', async () => {
    const named = rows.map((row, index) => (index === 1 ? { ...row, patient: 'Jane Q. Doe' } : row));
    await writeFile(at('named.csv'), csv(named));
    await runDuckdb(
      `COPY (SELECT * FROM read_csv('${at('named.csv')}', all_varchar = true)) TO '${at('named.parquet')}' (FORMAT parquet)`,
    );
    for (const source of [at('named.parquet'), { text: lines(named) }, { text: JSON.stringify(named) }])
      await expect(loadAssessments(source)).rejects.toThrow(/identifier \(name\)/);
    await expect(loadAssessments(at('named.parquet'))).rejects.not.toThrow(/Jane|Doe/);
  });
});

describe('files that are not what they seem', () => {
  test.each([
    ['cut.gz', gzipSync('patient,value\n'.repeat(9)).subarray(0, 30), ['- - file-format']],
    ['twice.gz', gzipSync(Buffer.from('PAR1 and no more')), ['- - file-format']],
    ['cut.parquet', Buffer.from('PAR1 and no more'), ['- - file-unreadable']],
    ['cut.json', Buffer.from('[{"patient":"P1"'), ['- - file-unreadable']],
    ['marked.json', Buffer.from('\uFEFF[{}]'), ['- - file-encoding']],
    ['empty.json', Buffer.from('[]'), ['- - column-missing', '- - column-missing', '- - column-missing']],
    ['empty.csv', Buffer.from(''), ['- - file-empty']],
  ])('%s is refused in words', async (name, bytes, refusals) => {
    await writeFile(at(name), bytes);
    expect(await refusalsOf(at(name))).toEqual(refusals);
  });

  test('a packed file that breaks off behind its first rows is refused in words', async () => {
    const many = Array.from({ length: 40_000 }, (_, index) => ({
      ...rows[0],
      patient: `P${(index * 7919) % 104_729}`,
    }));
    for (const [name, packed] of [
      ['behind.csv.gz', gzipSync(csv(many))],
      ['behind.ndjson.gz', gzipSync(lines(many))],
    ] as const) {
      await writeFile(at(name), packed.subarray(0, packed.length - 2000));
      expect(await refusalsOf(at(name))).toEqual(['- - file-format']);
    }
  });

  test('files packed one after the other in one are read to the end', async () => {
    const [first, second] = [lines(rows.slice(0, 5)), lines(rows.slice(5))];
    await writeFile(at('joined.gz'), Buffer.concat([gzipSync(`${first}\n`), gzipSync(second)]));
    expect((await loadAssessments(at('joined.gz'))).length).toBe(rows.length);
  });

  test('an absent file among several is refused', async () => {
    expect(await refusalsOf([at('none.csv')])).toEqual(['- - file-not-found']);
  });

  test('a layout does not go with them', async () => {
    expect(await refusalsOf({ text: '[{"patient":"P1"}]' }, { layout: {} })).toEqual(['- - layout-without-sheet']);
  });

  test('reading is reported and can be stopped', async () => {
    const stop = new AbortController();
    const shares: number[] = [];
    await loadAssessments({ text: lines(rows) }, { progress: (share) => shares.push(share) });
    expect(shares.at(-1)).toBe(1);
    expect([...shares].sort((a, b) => a - b)).toEqual(shares);
    const stopped = loadAssessments({ text: lines(rows) }, { signal: stop.signal, progress: () => stop.abort() });
    await expect(stopped).rejects.toThrow(/abort/);
  });
});
