// A process that keeps one vitest alive and runs tests on request, with or without a fault in the source. Its parent ends it when
// a fault makes it hang.
// Messages in: { tests: [path], ids?, mutant?: { path, start, end, text } }; out: { failed, by, tests, seconds }.
import { performance } from 'node:perf_hooks';
import process from 'node:process';
import { createVitest } from 'vitest/node';
import { planted } from './mutants.mjs';
import { marked, sourceFiles } from './regions.mjs';

const root = process.cwd();
const recording = process.argv[2] === 'record';
const files = new Map(sourceFiles(root).map((file) => [file.path, file]));
let mutant;

const plugin = {
  name: 'planted-faults',
  enforce: 'pre',
  transform(_code, id) {
    const file = files.get(id);
    if (file && recording) return { code: marked(file), map: null };
    if (file && mutant?.path === id) return { code: planted(file.source, mutant), map: null };
    return undefined;
  },
};

/** Test files in the order in which they were asked for. */
class InOrder {
  shard(files) {
    return files;
  }
  sort(files) {
    return files;
  }
}

const vitest = await createVitest(
  'test',
  {
    config: '.config/vitest.config.ts',
    watch: false,
    maxWorkers: 1,
    fileParallelism: false,
    reporters: [{}],
    silent: true,
    update: 'none',
    bail: recording ? 0 : 1,
    isolate: recording,
    sequence: { sequencer: InOrder },
    // A fault may gather memory without end.
    execArgv: ['--max-old-space-size=2048'],
    // The parent counts the time: a machine that sleeps must not fail a test.
    testTimeout: 0,
    hookTimeout: 0,
    ...(recording && { setupFiles: ['tests/mutation/record-reach.mjs'] }),
  },
  { plugins: [plugin], server: { watch: null } },
);
await vitest.standalone();

process.on('message', async ({ tests, ids, mutant: next }) => {
  try {
    if (mutant) vitest.invalidateFile(mutant.path);
    mutant = next;
    if (mutant) vitest.invalidateFile(mutant.path);
    const started = performance.now();
    const specifications = tests.map((path) =>
      vitest.getRootProject().createSpecification(path, ids && { testIds: ids }),
    );
    const { testModules: all, unhandledErrors } = await vitest.runTestSpecifications(specifications, false);
    // Vitest hands out the files of earlier calls as well.
    const testModules = all.filter(({ moduleId }) => tests.includes(moduleId));
    const cases = testModules.flatMap((module) => [...module.children.allTests()]);
    const failing = cases.find((one) => one.result().state === 'failed');
    const broken = unhandledErrors.length > 0 || testModules.some((module) => module.state() === 'failed');
    process.send({
      failed: failing !== undefined || broken,
      test: failing?.fullName,
      file: failing?.module.moduleId,
      by: failing?.fullName ?? (broken ? 'the file does not run' : undefined),
      ran: cases.filter((one) => one.result().state === 'passed' || one.result().state === 'failed').length,
      seconds: (performance.now() - started) / 1000,
      tests: recording
        ? cases.map((one) => ({
            id: one.id,
            name: one.fullName,
            state: one.result().state,
            seconds: (one.diagnostic()?.duration ?? 0) / 1000,
            ...one.meta(),
          }))
        : undefined,
    });
  } catch (error) {
    if (process.connected) process.send({ failed: undefined, by: String(error?.stack ?? error) });
  }
});
process.on('disconnect', () => process.exit());
process.send({ ready: true });
