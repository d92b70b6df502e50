import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { agreementBySiteChart } from '../../src/charts/agreement-by-site-chart.ts';
import { Chart } from '../../src/charts/chart.ts';
import { habitBarsChart } from '../../src/charts/habit-bars-chart.ts';
import { linkedCharts } from '../../src/charts/linked-charts.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { hasChromium, startChromium } from '../support/browser.ts';
import { drawLive } from '../support/draw-live.ts';
import { examples, pulseAgreement, pulseRatings } from './examples.ts';

describe('linkedCharts', () => {
  it('says what all charts say, with each caution once', () => {
    const chart = examples['linked-by-assessor']!();
    const [habits, pairs] = [examples['habit-bars']!(), examples['pairwise-agreement']!()];
    expect(chart.title).toBe('The same assessors in 2 pictures');
    expect(chart.description).toContain(pairs.description);
    expect(chart.caution).toBe(`${habits.caution} ${pairs.caution}`);
    expect(chart.words).toEqual([...habits.words, ...pairs.words]);
  });

  it('goes no further than the chart for the fewest eyes', () => {
    const habits = habitBarsChart(pulseRatings());
    const forAll = new Chart({ ...habits, audience: 'outside' });
    const inside = new Chart({ ...habits, audience: 'inside' });
    expect(linkedCharts([forAll, inside], { follow: 'assessor' }).audience).toBe('inside');
    expect(linkedCharts([forAll, forAll], { follow: 'assessor' }).audience).toBe('outside');
    expect(linkedCharts([forAll, habits], { follow: 'assessor' }).audience).toBe('own');
  });

  it('refuses what cannot be linked, all at once', () => {
    const habits = habitBarsChart(pulseRatings());
    const sites = agreementBySiteChart(pulseAgreement());
    const codes = (...args: Parameters<typeof linkedCharts>): readonly string[] => {
      try {
        linkedCharts(...args);
      } catch (error) {
        if (error instanceof InputError) return error.problems.map(({ code }) => code);
        throw error;
      }
      return [];
    };
    expect(codes([], { follow: 'assessor' })).toEqual(['too-few-charts']);
    expect(codes([habits], { follow: 'assessor' })).toEqual(['too-few-charts']);
    expect(codes([habits, sites], { follow: 'assessor' })).toEqual(['nothing-to-follow']);
    expect(codes([habits, agreementBySiteChart(pulseAgreement(), { theme: 'dark' })], { follow: 'assessor' })).toEqual([
      'nothing-to-follow',
      'several-themes',
    ]);
  });
});

describe.runIf(hasChromium)('in a browser', () => {
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    browser = await startChromium();
    page = await browser.newPage({ viewport: { width: 900, height: 1400 } });
  });
  afterAll(() => browser?.close());

  /** The words of the marks that stand out and of those that fade, where some fade. */
  function marks(): Promise<{ plain: string[]; faded: string[] }> {
    return page.$$eval('svg .role-mark [role="graphics-symbol"][aria-label]', (all) => {
      const of = (faded: boolean) => [
        ...new Set(
          all.flatMap((mark) =>
            Number(mark.getAttribute('opacity') ?? 1) < 0.5 === faded ? [mark.getAttribute('aria-label') ?? ''] : [],
          ),
        ),
      ];
      return { plain: of(false), faded: of(true) };
    });
  }

  async function clickMark(words: RegExp): Promise<void> {
    const found = page.locator('svg .role-mark [role="graphics-symbol"]').and(page.getByLabel(words)).first();
    await found.dispatchEvent('click');
    await page.waitForTimeout(100);
  }

  describe.each([5, 6] as const)('Vega-Lite %i', (version) => {
    it('follows an assessor that is clicked, or chosen by keys, through both charts', async () => {
      await drawLive(page, examples['linked-by-assessor']!(), version);
      expect((await marks()).faded).toEqual([]);
      await clickMark(/^B read /);
      const clicked = await marks();
      expect(clicked.plain.filter((words) => / read /.test(words)).every((words) => words.startsWith('B read'))).toBe(
        true,
      );
      expect(clicked.plain.filter((words) => !/ read /.test(words)).map((words) => words.split(':')[0])).toEqual([
        'A and B',
        'B and C',
        'B and D',
      ]);
      expect(clicked.faded.length).toBeGreaterThan(8);
      expect(await page.locator('select').inputValue()).toBe('B');

      await page.locator('select').focus();
      await page.keyboard.press('ArrowDown');
      await page.waitForTimeout(100);
      expect((await marks()).plain.filter((words) => / read /.test(words))[0]).toMatch(/^C read/);
      await page.keyboard.press('Home');
      await page.waitForTimeout(100);
      expect((await marks()).faded).toEqual([]);
    });

    it('follows a site, and leaves all sites together as they are', async () => {
      await drawLive(page, examples['linked-by-site']!(), version);
      await clickMark(/^Behind the knee/);
      const { plain, faded } = await marks();
      expect([...new Set(plain.map((words) => words.split(/ \(|,|:/)[0]))].sort()).toEqual([
        'All sites together',
        'Behind the knee',
      ]);
      expect(faded.length).toBeGreaterThan(8);
      await clickMark(/^All sites together/);
      expect((await marks()).faded).toEqual([]);
    });
  });
});
