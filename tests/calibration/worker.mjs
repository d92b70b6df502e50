// Runs cells of one part as they are asked for: a process started by `run-cells.mjs`.
import process from 'node:process';

const [part, studies] = process.argv.slice(2);
const { cells, run } = await import(`./${part}.mjs`);
process.on('message', async (/** @type {number} */ at) => {
  process.send({ at, result: await run(cells[at], Number(studies)) });
});
process.send('ready');
