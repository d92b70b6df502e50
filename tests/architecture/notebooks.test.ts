import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { codeOf, type Notebook, notebookTexts } from '../support/notebook.ts';

/**
 * Every use of `show` that is not `await show(…)` itself. A call that is not awaited prints into a later cell and
 * its error reaches nobody; a `show` passed on under another name could not be followed.
 */
function unawaitedShows(code: string): string[] {
  // Read as a module, where `await` is a word of the language as it is in a cell.
  const file = ts.createSourceFile('cell.ts', `${code}\nexport {};`, ts.ScriptTarget.Latest, true);
  const found: string[] = [];
  const visit = (node: ts.Node): void => {
    if (ts.isIdentifier(node) && node.text === 'show' && !isHarmless(node)) {
      found.push(code.split('\n')[file.getLineAndCharacterOfPosition(node.getStart(file)).line]?.trim() ?? '');
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return found;
}

function isHarmless(name: ts.Identifier): boolean {
  if (ts.isImportSpecifier(name.parent)) return name.parent.name.text === 'show';
  const callee = ts.isPropertyAccessExpression(name.parent) && name.parent.name === name ? name.parent : name;
  return ts.isCallExpression(callee.parent) && callee.parent.expression === callee && isAwaited(callee.parent);
}

function isAwaited(node: ts.Node): boolean {
  return ts.isParenthesizedExpression(node.parent) ? isAwaited(node.parent) : ts.isAwaitExpression(node.parent);
}

/** Folders of one machine: Unix and Windows homes, temporary and mounted places. */
const MACHINE_PATH =
  /(?:^|[\s"'`(=:])(?:file:\/\/)?\/(?:home|root|tmp|work|mnt|media|opt|srv|var|usr|Users|private|Volumes)\/|\b[A-Za-z]:\\+\w/m;

/** How much output a stored notebook may hold in all: a page of text, but no picture. */
const LARGEST_OUTPUT = 20_000;

const notebooks = notebookTexts();

describe('the notebooks', () => {
  it('are there', () => {
    expect(notebooks.length).toBeGreaterThan(0);
  });

  describe.each(notebooks)('%s', (_name, text) => {
    const notebook: Notebook = JSON.parse(text);

    it('awaits every show', () => {
      expect(codeOf(notebook).flatMap(unawaitedShows)).toEqual([]);
    });

    it('names no place of one machine', () => {
      expect(MACHINE_PATH.exec(text)).toBeNull();
    });

    it('is stored with small outputs or none', () => {
      expect(JSON.stringify(notebook.cells.flatMap((cell) => cell.outputs ?? [])).length).toBeLessThan(LARGEST_OUTPUT);
    });

    it('asks for the TypeScript kernel by the name set-up gives it', () => {
      expect(notebook.metadata.kernelspec?.name).toBe('tslab');
    });
  });
});

describe('what the checks of notebooks catch', () => {
  it.each([
    ['a bare call', 'show(table);'],
    ['a call set aside', 'void show(table);'],
    ['a promise kept', 'const shown = show(table);'],
    ['a call in a loop', 'for (const chart of charts) show(chart);'],
    ['a call in a callback', 'charts.forEach((chart) => show(chart));'],
    ['a call through a namespace', 'library.show(table);'],
    ['a call with then', 'await show(table).then(() => show(chart));'],
    ['several at once', 'await Promise.all([show(table)]);'],
    ['another name by import', "import { show as print } from 'limb-perfusion';"],
    ['another name by assignment', 'const print = show;'],
    ['the function passed on', 'charts.map(show);'],
    ['an awaited argument', 'show(await study.table);'],
    ['a call inside a string template', 'const text = `$' + '{show(table)}`;'],
  ])('%s', (_what, code) => {
    expect(unawaitedShows(code)).not.toEqual([]);
  });

  it.each([
    ['an awaited call', 'await show(table);'],
    ['an awaited call in a loop', 'for (const chart of charts) await show(chart);'],
    ['an awaited call through a namespace', 'await library.show(table);'],
    ['an awaited call in parentheses', 'await (show(table));'],
    ['the import', "import { loadAssessments, show } from 'limb-perfusion';"],
    ['words', "// show(table)\nconst text = 'show(table)';"],
  ])('not %s', (_what, code) => {
    expect(unawaitedShows(code)).toEqual([]);
  });

  it.each([
    `"const file = '${['', 'home', 'someone', 'data.csv'].join('/')}'"`,
    `"${['C:', 'Users', 'someone', 'data.csv'].join('\\\\')}"`,
    `"file://${['', 'Users', 'someone', 'x'].join('/')}"`,
    `    at ${['', 'root', 'project', 'x.js'].join('/')}`,
  ])('the machine path in %s', (text) => {
    expect(MACHINE_PATH.test(text)).toBe(true);
  });

  it.each([
    '"../data-demo/generated/unit-edema.csv"',
    '"pulse.0-4/normal2"',
    '"2/4 and/or 3"',
    '"doi.org/10.1002/sim/x"',
  ])('no machine path in %s', (text) => {
    expect(MACHINE_PATH.test(text)).toBe(false);
  });
});
