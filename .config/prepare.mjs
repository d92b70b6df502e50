// @ts-check
// Makes a clean copy of an export, without a network. usage: npm run prepare -- export.xlsx --clean clean.csv --key key.json
// npm runs a script of this name at every install as well; without arguments there is nothing to do.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

const args = process.argv.slice(2);
if (args.length > 0) {
  const command = fileURLToPath(new URL('../dist/command/limb-perfusion.js', import.meta.url));
  // The library must have been built; where it has been, nothing of this needs a connection.
  const build = [fileURLToPath(new URL('set-up.mjs', import.meta.url)), 'build'];
  const steps = [...(existsSync(command) ? [] : [build]), [command, 'prepare', ...args]];
  process.exitCode = steps.reduce(
    (status, step) => status || (spawnSync(process.execPath, step, { stdio: 'inherit' }).status ?? 1),
    0,
  );
}
