import { join } from 'node:path';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { root } from '../../.config/set-up.mjs';
import { PART_TAGS } from '../../src/command/choose-notebooks.ts';
import { notebooksIn } from '../../src/command/execute-notebooks.ts';
import { type NotebookFile, notebookName, readNotebook } from '../../src/command/notebook-file.ts';

const notebooks = notebooksIn(join(root, 'notebooks')).map((path) => [notebookName(path), readNotebook(path)] as const);
const tagsOf = ({ cells }: NotebookFile) => [...new Set(cells.flatMap(({ metadata }) => metadata.tags ?? []))];

/** Names that no cell gives, once the cells with a tag are gone. Types play no part. */
function namesMissing(notebook: NotebookFile, without: readonly string[]): string[] {
  const code = notebook.cells
    .filter(({ cell_type, metadata }) => cell_type === 'code' && !metadata.tags?.some((tag) => without.includes(tag)))
    .map(({ source }) => source)
    .join('\n;\n');
  const options: ts.CompilerOptions = {
    target: ts.ScriptTarget.ES2022,
    module: ts.ModuleKind.ES2022,
    types: [],
    noResolve: true,
  };
  const host = ts.createCompilerHost(options);
  const file = ts.createSourceFile('cells.ts', `${code}\nexport {};`, ts.ScriptTarget.ES2022, true);
  const program = ts.createProgram(['cells.ts'], options, {
    ...host,
    getSourceFile: (name, version) => (name === 'cells.ts' ? file : host.getSourceFile(name, version)),
  });
  return program
    .getSemanticDiagnostics(file)
    .filter(({ code: kind }) => [2304, 2552, 18004].includes(kind))
    .map(({ messageText }) => ts.flattenDiagnosticMessageText(messageText, ' '))
    .filter((words) => !/'(console|process|setTimeout|structuredClone)'/.test(words));
}

describe.each(notebooks)('%s, without the parts that a file may lack', (_name, notebook) => {
  it('knows every tag', () => {
    expect(tagsOf(notebook).filter((tag) => !(PART_TAGS as readonly string[]).includes(tag))).toEqual([]);
  });

  it.each(
    [[], ...tagsOf(notebook).map((tag) => [tag]), tagsOf(notebook)].map((tags) => [tags.join(' and '), tags] as const),
  )('hangs together without %s', (_words, without) => {
    expect(namesMissing(notebook, without)).toEqual([]);
  });
});

it('a part that others need is seen', () => {
  const cell = (source: string, tags: string[]) => ({ cell_type: 'code' as const, source, metadata: { tags } });
  const notebook = { cells: [cell('const calls = 1;', ['needs-later-visits']), cell('console.log(calls);', [])] };
  expect(namesMissing(notebook, [])).toEqual([]);
  expect(namesMissing(notebook, ['needs-later-visits'])).toEqual(["Cannot find name 'calls'."]);
});
