import { createRequire } from 'node:module';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { longWork } from '../../src/notebook/long-work.ts';
import type { LongWorkOptions } from '../../src/shared/options.ts';

const { cache } = createRequire(import.meta.url);
const kernelPath = '/somewhere/node_modules/tslab/dist/jupyter.js';
const globals = globalThis as { __tslab__?: unknown };
let lines: { text: string; html: string; id: string; update: boolean }[] = [];

beforeEach(() => {
  lines = [];
  globals.__tslab__ = {};
  cache[kernelPath] = {
    exports: {
      lastWriteDisplayData: (
        content: { data: Record<string, string>; transient: { display_id: string } },
        update: boolean,
      ) =>
        lines.push({
          text: content.data['text/plain']!,
          html: content.data['text/html']!,
          id: content.transient.display_id,
          update,
        }),
    },
  } as unknown as NodeJS.Module;
  vi.useFakeTimers({ toFake: ['performance', 'setTimeout'] });
});

afterEach(() => {
  vi.useRealTimers();
  vi.restoreAllMocks();
  delete globals.__tslab__;
  delete cache[kernelPath];
});

/** Ten steps of a second each; stops at a pause when asked to and gives how many it did. */
async function tenSteps({ signal, progress }: LongWorkOptions): Promise<number> {
  for (let step = 1; step <= 10; step++) {
    await new Promise((resolve) => setTimeout(resolve, 1000));
    progress?.(step / 10, `step ${step}`);
    if (signal?.aborted === true) return step;
  }
  return 10;
}

describe('longWork', () => {
  it('keeps one line that says how far it is and how long it may take', async () => {
    const run = longWork('Study', tenSteps);
    await vi.advanceTimersByTimeAsync(4000);
    expect(lines.map((line) => line.text)).toEqual([
      'Study: 10 %, step 1; about 9 seconds left',
      'Study: 20 %, step 2; about 8 seconds left',
      'Study: 30 %, step 3; about 7 seconds left',
      'Study: 40 %, step 4; about 6 seconds left',
    ]);
    expect(new Set(lines.map((line) => line.id)).size).toBe(1);
    expect(lines.map((line) => line.update)).toEqual([false, true, true, true]);
    expect(lines[3]!.html).toContain('<progress max="1" value="0.400" aria-label="Study">');
    await vi.advanceTimersByTimeAsync(6000);
    expect(await run.result).toBe(10);
    expect(lines.at(-1)!.text).toBe('Study: done in 10 seconds.');
  });

  it('keeps what it has when the notebook is interrupted', async () => {
    const others = process.listenerCount('SIGINT');
    const run = longWork('Study', tenSteps);
    // A cell's own code must be through before the listener is added; see the note in the source.
    expect(process.listenerCount('SIGINT')).toBe(others);
    await new Promise((resolve) => setImmediate(resolve));
    expect(process.listenerCount('SIGINT')).toBe(others + 1);
    await vi.advanceTimersByTimeAsync(3500);
    const listener = process.listeners('SIGINT').at(-1)!;
    process.removeListener('SIGINT', listener);
    listener('SIGINT');
    await vi.advanceTimersByTimeAsync(1000);
    expect(await run.result).toBe(4);
    expect(lines.at(-1)!.text).toBe(
      'Study: stopped at 40 % after 4 seconds; what was done by then is kept. Run the cell that waits for it once more to have it.',
    );
    expect(process.listenerCount('SIGINT')).toBe(others);
  });

  it('can be stopped by a call', async () => {
    const run = longWork('Study', tenSteps);
    run.stop();
    await vi.advanceTimersByTimeAsync(1000);
    expect(await run.result).toBe(1);
  });

  it('passes an error on and lets go of the interrupt', async () => {
    const others = process.listenerCount('SIGINT');
    const run = longWork('Study', () => Promise.reject(new Error('no data')));
    await expect(run.result).rejects.toThrow('no data');
    expect(lines.at(-1)!.text).toBe('Study: ended with an error at 0 %.');
    expect(process.listenerCount('SIGINT')).toBe(others);
  });

  it('does not flood the notebook', async () => {
    const run = longWork('Study', async ({ progress }) => {
      for (let at = 0; at < 1000; at++) progress(at / 1000, '');
    });
    await run.result;
    expect(lines.length).toBeLessThanOrEqual(2);
  });
});
