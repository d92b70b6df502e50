import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { fhirObservations } from '../../src/assessments/fhir-observations.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { save } from '../../src/charts/save.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { caution } from '../../src/shared/note.ts';
import { Table } from '../../src/shared/table.ts';
import { queryDuckdb } from '../support/duckdb.ts';
import { examples } from './examples.ts';

const folder = mkdtempSync(join(tmpdir(), 'limb-perfusion-figures-'));
const chart = examples['agreement-by-site']!();

async function saved(name: string, options?: Parameters<typeof save>[2]): Promise<Buffer> {
  const file = join(folder, name);
  await save(chart, file, options);
  return readFileSync(file);
}

async function codes(name: string, options?: Parameters<typeof save>[2]): Promise<readonly string[]> {
  try {
    await save(chart, join(folder, name), options);
  } catch (error) {
    if (error instanceof InputError) return error.problems.map((problem) => problem.code);
    throw error;
  }
  return [];
}

afterAll(() => rmSync(folder, { recursive: true }));

describe('save', () => {
  it('writes SVG at its width on paper, letters as outlines', async () => {
    const svg = (await saved('figure.svg', { widthMillimeters: 180 })).toString();
    expect(svg).toMatch(/^<svg role="img" aria-label="[^"]+" /);
    const [, width, height, boxWidth, boxHeight] = [
      ...(/(?=.* width="([\d.]+)mm")(?=.* height="([\d.]+)mm")(?=.* viewBox="0 0 (\d+) (\d+)")/s.exec(
        svg.slice(0, svg.indexOf('>')),
      ) ?? []),
    ].map(Number);
    expect(width).toBe(180);
    expect(height! / width!).toBeCloseTo(boxHeight! / boxWidth!, 3);
    expect(svg).not.toMatch(/<text|<tspan|href="http/);
    expect(svg.match(/<path /g)!.length).toBeGreaterThan(100);
  });

  it('writes SVG with its font inside when asked', async () => {
    const svg = (await saved('text.svg', { letters: 'embedded' })).toString();
    expect(svg.slice(0, svg.indexOf('>'))).toMatch(/ width="174mm" /);
    expect(svg).toContain('@font-face');
    expect(svg).toMatch(/<text/);
  });

  it('writes PNG at its resolution', async () => {
    const png = await saved('figure.png', { widthMillimeters: 100, dotsPerInch: 300 });
    expect(Math.abs(png.readUInt32BE(16) - (100 / 25.4) * 300)).toBeLessThanOrEqual(2);
    expect(png.toString('latin1', 37, 41)).toBe('pHYs');
    expect(png.readUInt32BE(41)).toBe(Math.round(300 / 0.0254));
    const { loadImage } = await import('canvas');
    expect((await loadImage(png)).width).toBe(png.readUInt32BE(16));
  });

  it('writes PDF of one page at its width, its font inside', async () => {
    const pdf = (await saved('figure.pdf', { widthMillimeters: 174 })).toString('latin1');
    expect(pdf).toMatch(/^%PDF-1\./);
    const [, width] = /\/MediaBox \[0 0 ([\d.]+) [\d.]+\]/.exec(pdf)!;
    expect(Number(width)).toBeCloseTo((174 / 25.4) * 72, 0);
    expect(pdf).toMatch(/\/FontFile2/);
    expect(pdf).not.toContain('CreationDate');
  });

  it('gives the same file again', async () => {
    for (const name of ['again.svg', 'again.png', 'again.pdf'])
      expect((await saved(name)).equals(await saved(name))).toBe(true);
  });

  it('leaves the title to the caption when asked', async () => {
    const [with_, without] = [await saved('a.svg'), await saved('b.svg', { titled: false })];
    const height = (svg: Buffer) => Number(/viewBox="0 0 \d+ (\d+)"/.exec(svg.toString())![1]);
    expect(height(without)).toBeLessThan(height(with_) - 50);
    expect(without.toString()).toContain('aria-label');
  });

  it('refuses what nobody could read or open, all at once, and writes nothing', async () => {
    const before = readdirSync(folder);
    expect(await codes('figure.gif')).toEqual(['unknown-format']);
    expect(await codes('figure', { widthMillimeters: 5, dotsPerInch: 5000 })).toEqual([
      'unknown-format',
      'bad-option',
      'bad-option',
    ]);
    expect(await codes('small.svg', { widthMillimeters: 60 })).toEqual(['letters-too-small']);
    expect(await codes('small.pdf', { widthMillimeters: Number.NaN })).toEqual(['bad-option']);
    expect(readdirSync(folder)).toEqual(before);
  });
});

const table = new Table(
  'What *was* found',
  [
    { key: 'group', label: 'Group', kind: 'text' },
    { key: 'count', label: 'n', kind: 'count' },
    { key: 'value', label: 'Value | all', kind: 'number' },
  ],
  [
    { group: '=1+1', count: 12, value: -0.123456789012345 },
    { group: '@cmd', count: 0, value: Number.NaN },
    { group: '-5', count: null, value: null },
    { group: 'a, "b"', count: 1, value: Number.POSITIVE_INFINITY },
  ],
  [caution('few', "Few people's limbs.")],
);
const assessments = await loadAssessments({
  rows: ['0', 'trace', '2'].map((value, at) => ({
    patient: `P${at}`,
    limb: 'left-leg',
    site: 'shin',
    sign: 'pitting-edema',
    scale: 'pit.0-4.hogan.trace',
    value,
    blinded: at === 1 ? null : true,
    day: at,
  })),
});

describe('save of what is no chart', () => {
  const written = async (what: Parameters<typeof save>[0], name: string): Promise<Buffer> => {
    await save(what, join(folder, name));
    return readFileSync(join(folder, name));
  };

  it('writes a table as CSV: every digit, no formula, a negative number still a number', async () => {
    expect((await written(table, 'a.csv')).toString()).toBe(
      ['Group,n,Value | all', "'=1+1,12,-0.123456789012345", "'@cmd,0,", '-5,,', '"a, ""b""",1,Infinity', ''].join(
        '\n',
      ),
    );
  });

  it('writes a table as Markdown with caption and notes', async () => {
    const text = (await written(table, 'a.md')).toString();
    expect(text).toContain('**What \\*was\\* found**');
    expect(text).toContain('| -5 |  |  |');
    expect(text).toContain("Caution: Few people's limbs.");
  });

  it('writes a table as Parquet: types, NaN apart from null, caption and notes inside, the same bytes again', async () => {
    const bytes = await written(table, 'a.parquet');
    expect((await written(table, 'b.parquet')).equals(bytes)).toBe(true);
    const file = `'${join(folder, 'a.parquet')}'`;
    expect(
      await queryDuckdb(`SELECT "group", count::VARCHAR, typeof(count), value, typeof(value) FROM ${file}`),
    ).toEqual([
      ['=1+1', '12', 'BIGINT', -0.123456789012345, 'DOUBLE'],
      ['@cmd', '0', 'BIGINT', Number.NaN, 'DOUBLE'],
      ['-5', null, 'BIGINT', null, 'DOUBLE'],
      ['a, "b"', '1', 'BIGINT', Number.POSITIVE_INFINITY, 'DOUBLE'],
    ]);
    expect(await queryDuckdb(`SELECT decode(key), decode(value) FROM parquet_kv_metadata(${file}) ORDER BY 1`)).toEqual(
      [
        ['caption', 'What *was* found'],
        ['notes', "Few people's limbs."],
      ],
    );
  });

  it('writes five thousand rows and none', async () => {
    const rows = Array.from({ length: 5000 }, (_, at) => ({ group: `g${at}`, count: at, value: at / 7 }));
    await written(new Table('many', table.columns, rows), 'many.parquet');
    const file = `'${join(folder, 'many.parquet')}'`;
    expect(await queryDuckdb(`SELECT count(*)::INTEGER, sum(count)::INTEGER, max(value) FROM ${file}`)).toEqual([
      [5000, 12_497_500, 4999 / 7],
    ]);
    await written(new Table('none', table.columns, []), 'none.parquet');
    expect(await queryDuckdb(`SELECT count(*)::INTEGER FROM '${join(folder, 'none.parquet')}'`)).toEqual([[0]]);
  });

  it.each(['assessments.csv', 'assessments.parquet'])(
    'writes %s, which loads as the same assessments',
    async (name) => {
      await written(assessments, name);
      expect((await loadAssessments(join(folder, name))).fingerprint()).toBe(assessments.fingerprint());
    },
  );

  it.each(['o.ndjson', 'o.json'])(
    'writes FHIR Observations as %s, which load as the same assessments',
    async (name) => {
      await written(fhirObservations(assessments), name);
      expect((await loadAssessments(join(folder, name))).fingerprint()).toBe(assessments.fingerprint());
    },
  );

  it('refuses endings and options that do not go with it', async () => {
    const codeOf = async (call: Promise<void>) =>
      call.catch((error: unknown) => (error as InputError).problems[0]?.code ?? error);
    expect(await codeOf(save(table, join(folder, 'a.svg')))).toBe('unknown-format');
    expect(await codeOf(save(table, join(folder, 'a.csv'), { titled: false }))).toBe('bad-option');
    expect(await codeOf(save(assessments, join(folder, 'constructor')))).toBe('unknown-format');
    expect(await codeOf(save(table, join(folder, 'absent', 'a.csv')))).toBe('file-not-written');
  });
});
