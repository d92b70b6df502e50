import { existsSync } from 'node:fs';
import { readdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

/** What a page carries so that its charts answer to a pointer without a network. */
export interface PageRuntime {
  /** Vega, its interpreter of expressions (which needs no `eval`), and the few lines that draw. */
  readonly script: string;
  /** The license of everything carried, in full. */
  readonly licenses: readonly PackageLicense[];
}

/** One license text, and the packages that are under it. */
export interface PackageLicense {
  readonly packages: readonly string[];
  readonly text: string;
}

/** Packages whose code or font stands in a page; what they build on goes with them. */
const CARRIED = ['vega', 'vega-interpreter', '@fontsource/source-sans-3'];

/**
 * The drawing program and its licenses, from the packages as they are installed. Charts come as Vega JSON, so that nothing has to be compiled in the page.
 */
export async function pageRuntime(): Promise<PageRuntime> {
  const { resolve } = createRequire(import.meta.url);
  const vega = join(dirname(resolve('vega')), 'vega.min.js');
  const interpreter = await readFile(resolve('vega-interpreter'), 'utf8');
  const parts = [withoutMap(await readFile(vega, 'utf8')), inPage(withoutMap(interpreter)), DRAW];
  return { script: parts.join('\n'), licenses: await licensesOf(CARRIED) };
}

/** The interpreter is a module; in the page it takes what it imports from the `vega` beside it. */
function inPage(module: string): string {
  const inside = module
    .replace(/^import (\{[^}]*\}) from 'vega-util';/m, 'const $1 = vega;')
    .replace(/^export \{ (\w+) as expressionInterpreter \};/m, 'const expressionInterpreter = $1;');
  if (/^(import|export)\b/m.test(inside))
    throw new Error('vega-interpreter has another form than the one known here; see pageRuntime.');
  return inside;
}

function withoutMap(code: string): string {
  return code.replace(/^\/\/# sourceMappingURL=.*$/m, '').trimEnd();
}

/** Draws each figure over its still picture, light or dark as the page is, and says what a mark means where the pointer is. */
const DRAW = `
const charts = JSON.parse(document.getElementById('charts').textContent);
const dark = matchMedia('(prefers-color-scheme: dark)');
const words = document.getElementById('mark-words');
function say(_handler, event, _item, value) {
  const text = value == null ? '' : typeof value === 'string' ? value : Object.values(value).join(' ');
  words.textContent = text;
  words.hidden = text === '';
  if (text === '') return;
  const edge = document.documentElement.clientWidth - words.offsetWidth - 8;
  words.style.left = Math.max(8, Math.min(edge, event.clientX + 14)) + 'px';
  const below = event.clientY + 18;
  words.style.top = (below + words.offsetHeight > innerHeight ? event.clientY - words.offsetHeight - 10 : below) + 'px';
}
async function draw() {
  await Promise.all(['400', '600'].map((weight) => document.fonts.load(weight + ' 14px "Source Sans 3"')));
  for (const figure of document.querySelectorAll('figure[data-chart]')) {
    const spec = charts[figure.dataset.chart][dark.matches ? 'dark' : 'light'];
    const place = figure.querySelector('.live');
    place.replaceChildren();
    const view = new vega.View(vega.parse(spec, null, { ast: true }), {
      expr: expressionInterpreter, renderer: 'svg', hover: true, tooltip: say, logLevel: vega.Error,
    });
    await view.initialize(place).runAsync();
    const picture = place.querySelector('svg');
    picture.setAttribute('viewBox', '0 0 ' + picture.getAttribute('width') + ' ' + picture.getAttribute('height'));
    figure.classList.add('drawn');
  }
  document.documentElement.dataset.drawn = dark.matches ? 'dark' : 'light';
}
dark.addEventListener('change', draw);
draw();
`;

/** The licenses of packages and of all that they build on, packages under one text together. */
async function licensesOf(names: readonly string[]): Promise<readonly PackageLicense[]> {
  const found = new Map<string, string>();
  const { resolve } = createRequire(import.meta.url);
  for (const name of names) {
    const files = name === '@fontsource/source-sans-3' ? `${name}/package.json` : name;
    await collect(name, resolve(files), found);
  }
  const byText = new Map<string, string[]>();
  for (const [folder, text] of [...found].sort(([a], [b]) => (nameOf(a) < nameOf(b) ? -1 : 1))) {
    const own = byText.get(text) ?? [];
    if (!own.includes(nameOf(folder))) byText.set(text, [...own, nameOf(folder)]);
  }
  return [...byText].map(([text, packages]) => ({ packages, text }));
}

async function collect(name: string, from: string, found: Map<string, string>): Promise<void> {
  const folder = folderOf(name, from);
  // Types are not carried.
  if (folder === undefined || found.has(folder) || name.startsWith('@types/')) return;
  const files = (await readdir(folder)).filter((file) => /^(licen[cs]e|copying|notice)/i.test(file)).sort();
  const texts = await Promise.all(files.map((file) => readFile(join(folder, file), 'utf8')));
  found.set(folder, texts.map((text) => text.trim()).join('\n\n'));
  const { dependencies = {} } = JSON.parse(await readFile(join(folder, 'package.json'), 'utf8')) as {
    dependencies?: Record<string, string>;
  };
  for (const needed of Object.keys(dependencies)) await collect(needed, join(folder, 'package.json'), found);
}

/** Where a package lies, looked for as Node does: in each `node_modules` from here upward. */
function folderOf(name: string, from: string): string | undefined {
  for (let at = dirname(from); ; at = dirname(at)) {
    const folder = join(at, 'node_modules', name);
    if (existsSync(join(folder, 'package.json'))) return folder;
    if (dirname(at) === at) return undefined;
  }
}

function nameOf(folder: string): string {
  return folder.replaceAll('\\', '/').split('/node_modules/').at(-1)!;
}
