// @ts-check
// Which functions a piece of work spends its time in.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

/** @typedef {{ name: string, seconds: number, functions: { name: string, file: string, share: number }[] }} Profile */

/** The ten functions with the most time of their own, and their shares. @param {import('./works.mjs').Work} work @returns {Promise<Profile>} */
export async function profileOf(work) {
  const folder = mkdtempSync(join(tmpdir(), 'profile-'));
  try {
    await work.write?.(folder);
    const { piece = '', settings = {} } = work.ours[0] ?? {};
    const ours = fileURLToPath(new URL('ours.mjs', import.meta.url));
    const args = [
      '--cpu-prof',
      `--cpu-prof-dir=${join(folder, 'profile')}`,
      ours,
      piece,
      folder,
      JSON.stringify(settings),
    ];
    const done = spawnSync(process.execPath, args, { encoding: 'utf8' });
    if (done.status !== 0) throw new Error(done.stderr);
    const [file = ''] = readdirSync(join(folder, 'profile'));
    return { name: work.name, ...summary(JSON.parse(readFileSync(join(folder, 'profile', file), 'utf8'))) };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/**
 * @param {{ nodes: { id: number, callFrame: { functionName: string, url: string, lineNumber: number } }[], samples: number[], timeDeltas: number[] }} recorded
 */
function summary({ nodes, samples, timeDeltas }) {
  const frames = new Map(nodes.map(({ id, callFrame }) => [id, callFrame]));
  /** @type {Map<string, { name: string, file: string, time: number }>} */
  const own = new Map();
  let all = 0;
  samples.forEach((id, at) => {
    const { functionName = '', url = '', lineNumber = 0 } = frames.get(id) ?? {};
    if (functionName === '(idle)') return;
    const time = timeDeltas[at] ?? 0;
    all += time;
    const key = `${functionName} ${url} ${lineNumber}`;
    const known = own.get(key);
    const file = url === '' ? 'Node' : `${basename(url)}:${lineNumber + 1}`;
    if (known === undefined) own.set(key, { name: functionName || '(nameless)', file, time });
    else known.time += time;
  });
  const functions = [...own.values()].sort((a, b) => b.time - a.time).slice(0, 10);
  return {
    seconds: all / 1e6,
    functions: functions.map(({ name, file, time }) => ({ name, file, share: time / all })),
  };
}
