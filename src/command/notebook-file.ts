import { readFileSync } from 'node:fs';
import { basename } from 'node:path';

/** The parts of a notebook file (nbformat 4) that are read and changed here; the rest is kept as it is. */
export interface NotebookFile {
  readonly cells: readonly NotebookCell[];
}

export interface NotebookCell {
  readonly cell_type: 'code' | 'markdown' | 'raw';
  readonly source: string;
  readonly metadata: { readonly tags?: readonly string[] };
}

/** A notebook from its file, the text of each cell in one piece. */
export function readNotebook(path: string): NotebookFile {
  const notebook = JSON.parse(readFileSync(path, 'utf8')) as NotebookFile;
  return {
    ...notebook,
    cells: notebook.cells.map((cell) => ({ ...cell, source: [cell.source].flat().join('') })),
  };
}

/** The text of a notebook's file, as Jupyter writes it. */
export function notebookText(notebook: NotebookFile): string {
  const cells = notebook.cells.map((cell) => ({ ...cell, source: cell.source.split(/(?<=\n)/) }));
  return `${JSON.stringify({ ...notebook, cells }, null, 1)}\n`;
}

/** What a notebook is called: its file's name without the ending. */
export function notebookName(path: string): string {
  return basename(path, '.ipynb');
}
