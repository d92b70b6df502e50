import { createRequire } from 'node:module';
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { runningKernel } from '../../src/notebook/kernel.ts';
import { show } from '../../src/notebook/show.ts';
import { caution } from '../../src/shared/note.ts';
import { Table } from '../../src/shared/table.ts';
import { estimateOf, examples } from '../charts/examples.ts';
import { hasChromium, startChromium } from '../support/browser.ts';
import { embedAsFrontEnds } from '../support/draw-live.ts';

interface Message {
  readonly data: Readonly<Record<string, unknown>>;
  readonly transient: object;
  readonly update: boolean;
}

const { cache } = createRequire(import.meta.url);
const kernelPath = '/somewhere/node_modules/tslab/dist/jupyter.js';
const globals = globalThis as { __tslab__?: unknown };

/** Stands in for the kernel's own module: as if this process ran in a notebook. */
function startKernel(): Message[] {
  const messages: Message[] = [];
  globals.__tslab__ = { require: () => ({}) };
  cache[kernelPath] = {
    exports: {
      lastWriteDisplayData: (content: { data: Message['data']; transient: object }, update: boolean) =>
        messages.push({ data: content.data, transient: content.transient, update }),
    },
  } as unknown as NodeJS.Module;
  return messages;
}

/** A kernel of which only the public display is to be had. */
function startPublicKernel(): [string, unknown][] {
  const shown: [string, unknown][] = [];
  globals.__tslab__ = {
    require: () => ({ display: { raw: (mime: string, value: unknown) => shown.push([mime, value]) } }),
  };
  return shown;
}

afterEach(() => {
  delete globals.__tslab__;
  delete cache[kernelPath];
  vi.restoreAllMocks();
});

const table = new Table(
  'How far do they agree?',
  [
    { key: 'site', label: 'site', kind: 'text' },
    { key: 'value', label: 'kappa', kind: 'number' },
  ],
  [
    { site: 'radial', value: 0.5 },
    { site: 'a <b> & "c" | d', value: Number.NaN },
  ],
  [caution('x', 'Agreement is not accuracy.')],
);

describe('show', () => {
  it('sends a chart in three forms, the JSON as an object, and what its marks say folded away beneath', async () => {
    const messages = startKernel();
    const chart = examples['agreement-by-site']!();
    await show(chart);
    const [picture, words, ...more] = messages.map(({ data }) => data);
    expect(more).toEqual([]);
    expect(Object.keys(picture!)).toEqual(['application/vnd.vegalite.v5+json', 'image/svg+xml', 'text/plain']);
    expect(picture!['application/vnd.vegalite.v5+json']).toEqual(chart.marked().spec);
    expect(JSON.stringify(picture!['application/vnd.vegalite.v5+json'])).toContain('Not for sharing');
    expect(picture!['image/svg+xml']).toMatch(/^<svg style="max-width:100%;height:auto" role="img"/);
    expect(picture!['text/plain']).toContain(chart.title);
    expect(Object.keys(words!)).toEqual(['text/html']);
    const html = String(words!['text/html']);
    expect(html).toMatch(/^<details [^>]*><summary>This picture in words, mark by mark \(8\)<\/summary>/);
    expect(html.match(/<li>/g)).toHaveLength(chart.words.length);
    expect(html).toContain('<li>Behind the knee (popliteal artery): quadratic weighted kappa 0.21 (');
  });

  it('sends a table as HTML, Markdown and text', async () => {
    const messages = startKernel();
    await show(table);
    expect(Object.keys(messages[0]!.data)).toEqual(['text/html', 'text/markdown', 'text/plain']);
  });

  it('sends a result and a text as text, and as HTML whose words stay whole', async () => {
    const messages = startKernel();
    await show(estimateOf('kappa', 0.5, 0.4, 0.6, { targets: 9, clusters: 6 }));
    await show('plain <words>\nand a line');
    const [result, text] = messages.map(({ data }) => data);
    expect(result!['text/plain']).toMatch(/^kappa 0\.50, 95 % interval 0\.40 to 0\.60/);
    expect(text!['text/plain']).toBe('plain <words>\nand a line');
    expect(text!['text/html']).toMatch(
      /^<pre [^>]*white-space:pre-wrap;word-break:normal;[^>]*>plain &lt;words&gt;\nand a line<\/pre>$/,
    );
  });

  it('sends a text in Markdown as such, for front ends to draw', async () => {
    const messages = startKernel();
    await show('# A page', { as: 'markdown' });
    expect(messages.map(({ data }) => data)).toEqual([{ 'text/markdown': '# A page', 'text/plain': '# A page' }]);
    await expect(show('x', { as: 'html' as 'plain' })).rejects.toThrow(/'plain'|plain/);
  });

  it('falls back on the public display with the one form that serves best', async () => {
    const shown = startPublicKernel();
    await show(examples['agreement-by-site']!());
    await show(table);
    expect(shown.map(([mime]) => mime)).toEqual(['image/svg+xml', 'text/html', 'text/html']);
  });

  it('prints text where there is no notebook', async () => {
    const write = vi.spyOn(process.stdout, 'write').mockReturnValue(true);
    await show(table);
    expect(write.mock.calls[0]![0]).toMatch(/^How far do they agree\?\n[\s\S]*Caution: Agreement is not accuracy\.\n$/);
  });
});

describe.runIf(hasChromium)('a picture that a front end draws live', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await startChromium();
  });
  afterAll(() => browser?.close());

  /** The drawn picture's box and how wide the page became, in a window of some width. */
  async function drawnIn(width: number, wordsBeneath: boolean) {
    const messages = startKernel();
    await show(examples['agreement-by-site']!());
    const [picture, words] = messages.map(({ data }) => data);
    const page = await browser.newPage({ viewport: { width, height: 600 } });
    await embedAsFrontEnds(
      page,
      picture!['application/vnd.vegalite.v5+json'] as object,
      wordsBeneath ? String(words!['text/html']) : '',
    );
    const box = (await page.locator('svg.marks').boundingBox())!;
    const pageWidth = await page.evaluate('document.documentElement.scrollWidth');
    const menu = await page.locator('.vega-actions a').allTextContents();
    await page.close();
    return { ...box, pageWidth, menu };
  }

  it('has a menu that saves it and no entry that hands its data to a website', async () => {
    expect((await drawnIn(1400, true)).menu).toEqual(['Save as SVG', 'Save as PNG']);
  });

  it('keeps its own size where there is room', async () => {
    const alone = await drawnIn(1400, false);
    const shown = await drawnIn(1400, true);
    expect([shown.width, shown.height]).toEqual([alone.width, alone.height]);
  });

  it('fits a narrow window with all its proportions', async () => {
    const wide = await drawnIn(1400, true);
    const narrow = await drawnIn(500, true);
    expect(narrow.pageWidth).toBe(500);
    expect(narrow.width).toBeLessThan(500);
    expect(narrow.width).toBeGreaterThan(400);
    expect(narrow.width / narrow.height).toBeCloseTo(wide.width / wide.height, 2);
    expect((await drawnIn(500, false)).pageWidth).toBeGreaterThan(500);
  });
});

describe('runningKernel', () => {
  it('is absent outside of a notebook', () => {
    expect(runningKernel()).toBeUndefined();
  });

  it('can replace an output that it sent', () => {
    const messages = startKernel();
    const kernel = runningKernel()!;
    kernel.write({ 'text/plain': 'half' }, { id: 'progress-1', update: false });
    kernel.write({ 'text/plain': 'all' }, { id: 'progress-1', update: true });
    expect(messages.map(({ transient, update }) => [transient, update])).toEqual([
      [{ display_id: 'progress-1' }, false],
      [{ display_id: 'progress-1' }, true],
    ]);
  });
});
