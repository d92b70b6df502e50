import { describe, expect, it } from 'vitest';
import { oneSidedToleranceFactor, twoSidedToleranceFactor } from '../../src/agreement/tolerance-factors.ts';
import { chiSquare, normal, studentT } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^tolerance-factor-one-sided$/))
    it(`${one.id}: ${one.source}`, () => {
      (one.data.n as number[]).forEach((n, at) => {
        const factor = oneSidedToleranceFactor(n, one.parameters.content, one.parameters.confidence);
        expectNear(factor, one.expected.k[at], one.tolerance);
      });
      ['2.911', '2.396', '2.220'].forEach((printed, at) => {
        expectPrinted(oneSidedToleranceFactor(one.data.n[at], 0.95, 0.95), printed);
      });
    });

  for (const one of publishedCases('agreement', /^bland-altman-pefr$/))
    it(`${one.id}, factors of the exact interval: ${one.source}`, () => {
      expectNear(oneSidedToleranceFactor(17, 0.975, 0.025), one.expected.carkeetFactorInner, one.tolerance);
      expectNear(oneSidedToleranceFactor(17, 0.975, 0.975), one.expected.carkeetFactorOuter, one.tolerance);
    });

  // Carkeet 2015, doi:10.1097/OPX.0000000000000513, as the conventions page of the reference cases gives it; Howe's approximation is 3.379.
  it('two-sided: 3.3934 for ten numbers, content and confidence .95', () => {
    expectPrinted(twoSidedToleranceFactor(10, 0.95, 0.95), '3.3934');
  });
});

describe('what must hold', () => {
  it('content ½: the one-sided factor is the plain t quantile over √n (second formula)', () => {
    for (const n of [2, 5, 30, 1000])
      expectNear(oneSidedToleranceFactor(n, 0.5, 0.975), studentT.quantile(0.975, n - 1) / Math.sqrt(n), 1e-10);
  });

  it('both tend to the normal quantile as n grows', () => {
    expectNear(oneSidedToleranceFactor(1e6, 0.975, 0.5), 1.959963984540054, 1e-5);
    expectNear(twoSidedToleranceFactor(1e6, 0.95, 0.5), 1.959963984540054, 1e-5);
  });

  it('a smaller content or confidence needs a smaller factor, and two numbers are enough', () => {
    for (const factor of [oneSidedToleranceFactor, twoSidedToleranceFactor]) {
      expect(factor(12, 0.9, 0.95)).toBeLessThan(factor(12, 0.95, 0.95));
      expect(factor(12, 0.95, 0.9)).toBeLessThan(factor(12, 0.95, 0.95));
      expect(factor(2, 0.95, 0.95)).toBeGreaterThan(20);
      expect(factor(1, 0.95, 0.95)).toBeNaN();
    }
  });

  // 20,000 samples of 8, seeded; Monte Carlo error .0015.
  it('holds the share it says as often as it says', () => {
    const random = seededRandom(2);
    const one = oneSidedToleranceFactor(8, 0.9, 0.95);
    const two = twoSidedToleranceFactor(8, 0.9, 0.95);
    // The normal quantile of .9, from any table.
    const z90 = 1.2815515655446004;
    let above = 0;
    let holds = 0;
    const studies = 20_000;
    for (let study = 0; study < studies; study++) {
      let sum = 0;
      let squares = 0;
      for (let i = 0; i < 8; i++) {
        const x = random.normal();
        sum += x;
        squares += x * x;
      }
      const mean = sum / 8;
      const s = Math.sqrt((squares - sum * mean) / 7);
      if (mean + one * s >= z90) above++;
      if (normalShare(mean - two * s, mean + two * s) >= 0.9) holds++;
    }
    expect(Math.abs(above / studies - 0.95)).toBeLessThan(0.005);
    expect(Math.abs(holds / studies - 0.95)).toBeLessThan(0.005);
  });
});

/** Share of the standard normal distribution between two limits, by Simpson's rule on its density. */
function normalShare(from: number, to: number): number {
  const a = Math.max(-9, from);
  const b = Math.min(9, to);
  const panels = 200;
  const step = (b - a) / panels;
  let sum = 0;
  for (let at = 0; at <= panels; at++) {
    const x = a + at * step;
    sum += (at === 0 || at === panels ? 1 : at % 2 === 1 ? 4 : 2) * Math.exp((-x * x) / 2);
  }
  return (sum * step) / 3 / Math.sqrt(2 * Math.PI);
}

// mean + k·s above the quantile of p is, turned over, mean − k·s below that of 1 − p.
it('turned over, one content is the other', () => {
  for (const [n, content, confidence] of [
    [5, 0.001, 0.95],
    [40, 1e-6, 0.3],
    [300, 1e-9, 0.975],
  ] as const)
    expectNear(
      oneSidedToleranceFactor(n, content, confidence),
      -oneSidedToleranceFactor(n, 1 - content, 1 - confidence),
      1e-7,
    );
});

/** ∫ f over the density of s/σ with n − 1 degrees of freedom, by Simpson's rule on ln of it. */
function overSpread(n: number, f: (u: number) => number): number {
  const degrees = n - 1;
  let constant = Math.log(2) + (degrees / 2) * Math.log(degrees / 2);
  // ln Γ(degrees/2) by its recurrence down to Γ(1) = 1 or Γ(½) = √π.
  for (let at = degrees / 2 - 1; at > 0; at--) constant -= Math.log(at);
  if (degrees % 2 === 1) constant -= Math.log(Math.PI) / 2;
  const [from, to, panels] = [-12, 3, 6000];
  const step = (to - from) / panels;
  let sum = 0;
  for (let at = 0; at <= panels; at++) {
    const w = from + at * step;
    const density = Math.exp(constant + degrees * (w - Math.exp(2 * w) / 2));
    sum += (at === 0 || at === panels ? 1 : at % 2 === 1 ? 4 : 2) * density * f(Math.exp(w));
  }
  return (sum * step) / 3;
}

// The probability by its definition, integrated plainly.
it.each([
  [3, 0.9, 0.95],
  [5, 0.975, 0.025],
  [8, 0.05, 0.9],
  [17, 0.975, 0.975],
  [40, 0.99, 0.5],
])('one-sided, n %i, content %f: mean + k·s lies above the quantile with probability %f', (n, content, confidence) => {
  const k = oneSidedToleranceFactor(n, content, confidence);
  const z = normal.quantile(content);
  expectNear(
    overSpread(n, () => 1),
    1,
    1e-9,
  );
  expectNear(
    overSpread(n, (u) => normal.cdf(Math.sqrt(n) * (k * u - z))),
    confidence,
    1e-9,
  );
});

it.each([
  [3, 0.9, 0.95],
  [6, 0.95, 0.05],
  [12, 0.5, 0.9],
  [30, 0.99, 0.5],
])('two-sided, n %i: mean ± k·s holds %f with probability %f', (n, content, confidence) => {
  const k = twoSidedToleranceFactor(n, content, confidence);
  // Over the mean, in standard errors: how wide the interval about it must be, and how likely s is large enough.
  const radius = (x: number): number => {
    let [low, high] = [0, 20];
    for (let turn = 0; turn < 80; turn++) {
      const middle = (low + high) / 2;
      if (normal.cdf(x + middle) - normal.cdf(x - middle) < content) low = middle;
      else high = middle;
    }
    return low;
  };
  let sum = 0;
  const [panels, end] = [400, 8];
  for (let at = 0; at <= panels; at++) {
    const z = (end * at) / panels;
    const likely = chiSquare.upper(((n - 1) * radius(z / Math.sqrt(n)) ** 2) / k ** 2, n - 1);
    sum += (at === 0 || at === panels ? 1 : at % 2 === 1 ? 4 : 2) * normal.density(z) * likely;
  }
  expectNear((2 * sum * end) / panels / 3, confidence, 1e-8);
});
