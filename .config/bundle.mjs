// @ts-check
// Puts the compiled modules of the library together in one file: loading three hundred small ones takes three times
// as long. The files below are the ways in; all code stands in dist/library/, one folder deep as in src, so that an
// address counted from a module leads to the same place. The declarations become one file too: a notebook's first cell
// waits until each has been read. usage: node .config/bundle.mjs COMPILED TARGET
import { join } from 'node:path';
import process from 'node:process';
import { build } from 'rolldown';
import { dts } from 'rolldown-plugin-dts';

const WAYS_IN = [
  'index',
  'command/limb-perfusion',
  // Loaded by worker threads.
  'models/model-bootstrap',
];

const [compiled = '', target = ''] = process.argv.slice(2);
await build({
  input: Object.fromEntries(WAYS_IN.map((name) => [name, join(compiled, `${name}.js`)])),
  platform: 'node',
  external: /^[^./]/,
  logLevel: 'warn',
  output: {
    dir: target,
    entryFileNames: '[name].js',
    chunkFileNames: 'library/[name].js',
    comments: false,
    codeSplitting: { groups: [{ name: 'limb-perfusion', test: /^(?!.*[\\/]command[\\/]limb-perfusion\.js$)/ }] },
  },
});
await build({
  input: join(compiled, 'index.d.ts'),
  external: /^[^./]/,
  logLevel: 'warn',
  plugins: [dts({ dtsInput: true, tsconfig: false })],
  output: { dir: target },
});
