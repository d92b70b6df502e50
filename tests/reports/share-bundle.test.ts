import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { strFromU8, unzipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { writeBundle, writeStudyBundle } from '../../src/reports/share-bundle.ts';
import { studyReport } from '../../src/reports/study-report.ts';
import type { AgreementStudy } from '../../src/study/agreement-study.ts';
import { inventedStudy, plan } from './study.ts';

const folder = mkdtempSync(join(tmpdir(), 'bundle-'));
afterAll(() => rmSync(folder, { recursive: true }));

let study: AgreementStudy;
let texts: Record<string, string>;

beforeAll(async () => {
  study = await inventedStudy();
  await writeStudyBundle(study, join(folder, 'all'), { plan });
  texts = Object.fromEntries(
    readdirSync(join(folder, 'all')).map((name) => [name, readFileSync(join(folder, 'all', name), 'utf8')]),
  );
});

describe('what is shared of a study', () => {
  it('is the report for others, its files, the plan, the codebook, versions and a list', async () => {
    expect(Object.keys(texts).sort()).toEqual([
      'README.txt',
      'SHA256SUMS',
      'codebook.md',
      'counts.csv',
      'plan.json',
      'report.html',
      'results.csv',
      'versions.json',
    ]);
    expect(texts['report.html']).toBe((await studyReport(study, { plan })).files['report.html']);
    for (const name of Object.keys(texts))
      if (name !== 'README.txt') expect(texts['README.txt']).toContain(`${name}: `);
  });

  it('lists the checksum of every other file', () => {
    const lines = texts.SHA256SUMS!.trimEnd().split('\n');
    expect(lines).toHaveLength(Object.keys(texts).length - 1);
    for (const line of lines) {
      const [, sum, name] = /^([0-9a-f]{64}) {2}(\S+)$/.exec(line)!;
      expect(createHash('sha256').update(texts[name!]!).digest('hex')).toBe(sum);
    }
  });

  it('has the plan with its amendments and without the codes of assessors', () => {
    const shared = JSON.parse(texts['plan.json']!);
    expect(shared.amendments).toEqual(study.plan.amendments);
    expect(shared.design.assessors).toBe(3);
    expect(shared.analysis).not.toHaveProperty('assessors');
    expect(shared.inWords.join(' ')).toContain('seed 8');
  });

  it('holds no reading of anybody, and no code of a patient', () => {
    const all = Object.values(texts)
      .join('\n')
      .replace(/<script>[\s\S]*?<\/script>/g, '');
    expect(all).not.toMatch(/\bP\d\d\b/);
    for (const name of ['results.csv', 'counts.csv'])
      expect(texts[name]!.split('\n')[0]).not.toMatch(/patient|assessor,/);
  });

  it('explains the wording of its own signs only', () => {
    expect(texts['codebook.md']!.match(/^## /gm)).toHaveLength(2);
    expect(texts['codebook.md']).toContain('## Pulse strength');
  });

  it('is one file where a zip is wanted, the same bytes on another day', async () => {
    const [first, second] = [join(folder, 'first.zip'), join(folder, 'second.zip')];
    await writeStudyBundle(study, first, { plan });
    vi.useFakeTimers({ now: new Date(2031, 4, 17), toFake: ['Date'] });
    await writeStudyBundle(study, second, { plan });
    vi.useRealTimers();
    expect(readFileSync(second).equals(readFileSync(first))).toBe(true);
    const inside = unzipSync(readFileSync(first));
    expect(Object.fromEntries(Object.entries(inside).map(([name, bytes]) => [name, strFromU8(bytes)]))).toEqual(texts);
  });

  it('is refused under another ending', async () => {
    const report = { kind: 'report', title: 'x', files: {} } as const;
    await expect(writeBundle(report, join(folder, 'all.rar'))).rejects.toThrow(/ending in \.zip/);
  });
});
