import { expect, it } from 'vitest';
import { autocorrelation } from '../../src/unit-quality/autocorrelation.ts';

// R 4.2.2: acf(lh, plot = FALSE)$acf[2:3] of the 48 hormone levels in datasets::lh (Diggle 1990, Table A.1) -> tests/reference/unit-series.R
const LH = [
  2.4, 2.4, 2.4, 2.2, 2.1, 1.5, 2.3, 2.3, 2.5, 2.0, 1.9, 1.7, 2.2, 1.8, 3.2, 3.2, 2.7, 2.2, 2.2, 1.9, 1.9, 1.8, 2.7,
  3.0, 2.3, 2.0, 2.0, 2.9, 2.9, 2.7, 2.7, 2.3, 2.6, 2.4, 1.8, 1.7, 1.5, 1.4, 2.1, 3.3, 3.5, 3.5, 3.1, 2.6, 2.1, 3.4,
  3.0, 2.9,
];

it('is that of the reference program', () => {
  expect(autocorrelation(LH).value).toBeCloseTo(0.575524476, 9);
  expect(autocorrelation(LH, { lag: 2 }).value).toBeCloseTo(0.181818182, 9);
  expect(autocorrelation(LH).resemble).toBe(true);
});

it('is unchanged when the series is turned round, moved or stretched', () => {
  const value = autocorrelation(LH).value;
  expect(autocorrelation([...LH].reverse()).value).toBeCloseTo(value, 12);
  expect(autocorrelation(LH.map((level) => 3 - 2 * level)).value).toBeCloseTo(value, 12);
});

it('makes no pair over a gap, is undefined without variation, and refuses what is no lag', () => {
  expect(autocorrelation([1, 2, 3, 4, 5, 6, 7, 8]).value).toBeCloseTo(0.625, 12);
  // Mean 2.5; the only pairs are (1, 2) and (3, 4): ((−1.5)(−0.5) + (0.5)(1.5)) / 5.
  expect(autocorrelation([1, 2, null, 3, 4]).value).toBeCloseTo(0.3, 12);
  expect(autocorrelation([2, 2, 2, 2]).value).toBeNaN();
  expect(() => autocorrelation([1, 2, 3], { lag: 0 })).toThrow(/whole number of periods/);
  expect(() => autocorrelation([1, Number.NaN])).toThrow(/null for a period/);
});
