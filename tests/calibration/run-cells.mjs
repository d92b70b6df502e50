import { fork } from 'node:child_process';
import { appendFileSync, existsSync, mkdirSync, readFileSync } from 'node:fs';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

const folder = fileURLToPath(new URL('../../reports/calibration/', import.meta.url));

/**
 * The results of every cell of a part, in the order of the cells, by several processes. Each result is kept in `reports/calibration` as soon as it is
 * there, so that a run that was stopped goes on where it was. How many processes there are changes no digit.
 */
export async function runCells(part, { studies, workers, fresh = false }) {
  const { cells } = await import(`./${part}.mjs`);
  mkdirSync(folder, { recursive: true });
  const record = `${folder}${part}-${studies}.jsonl`;
  const results = new Map();
  if (existsSync(record) && !fresh)
    for (const line of readFileSync(record, 'utf8').split('\n').filter(Boolean)) {
      const { at, result } = JSON.parse(line);
      results.set(at, result);
    }
  const open = cells.map((_, at) => at).filter((at) => !results.has(at));
  const started = performance.now();
  const asked = open.length;
  const work = async () => {
    const child = fork(fileURLToPath(new URL('./worker.mjs', import.meta.url)), [part, String(studies)]);
    await new Promise((resolve, reject) => {
      child.on('error', reject);
      child.on('exit', (code) =>
        code === 0 ? resolve() : reject(new Error(`A process of ${part} ended with ${code}.`)),
      );
      child.on('message', (message) => {
        if (message !== 'ready') {
          results.set(message.at, message.result);
          appendFileSync(record, `${JSON.stringify(message)}\n`);
          const left = cells.length - results.size;
          const each = (performance.now() - started) / (asked - left) / 60_000;
          process.stderr.write(
            `${part}: ${results.size} of ${cells.length}, about ${Math.ceil(each * left)} min left\n`,
          );
        }
        const next = open.shift();
        if (next === undefined) child.disconnect();
        else child.send(next);
      });
    });
  };
  if (open.length > 0) await Promise.all(Array.from({ length: Math.min(workers, open.length) }, work));
  return cells.map((_, at) => results.get(at));
}
