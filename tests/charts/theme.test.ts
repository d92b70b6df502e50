import {
  type Color,
  differenceCiede2000,
  filterDeficiencyDeuter,
  filterDeficiencyProt,
  filterDeficiencyTrit,
  formatHex,
  interpolate,
  parse,
  samples,
  wcagContrast,
} from 'culori';
import { describe, expect, it } from 'vitest';
import { contrast, countColor, gradeColors, textOn, themeOf } from '../../src/charts/theme.ts';

const themes = [themeOf({}), themeOf({ theme: 'dark' })];
function seenWith(filter: (color: Color) => Color, color: string): string {
  return formatHex(filter(parse(color)!));
}

/** Full color deficiency after Machado, Oliveira and Fernandes 2009, doi:10.1109/TVCG.2009.113, as culori computes it. */
const sights = {
  normal: (color: string) => color,
  deutan: (color: string) => seenWith(filterDeficiencyDeuter(1), color),
  protan: (color: string) => seenWith(filterDeficiencyProt(1), color),
  tritan: (color: string) => seenWith(filterDeficiencyTrit(1), color),
};

/** Smallest CIEDE2000 distance between any two of a list. */
function closest(colors: readonly string[]): number {
  const distance = differenceCiede2000();
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < colors.length; i++)
    for (let j = 0; j < i; j++) least = Math.min(least, distance(colors[i]!, colors[j]!));
  return least;
}

describe.each(themes)('theme $name', (theme) => {
  it.each(Object.entries(sights))('keeps five grades 12.5 apart under %s sight', (_name, seen) => {
    expect(closest(gradeColors(theme, 5).map(seen))).toBeGreaterThanOrEqual(12.5);
  });

  it.each(Object.entries(sights))('keeps the categories 11.5 apart under %s sight', (_name, seen) => {
    expect(closest(theme.categories.map(seen))).toBeGreaterThanOrEqual(11.5);
  });

  it('keeps every step of a grade ramp lighter or darker than the last, so it reads in gray', () => {
    for (let grades = 2; grades <= 9; grades++) {
      const light = gradeColors(theme, grades).map((color) => wcagContrast(color, '#000000'));
      const sign = theme.name === 'dark' ? 1 : -1;
      for (let at = 1; at < light.length; at++) expect(sign * (light[at]! - light[at - 1]!)).toBeGreaterThan(0.3);
    }
  });

  it('has text that reads on paper, on grades and on counts', () => {
    expect(contrast(theme.ink, theme.paper)).toBeGreaterThanOrEqual(7);
    expect(contrast(theme.muted, theme.paper)).toBeGreaterThanOrEqual(4.5);
    for (let grades = 2; grades <= 9; grades++)
      for (const color of gradeColors(theme, grades))
        expect(contrast(textOn(theme, color), color)).toBeGreaterThanOrEqual(4.5);
    for (let count = 0; count <= 40; count++) {
      const color = countColor(theme, count, 40);
      expect(contrast(textOn(theme, color), color), `${count} on ${color}`).toBeGreaterThanOrEqual(4.5);
    }
  });

  it('has a signal that stands out from paper', () => {
    expect(contrast(theme.signal, theme.paper)).toBeGreaterThanOrEqual(4.5);
  });
});

describe('colors', () => {
  it('are the five anchors interpolated in OKLCH', () => {
    const ramp = interpolate(gradeColors(themeOf({}), 5) as string[], 'oklch');
    for (let grades = 2; grades <= 9; grades++)
      expect(gradeColors(themeOf({}), grades)).toEqual(samples(grades).map((at) => formatHex(ramp(at))));
  });

  it('have the contrast that the library for color computes', () => {
    for (const [first, second] of [
      ['#1b2a49', '#ffffff'],
      ['#5b6b82', '#f4f6f9'],
      ['#0a0b0c', '#0d0c0b'],
    ] as const)
      expect(contrast(first, second)).toBeCloseTo(wcagContrast(first, second), 6);
  });

  it('are plain hexadecimal, as other programs read them', () => {
    for (const theme of themes)
      for (const color of [...theme.categories, ...theme.counts, ...gradeColors(theme, 7)]) {
        expect(color).toMatch(/^#[0-9a-f]{6}$/);
        expect(parse(color)).toBeDefined();
      }
  });
});
