// @ts-check
// Puts the compiled modules of the library together in one file: loading three hundred small ones takes three times
// as long. The files below are the ways in; all code stands in dist/library/, one folder deep as in src, so that an
// address counted from a module leads to the same place. The declarations become one file too: a notebook's first cell
// waits until each has been read. usage: node .config/bundle.mjs COMPILED TARGET
import { writeFileSync } from 'node:fs';
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
const { output } = await build({
  input: join(compiled, 'index.d.ts'),
  external: /^[^./]/,
  logLevel: 'warn',
  plugins: [dts({ dtsInput: true, tsconfig: false })],
  write: false,
});
const whole = output[0].code;
const ways = whole.lastIndexOf('export {');
// A cell's compiler writes down the type of every variable, so each type must have a place from which it can be named,
// those too that the library does not hand out by name.
const names = [
  ...whole.matchAll(/^(?:declare )?(?:abstract )?(?:interface|type|class|function|const|enum) ([\w$]+)/gm),
];
const types = `${whole.slice(0, ways)}export { ${[...new Set(names.map(([, name]) => name))].join(', ')} };\n`;
writeFileSync(join(target, 'library/types.d.ts'), types);
writeFileSync(
  join(target, 'index.d.ts'),
  `${whole.slice(ways).trimEnd().replace(/;$/, '')} from './library/types.js';\n`,
);
