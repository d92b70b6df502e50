import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary, root } from '../../.config/set-up.mjs';
import { notebooksIn } from '../../src/command/execute-notebooks.ts';
import { hasChromium, startChromium } from '../support/browser.ts';
import { codeCell, notebookOf } from '../support/notebook.ts';
import { pythonWithClassicNotebook, startNotebookServer } from '../support/notebook-server.ts';
import { available } from '../support/optional.ts';
import { type Blocks, blocksOf, isBlank, largestDifference } from '../support/pictures.ts';

const MINUTES = 60_000;
/** Equal to the last pixel (seen) but for letters that stand upright along an axis (5 seen); a missing dot or digit makes 40 and more. */
const MOST_DIFFERENCE = 8;
/** Wide enough for a chart at its own size. */
const VIEWPORT = { width: 1400, height: 1000 };

const python = pythonWithClassicNotebook();
const canRun =
  available('the classic Notebook', python !== undefined, 'On Debian: apt-get install jupyter-notebook.') &&
  hasChromium;

interface Output {
  readonly output_type: string;
  readonly name?: string;
  readonly data?: Readonly<Record<string, string | readonly string[]>>;
}

interface RunCell {
  readonly execution_count: number | null;
  readonly outputs: readonly Output[];
}

/** A long work and the cell that waits for it, as the planning notebook has them. */
const LONG_WORK = [
  `import { longWork } from 'limb-perfusion';
const run = longWork('Counting', async ({ signal, progress }) => {
  let step = 0;
  for (; step < 1200 && !signal.aborted; step++) {
    await new Promise((resolve) => setTimeout(resolve, 50));
    progress(step / 1200, '');
  }
  return step;
});`,
  "const steps = await run.result;\nconsole.log(steps > 0 && steps < 1200 ? 'A part was kept.' : 'Nothing was kept.');",
];

describe.runIf(canRun)('in the classic Notebook', () => {
  const notebooks = notebooksIn(join(root, 'notebooks'));
  const folder = mkdtempSync(join(tmpdir(), 'limb-perfusion-planted-'));
  let server: Awaited<ReturnType<typeof startNotebookServer>>;
  let browser: Browser;

  beforeAll(async () => {
    buildLibrary();
    const planted = join(folder, 'long-work.ipynb');
    writeFileSync(planted, JSON.stringify(notebookOf(LONG_WORK.map(codeCell))));
    server = await startNotebookServer(python ?? '', [...notebooks, planted]);
    browser = await startChromium();
  }, 5 * MINUTES);

  afterAll(async () => {
    await browser?.close();
    await server?.stop();
    rmSync(folder, { recursive: true });
  });

  async function opened(name: string): Promise<Page> {
    const page = await browser.newPage({ viewport: VIEWPORT });
    page.setDefaultTimeout(5 * MINUTES);
    await page.goto(`${server.address}/notebooks/${name}.ipynb`);
    await page.waitForFunction('window.Jupyter?.notebook?.kernel?.is_connected() && Jupyter.notebook._fully_loaded');
    return page;
  }

  async function runAll(page: Page): Promise<void> {
    await page.click('#celllink');
    await page.click('#run_all_cells');
  }

  /** Until every cell has its number and the kernel waits. */
  async function done(page: Page): Promise<void> {
    await page.waitForFunction(
      `Jupyter.notebook.get_cells().every((cell) => cell.cell_type !== 'code' || typeof cell.input_prompt_number === 'number')
       && !Jupyter.notebook.kernel_busy`,
    );
  }

  describe.each(notebooks.map((path) => basename(path, '.ipynb')))('%s', (name) => {
    let page: Page;
    let cells: readonly RunCell[] = [];
    const asked: string[] = [];

    beforeAll(async () => {
      page = await opened(name);
      page.on('request', (request) => asked.push(request.url()));
      await runAll(page);
      await done(page);
      // What the last cell shows can come on its own way after the answer that the cell is done.
      await page.waitForTimeout(2000);
      cells = await page.evaluate("Jupyter.notebook.toJSON().cells.filter((cell) => cell.cell_type === 'code')");
    }, 5 * MINUTES);
    afterAll(() => page?.close());

    it('runs from top to bottom, and says no error', () => {
      expect(cells.map((cell) => cell.execution_count)).toEqual(cells.map((_, at) => at + 1));
      const outputs = cells.flatMap((cell) => cell.outputs);
      expect(outputs.filter((output) => output.output_type === 'error' || output.name === 'stderr')).toEqual([]);
      expect(outputs.length).toBeGreaterThan(5);
    });

    it('shows every output, none of them empty', async () => {
      const areasOf = (): Promise<{ words: string; marks: number; width: number; height: number }[]> =>
        page.$$eval('.code_cell .output_subarea', (all) =>
          all.map((area) => {
            const { width, height } = area.getBoundingClientRect();
            const marks = area.querySelectorAll('.role-mark path, .role-mark line, .role-mark text').length;
            return { words: area.textContent?.trim() ?? '', marks, width, height };
          }),
        );
      // The page may draw an output a moment after the kernel is done with it.
      const isEmpty = ({ words, width, height }: { words: string; width: number; height: number }): boolean =>
        words.length <= 10 || Math.min(width, height) <= 15;
      await expect.poll(async () => (await areasOf()).filter(isEmpty), { timeout: MINUTES / 2 }).toEqual([]);
      const areas = await areasOf();
      expect(areas).toHaveLength(cells.flatMap((cell) => cell.outputs).length);
      const pictures = cells.flatMap((cell) => cell.outputs).filter((output) => output.data?.['image/svg+xml']);
      expect(areas.filter(({ marks }) => marks > 10)).toHaveLength(pictures.length);
    });

    it('shows each picture as it was drawn', async () => {
      const drawn = cells
        .flatMap((cell) => cell.outputs)
        .flatMap((output) => [output.data?.['image/svg+xml'] ?? []].flat().join('') || []);
      const shown = await page.locator('.output_svg svg.marks').all();
      expect(shown).toHaveLength(drawn.length);
      const alone = await browser.newPage({ viewport: VIEWPORT });
      for (const [at, svg] of drawn.entries()) {
        await alone.setContent(`<!doctype html><body style="margin:0">${svg}`);
        await alone.evaluate('document.fonts.ready');
        const picture = await pictureOf(page, shown[at]!);
        expect(isBlank(picture)).toBe(false);
        const difference = largestDifference(picture, await pictureOf(alone, alone.locator('svg').first()));
        expect(difference, `picture ${at + 1}`).toBeLessThanOrEqual(MOST_DIFFERENCE);
      }
      await alone.close();
    });

    it('has the words of each picture under it, open to the keyboard', async () => {
      const words = page.locator('details.limb-perfusion-words');
      expect(await words.count()).toBe(await page.locator('.output_svg svg.marks').count());
      if ((await words.count()) === 0) return;
      const first = words.first();
      await first.locator('summary').focus();
      await page.keyboard.press('Enter');
      await first.locator('li').first().waitFor({ state: 'visible' });
    });

    it('asks nothing of another machine', () => {
      expect(asked.filter((url) => !url.startsWith(server.address) && !/^(data|blob):/.test(url))).toEqual([]);
    });
  });

  it(
    'stops long work at the button of the notebook and keeps what it has',
    async () => {
      const page = await opened('long-work');
      await runAll(page);
      await page.getByText(/Counting: \d+ %; about \d+ seconds left/).waitFor();
      expect(await page.locator('progress').count()).toBe(1);
      await page.click('button[data-jupyter-action="jupyter-notebook:interrupt-kernel"]');
      await page.getByText(/Counting: stopped at \d+ %.* is kept\. Run the cell/).waitFor();
      await page.evaluate('Jupyter.notebook.execute_cells([1])');
      await page.getByText('A part was kept.').waitFor();
      await page.close();
    },
    3 * MINUTES,
  );
});

describe.runIf(hasChromium)('the comparison of pictures', () => {
  it('sees a mark that is missing', async () => {
    const browser = await startChromium();
    const page = await browser.newPage();
    const drawn = async (marks: string): Promise<Blocks> => {
      await page.setContent(`<body style="margin:0"><svg width="400" height="200">${marks}</svg>`);
      return pictureOf(page, page.locator('svg'));
    };
    const dots = '<circle cx="100" cy="100" r="5"/><text x="200" y="100" font-size="13">0.46</text>';
    const whole = await drawn(dots);
    expect(largestDifference(whole, await drawn(dots))).toBe(0);
    expect(largestDifference(whole, await drawn(dots.replace(/<circle[^>]*>/, '')))).toBeGreaterThan(
      4 * MOST_DIFFERENCE,
    );
    expect(largestDifference(whole, await drawn(dots.replace('0.46', '0.4')))).toBeGreaterThan(4 * MOST_DIFFERENCE);
    expect(isBlank(await drawn(''))).toBe(true);
    expect(isBlank(whole)).toBe(false);
    await browser.close();
  });
});

/** What is painted where an element stands, which is at whole pixels whatever its layout says. */
async function pictureOf(page: Page, place: Locator): Promise<Blocks> {
  await place.scrollIntoViewIfNeeded();
  const { x, y, width, height } = (await place.boundingBox())!;
  return blocksOf(await page.screenshot({ clip: { x: Math.round(x), y: Math.round(y), width, height } }));
}
