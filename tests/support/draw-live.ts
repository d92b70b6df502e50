import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import type { Page } from 'playwright-core';
import type { Chart } from '../../src/charts/chart.ts';

/** Where the packages of each version of Vega-Lite are found: 5 is what front ends draw with, 6 what the library draws with. */
const PACKAGES = {
  5: createRequire(new URL('../front-end/package.json', import.meta.url)),
  6: createRequire(import.meta.url),
} as const;

/** Draws a chart live as a front end does: Vega and Vega-Lite in the page, rendered as the chart asks. */
export async function drawLive(page: Page, chart: Chart, version: keyof typeof PACKAGES): Promise<void> {
  await page.setContent('<!doctype html><body style="margin:0"><div id="view"></div>');
  await addScripts(page, version, ['vega', 'vega-lite']);
  await page.evaluate(
    `(async (spec) => {
      const { renderer } = spec.usermeta.embedOptions;
      const view = new vega.View(vega.parse(vegaLite.compile(spec).spec), { renderer });
      await view.initialize('#view').runAsync();
    })(${JSON.stringify(chart.spec)})`,
  );
}

/** Draws a chart by vega-embed, as front ends do, with other output beneath it. */
export async function embedAsFrontEnds(page: Page, spec: object, beneath: string): Promise<void> {
  await page.setContent(`<!doctype html><body><div id="view"></div>${beneath}`);
  await addScripts(page, 5, ['vega', 'vega-lite', 'vega-embed']);
  await page.evaluate(`(async () => { await vegaEmbed('#view', ${JSON.stringify(spec)}, { defaultStyle: true }); })()`);
}

async function addScripts(page: Page, version: keyof typeof PACKAGES, names: readonly string[]): Promise<void> {
  for (const name of names) {
    const build = join(dirname(PACKAGES[version].resolve(name)), `${name}.min.js`);
    await page.addScriptTag({ content: readFileSync(build, 'utf8') });
  }
}
