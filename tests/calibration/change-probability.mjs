// Calibration of the probability of change: node tests/calibration/change-probability.mjs [studies]
// Prints worst gaps of the tenths in both worlds, with parameters known and estimated, and how often calls are right.
import { runnerImport } from 'vite';

const studies = Number(process.argv[2] ?? 200);
const { module } = await runnerImport(new URL('./change-worlds.ts', import.meta.url).pathname);
const { calibrate, calibrateKnown, THREE_READERS, TWO_READERS } = module;
const share = (part, whole) => (whole === 0 ? '  –' : (part / whole).toFixed(2));

for (const world of ['continuum', 'classes'])
  for (const readingsEach of [1, 2, 3]) {
    const { worst, at, meanChanged } = calibrateKnown(world, THREE_READERS, 400_000, readingsEach, 1);
    const lines = Object.entries(at).map(
      ([limit, { called, right, changes }]) =>
        `p ≥ ${limit} right ${share(right, called)} finds ${share(right, changes)}`,
    );
    console.log(
      `known, ${world}, ${readingsEach} readings: worst tenth ${worst.toFixed(4)}, changed ${meanChanged.toFixed(3)}; ${lines.join('; ')}`,
    );
  }

const settings = {
  studies,
  patients: 60,
  serialPairs: 300,
  judgedPairs: 20_000,
  readingsEach: 1,
  seed: 20260301,
  reading: THREE_READERS,
};
for (const world of ['continuum', 'classes'])
  for (const [words, change] of [
    ['60 patients, 300 pairs, 1 reading', {}],
    ['2 readings', { readingsEach: 2 }],
    ['3 readings', { readingsEach: 3 }],
    ['two assessors', { reading: TWO_READERS }],
    ['200 patients, 2,000 pairs', { patients: 200, serialPairs: 2000 }],
  ]) {
    const started = performance.now();
    const found = calibrate({ ...settings, ...change, world });
    const gaps = (of) =>
      Object.entries(of)
        .map(([method, gap]) => `${method} ${gap.toFixed(3)}`)
        .join(', ');
    const lines = Object.entries(found.calls).map(
      ([limit, { called, right, changes }]) =>
        `p ≥ ${limit} right ${share(right, called)} finds ${share(right, changes)}`,
    );
    console.log(
      `${world}, ${words}: averaged worst tenth ${gaps(found.averaged)}; one study's median ${gaps(found.medianWorst)}; ${lines.join('; ')}; ` +
        `changed ${found.meanChanged.toFixed(3)}; not converged ${found.notConverged}; ${((performance.now() - started) / studies).toFixed(0)} ms a study`,
    );
  }
