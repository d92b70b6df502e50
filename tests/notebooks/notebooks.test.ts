import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary, root } from '../../.config/set-up.mjs';
import {
  executeNotebooks,
  type NotebookOutcome,
  notebooksIn,
  outsideReferences,
  resultOf,
} from '../../src/command/execute-notebooks.ts';
import { findPython } from '../../src/command/find-python.ts';
import { madeDemoData, rowsOf } from '../data-demo/demo-data.ts';
import { codeCell, notebookOf } from '../support/notebook.ts';
import { available } from '../support/optional.ts';

const python = findPython(root);
const hasJupyter = available('Jupyter', python !== undefined, 'Run npm test once; it installs it or says how.');
const folder = mkdtempSync(join(tmpdir(), 'limb-perfusion-notebooks-'));
afterAll(() => rmSync(folder, { recursive: true }));

const MINUTES = 60_000;

describe.runIf(hasJupyter)('in the real kernel', () => {
  const notebooks = notebooksIn(join(root, 'notebooks'));
  const pages = join(folder, 'pages');
  const outcomes = new Map<string, NotebookOutcome>();
  let patients: ReadonlySet<string> = new Set();

  beforeAll(async () => {
    buildLibrary();
    patients = patientCodes();
    const done = await executeNotebooks(notebooks, { root, python: python ?? '', folder: pages });
    for (const outcome of done) outcomes.set(outcome.name, outcome);
  }, 20 * MINUTES);

  it('there are notebooks', () => {
    expect(notebooks.length).toBeGreaterThan(0);
  });

  describe.each(notebooks.map((path) => basename(path, '.ipynb')))('%s', (name) => {
    it('runs from top to bottom', () => {
      expect(outcomes.get(name)?.failure).toBeUndefined();
    });

    it('says its result in one line', () => {
      expect(outcomes.get(name)?.result).toMatch(/\.$/);
    });

    it('gives a page that needs nothing outside itself and holds no two things by one name', () => {
      const html = readFileSync(join(pages, `${name}.html`), 'utf8');
      expect(outsideReferences(html)).toEqual([]);
      expect(repeatedIds(html)).toEqual([]);
    });

    it('draws aggregates: no code of a patient is in the data of a picture', () => {
      const specs = picturesOf(JSON.parse(readFileSync(join(pages, `${name}.ipynb`), 'utf8')));
      const found = specs.flatMap(wordsOf).filter((word) => patients.has(word));
      expect(found.length, `${found.length} codes`).toBe(0);
    });

    it('writes no error and no warning beside its results', () => {
      const executed = JSON.parse(readFileSync(join(pages, `${name}.ipynb`), 'utf8'));
      const errors = executed.cells.flatMap((cell: { outputs?: { name?: string; text?: string }[] }) =>
        (cell.outputs ?? []).filter((output) => output.name === 'stderr').map((output) => output.text),
      );
      expect(errors).toEqual([]);
    });
  });
});

describe.runIf(hasJupyter)('a planted notebook', () => {
  const planted = {
    'shows a picture': [
      "import { display } from 'tslab';",
      `display.raw('image/svg+xml', '<svg viewBox="0 0 9 9"><path d="M0,0L9,9"></path></svg>');`,
    ],
    throws: ["console.log('Result: never read.');", "throw new Error('the planted error');"],
    'does not type-check': ["const grade: number = 'two';"],
    'forgets to await': ["(async () => { throw new Error('the planted late error'); })();"],
    'links outside': ["import { display } from 'tslab';", 'display.html(\'<img src="https://example.org/x.png">\');'],
  };
  const outcomes = new Map<string, NotebookOutcome>();

  beforeAll(async () => {
    const sources = join(folder, 'planted');
    mkdirSync(sources);
    const paths = Object.entries(planted).map(([name, cells]) => {
      const path = join(sources, `${name}.ipynb`);
      writeFileSync(path, JSON.stringify(notebookOf(cells.map(codeCell))));
      return path;
    });
    const options = { root, python: python ?? '', folder: join(folder, 'planted-pages') };
    for (const outcome of await executeNotebooks(paths, options)) {
      outcomes.set(outcome.name, outcome);
    }
  }, 5 * MINUTES);

  it('keeps what a picture draws', () => {
    const { page = '' } = outcomes.get('shows a picture') ?? {};
    expect(readFileSync(page, 'utf8')).toContain('<path d="M0,0L9,9">');
  });

  it('that throws names the cell and its error', () => {
    expect(outcomes.get('throws')?.failure).toMatch(/^Cell 2 failed:.*the planted error/s);
  });

  it('that does not type-check names the type error', () => {
    expect(outcomes.get('does not type-check')?.failure).toMatch(/^Cell 1 failed:.*not assignable to type 'number'/s);
  });

  it('that forgets to await names the error', () => {
    expect(outcomes.get('forgets to await')?.failure).toContain('the planted late error');
  });

  it('that hangs is stopped after the time a cell may take, and the cell is named', async () => {
    const path = join(folder, 'planted', 'hangs.ipynb');
    const cells = ['const before = 1;', 'await new Promise((resolve) => setTimeout(resolve, 10 * 60_000));'];
    writeFileSync(path, JSON.stringify(notebookOf(cells.map(codeCell))));
    const options = { root, python: python ?? '', folder: join(folder, 'planted-pages'), secondsPerCell: 3 };
    const [outcome] = await executeNotebooks([path], options);
    expect(outcome?.failure).toMatch(
      /^Cell 2 gave no answer within 3 seconds and was stopped:\nawait new Promise[\s\S]*60_000\)\);$/,
    );
    expect(outcome?.seconds).toBeLessThan(120);
  });

  it('that ends the kernel is named too', async () => {
    const path = join(folder, 'planted', 'ends.ipynb');
    writeFileSync(path, JSON.stringify(notebookOf([codeCell('process.exit(3);')])));
    const options = { root, python: python ?? '', folder: join(folder, 'planted-pages') };
    const [outcome] = await executeNotebooks([path], options);
    expect(outcome?.failure).toMatch(/^Cell 1 ended the kernel:\nprocess\.exit\(3\);/);
  });

  it('that links outside names the address', () => {
    expect(outcomes.get('links outside')?.failure).toContain('https://example.org/x.png');
  });
});

describe('the codes of patients', () => {
  it('are known, and found in a picture that names one', () => {
    const patients = patientCodes();
    expect(patients.size).toBeGreaterThan(200);
    const found = wordsOf({ data: { values: [{ words: 'P07, left leg: 2.' }] } }).filter((word) => patients.has(word));
    expect(found).toEqual(['P07']);
  });
});

describe('the addresses that leave a page', () => {
  it.each([
    ['<script src="https://example.org/x.js"></script>', 'https://example.org/x.js'],
    ["<img alt='a > b' src='picture.png'>", 'picture.png'],
    ['<link rel=stylesheet href=//example.org/x.css>', '//example.org/x.css'],
    ['<use xlink:href="other.svg#part"/>', 'other.svg#part'],
    ['<a href="file:///x">x</a>', 'file:///x'],
    ['<style>@import "x.css";</style>', 'x.css'],
    ['<p style="background: url(x.png)">', 'x.png'],
  ])('are found in %s', (html, address) => {
    expect(outsideReferences(html)).toEqual([address]);
  });

  it('are none where data stand in place or a link stays within the page', () => {
    const html = '<a href="#top">x</a><img src="data:image/png;base64,AA"><g clip-path="url(#clip1)"></g>';
    expect(outsideReferences(html)).toEqual([]);
  });
});

describe('the result line of a notebook', () => {
  it('is the last line of output that starts with "Result:"', () => {
    const cells = [
      { outputs: [{ text: ['Result: the first.\n', 'more\n'] }] },
      { outputs: [{ data: { 'text/plain': 'Result: the second.' } }, { text: 'No Result: here' }] },
      {},
    ];
    expect(resultOf({ cells })).toBe('the second.');
  });

  it('is missing where there is none', () => {
    expect(resultOf({ cells: [{ outputs: [{ text: 'kappa 0.7' }] }] })).toBeUndefined();
  });
});

/** The Vega-Lite specifications among the outputs of an executed notebook. */
function picturesOf(notebook: { cells: { outputs?: { data?: Record<string, unknown> }[] }[] }): unknown[] {
  return notebook.cells
    .flatMap((cell) => cell.outputs ?? [])
    .flatMap((output) => output.data?.['application/vnd.vegalite.v5+json'] ?? []);
}

/** Every word in every text of a picture. */
function wordsOf(spec: unknown): string[] {
  return JSON.stringify(spec).match(/[\p{L}\p{N}]+/gu) ?? [];
}

/** The codes in the column `patient` of the demo files of patients. Volunteers of a class are none: the class speaks about their limbs. */
function patientCodes(): ReadonlySet<string> {
  const files = madeDemoData();
  return new Set(
    ['agreement-study.csv', 'serial-limbs.csv', 'unit-edema.csv'].flatMap((name) =>
      rowsOf(files, name).flatMap(({ patient }) => patient || []),
    ),
  );
}

/** Names that occur twice: a picture that refers to one would take the part of another picture. */
function repeatedIds(html: string): string[] {
  const ids = [...html.matchAll(/<[^>]*\sid="([^"]+)"/g)].map((match) => match[1] ?? '');
  return ids.filter((id, index) => ids.indexOf(id) !== index);
}
