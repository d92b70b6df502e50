import { type SpawnSyncReturns, spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  realpathSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { publint } from 'publint';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary, root } from '../../.config/set-up.mjs';
import { executeNotebooks } from '../../src/command/execute-notebooks.ts';
import { findPython } from '../../src/command/find-python.ts';
import { runNpm } from '../../src/command/run-npm.ts';
import * as library from '../../src/index.ts';
import { codeCell, notebookOf } from '../support/notebook.ts';
import { available } from '../support/optional.ts';

const MINUTES = 60_000;

/** An empty folder in which a stranger installs the packed library. */
const place = realpathSync(mkdtempSync(join(tmpdir(), 'limb-perfusion-packed-')));
const installed = join(place, 'node_modules/limb-perfusion');
afterAll(() => rmSync(place, { recursive: true }));

beforeAll(() => {
  buildLibrary();
  succeed(runNpm(['pack', '--ignore-scripts', '--pack-destination', place], { cwd: root, encoding: 'utf8' }));
  const tarball = readdirSync(place).find((name) => name.endsWith('.tgz'));
  writeFileSync(join(place, 'package.json'), '{ "private": true }\n');
  const args = ['install', '--prefer-offline', '--no-audit', '--no-fund', `./${tarball}`];
  succeed(runNpm(args, { cwd: place, encoding: 'utf8' }));
}, 10 * MINUTES);

/** A program that uses the library with its types, and one line that must not compile. */
const USE = `import { cohenKappa, type Estimate, ratingsOf } from 'limb-perfusion';
const ratings = ratingsOf([[0, 0], [1, 1], [0, 1], [1, 1]]);
const estimate: Estimate = cohenKappa(ratings);
const value: number = estimate.value;`;
const MISUSE = 'const wrong: string = estimate.value;';

/** The library, what its command reads beside it, the notebooks, and the script that invents the demo data. */
const ALLOWED =
  /^(dist\/(index|library\/types)\.d\.ts|dist\/[^/]+(\/[^/]+)?\.js|dist\/command\/[\w-]+(\.(py|css|md|mjs))?|notebooks\/[\w-]+\.ipynb|data-demo\/[\w-]+\.mjs|data-demo\/README\.md|package\.json|LICENSE|README\.md)$/;

describe('the packed library', () => {
  it('holds the compiled library and nothing else of the project', () => {
    const files = readdirSync(installed, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) =>
        `${entry.parentPath.slice(installed.length + 1)}/${entry.name}`.replaceAll('\\', '/').replace(/^\//, ''),
      );
    expect(files).toEqual(expect.arrayContaining(['dist/index.js', 'dist/index.d.ts', 'package.json', 'LICENSE']));
    expect(files.filter((file) => !ALLOWED.test(file))).toEqual([]);
  });

  it('runs no script of its own at an install, of which npm would warn', () => {
    const { scripts } = JSON.parse(readFileSync(join(installed, 'package.json'), 'utf8')) as { scripts: object };
    const run = ['preinstall', 'install', 'postinstall', 'prepublish', 'preprepare', 'prepare', 'postprepare'];
    expect(Object.keys(scripts).filter((name) => run.includes(name))).toEqual([]);
  });

  it('brings no data frame library that was not asked for', () => {
    expect(existsSync(join(place, 'node_modules/danfojs'))).toBe(false);
  });

  it.each([
    ['import', 'module', "import * as library from 'limb-perfusion';"],
    ['require', 'commonjs', "const library = require('limb-perfusion');"],
  ])('comes whole by %s in plain Node', (_way, type, first) => {
    const code = `${first}\nconsole.log(Object.keys(library).filter((name) => name !== '__esModule').sort().join());`;
    expect(nodeOutput([`--input-type=${type}`, '-e', code]).trim()).toBe(Object.keys(library).sort().join());
  });

  it('computes in plain Node', () => {
    const code = `${USE.replaceAll(/, type \w+|: \w+(?= =)/g, '')}\nconsole.log(value);`;
    expect(Number(nodeOutput(['--input-type=module', '-e', code]))).toBeCloseTo(0.5, 12);
  });

  describe.each([
    ['the TypeScript of the notebook kernel', '@tslab/typescript-for-tslab', 'node10', 'tslab/node_modules/@types'],
    ['the TypeScript of this project', 'typescript', 'nodenext', '@types'],
  ])('with %s', (_which, compiler, resolution, typeRoot) => {
    const compile = (name: string, code: string, further: object = {}) => {
      const folder = join(place, resolution);
      mkdirSync(folder, { recursive: true });
      writeFileSync(join(folder, `${name}.ts`), code);
      const configuration = {
        compilerOptions: {
          target: 'es2022',
          module: resolution === 'nodenext' ? 'nodenext' : 'commonjs',
          moduleResolution: resolution,
          lib: ['es2022'],
          types: ['node'],
          typeRoots: [join(root, 'node_modules', typeRoot)],
          strict: true,
          skipLibCheck: false,
          noEmit: true,
          ...further,
        },
        files: [`${name}.ts`],
      };
      const file = join(folder, `${name}.json`);
      writeFileSync(file, JSON.stringify(configuration));
      const program = join(root, 'node_modules', compiler, 'lib/tsc.js');
      return spawnSync(process.execPath, [program, '-p', file], { cwd: folder, encoding: 'utf8' }).stdout;
    };

    it(
      'its declarations compile, checked throughout',
      () => {
        expect(compile('use', `${USE}\nexport { value };\n`)).toBe('');
      },
      5 * MINUTES,
    );

    it(
      'every type has a place to be named from, as the notebook kernel does with that of each variable',
      () => {
        const variables = Object.keys(library).map((name, at) => `export const variable${at} = library.${name};`);
        const code = `import * as library from 'limb-perfusion';\n${variables.join('\n')}\n`;
        expect(compile('named', code, { declaration: true })).toBe('');
      },
      5 * MINUTES,
    );

    it(
      'its types refuse a wrong use',
      () => {
        expect(compile('misuse', `${USE}\n${MISUSE}\nexport { value, wrong };\n`)).toContain('error TS2322');
      },
      5 * MINUTES,
    );
  });

  it('has no fault that a check of published packages finds', async () => {
    const { messages } = await publint({ pkgDir: installed, pack: false });
    expect(messages).toEqual([]);
  });
});

const python = findPython(root);
const hasJupyter = available('Jupyter', python !== undefined, 'Run npm test once; it installs it or says how.');

describe.runIf(hasJupyter)('the packed library in a notebook', () => {
  const outcomeOf = async (name: string, cells: readonly string[]) => {
    const notebook = join(place, `${name}.ipynb`);
    writeFileSync(notebook, JSON.stringify(notebookOf(cells.map(codeCell))));
    const [outcome] = await executeNotebooks([notebook], { root, python: python ?? '', folder: join(place, 'pages') });
    return outcome;
  };

  it(
    'computes in a cell',
    async () => {
      const outcome = await outcomeOf('use', [USE, 'console.log("Result: " + value.toFixed(3));']);
      expect(outcome).toMatchObject({ result: '0.500' });
    },
    5 * MINUTES,
  );

  it(
    'has its types there',
    async () => {
      const outcome = await outcomeOf('misuse', [USE, MISUSE]);
      expect(outcome?.failure).toMatch(/^Cell 2 failed:.*Type 'number' is not assignable to type 'string'/s);
    },
    5 * MINUTES,
  );
});

describe.runIf(hasJupyter)('a study that a stranger starts from the packed library', () => {
  const command = join(installed, 'dist/command/limb-perfusion.js');
  const study = join(place, 'Füße 2026');

  it(
    'is made with its packages, and runs a sheet to its page by the scripts of the folder',
    () => {
      const env = { ...process.env, LIMB_PERFUSION_PYTHON: python };
      succeed(
        spawnSync(process.execPath, [command, 'start', 'Füße 2026'], {
          cwd: place,
          env: strangersOwn(env),
          encoding: 'utf8',
        }),
      );
      const settings = { notebooks: { 'agreement-of-pulse-grades': { seed: 1 } } };
      writeFileSync(join(study, 'settings.json'), JSON.stringify(settings));
      const done = runNpm(['run', 'study', '--', 'example/broken-file.csv'], {
        cwd: study,
        env: strangersOwn(env),
        encoding: 'utf8',
      });
      expect(done.status).toBe(1);
      expect(`${done.stderr}`).toContain('The input has 21 problems');
      writeFileSync(join(study, 'data', 'mine.csv'), SHEET);
      succeed(
        runNpm(['run', 'study', '--', 'data/mine.csv'], { cwd: study, env: strangersOwn(env), encoding: 'utf8' }),
      );
      expect(readdirSync(join(study, 'reports', 'mine'))).toContain('agreement-of-pulse-grades.html');
      const again = spawnSync(process.execPath, [command, 'start', 'Füße 2026'], {
        cwd: place,
        env: strangersOwn(env),
        encoding: 'utf8',
      });
      expect([again.status, again.stderr]).toEqual([1, expect.stringContaining('is not empty')]);
    },
    10 * MINUTES,
  );
});

/** Two assessors on the ankle pulses of eight people, a row a finding. */
const SHEET = [
  'patient,assessor,limb,site,sign,scale,value',
  ...['22', '21', '12', '33', '10', '23', '00', '11'].flatMap((pair, at) =>
    ['A', 'B'].map(
      (assessor, i) => `P${at + 1},${assessor},left-leg,posterior-tibial,pulse-grade,pulse.0-4.normal2,${pair[i]}`,
    ),
  ),
  '',
].join('\n');

/** The environment without what npm tells the programs that it runs: a stranger's npm tells it anew. */
function strangersOwn(env: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  return Object.fromEntries(Object.entries(env).filter(([name]) => !/^(npm_(?!execpath)|INIT_CWD)/.test(name)));
}

function nodeOutput(args: readonly string[]): string {
  return succeed(spawnSync(process.execPath, args, { cwd: place, encoding: 'utf8' }));
}

/** What the program printed; throws with its words when it failed. */
function succeed(done: SpawnSyncReturns<string | Buffer>): string {
  if (done.status !== 0) throw new Error(`${done.stdout}${done.stderr}`);
  return `${done.stdout}`;
}
