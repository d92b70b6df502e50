import { spawn } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MARK_KEYS } from '../charts/mark-keys.js';
import { kernelEnvironment } from './kernel-environment.js';
import { notebookName } from './notebook-file.js';
import { packageVersion } from './package-files.js';

/** What became of one notebook. */
export interface NotebookOutcome {
  /** The file's name without its ending. */
  readonly name: string;
  readonly seconds: number;
  /** The failing cell and its error. */
  readonly failure?: string;
  /** The sentence after "Result:" in its output. */
  readonly result?: string;
  /** The HTML file. */
  readonly page?: string;
}

export interface ExecutionOptions {
  /** The folder whose packages hold the kernel and the library. */
  readonly root: string;
  readonly python: string;
  /** Where the executed copy and the page of each notebook go. */
  readonly folder: string;
  /** How long a cell may take, in seconds. Default 600. */
  readonly secondsPerCell?: number;
  /** Told as each one ends. */
  readonly finished?: (outcome: NotebookOutcome) => void;
}

const SCRIPT = fileURLToPath(new URL('../command/execute_notebook.py', import.meta.url));
const STYLE = new URL('../command/report.css', import.meta.url);
const KERNEL_DID_NOT_START = 2;

/** How long a cell may take where nothing else is said, in seconds: many times what those of the project take. */
export const SECONDS_PER_CELL = 600;

/** The paths of a folder's notebooks, in the order of their names. */
export function notebooksIn(folder: string): string[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.ipynb'))
    .sort()
    .map((name) => join(folder, name));
}

/**
 * Executes notebooks in the TypeScript kernel, two at a time, each with its own folder as working directory, and turns
 * each into one HTML file that needs nothing outside itself. The notebooks themselves stay as they are.
 *
 * @returns what became of each, in the order of `notebooks`
 */
export async function executeNotebooks(
  notebooks: readonly string[],
  options: ExecutionOptions,
): Promise<NotebookOutcome[]> {
  mkdirSync(options.folder, { recursive: true });
  const outcomes: NotebookOutcome[] = [];
  const waiting = notebooks.entries();
  const workThrough = async () => {
    for (const [index, notebook] of waiting) {
      const outcome = await executeNotebook(notebook, options);
      outcomes[index] = outcome;
      options.finished?.(outcome);
    }
  };
  await Promise.all([workThrough(), workThrough()]);
  return outcomes;
}

async function executeNotebook(notebook: string, options: ExecutionOptions): Promise<NotebookOutcome> {
  const { folder } = options;
  const name = notebookName(notebook);
  const start = performance.now();
  let { code, errors } = await runPython(notebook, options);
  // Ports are chosen before the kernel takes them; when another program was quicker the kernel does not start.
  if (code === KERNEL_DID_NOT_START) ({ code, errors } = await runPython(notebook, options));
  const seconds = (performance.now() - start) / 1000;
  if (code !== 0) return { name, seconds, failure: errors.trim() };

  const bodyFile = join(folder, `${name}.body.html`);
  const page = join(folder, `${name}.html`);
  const html = pageOf(name, readFileSync(bodyFile, 'utf8'));
  rmSync(bodyFile);
  writeFileSync(page, html);
  const outside = outsideReferences(html);
  if (outside.length > 0) return { name, seconds, failure: `The page needs ${outside.join(', ')}, outside itself.` };
  const result = resultOf(JSON.parse(readFileSync(join(folder, `${name}.ipynb`), 'utf8')));
  return { name, seconds, page, ...(result === undefined ? {} : { result }) };
}

function runPython(
  notebook: string,
  { root, python, folder, secondsPerCell = SECONDS_PER_CELL }: ExecutionOptions,
): Promise<{ code: number | null; errors: string }> {
  return new Promise((resolve) => {
    const child = spawn(python, [SCRIPT, notebook, folder, String(secondsPerCell)], {
      env: kernelEnvironment(root),
      stdio: ['ignore', 'ignore', 'pipe'],
      windowsHide: true,
    });
    let errors = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      errors += text;
    });
    child.on('error', (error) => resolve({ code: 1, errors: error.message }));
    child.on('close', (code) => resolve({ code, errors }));
  });
}

/** The parts of an executed notebook that its summary is read from. */
interface ExecutedNotebook {
  readonly cells: readonly {
    readonly outputs?: readonly {
      readonly text?: string | readonly string[];
      readonly data?: Readonly<Record<string, string | readonly string[]>>;
    }[];
  }[];
}

/** The notebook's own one-line summary: the last line of its output that starts with "Result:". */
export function resultOf(notebook: ExecutedNotebook): string | undefined {
  const texts = notebook.cells
    .flatMap((cell) => cell.outputs ?? [])
    .map((output) => [output.text ?? output.data?.['text/plain'] ?? ''].flat().join(''));
  return texts
    .flatMap((text) => text.split('\n'))
    .map((line) => /^Result: *(.+)$/.exec(line)?.[1])
    .filter((sentence) => sentence !== undefined)
    .at(-1);
}

/** Every address in a page that leads out of it: anything but data in place and places within the page. */
export function outsideReferences(html: string): string[] {
  const attributes =
    /\s(?:src|srcset|href|xlink:href|action|formaction|poster|data)\s*=\s*(?:"([^"]*)"|'([^']*)'|([^\s"'>]+))/gi;
  const styles = /url\(\s*["']?([^"')]+)|@import\s+["']?([^"';)]+)/gi;
  return [...html.matchAll(attributes), ...html.matchAll(styles)]
    .map((match) => match.slice(1).find((part) => part !== undefined) ?? '')
    .filter((address) => !/^(#|data:|$)/.test(address.trim()));
}

/**
 * A whole page around the body that Jupyter's exporter gives. A link to another place becomes its address in
 * words, which also reads on paper.
 */
function pageOf(name: string, body: string): string {
  const html = body.replace(/<a\b[^>]*\shref="(?!#)([^"]*)"[^>]*>([\s\S]*?)<\/a>/g, (_link, address, text) =>
    text.includes(address) ? text : `${text} (${address})`,
  );
  const title = /<h1[^>]*>([\s\S]*?)<a class="anchor-link"/.exec(html)?.[1]?.replace(/<[^>]+>/g, '') ?? name;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<style>
${readFileSync(STYLE, 'utf8')}</style>
</head>
<body>
<input type="checkbox" id="show-code"><label for="show-code">Show the code</label>
<main>
${html}</main>
<footer>Made by limb-perfusion ${packageVersion()} from the notebook ${name}.ipynb. It is not a medical device: it summarizes
recorded findings and replaces no examination of a limb.</footer>
<script>
${MARK_KEYS}
</script>
</body>
</html>
`;
}
