import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** The parts of a notebook file (nbformat 4) that the tests read. */
export interface Notebook {
  readonly cells: readonly NotebookCell[];
  readonly metadata: { readonly kernelspec?: { readonly name?: string } };
}

interface NotebookCell {
  readonly cell_type: 'code' | 'markdown' | 'raw';
  readonly source: string | readonly string[];
  readonly outputs?: readonly unknown[];
  readonly execution_count?: number | null;
  readonly metadata: object;
}

const folder = fileURLToPath(new URL('../../notebooks/', import.meta.url));

/** The names of the project's notebooks with the text of each file. */
export function notebookTexts(): readonly (readonly [name: string, text: string])[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.ipynb'))
    .sort()
    .map((name) => [name, readFileSync(`${folder}${name}`, 'utf8')]);
}

/** The code of each code cell, in order. */
export function codeOf(notebook: Notebook): readonly string[] {
  return notebook.cells.filter((cell) => cell.cell_type === 'code').map((cell) => [cell.source].flat().join(''));
}

/** A notebook of the TypeScript kernel. */
export function notebookOf(cells: readonly NotebookCell[]): object {
  return {
    nbformat: 4,
    nbformat_minor: 4,
    metadata: { kernelspec: { name: 'tslab', display_name: 'TypeScript', language: 'typescript' } },
    cells,
  };
}

export function codeCell(source: string): NotebookCell {
  return { cell_type: 'code', execution_count: null, metadata: {}, outputs: [], source };
}
