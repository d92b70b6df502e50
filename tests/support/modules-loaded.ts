import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** Tells, in a process of its own, the address of every module that Node loads for an ES module import. */
const hook = `
import { writeSync } from 'node:fs';
export async function load(url, context, nextLoad) {
  writeSync(1, url + '\\n');
  return nextLoad(url, context);
}`;
const register = `
import { createRequire, register } from 'node:module';
register(${JSON.stringify(asDataUrl(hook))});
process.on('exit', () => {
  for (const path of Object.keys(createRequire('file:///').cache)) console.log(path);
});`;

/** The packages of node_modules whose code runs when `code` runs in a fresh Node, by import or by require. */
export function packagesLoadedBy(code: string): readonly string[] {
  const output = execFileSync(process.execPath, ['--import', asDataUrl(register), '--input-type=module', '-e', code], {
    cwd: root,
    encoding: 'utf8',
  });
  const names = output
    .split('\n')
    .map((line) => /.*[\\/]node_modules[\\/]((?:@[^\\/]+[\\/])?[^\\/]+)/.exec(line)?.[1])
    .filter((name) => name !== undefined);
  return [...new Set(names)].map((name) => name.replace('\\', '/')).sort();
}

function asDataUrl(code: string): string {
  return `data:text/javascript,${encodeURIComponent(code)}`;
}
