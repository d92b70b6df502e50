import { spawn } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import process from 'node:process';
import { pathToFileURL } from 'node:url';
import { refuse } from '../shared/input-error.js';
import { writeFileSafely } from '../shared/write-file-safely.js';

/** Names under which the browser is looked for on the PATH. */
const NAMES = ['chromium', 'chromium-browser'];
const WINDOWS = process.platform === 'win32';

/**
 * Prints a page to PDF with Chromium, where the machine has it: A4, as the page's own style for paper says. Nothing is fetched.
 *
 * Chromium is looked for at `LIMB_PERFUSION_CHROMIUM` (a path), then on the PATH. A PDF holds the time at which it was made; the page itself does not.
 *
 * @param page path of the HTML file. @param file path of the PDF; a file that is there is replaced at once, never in part.
 * @throws InputError `no-chromium`, `not-printed`, `file-not-written`.
 * @example await printPdf('my-report/report.html', 'my-report/report.pdf')
 */
export async function printPdf(page: string, file: string): Promise<void> {
  const browser = findChromium();
  if (browser === undefined)
    throw refuse(
      'no-chromium',
      [],
      'There is no Chromium on this machine, so no PDF was written; the page itself is there.',
      'open the page in any browser and print it to PDF, or give the path of Chromium in LIMB_PERFUSION_CHROMIUM.',
    );
  const profile = await mkdtemp(join(tmpdir(), 'limb-perfusion-print-'));
  // Printed aside: what stood there before must not pass for what Chromium did not write.
  const printed = join(profile, 'page.pdf');
  try {
    const { code, words } = await run(browser, [
      ...CHROMIUM_OPTIONS,
      `--user-data-dir=${profile}`,
      '--no-pdf-header-footer',
      `--print-to-pdf=${printed}`,
      pathToFileURL(resolve(page)).href,
    ]);
    const pdf = await readFile(printed).catch(() => undefined);
    if (code !== 0 || pdf === undefined || pdf.length === 0)
      throw refuse(
        'not-printed',
        ['file'],
        `Chromium wrote no PDF (it ended with ${code}). ${words
          .split('\n')
          .filter((line) => /error/i.test(line))
          .slice(0, 3)
          .join(' ')}`.trim(),
      );
    await writeFileSafely(file, pdf);
  } finally {
    await rm(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 });
  }
}

/** Where Chromium is, or `undefined`. */
export function findChromium(): string | undefined {
  const named = process.env.LIMB_PERFUSION_CHROMIUM;
  const folders = (process.env.PATH ?? '').split(delimiter).filter((folder) => folder !== '');
  const places = folders.flatMap((folder) => NAMES.map((name) => join(folder, WINDOWS ? `${name}.exe` : name)));
  return [...(named === undefined ? [] : [named]), ...places].find(isProgram);
}

/** Quiet, without a window, and asking nothing of any network. Its sandbox cannot start as root. */
export const CHROMIUM_OPTIONS: readonly string[] = [
  '--headless',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
];

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

function run(
  program: string,
  options: readonly string[],
): Promise<{ readonly code: number | null; readonly words: string }> {
  return new Promise((done, fail) => {
    const child = spawn(program, options, { stdio: ['ignore', 'ignore', 'pipe'] });
    let words = '';
    child.stderr.setEncoding('utf8').on('data', (part: string) => {
      words += part;
    });
    child.on('error', fail);
    child.on('close', (code) => done({ code, words }));
  });
}
