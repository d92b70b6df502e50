// @ts-check
// Starts the notebook kernel so that it is ready sooner. Jupyter runs: node start-kernel.mjs TSLAB kernel …
// (TSLAB: the folder of the package tslab, whose own command line follows).
import { createRequire } from 'node:module';
import { join } from 'node:path';
import process from 'node:process';

const [kernel = ''] = process.argv.splice(2, 1);
const load = createRequire(join(kernel, 'package.json'));
const { sys } = load('@tslab/typescript-for-tslab');
const { getDirectories } = sys;
// The kernel's compiler reads every package of types in node_modules/@types, imported or not, before the first cell.
// Only Node's hold names that need no import; the types of a package that a cell imports are found all the same.
sys.getDirectories = (/** @type {string} */ path) => {
  /** @type {string[]} */
  const folders = getDirectories(path);
  return /[\\/]@types[\\/]?$/.test(path) ? folders.filter((name) => name === 'node') : folders;
};
load('./dist/main.js').main();
