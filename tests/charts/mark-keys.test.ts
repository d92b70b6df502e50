import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { MARK_KEYS } from '../../src/charts/mark-keys.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { hasChromium, startChromium } from '../support/browser.ts';
import { examples } from './examples.ts';

describe.runIf(hasChromium)('the keys on a page of still pictures', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await startChromium();
  });
  afterAll(() => browser?.close());

  it('go along the marks, ring each and say its words', async () => {
    const charts = [examples['agreement-by-site']!(), examples['habit-bars']!()];
    const pictures = await Promise.all(charts.map((chart) => renderSvg(chart)));
    const page = await browser.newPage();
    await page.setContent(
      `<!doctype html><body><figure><p>no picture</p></figure>${pictures.map((svg) => `<figure>${svg}</figure>`).join('')}<script>${MARK_KEYS}</script>`,
    );
    const said = () => page.locator('figure:focus [role=status]').textContent();
    const press = async (...keys: string[]) => {
      for (const key of keys) await page.keyboard.press(key);
    };
    const [sites, habits] = charts.map(({ words }) => words) as [readonly string[], readonly string[]];

    await press('Tab', 'ArrowRight');
    expect(await said()).toBe(sites[0]);
    const ring = page.locator('body > div').last();
    const mark = await page.getByLabel(sites[0]!).first().boundingBox();
    const around = await ring.boundingBox();
    expect(around!.x).toBeLessThan(mark!.x);
    expect(around!.y).toBeLessThan(mark!.y);
    expect(around!.x + around!.width).toBeGreaterThan(mark!.x + mark!.width);
    const heard: (string | null)[] = [await said()];
    for (let step = 1; step < sites.length; step++) {
      await press('ArrowDown');
      heard.push(await said());
    }
    expect([...heard].sort()).toEqual([...sites].sort());
    await press('ArrowRight');
    expect(await said()).toBe(heard.at(-1));
    await press('Home');
    expect(await said()).toBe(heard[0]);
    await press('Escape');
    expect(await said()).toBe('');
    expect(await ring.isVisible()).toBe(false);

    await press('Tab', 'End');
    expect(await said()).toBe(habits.at(-1));
    await press('ArrowLeft');
    expect(await said()).toBe(habits.at(-2));
    await press('Control+Home');
    expect(await said()).toBe(habits.at(-2));
  });
});
