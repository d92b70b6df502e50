import { readdirSync, readFileSync } from 'node:fs';
import { posix } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { type ImportedModule, importsOf } from '../support/imports-of.ts';

/** The pipeline. A folder imports from itself and from folders to its left. */
const ORDER = [
  'shared',
  'signs',
  'assessments',
  'ratings',
  'models',
  'agreement',
  'measurement-error',
  'progression',
  'unit-quality',
  'teaching',
  'planning',
  'study',
  'charts',
  'reports',
  'notebook',
  'command',
];
const INDEX = 'index.ts';
const OWN_NAME = 'limb-perfusion';

/** Loaded only when asked for: each takes seconds or needs a kernel that allows it. */
const LAZY = ['vega', 'vega-lite', 'danfojs', 'canvas', '@duckdb/node-api'];

/** Where an address may be computed, and why. */
const COMPUTED: Readonly<Record<string, string>> = {
  'models/cluster-bootstrap.ts': 'a worker thread loads the statistic by the module that its caller names',
};

/** What is wrong with the imports of one file; `path` counts from src and has forward slashes. */
function offencesOf(path: string, text: string): string[] {
  const folder = path.includes('/') ? path.slice(0, path.indexOf('/')) : '';
  const place = ORDER.indexOf(folder);
  if (path !== INDEX && place === -1) return [`${path}: stands in no folder of the pipeline`];
  if (path.split('/').length > 2) return [`${path}: folders are flat inside`];
  return importsOf(text).flatMap(({ address, atLoad, line }) => {
    if (address === undefined && path in COMPUTED) return [];
    const offence =
      address === undefined ? 'a computed address cannot be checked' : offenceOf(path, place, address, atLoad);
    return offence === undefined ? [] : [`${path}:${line}: ${offence}`];
  });
}

const isComputed = ({ address }: ImportedModule) => address === undefined;

function offenceOf(path: string, place: number, address: string, atLoad: boolean): string | undefined {
  if (address === OWN_NAME || address.startsWith(`${OWN_NAME}/`)) return 'imports the package by its own name';
  const packageName = address.split('/', address.startsWith('@') ? 2 : 1).join('/');
  if (LAZY.includes(packageName)) return atLoad ? `loads ${packageName} at once; use await import()` : undefined;
  if (/^(\/|file:|#)/.test(address)) return `imports ${address}, which is no relative path and no package`;
  if (!address.startsWith('.')) return undefined;
  const target = posix.normalize(posix.join(posix.dirname(path), address));
  if (target.startsWith('..')) return `imports ${address}, outside src`;
  if (/^index(\.[a-z]+)?$/.test(target) || target === '.') return 'imports src/index.ts from inside';
  const targetFolder = target.split('/')[0] ?? '';
  const targetPlace = ORDER.indexOf(targetFolder);
  if (targetPlace === -1) return `imports from the unknown folder ${targetFolder}`;
  if (path !== INDEX && targetPlace > place) return `imports from ${targetFolder}, which stands to the right`;
  return undefined;
}

const src = fileURLToPath(new URL('../../src/', import.meta.url));
const files = readdirSync(src, { recursive: true, encoding: 'utf8' })
  .map((path) => path.replaceAll('\\', '/'))
  .filter((path) => /\.[cm]?[jt]sx?$/.test(path));

describe('the direction of imports', () => {
  it('is kept by every file of src', () => {
    expect(files).toContain('shared/input-error.ts');
    expect(files.flatMap((path) => offencesOf(path, readFileSync(`${src}${path}`, 'utf8')))).toEqual([]);
  });

  it('allows a computed address only where one is needed', () => {
    const needed = files.filter((path) => importsOf(readFileSync(`${src}${path}`, 'utf8')).some(isComputed));
    expect(needed).toEqual(Object.keys(COMPUTED));
  });

  it.each([
    ['a static import', "import { x } from '../charts/theme.js';"],
    ['double quotes', 'import { x } from "../charts/theme.js";'],
    ['a side effect', "import '../charts/theme.js';"],
    ['types alone', "import type { X } from '../charts/theme.js';"],
    ['a type among values', "import { type X } from '../charts/theme.js';"],
    ['a namespace over several lines', "import\n  * as theme\n  from\n  '../charts/theme.js';"],
    ['a re-export', "export { x } from '../charts/theme.js';"],
    ['a re-export of all', "export * from '../charts/theme.js';"],
    ['a re-exported type', "export type { X } from '../charts/theme.js';"],
    ['a dynamic import', "const load = async () => (await import('../charts/theme.js')).x;"],
    ['a dynamic import of a template', 'const load = () => import(`../charts/theme.js`);'],
    ['a type query', "export type X = import('../charts/theme.js').X;"],
    ['a typeof query', "let x: typeof import('../charts/theme.js');"],
    ['require', "const x = require('../charts/theme.js');"],
    ['import = require', "import x = require('../charts/theme.js');"],
    ['a reference comment', '/// <reference path="../charts/theme.ts" />\nexport {};'],
    ['an augmentation', "declare module '../charts/theme.js' { interface X {} }\nexport {};"],
    ['a detour', "import { x } from '../agreement/../charts/theme.js';"],
  ])('catches an import to the right by %s', (_form, text) => {
    expect(offencesOf('agreement/kappa.ts', text)).toEqual([
      expect.stringContaining('imports from charts, which stands to the right'),
    ]);
  });

  it.each([
    ['an unknown folder', 'agreement/kappa.ts', "import { x } from '../odds/x.js';", 'unknown folder odds'],
    ['the index', 'agreement/kappa.ts', "import { x } from '../index.js';", 'src/index.ts from inside'],
    ['the index by its folder', 'agreement/kappa.ts', "import { x } from '..';", 'src/index.ts from inside'],
    ['the own name', 'agreement/kappa.ts', "import { x } from 'limb-perfusion';", 'its own name'],
    ['a path below the own name', 'agreement/kappa.ts', "import 'limb-perfusion/dist/x.js';", 'its own name'],
    ['a place outside src', 'agreement/kappa.ts', "import { x } from '../../tests/x.js';", 'outside src'],
    ['an absolute path', 'agreement/kappa.ts', "import { x } from '/elsewhere/x.js';", 'no relative path'],
    ['a computed address', 'agreement/kappa.ts', 'const load = (name: string) => import(name);', 'cannot be checked'],
    ['a heavy package at load', 'charts/render.ts', "import { View } from 'vega';", 'loads vega at once'],
    ['part of a heavy package', 'charts/render.ts', "import 'vega-lite/build/x.js';", 'loads vega-lite at once'],
    [
      'a scoped heavy package',
      'assessments/load.ts',
      "import { x } from '@duckdb/node-api';",
      'loads @duckdb/node-api',
    ],
    ['a file in no folder', 'odds/x.ts', '', 'no folder of the pipeline'],
    ['a file beside the index', 'other.ts', '', 'no folder of the pipeline'],
    ['a folder in a folder', 'agreement/deep/kappa.ts', '', 'flat inside'],
  ])('catches %s', (_what, path, text, offence) => {
    expect(offencesOf(path, text)).toEqual([expect.stringContaining(offence)]);
  });

  it.each([
    ['to the left', 'agreement/kappa.ts', "import { x } from '../shared/x.js';"],
    ['within the folder', 'agreement/kappa.ts', "import { x } from './x.js';"],
    ['from the index', 'index.ts', "export { x } from './command/x.js';"],
    ['of a package', 'agreement/kappa.ts', "import { mean } from 'simple-statistics';"],
    ['of Node', 'agreement/kappa.ts', "import { readFile } from 'node:fs/promises';"],
    ['of a heavy package when asked for', 'charts/render.ts', "const load = () => import('vega');"],
    [
      'in words only',
      'agreement/kappa.ts',
      "// import '../charts/theme.js'\nconst text = `import '../charts/theme.js'`;",
    ],
  ])('lets through an import %s', (_what, path, text) => {
    expect(offencesOf(path, text)).toEqual([]);
  });
});
