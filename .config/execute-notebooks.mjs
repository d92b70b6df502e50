// @ts-check
// Executes notebooks in the real kernel and turns each into one HTML file that needs nothing outside itself.
// Used by the demo and by the tests.
import { spawn } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { jupyterEnvironment, root } from './set-up.mjs';

/**
 * What became of one notebook.
 * @typedef {object} NotebookOutcome
 * @property {string} name the file's name without its ending
 * @property {number} seconds
 * @property {string} [failure] the failing cell and its error
 * @property {string} [result] the sentence after "Result:" in its output
 * @property {string} [page] the HTML file
 */

const notebooksFolder = join(root, 'notebooks');

/** @returns {string[]} the paths of the project's notebooks, in the order of their names */
export function projectNotebooks() {
  return readdirSync(notebooksFolder)
    .filter((name) => name.endsWith('.ipynb'))
    .sort()
    .map((name) => join(notebooksFolder, name));
}

/**
 * Executes every notebook, two at a time, each with its own folder as working directory. The notebooks themselves
 * stay as they are: the executed copy and the page go to `folder`.
 * @param {string[]} notebooks
 * @param {string} python
 * @param {string} folder
 * @param {(outcome: NotebookOutcome) => void} [finished] told as each one ends
 * @returns {Promise<NotebookOutcome[]>} in the order of `notebooks`
 */
export async function executeNotebooks(notebooks, python, folder, finished = () => {}) {
  mkdirSync(folder, { recursive: true });
  /** @type {NotebookOutcome[]} */
  const outcomes = [];
  const waiting = notebooks.entries();
  const workThrough = async () => {
    for (const [index, notebook] of waiting) {
      const outcome = await executeNotebook(notebook, python, folder);
      outcomes[index] = outcome;
      finished(outcome);
    }
  };
  await Promise.all([workThrough(), workThrough()]);
  return outcomes;
}

/**
 * @param {string} notebook
 * @param {string} python
 * @param {string} folder
 * @returns {Promise<NotebookOutcome>}
 */
async function executeNotebook(notebook, python, folder) {
  const name = basename(notebook, '.ipynb');
  const start = performance.now();
  const run = () => runPython(python, [join(root, '.config/execute_notebook.py'), notebook, folder]);
  let { code, errors } = await run();
  // Ports are chosen before the kernel takes them; when another program was quicker the kernel does not start.
  if (code === KERNEL_DID_NOT_START) ({ code, errors } = await run());
  const seconds = (performance.now() - start) / 1000;
  if (code !== 0) return { name, seconds, failure: errors.trim() };

  const bodyFile = join(folder, `${name}.body.html`);
  const page = join(folder, `${name}.html`);
  const html = await pageOf(name, readFileSync(bodyFile, 'utf8'));
  rmSync(bodyFile);
  writeFileSync(page, html);
  const outside = outsideReferences(html);
  if (outside.length > 0) return { name, seconds, failure: `The page needs ${outside.join(', ')}, outside itself.` };
  const result = resultOf(JSON.parse(readFileSync(join(folder, `${name}.ipynb`), 'utf8')));
  return { name, seconds, page, ...(result === undefined ? {} : { result }) };
}

const KERNEL_DID_NOT_START = 2;

/**
 * @param {string} python
 * @param {string[]} args
 * @returns {Promise<{ code: number | null, errors: string }>}
 */
function runPython(python, args) {
  return new Promise((resolve) => {
    const child = spawn(python, args, { env: jupyterEnvironment(), stdio: ['ignore', 'ignore', 'pipe'] });
    let errors = '';
    child.stderr.setEncoding('utf8').on('data', (/** @type {string} */ text) => {
      errors += text;
    });
    child.on('error', (error) => resolve({ code: 1, errors: error.message }));
    child.on('close', (code) => resolve({ code, errors }));
  });
}

/**
 * The notebook's own one-line summary: the last line of its output that starts with "Result:".
 * @param {{ cells: { outputs?: { text?: string | string[], data?: Record<string, string | string[]> }[] }[] }} notebook
 * @returns {string | undefined}
 */
export function resultOf(notebook) {
  const texts = notebook.cells
    .flatMap((cell) => cell.outputs ?? [])
    .map((output) => [output.text ?? output.data?.['text/plain'] ?? ''].flat().join(''));
  return texts
    .flatMap((text) => text.split('\n'))
    .map((line) => /^Result: *(.+)$/.exec(line)?.[1])
    .filter((sentence) => sentence !== undefined)
    .at(-1);
}

/**
 * Every address in a page that leads out of it: anything but data in place and places within the page.
 * @param {string} html
 * @returns {string[]}
 */
export function outsideReferences(html) {
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
 * @param {string} name
 * @param {string} body
 */
async function pageOf(name, body) {
  // Not at the top: the library is built only when set-up has run.
  const { MARK_KEYS } = await import('../dist/index.js');
  const html = body.replace(/<a\b[^>]*\shref="(?!#)([^"]*)"[^>]*>([\s\S]*?)<\/a>/g, (_link, address, text) =>
    text.includes(address) ? text : `${text} (${address})`,
  );
  const title = /<h1[^>]*>([\s\S]*?)<a class="anchor-link"/.exec(html)?.[1]?.replace(/<[^>]+>/g, '') ?? name;
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<style>
${readFileSync(join(root, '.config/report.css'), 'utf8')}</style>
</head>
<body>
<input type="checkbox" id="show-code"><label for="show-code">Show the code</label>
<main>
${html}</main>
<footer>Made by limb-perfusion ${version} from the notebook ${name}.ipynb. It is not a medical device: it summarizes
recorded findings and replaces no examination of a limb.</footer>
<script>
${MARK_KEYS}
</script>
</body>
</html>
`;
}
