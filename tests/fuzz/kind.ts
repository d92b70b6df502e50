import { writeFileSync, writeSync } from 'node:fs';
import process from 'node:process';
import { Worker } from 'node:worker_threads';
import fc from 'fast-check';
import { InputError } from '../../src/shared/input-error.ts';
import { SECRETS } from './secrets.ts';

/** Inputs of one kind for one target, and what must hold for each of them. `share`: how many of a thousand inputs are of it. */
export interface Kind {
  readonly name: string;
  readonly share: number;
  run(inputs: number, seed: number, each: (milliseconds: number) => void): Promise<void>;
}

export function kind<T>(
  name: string,
  share: number,
  input: fc.Arbitrary<T>,
  check: (input: T) => void | Promise<void>,
): Kind {
  return {
    name,
    share,
    run: (inputs, seed, each) =>
      fc.assert(
        fc.asyncProperty(input, async (one) => {
          const start = process.cpuUsage();
          if (process.env.FUZZ_LAST !== undefined) writeFileSync(process.env.FUZZ_LAST, shown(one));
          watchdog.start();
          try {
            await check(one);
          } finally {
            watchdog.end();
          }
          const used = process.cpuUsage(start);
          const took = (used.user + used.system) / 1000;
          each(took);
          if (took > LIMIT_MILLISECONDS) throw new Error(`One input took ${Math.round(took)} ms.`);
        }),
        { numRuns: inputs, seed, endOnFailure: process.env.FUZZ_SHRINK === undefined },
      ),
  };
}

function shown(input: unknown): string {
  try {
    return fc.stringify(input);
  } catch {
    return 'too deep to be shown';
  }
}

/** Of the processor's time, because other programs run beside the tests. */
const LIMIT_MILLISECONDS = 10_000;
const HANGS_MILLISECONDS = 60_000;
/** What waits, for a pipe or a network, uses no time of the processor. */
const WAITS_MILLISECONDS = 600_000;

/** A loop without end lets no timer run in its own thread: another thread looks on, and ends the process. */
class Watchdog {
  readonly #since = new BigInt64Array(new SharedArrayBuffer(8));
  #worker: Worker | undefined;

  start(): void {
    this.#worker ??= this.#look();
    Atomics.store(this.#since, 0, BigInt(Date.now()));
  }

  end(): void {
    Atomics.store(this.#since, 0, 0n);
  }

  stop(): void {
    void this.#worker?.terminate();
    this.#worker = undefined;
  }

  #look(): Worker {
    const worker = new Worker(
      `const { workerData } = require('node:worker_threads');
      let seen = 0;
      let used = 0;
      setInterval(() => {
        const since = Number(Atomics.load(workerData, 0));
        const { user, system } = process.cpuUsage();
        if (since !== seen) [seen, used] = [since, user + system];
        if (since === 0) return;
        const hangs = user + system - used > ${HANGS_MILLISECONDS}_000 || Date.now() - since > ${WAITS_MILLISECONDS};
        if (!hangs) return;
        require('node:fs').writeSync(2, 'An input hangs: the process is ended. Run again with the same seed and FUZZ_LAST.\\n');
        process.kill(process.pid, 'SIGKILL');
      }, 500);`,
      { eval: true, workerData: this.#since },
    );
    worker.unref();
    return worker;
  }
}

export const watchdog = new Watchdog();

export function say(line: string): void {
  writeSync(1, `${line}\n`);
}

export type Outcome<T> =
  | { readonly value: T; readonly refused?: undefined }
  | { readonly refused: InputError; readonly value?: undefined };

/** How often something was asked of the library, and how often it was not refused. */
export const tally = { asked: 0, accepted: 0 };

/** The result, or the refusal; anything else that is thrown is a crash. No refusal may say a secret. */
export async function outcomeOf<T>(run: () => T | Promise<T>): Promise<Outcome<T>> {
  tally.asked++;
  try {
    const value = await run();
    tally.accepted++;
    return { value };
  } catch (error) {
    if (!(error instanceof InputError)) throw new Error('A crash.', { cause: error });
    if (error.problems.length === 0) throw new Error('A refusal without a problem.');
    for (const { code, message } of error.problems)
      if (code === '' || message === '' || message.length > 20_000) throw new Error(`A bad problem: ${code}.`);
    withoutSecrets(`${error.message}\n${JSON.stringify(error.problems)}`);
    return { refused: error };
  }
}

/** Refuses what says a planted identifier, or the beginning of a code planted as one. */
export function withoutSecrets(said: string): void {
  const lower = said.toLowerCase();
  for (const secret of SECRETS)
    if (lower.includes(secret.toLowerCase()))
      throw new Error(`It says an identifier: ${secret}\n${said.slice(0, 2000)}`);
}

export function same(actual: unknown, expected: unknown, what: string): void {
  const [a, b] = [JSON.stringify(actual), JSON.stringify(expected)];
  if (a !== b) throw new Error(`${what}: ${a?.slice(0, 1500)} instead of ${b?.slice(0, 1500)}`);
}
