// @ts-check
// How long a person waits: for the library to load, and from the start of a kernel to the first chart. Prints medians
// with the shortest and the longest, their ratio to an empty Node and to a kernel that computes 1 + 1, and how busy the
// machine was before and after: where its load is above the number of cores, others' work is in the times.
// It judges nothing. usage: npm run build && node tests/benchmark/start-up.mjs [runs]
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import process from 'node:process';
import { pathToFileURL } from 'node:url';
import { root } from '../../.config/set-up.mjs';

const runs = Number(process.argv[2] ?? 7);
const loadBefore = loadavg()[0];
const library = pathToFileURL(join(root, 'dist/index.js')).href;

const seconds = (/** @type {() => void} */ work) => {
  const start = performance.now();
  work();
  return (performance.now() - start) / 1000;
};
const node = (/** @type {string} */ code) => {
  const done = spawnSync(process.execPath, ['--input-type=module', '-e', code], { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(done.stderr);
  return done.stdout;
};

const LOADING = `const start = performance.now(), before = process.cpuUsage();
await import('${library}');
const { user, system } = process.cpuUsage(before);
console.log(JSON.stringify({ loading: (performance.now() - start) / 1000, computing: (user + system) / 1e6 }));`;

/** One after the other in turns, so that other work on the machine slows all alike. */
const times = Array.from({ length: runs }, () => ({
  empty: seconds(() => node('')),
  ...JSON.parse(node(LOADING)),
  whole: seconds(() => node(`await import('${library}');`)),
}));
const of = (/** @type {'empty' | 'loading' | 'computing' | 'whole'} */ key) => median(times.map((time) => time[key]));
say(`Node by itself: ${milliseconds(of('empty'))}`);
say(`the library, within Node: ${milliseconds(of('loading'))}, of it ${milliseconds(of('computing'))} of computing`);
say(
  `Node with the library: ${milliseconds(of('whole'))}, ${(of('whole') / of('empty')).toFixed(1)} times Node by itself`,
);

const KERNEL = `
import json, resource, sys, time
from jupyter_client.manager import start_new_kernel
code = sys.argv[1]
start = time.perf_counter()
manager, client = start_new_kernel(kernel_name=sys.argv[3], startup_timeout=180, cwd=sys.argv[2])
shown = []
def output(message):
    if message["msg_type"] in ("display_data", "stream", "execute_result"):
        shown.append((time.perf_counter() - start, str(message["content"])))
client.execute_interactive(code, output_hook=output, timeout=300)
client.stop_channels(); manager.shutdown_kernel(now=False)
print(json.dumps({"first": shown[0][0] if shown else None, "text": shown[0][1][:400] if shown else "", "computing": sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])}))
`;
const CHART = `import { loadAssessments, agreementStudy, agreementBySiteChart, show } from 'limb-perfusion';
const assessments = await loadAssessments('../data-demo/generated/agreement-study.csv');
const study = await agreementStudy(assessments, { signs: ['pulse-grade'], by: ['site'], weights: 'quadratic', seed: 20260301 });
await show(agreementBySiteChart(study));`;

const { python, env } = kernel();
if (python === undefined) say('There is no Python with Jupyter, so no kernel was tried.');
else {
  const plain = plainKernel();
  const inKernel = (/** @type {string} */ code, name = 'tslab') => {
    const done = spawnSync(python, ['-c', KERNEL, code, join(root, 'notebooks'), name], {
      env: { ...env, JUPYTER_PATH: `${env.JUPYTER_PATH}${delimiter}${plain}` },
      encoding: 'utf8',
    });
    if (done.status !== 0) throw new Error(done.stderr);
    return JSON.parse(done.stdout);
  };
  const chart = inKernel(CHART);
  if (!/vegalite/.test(chart.text)) throw new Error(`No chart came: ${chart.text}`);
  const kernels = Array.from({ length: runs }, () => ({
    plain: inKernel('console.log(1 + 1)', 'plain'),
    bare: inKernel('console.log(1 + 1)'),
    chart: inKernel(CHART),
  }));
  rmSync(plain, { recursive: true });
  const wait = (/** @type {'plain' | 'bare' | 'chart'} */ which) => {
    const times = kernels.map((one) => one[which].first);
    const computing = median(kernels.map((one) => one[which].computing));
    const [shortest, longest] = [Math.min(...times), Math.max(...times)];
    return `${median(times).toFixed(1)} s (${shortest.toFixed(1)} to ${longest.toFixed(1)}), ${computing.toFixed(1)} s of computing`;
  };
  const ratio = median(kernels.map((one) => one.chart.first / one.bare.first));
  say(`the kernel as its package starts it, to 1 + 1: ${wait('plain')}`);
  say(`kernel start to 1 + 1: ${wait('bare')}`);
  say(`kernel start to the first chart: ${wait('chart')}; ${ratio.toFixed(1)} times as long`);
}
say(
  `medians of ${runs} runs, Node ${process.versions.node}, ${availableParallelism()} cores; load of the machine ${loadBefore?.toFixed(1)} before, ${loadavg()[0]?.toFixed(1)} after (up to 2 of it made by this program itself)`,
);

/** The Python that set-up finds, and the environment in which Jupyter knows this project's kernel. */
function kernel() {
  const done = spawnSync(process.execPath, [join(root, 'dist/command/limb-perfusion.js'), 'set-up'], {
    cwd: root,
    encoding: 'utf8',
  });
  const place = join(root, '.jupyter');
  return {
    python: /Jupyter runs on (.+)/.exec(done.stdout)?.[1],
    env: { ...process.env, JUPYTER_PATH: place, JUPYTER_RUNTIME_DIR: join(place, 'runtime') },
  };
}

/** A folder in which Jupyter finds the same kernel as `plain`, started by its own command. */
function plainKernel() {
  const place = mkdtempSync(join(tmpdir(), 'plain-kernel-'));
  const folder = join(place, 'kernels', 'plain');
  mkdirSync(folder, { recursive: true });
  const program = join(dirname(createRequire(join(root, 'package.json')).resolve('tslab/package.json')), 'bin/tslab');
  const argv = [process.execPath, program, 'kernel', '--config-path', '{connection_file}'];
  writeFileSync(join(folder, 'kernel.json'), JSON.stringify({ argv, display_name: 'plain', language: 'typescript' }));
  return place;
}

/** @param {number[]} values */
function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}

function milliseconds(/** @type {number} */ value) {
  return `${Math.round(1000 * value)} ms`;
}

function say(/** @type {string} */ line) {
  process.stdout.write(`${line}\n`);
}
