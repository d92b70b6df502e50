import { fileURLToPath } from 'node:url';
import { runnerImport } from 'vite';

const source = fileURLToPath(new URL('../../src/', import.meta.url));

/** A module of the library, from its source. */
export async function fromSource(file) {
  return (await runnerImport(`${source}${file}`)).module;
}
