// @ts-check
// What the speed harness measures: each piece of work with its data, who does it, what must come out alike, and what is
// aimed at.
import { join } from 'node:path';
import { writeGrades, writeGroups, writeNumbers, writeStudy } from './write-data.mjs';
import { writeReadings } from './write-readings.mjs';

/**
 * @typedef {object} Form who does a piece of work
 * @property {string} who as the table says it
 * @property {'node' | 'R' | 'python' | 'kernel'} program
 * @property {string} piece of ours.mjs, reference.R or reference.py; of a kernel the cell
 * @property {Record<string, string | number>} [settings]
 * @property {string} [part] which of several times of the piece; default `work`
 * @property {string} [needs] the R or Python package it needs
 * @property {number} [scale] measured on a part of the work and multiplied by this
 * @property {{ times: number, reason: string }} [target] how many times as fast ours shall be, and why it is not where it is not
 * @property {boolean} [less] it does less than ours does
 */

/**
 * @typedef {object} Work
 * @property {string} name
 * @property {string} title
 * @property {string} target in words
 * @property {number} rounds
 * @property {boolean} [byNameOnly]
 * @property {(folder: string) => unknown} [write]
 * @property {Form} [prepare] writes data that only a reference program has
 * @property {Form[]} ours one or more; every reference form is compared with the first
 * @property {Form[]} theirs
 * @property {Record<string, number | 'maximum' | 'replicates'>} same numbers that both give, each with its tolerance: of the
 *   number itself or, below 1, of 1. `maximum`: ours may be higher, and lower by no more than 1e-4 of −2 ln L. `replicates`:
 *   limits from B replicates that each program drew for itself, within 15/√B of a standard error: four times the standard
 *   deviation of the difference of two such quantiles at 2.5 % under a normal law, √2 · √(.025 · .975 / B) / φ(1.96).
 * @property {{ seconds?: number, bytes?: number, reason: string }} [most] what ours may take, and why it takes more
 */

const CHART = `import { loadAssessments, agreementStudy, agreementBySiteChart, show } from 'limb-perfusion';
const assessments = await loadAssessments('../data-demo/generated/agreement-study.csv');
const study = await agreementStudy(assessments, { signs: ['pulse-grade'], by: ['site'], weights: 'quadratic', seed: 20260301 });
await show(agreementBySiteChart(study));`;

/** Why a load takes longer than a plain read. */
const CHECKS =
  'the checks after reading work on one processor, the plain read on all, so that the ratio differs from run to run';

/** Why a coefficient takes longer than a pass. */
const PASSES =
  'counting each patient’s pairs of grades writes as it reads and takes about two passes; the rest is the coefficient without each of the patients in turn';

/** @param {boolean} quick small sizes, for a test @returns {Work[]} */
export function worksOf(quick) {
  const of = (/** @type {number} */ full, /** @type {number} */ small) => (quick ? small : full);
  const many = (/** @type {number} */ number) => number.toLocaleString('en');
  const replicates = of(2000, 400);
  const pairs = { targets: of(20_000, 2_000), patients: of(500, 100), assessors: 2 };
  const million = { targets: of(1_000_000, 20_000), patients: of(5_000, 500), assessors: 2 };
  const study = { patients: of(5_000, 60) };
  const mixed = { rows: of(5_000, 500), groups: of(500, 50) };
  const groups = { rows: of(20_000, 1_000), groups: of(2_000, 100) };
  const crossed = { targets: of(2_000, 100), assessors: of(20, 6) };
  const plate = { targets: of(500, 60), assessors: 5 };
  const patients = of(622, 150);
  const rows = of(10_000_000, 20_000);
  const rounds = of(3, 1);
  const short = of(5, 1);
  const few = (/** @type {number} */ count) => ({
    settings: { replicates: of(count, 4) },
    scale: replicates / of(count, 4),
  });
  const inDrawn = (/** @type {number} */ count) => `${many(count)} of ${many(replicates)} replicates, scaled up`;

  return [
    {
      name: 'bootstrap',
      title: `Quadratic kappa of ${many(pairs.targets)} pairs of ${many(pairs.patients)} patients, ${many(replicates)} replicates drawn by patient`,
      target: '≥ 300 × R with `table(factor())`; not slower than R on counts by patient',
      rounds: short,
      write: (folder) => writeGrades(folder, pairs),
      ours: [
        {
          who: 'ours, studentized, median of 15 turns in one process',
          program: 'node',
          piece: 'bootstrap',
          settings: { replicates, assessors: 2, turns: of(15, 3) },
        },
        {
          who: 'ours, studentized, first call of a process',
          program: 'node',
          piece: 'bootstrap',
          settings: { replicates, assessors: 2 },
        },
      ],
      theirs: [
        {
          who: `R, \`table(factor())\` on drawn rows (${inDrawn(of(40, 4))})`,
          program: 'R',
          piece: 'bootstrap-table',
          ...few(40),
          target: {
            times: 300,
            reason:
              'grades are whole numbers to R here, whose `factor()` is cheap; the next line has them as doubles, as R’s `round()` leaves them',
          },
        },
        {
          who: `R, the same with grades held as doubles (${inDrawn(of(40, 4))})`,
          program: 'R',
          piece: 'bootstrap-table-doubles',
          ...few(40),
        },
        {
          who: 'R, `tabulate()` on drawn rows',
          program: 'R',
          piece: 'bootstrap-tabulate',
          settings: { replicates },
        },
        {
          who: 'R, counts by patient, not studentized',
          program: 'R',
          piece: 'bootstrap-counts',
          settings: { replicates },
          less: true,
          target: { times: 1, reason: 'it leaves out each replicate’s own error, most of the work' },
        },
        {
          who: 'R, counts by patient, studentized as ours',
          program: 'R',
          piece: 'bootstrap-studentized',
          settings: { replicates },
        },
        {
          who: `R psych, \`cohen.kappa\` on drawn rows (${inDrawn(of(10, 4))})`,
          program: 'R',
          needs: 'psych',
          piece: 'bootstrap-psych',
          ...few(10),
        },
        {
          who: `scikit-learn, \`cohen_kappa_score\` on drawn rows (${inDrawn(of(20, 4))})`,
          program: 'python',
          needs: 'sklearn',
          piece: 'bootstrap',
          ...few(20),
        },
      ],
      same: { kappa: 1e-12, error: 1e-10, lower: 'replicates', upper: 'replicates' },
    },
    {
      name: 'study',
      title: `Whole study: ${many(study.patients * 200)} ratings, 5 assessors, 14 sites, ${many(study.patients)} patients; Conger kappa of two signs and each site with percent agreement, all studentized with 2,000 replicates; pairs cluster-robust`,
      target: '≤ 5 s, ≤ 1 GB',
      rounds,
      write: (folder) => writeStudy(folder, study),
      ours: [{ who: 'ours, from the CSV file', program: 'node', piece: 'study' }],
      theirs: [
        {
          who: 'R, the kappas alone on counts by patient, readings in memory (10 of 2,000 replicates, scaled up)',
          program: 'R',
          piece: 'study',
          settings: { replicates: 10 },
          scale: 200,
          less: true,
        },
      ],
      same: { kappa: 1e-10, error: 1e-8, exact: 1e-12, shift: 1e-12 },
      most: {
        seconds: 5,
        bytes: 1e9,
        reason:
          'a third is reading the file with every check, a third the sums over the 3,160 different patients that each of 2,000 replicates draws, for 56 bootstraps (kappa and two kinds of percent agreement 16 times, specific agreement of 8 grades), the rest everything else of a study',
      },
    },
    {
      name: 'million-kappa',
      title: `Quadratic kappa with patient-jackknife error of ${many(million.targets)} targets by two`,
      target: 'within 3 × of one pass over the bytes',
      rounds,
      write: (folder) => writeGrades(folder, million),
      ours: [
        {
          who: 'ours, median of 15 turns in one process',
          program: 'node',
          piece: 'passes',
          part: 'kappa',
          settings: { assessors: 2, turns: of(15, 3) },
        },
        { who: 'ours, first call of a process', program: 'node', piece: 'one-kappa', settings: { assessors: 2 } },
      ],
      theirs: [
        {
          who: 'one pass over the same bytes, same process',
          program: 'node',
          piece: 'passes',
          part: 'pass',
          settings: { assessors: 2, turns: of(15, 3) },
          less: true,
          target: { times: 1 / 3, reason: PASSES },
        },
        { who: 'R psych, `cohen.kappa`', program: 'R', needs: 'psych', piece: 'one-kappa' },
        { who: 'scikit-learn, `cohen_kappa_score`', program: 'python', needs: 'sklearn', piece: 'one-kappa' },
      ],
      same: { kappa: 1e-12 },
    },
    {
      name: 'million-alpha',
      title: `Ordinal Krippendorff alpha with patient-jackknife error of ${many(million.targets)} targets by two`,
      target: 'within 3 × of one pass over the bytes',
      rounds,
      write: (folder) => writeGrades(folder, million),
      ours: [
        {
          who: 'ours, median of 15 turns in one process',
          program: 'node',
          piece: 'passes',
          part: 'alpha',
          settings: { assessors: 2, turns: of(15, 3) },
        },
      ],
      theirs: [
        {
          who: 'one pass over the same bytes, same process',
          program: 'node',
          piece: 'passes',
          part: 'pass',
          settings: { assessors: 2, turns: of(15, 3) },
          less: true,
          target: { times: 1 / 3, reason: PASSES },
        },
      ],
      same: {},
    },
    {
      name: 'hidden-markov',
      title: `Hidden Markov chain of four states with misclassification, ${patients} patients of msm’s \`cav\``,
      target: '≥ 20 ×, same maximum',
      rounds: of(7, 1),
      prepare: { who: '', program: 'R', needs: 'msm', piece: 'hidden-markov-data', settings: { patients } },
      ours: [
        { who: 'ours, from three starts', program: 'node', piece: 'hidden-markov', settings: { starts: 3 } },
        { who: 'ours, from one start, as msm', program: 'node', piece: 'hidden-markov', settings: { starts: 1 } },
      ],
      theirs: [
        {
          who: 'R msm',
          program: 'R',
          needs: 'msm',
          piece: 'hidden-markov',
          target: {
            times: 20,
            reason:
              'ours searches from three starts unless told otherwise, msm from the one it is given; beside one search of ours stands the line above',
          },
        },
      ],
      same: { criterion: 'maximum', rate: 1e-3, misread: 1e-3 },
    },
    {
      name: 'ordinal-mixed',
      title: `Cumulative-link mixed model, ${many(mixed.rows)} rows of ${many(mixed.groups)} patients, Laplace`,
      target: '≥ 10 ×, same maximum',
      rounds,
      write: (folder) => writeGroups(folder, mixed),
      ours: [{ who: 'ours', program: 'node', piece: 'ordinal-mixed' }],
      theirs: [
        {
          who: 'R ordinal, `clmm`',
          program: 'R',
          needs: 'ordinal',
          piece: 'ordinal-mixed',
          target: { times: 10, reason: '' },
        },
      ],
      same: { logLikelihood: 'maximum', effect: 1e-4, deviation: 1e-3 },
    },
    {
      name: 'crossed-mixed',
      title: `Crossed variance components by REML, ${many(crossed.targets * crossed.assessors)} rows (${many(crossed.targets)} targets × ${crossed.assessors} assessors)`,
      target: '≥ 1 ×, same maximum',
      rounds: short,
      write: (folder) => writeNumbers(folder, crossed),
      ours: [{ who: 'ours', program: 'node', piece: 'crossed-mixed' }],
      theirs: [
        {
          who: 'R lme4, `lmer`',
          program: 'R',
          needs: 'lme4',
          piece: 'crossed-mixed',
          target: { times: 1, reason: '' },
        },
      ],
      same: { criterion: 'maximum', target: 1e-3, assessor: 1e-3, residual: 1e-3 },
    },
    {
      name: 'intraclass-correlation',
      title: `Intraclass correlation of ${many(plate.targets)} targets by ${plate.assessors} with its F interval`,
      target: 'none',
      rounds: short,
      write: (folder) => writeNumbers(folder, plate),
      ours: [
        { who: 'ours', program: 'node', piece: 'intraclass-correlation', settings: { assessors: plate.assessors } },
      ],
      theirs: [
        {
          who: 'R psych, `ICC`, six forms at once',
          program: 'R',
          needs: 'psych',
          piece: 'intraclass-correlation',
          settings: { assessors: plate.assessors },
        },
      ],
      same: { correlation: 1e-9 },
    },
    {
      name: 'marginal-logistic',
      title: `Logistic model by estimating equations, ${many(groups.rows)} rows of ${many(groups.groups)} patients, exchangeable`,
      target: 'none',
      rounds,
      write: (folder) => writeGroups(folder, groups),
      ours: [{ who: 'ours', program: 'node', piece: 'marginal-logistic' }],
      theirs: [{ who: 'statsmodels, `GEE`', program: 'python', needs: 'statsmodels', piece: 'marginal-logistic' }],
      same: { effect: 1e-6, error: 1e-6, correlation: 1e-6 },
    },
    {
      name: 'cox',
      title: `Cox regression, ${many(groups.rows)} entries of ${many(groups.groups)} patients with tied weeks, errors by patient`,
      target: 'none',
      rounds,
      write: (folder) => writeGroups(folder, groups),
      ours: [{ who: 'ours', program: 'node', piece: 'cox' }],
      theirs: [{ who: 'R survival, `coxph`', program: 'R', needs: 'survival', piece: 'cox' }],
      same: { effect: 1e-6, logLikelihood: 1e-9 },
    },
    ...loads(rows, of(2, 1)),
    {
      name: 'count',
      title: 'A coefficient of 100,000,000 rows of Parquet counted where they lie',
      target: 'none',
      rounds: 1,
      byNameOnly: true,
      // A register of years: about 1,000 readings of each patient by one pair of assessors.
      write: (folder) =>
        writeReadings(join(folder, 'readings.parquet'), of(100_000_000, 20_000), 'parquet', { days: 62, assessors: 2 }),
      ours: [{ who: 'ours', program: 'node', piece: 'count', settings: { file: 'readings.parquet' } }],
      theirs: [],
      same: {},
    },
    {
      name: 'start-library',
      title: 'The library, imported',
      target: '≤ 150 ms',
      rounds: of(9, 1),
      ours: [{ who: 'ours, within Node', program: 'node', piece: 'import' }],
      theirs: [{ who: 'Node by itself', program: 'node', piece: 'nothing', less: true }],
      same: {},
      most: { seconds: 0.15, reason: 'the machine was busy; the ratio of the whole processes says more' },
    },
    {
      name: 'start-kernel',
      title: 'From the start of a notebook’s kernel to its first chart',
      target: '≤ 5 s',
      rounds,
      ours: [{ who: 'ours', program: 'kernel', piece: CHART, settings: { wanted: 'vegalite' } }],
      theirs: [
        {
          who: 'the kernel alone, to the answer of 1 + 1',
          program: 'kernel',
          piece: 'console.log(1 + 1)',
          settings: { wanted: '2' },
          less: true,
        },
      ],
      same: {},
      most: { seconds: 5, reason: 'most of it is the kernel checking the types of the cell' },
    },
  ];
}

/** @param {number} rows @param {number} rounds @returns {Work[]} */
function loads(rows, rounds) {
  return /** @type {const} */ (['csv', 'parquet']).map((form) => {
    const settings = { file: `readings.${form}` };
    return {
      name: `load-${form}`,
      title: `${rows.toLocaleString('en')} rows of 11 columns of ${form === 'csv' ? 'CSV' : 'Parquet'} loaded with every check`,
      target: form === 'csv' ? '≤ 3 × DuckDB’s plain read, < 2 GB' : 'none',
      rounds,
      write: (folder) => writeReadings(join(folder, `readings.${form}`), rows, form),
      ours: [{ who: 'ours, checked', program: 'node', piece: 'load', settings }],
      theirs: [
        {
          who: 'DuckDB alone, unchecked, into a table of its own',
          program: 'node',
          piece: 'plain-load',
          settings,
          less: true,
          ...(form === 'csv' ? { target: { times: 1 / 3, reason: CHECKS } } : {}),
        },
      ],
      same: { rows: 0 },
      ...(form === 'csv' ? { most: { bytes: 2e9, reason: '' } } : {}),
    };
  });
}
