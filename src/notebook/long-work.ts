import { htmlText } from '../reports/html-page.js';
import type { LongWorkOptions } from '../shared/options.js';
import { type Kernel, runningKernel } from './kernel.js';

/** Work that goes on while it is watched. `result` also comes after an interrupt, with what was done by then. */
export interface LongWork<T> {
  readonly result: Promise<T>;
  /** Asks the work to stop at its next pause, as an interrupt does. */
  stop(): void;
}

/** Milliseconds between two updates of the line: often enough to see it live, seldom enough to cost nothing. */
const BETWEEN_UPDATES = 250;

let started = 0;

/**
 * Starts work that takes a while, under one line that says how far it is and how long it may still
 * take. Interrupting (the notebook's button, or Ctrl-C on a terminal) stops the work at its next pause and
 * keeps what it has. Start it in one cell and wait for it in the next: an interrupted cell forgets what it
 * declared, so the cell that waits can simply be run again, and then gives the part that is done.
 *
 * @param words what is being done, for the line.
 * @param work the work; it hands the options on to the function that takes them.
 * @example
 * const run = longWork('Agreement study', (options) => agreementStudy(assessments, plan, options));
 * // next cell
 * const study = await run.result;
 */
export function longWork<T>(words: string, work: (options: Required<LongWorkOptions>) => Promise<T>): LongWork<T> {
  const controller = new AbortController();
  const stop = (): void => controller.abort();
  const line = progressLine(words, runningKernel());
  const again = runningKernel() === undefined ? '' : ' Run the cell that waits for it once more to have it.';
  const begun = performance.now();
  let share = 0;
  // Not at once: while a cell's own code runs, the kernel keeps SIGINT for itself, and a listener added
  // then would leave the process without any when the cell is through.
  const listening = setImmediate(() => process.once('SIGINT', stop));
  const result = work({
    signal: controller.signal,
    progress(done, now) {
      share = done;
      line.update(done, now, performance.now() - begun);
    },
  }).then(
    (value) => {
      const seconds = duration((performance.now() - begun) / 1000);
      line.end(
        controller.signal.aborted
          ? `${words}: stopped at ${percent(share)} after ${seconds}; what was done by then is kept.${again}`
          : `${words}: done in ${seconds}.`,
      );
      return value;
    },
    (error: unknown) => {
      line.end(`${words}: ended with an error at ${percent(share)}.`);
      throw error;
    },
  );
  const settled = (): void => {
    clearImmediate(listening);
    process.removeListener('SIGINT', stop);
  };
  result.then(settled, settled);
  return { result, stop };
}

/** One line that replaces itself: in the notebook's output, or on a terminal; nowhere else but at its end. */
function progressLine(words: string, kernel: Kernel | undefined) {
  const id = `limb-perfusion-long-work-${++started}`;
  const terminal = kernel === undefined && process.stderr.isTTY === true;
  let shownAt = Number.NEGATIVE_INFINITY;
  let shown = false;
  const put = (text: string, html: string): void => {
    if (kernel !== undefined) kernel.write({ 'text/html': html, 'text/plain': text }, { id, update: shown });
    else if (terminal) process.stderr.write(`\r\u001b[K${text}`);
    shown = true;
  };
  return {
    update(share: number, now: string, elapsed: number): void {
      if (elapsed - shownAt < BETWEEN_UPDATES) return;
      shownAt = elapsed;
      const left = timeLeft(share, elapsed / 1000);
      const text = `${words}: ${percent(share)}${now === '' ? '' : `, ${now}`}${left === '' ? '' : `; ${left}`}`;
      const bar = `<progress max="1" value="${share.toFixed(3)}" aria-label="${htmlText(words)}"></progress>`;
      put(text, `<div role="status">${bar} ${htmlText(text)}</div>`);
    },
    end(text: string): void {
      put(text, `<div role="status">${htmlText(text)}</div>`);
      if (kernel === undefined) process.stderr.write(terminal ? '\n' : `${text}\n`);
    },
  };
}

/** "about 40 seconds left", once there is something to go by. */
function timeLeft(share: number, seconds: number): string {
  const left = (seconds * (1 - share)) / share;
  return share < 0.03 || seconds < 1 || left < 1 ? '' : `about ${duration(left)} left`;
}

function duration(seconds: number): string {
  if (seconds < 1) return 'under a second';
  if (seconds < 90) return count(Math.round(seconds), 'second');
  if (seconds < 5400) return count(Math.round(seconds / 60), 'minute');
  return count(Math.round(seconds / 3600), 'hour');
}

function count(number: number, word: string): string {
  return `${number} ${word}${number === 1 ? '' : 's'}`;
}

function percent(share: number): string {
  return `${Math.floor(100 * share)} %`;
}
