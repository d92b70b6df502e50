import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { root } from '../../.config/set-up.mjs';
import { executeNotebooks } from '../../src/command/execute-notebooks.ts';
import { findPython } from '../../src/command/find-python.ts';
import { codeCell, notebookOf } from '../support/notebook.ts';
import { available } from '../support/optional.ts';

const python = findPython(root);
const hasJupyter = available('Jupyter', python !== undefined, 'Run npm test once; it installs it or says how.');

// Inside the project, where node_modules/@types holds types of packages that only some tests use.
const place = mkdtempSync(join(root, 'node_modules/.limb-perfusion/kernel-'));
afterAll(() => rmSync(place, { recursive: true }));

describe.runIf(hasJupyter)('the kernel', () => {
  const failureOf = async (name: string, cell: string) => {
    const notebook = join(place, `${name}.ipynb`);
    writeFileSync(notebook, JSON.stringify(notebookOf([codeCell(cell)])));
    const [outcome] = await executeNotebooks([notebook], { root, python: python ?? '', folder: join(place, 'pages') });
    return outcome?.failure;
  };

  it('has the types of a package that a cell imports', async () => {
    const failure = await failureOf(
      'imported',
      "import type { ClientConfig } from 'pg';\nconst wrong: ClientConfig = 5;",
    );
    expect(failure).toContain("Type '5' has no properties in common with type 'ClientConfig'");
  });

  it('has those of Node, which need no import', async () => {
    expect(await failureOf('node', 'const wrong: string = process.pid;')).toContain("Type 'number' is not assignable");
  });

  it('reads no types that nobody asks for', async () => {
    expect(existsSync(join(root, 'node_modules/@types/webgl2'))).toBe(true);
    const failure = await failureOf('others', 'const unknown: WebGLVertexArrayObject | undefined = undefined;');
    expect(failure).toContain("Cannot find name 'WebGLVertexArrayObject'");
  });
});
