import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { refuse } from '../shared/input-error.js';
import { notebooksIn } from './execute-notebooks.js';

/** A study's folder, or the project itself. */
export interface StudyFolder {
  readonly root: string;
  /** The paths of its notebooks. */
  readonly notebooks: readonly string[];
}

/**
 * The study folder in which a command runs: the nearest at or above that has a package.json and notebooks.
 *
 * @throws InputError `no-study-folder`
 */
export function studyFolderAt(folder: string): StudyFolder {
  const inside = join(folder, 'notebooks');
  if (existsSync(join(folder, 'package.json')) && existsSync(inside)) {
    const notebooks = notebooksIn(inside);
    if (notebooks.length > 0) return { root: folder, notebooks };
  }
  const above = dirname(folder);
  if (above !== folder) return studyFolderAt(above);
  throw refuse(
    'no-study-folder',
    [],
    'This is no study folder: there is no folder "notebooks" with notebooks here or above.',
    'make one with npx limb-perfusion start my-study, then go into it with cd my-study.',
  );
}
