// Stated chances of change against what truly changed, in a world that is as assumed and in others; and how often rules call a change.
import { fromSource } from './from-source.mjs';

const { changeCalibration } = await fromSource('planning/change-calibration.ts');
const { THREE_READERS } = await fromSource('planning/simulate-change.ts');
const TWO_READERS = { ...THREE_READERS, tendencies: [-0.2, 0.2], spreads: [0.45, 0.45] };

const known = ['continuum', 'classes'].flatMap((world) =>
  [1, 2, 3].map((readingsEach) => ({
    world,
    words: `every number known, ${readingsEach} ${readingsEach === 1 ? 'reading' : 'readings'}`,
    options: { readingsEach, numbers: 'known', judgedPairs: 400_000, seed: 1 },
  })),
);
const estimated = ['continuum', 'classes', 'small moves'].flatMap((world) =>
  [
    ['1 reading', {}],
    ['2 readings', { readingsEach: 2 }],
    ['3 readings', { readingsEach: 3 }],
    ['two assessors', { reading: TWO_READERS }],
    ['two assessors, 2 readings', { reading: TWO_READERS, readingsEach: 2 }],
    ['200 patients, 2,000 pairs', { patients: 200, serialPairs: 2000 }],
  ].map(([words, options]) => ({ world, words, options: { judgedPairs: 10_000, ...options } })),
);

export const cells = [...known, ...estimated];
/** Whole studies, each with four models fitted and judged on 10,000 fresh limbs: some twenty of them a second. */
export const studies = 4000;

export async function run({ world, words, options }, count) {
  const { chances, rules, changed, continuumWeight, counts } = await changeCalibration({
    world,
    ...options,
    ...(options.numbers === 'known' ? {} : { studies: count }),
  });
  return {
    world,
    words,
    changed,
    continuumWeight,
    counts,
    gaps: Object.fromEntries(
      Object.entries(chances).map(([kind, { worst, worstError, medianWorst }]) => [
        kind,
        { worst, worstError, medianWorst },
      ]),
    ),
    rules,
  };
}
