// Calibration of the chance of change: node tests/calibration/change-probability.mjs [studies]
// Prints worst gaps of the tenths in both worlds, with every number known and estimated, and how often calls are right.
import { runnerImport } from 'vite';

const studies = Number(process.argv[2] ?? 200);
const { module } = await runnerImport(new URL('../../src/planning/change-calibration.ts', import.meta.url).pathname);
const { module: worlds } = await runnerImport(
  new URL('../../src/planning/simulate-change.ts', import.meta.url).pathname,
);
const twoReaders = { ...worlds.THREE_READERS, tendencies: [-0.2, 0.2], spreads: [0.45, 0.45] };
const share = (value) => (Number.isNaN(value) ? '  –' : value.toFixed(2));
const rules = (found) =>
  found.rules
    .map(({ rule, right, found: finds }) => `${rule}: right ${share(right)}, finds ${share(finds)}`)
    .join('; ');

for (const world of ['continuum', 'classes'])
  for (const readingsEach of [1, 2, 3]) {
    const found = await module.changeCalibration({
      world,
      readingsEach,
      numbers: 'known',
      judgedPairs: 400_000,
      seed: 1,
    });
    console.log(
      `known, ${world}, ${readingsEach} readings: worst tenth ${found.chances.weighted.worst.toFixed(4)}, changed ${found.changed.toFixed(3)}; ${rules(found)}`,
    );
  }

for (const world of ['continuum', 'classes', 'small moves'])
  for (const [words, change] of [
    ['1 reading', {}],
    ['2 readings', { readingsEach: 2 }],
    ['3 readings', { readingsEach: 3 }],
    ['two assessors', { reading: twoReaders }],
    ['two assessors, 2 readings', { reading: twoReaders, readingsEach: 2 }],
    ['200 patients, 2,000 pairs', { patients: 200, serialPairs: 2000 }],
  ]) {
    const started = performance.now();
    const found = await module.changeCalibration({ world, studies, judgedPairs: 20_000, ...change });
    const gaps = (of) =>
      Object.entries(found.chances)
        .map(([kind, own]) => `${kind} ${own[of].toFixed(3)}`)
        .join(', ');
    console.log(
      `${world}, ${words}: averaged worst tenth ${gaps('worst')}; one study's median ${gaps('medianWorst')}; ${rules(found)}; ` +
        `changed ${found.changed.toFixed(3)}; weight of the continuum ${found.continuumWeight.toFixed(2)}; not converged ${found.counts.notConverged}; ` +
        `${((performance.now() - started) / studies).toFixed(0)} ms a study`,
    );
  }
