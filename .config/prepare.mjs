// @ts-check
// Makes a clean copy of an export, without a network. usage: npm run prepare -- export.xlsx --clean clean.csv --key key.json
// npm runs a script of this name at every install as well; without arguments there is nothing to do.
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import process, { stdin, stdout } from 'node:process';
import { createInterface } from 'node:readline/promises';
import { fileURLToPath } from 'node:url';

const args = process.argv.slice(2);
if (args.length > 0) {
  // The library must have been built; where it has been, nothing of this needs a connection.
  if (!existsSync(new URL('../dist/index.js', import.meta.url)))
    execFileSync(process.execPath, [fileURLToPath(new URL('set-up.mjs', import.meta.url)), 'build'], {
      stdio: 'inherit',
    });
  const { prepareCommand } = await import('../dist/index.js');
  const terminal = stdin.isTTY ? createInterface({ input: stdin, output: stdout }) : undefined;
  try {
    await prepareCommand(args, {
      print: (line) => stdout.write(`${line}\n`),
      ...(terminal === undefined ? {} : { ask: (question) => terminal.question(question) }),
    });
  } catch (error) {
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
    process.exitCode = 1;
  } finally {
    terminal?.close();
  }
}
