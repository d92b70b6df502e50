import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { save } from '../../src/charts/save.ts';
import { InputError } from '../../src/shared/input-error.ts';
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
