// @ts-check
// How the time of a piece of work grows with its size: five sizes, each twice the one before, the quickest of five runs of
// each, and the slope of a line through the logarithms (1: twice the size takes twice the time).
// usage: node tests/benchmark/growth.mjs [quick]
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { ratingsInMemory } from './ours.mjs';
import { fractions, wholes, writeGrades, writeGroups, writeNumbers } from './write-data.mjs';
import { writeReadings } from './write-readings.mjs';

const share = process.argv[2] === 'quick' ? 1 / 16 : 1;
const folder = mkdtempSync(join(tmpdir(), 'growth-'));
/** @type {typeof import('../../src/index.ts')} */
const from = await import(new URL('../../dist/index.js', import.meta.url).href);

/** @param {{ targets: number, patients: number, assessors: number }} sizes */
function grades(sizes) {
  const whole = Object.fromEntries(Object.entries(sizes).map(([name, size]) => [name, Math.round(size)]));
  writeGrades(folder, /** @type {typeof sizes} */ (whole));
  return ratingsInMemory(from, wholes(folder, 'codes'), wholes(folder, 'patient'), whole.assessors ?? 0);
}

/** @type {{ what: string, sizes: number[], unit: string, make: (size: number) => (() => unknown) | Promise<() => unknown> }[]} */
const growing = [
  {
    what: 'Cohen kappa, patient jackknife, 500 patients',
    unit: 'targets',
    sizes: doubled(125_000 * share),
    make: (targets) => {
      const { codes, clusterOf, numbers } = grades({ targets, patients: 500, assessors: 2 });
      // New ratings each time, of which nothing is known from the time before.
      const ratings = () => ratingsInMemory(from, codes, clusterOf, 2, numbers);
      return () => from.cohenKappa(ratings(), { weights: 'quadratic', interval: 'cluster-robust' });
    },
  },
  {
    what: 'Cohen kappa, 2,000 studentized replicates, 40,000 targets',
    unit: 'patients',
    sizes: doubled(250 * share),
    make: (patients) => {
      const ratings = grades({ targets: 40_000 * share, patients, assessors: 2 });
      return () => from.cohenKappa(ratings, { weights: 'quadratic' });
    },
  },
  {
    what: 'Cohen kappa, studentized, 20,000 targets, 500 patients',
    unit: 'replicates',
    sizes: doubled(500),
    make: (replicates) => {
      const ratings = grades({ targets: 20_000 * share, patients: 500 * share, assessors: 2 });
      return () => from.cohenKappa(ratings, { weights: 'quadratic', replicates });
    },
  },
  {
    what: 'Conger kappa, 500 studentized replicates, 10,000 targets, 500 patients',
    unit: 'assessors',
    sizes: doubled(2),
    make: (assessors) => {
      const ratings = grades({ targets: 10_000 * share, patients: 500 * share, assessors });
      return () => from.congerKappa(ratings, { weights: 'quadratic', replicates: 500 });
    },
  },
  {
    what: 'Conger kappa of each site, 500 studentized replicates, 1,000 targets a site, 250 patients',
    unit: 'sites',
    sizes: doubled(2),
    make: (sites) => {
      const all = Array.from({ length: sites }, () => grades({ targets: 1_000, patients: 250, assessors: 5 }));
      return () => all.map((ratings) => from.congerKappa(ratings, { weights: 'quadratic', replicates: 500 }));
    },
  },
  {
    what: 'CSV loaded with every check',
    unit: 'rows',
    sizes: doubled(125_000 * share),
    make: async (rows) => {
      await writeReadings(join(folder, 'readings.csv'), 2 * Math.round(rows / 2));
      return () => from.loadAssessments(join(folder, 'readings.csv'));
    },
  },
  {
    what: 'Cumulative-link mixed model, 10 rows a patient',
    unit: 'rows',
    sizes: doubled(1_250 * Math.sqrt(share)),
    make: (rows) => {
      writeGroups(folder, { rows: Math.round(rows), groups: Math.round(rows / 10) });
      const random = [{ name: 'patient', groups: wholes(folder, 'group') }];
      const problem = { response: wholes(folder, 'grade'), effects: { x: fractions(folder, 'x') }, random };
      return () => from.cumulativeLinkMixedModel(problem);
    },
  },
  {
    what: 'Crossed variance components by REML, 20 assessors',
    unit: 'rows',
    sizes: doubled(5_000 * share),
    make: (rows) => {
      writeNumbers(folder, { targets: Math.round(rows / 20), assessors: 20 });
      const random = ['target', 'assessor'].map((name) => ({ name, groups: wholes(folder, name) }));
      const problem = { response: fractions(folder, 'number'), random };
      return () => from.linearMixedModel(problem);
    },
  },
  {
    what: 'Cox regression, errors by patient, 10 entries each',
    unit: 'entries',
    sizes: doubled(2_500 * share),
    make: (rows) => {
      writeGroups(folder, { rows: Math.round(rows), groups: Math.round(rows / 10) });
      const data = {
        times: Array.from(fractions(folder, 'time')),
        events: Array.from(wholes(folder, 'event'), Boolean),
        patients: Array.from(wholes(folder, 'group')),
      };
      const covariates = { x: Array.from(fractions(folder, 'x')) };
      return () => from.coxRegression(data, covariates);
    },
  },
];

/** @type {{ what: string, unit: string, sizes: number[], seconds: number[], slope: number }[]} */
const found = [];
try {
  mkdirSync(folder, { recursive: true });
  for (const { what, unit, sizes, make } of growing) {
    /** @type {number[]} */
    const seconds = [];
    for (const size of sizes) {
      const work = await make(size);
      let best = Number.POSITIVE_INFINITY;
      for (let turn = 0; turn < 5; turn++) {
        const start = performance.now();
        await work();
        best = Math.min(best, (performance.now() - start) / 1000);
      }
      seconds.push(best);
    }
    found.push({ what, unit, sizes, seconds, slope: slopeOf(sizes.map(Math.log2), seconds.map(Math.log2)) });
  }
} finally {
  rmSync(folder, { recursive: true });
}
process.stdout.write(`${JSON.stringify(found)}\n`);
process.exit(0);

/** Five sizes, each twice the one before. @param {number} least */
function doubled(least) {
  return Array.from({ length: 5 }, (_, power) => Math.max(2, Math.round(least)) * 2 ** power);
}

/** Of the least squares line. @param {number[]} x @param {number[]} y */
function slopeOf(x, y) {
  const mean = (/** @type {number[]} */ values) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [a, b] = [mean(x), mean(y)];
  const products = x.map((value, at) => (value - a) * ((y[at] ?? 0) - b));
  return mean(products) / mean(x.map((value) => (value - a) ** 2));
}
