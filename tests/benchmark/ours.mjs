// @ts-check
// One piece of work by the library (or by the engine alone, or a bare pass over bytes), in a process of its own: prints
// what was computed, how long the work took once the data were read, and the most memory of the process.
// usage: node tests/benchmark/ours.mjs <piece> <folder of the data> [settings as JSON]
import { join } from 'node:path';
import process from 'node:process';
import { pathToFileURL } from 'node:url';
import { fractions, wholes } from './write-data.mjs';

const [piece = '', folder = '', settings = '{}'] = process.argv.slice(2);

/** @typedef {import('../../src/index.ts')} Library */
/** @returns {Promise<Library>} */
const library = () => import(new URL('../../dist/index.js', import.meta.url).href);

/** @typedef {{ targets: number, patients: number, assessors: number }} Grades */

/**
 * Readings that lie in memory already, as a caller has them who does not start from a file.
 *
 * @param {Library} from @param {Int32Array} codes @param {Int32Array} clusterOf @param {number} columns @param {Float64Array} [numbers]
 */
export function ratingsInMemory({ Ratings }, codes, clusterOf, columns, numbers = Float64Array.from(codes)) {
  return new Ratings({
    level: 'ordinal',
    categories: [0, 1, 2, 3].map((value) => ({ value, words: String(value), score: value })),
    assessors: Array.from({ length: columns }, (_, at) => `A${at + 1}`),
    codes,
    numbers,
    targets: clusterOf.length,
    columns,
    clusterOf,
    clusters: (clusterOf.at(-1) ?? -1) + 1,
    clustersKnown: true,
  });
}

/** Reads, then hands over what is timed. @type {Record<string, (options: any) => Promise<() => any>>} */
const pieces = {
  /** With other draws each turn, since the last draws are kept; the first turn's figures are handed out. */
  async bootstrap({ replicates, assessors, turns = 1 }) {
    const from = await library();
    const codes = wholes(folder, 'codes');
    const clusterOf = wholes(folder, 'patient');
    const numbers = Float64Array.from(codes);
    return () => {
      const made = Array.from({ length: turns }, (_, turn) => {
        const ratings = ratingsInMemory(from, codes, clusterOf, assessors, numbers);
        const start = performance.now();
        const kappa = from.cohenKappa(ratings, { weights: 'quadratic', replicates, seed: 20260301 + turn });
        return { kappa, seconds: (performance.now() - start) / 1000 };
      });
      const { value, standardError, interval } = /** @type {typeof made[0]} */ (made[0]).kappa;
      const seconds = { work: middle(made.map((one) => one.seconds)) };
      return { kappa: value, error: standardError, lower: interval.lower, upper: interval.upper, seconds };
    };
  },

  async study() {
    const { agreementStudy, loadAssessments } = await library();
    return async () => {
      const assessments = await loadAssessments(join(folder, 'study.csv'));
      const signs = ['pulse-grade', 'pitting-edema'];
      const study = await agreementStudy(assessments, { signs, by: ['site'], weights: 'quadratic' });
      /** @type {Record<string, number>} */
      const numbers = {};
      study.results.forEach(({ sign, group, primary }) => {
        const name = `${sign} ${group?.value ?? 'all'}`;
        numbers[`kappa ${name}`] = primary.value;
        numbers[`error ${name}`] = primary.standardError;
        numbers[`lower ${name}`] = primary.interval.lower;
      });
      for (const sign of signs)
        study.pairs(sign).rows.forEach(({ exact, shift }, at) => {
          numbers[`exact ${sign} ${at}`] = Number(exact);
          numbers[`shift ${sign} ${at}`] = Number(shift);
        });
      return numbers;
    };
  },

  /** Everything several times in turn in one process: one pass takes less than a machine needs to get going. */
  async passes({ assessors, turns }) {
    const from = await library();
    const codes = wholes(folder, 'codes');
    const clusterOf = wholes(folder, 'patient');
    // New ratings for each turn, so that nothing is known of them from the turn before.
    const numbers = Float64Array.from(codes);
    const anew = () => ratingsInMemory(from, codes, clusterOf, assessors, numbers);
    const work = {
      pass: () => {
        let sum = 0;
        for (let at = 0; at < codes.length; at++) sum += codes[at] ?? 0;
        for (let at = 0; at < clusterOf.length; at++) sum += clusterOf[at] ?? 0;
        return sum;
      },
      kappa: () => from.cohenKappa(anew(), { weights: 'quadratic', interval: 'cluster-robust' }),
      alpha: () => from.krippendorffAlpha(anew(), { metric: 'ordinal', interval: 'cluster-robust' }),
    };
    return () => {
      /** @type {Record<'pass' | 'kappa' | 'alpha', number[]>} */
      const times = { pass: [], kappa: [], alpha: [] };
      for (let turn = 0; turn < turns; turn++)
        for (const name of /** @type {const} */ (['pass', 'kappa', 'alpha'])) {
          const start = performance.now();
          work[name]();
          times[name].push((performance.now() - start) / 1000);
        }
      const kappa = work.kappa();
      const alpha = work.alpha();
      const seconds = Object.fromEntries(Object.entries(times).map(([name, all]) => [name, middle(all)]));
      return { kappa: kappa.value, kappaError: kappa.standardError, alpha: alpha.value, seconds };
    };
  },

  async 'one-kappa'({ assessors }) {
    const from = await library();
    const ratings = ratingsInMemory(from, wholes(folder, 'codes'), wholes(folder, 'patient'), assessors);
    return () => {
      const { value } = from.cohenKappa(ratings, { weights: 'quadratic', interval: 'cluster-robust' });
      return { kappa: value };
    };
  },

  async 'hidden-markov'({ starts }) {
    const { hiddenMarkovFit } = await library();
    const subject = wholes(folder, 'subject');
    const time = fractions(folder, 'years');
    const category = wholes(folder, 'state').map((state) => state - 1);
    const yes = true;
    const no = false;
    const options = {
      allowed: [
        [no, yes, no, yes],
        [no, no, yes, yes],
        [no, no, no, yes],
        [no, no, no, no],
      ],
      misreadings: [
        [no, yes, no, no],
        [yes, no, yes, no],
        [no, yes, no, no],
        [no, no, no, no],
      ],
      initial: [1, 0, 0, 0],
      exactEnd: 3,
      starts,
    };
    return async () => {
      const fit = await hiddenMarkovFit({ subject, time, category }, options);
      return {
        criterion: -2 * fit.logLikelihood,
        rate: fit.intensities[0]?.[1]?.value,
        misread: fit.matrices[0]?.[1]?.[0]?.value,
      };
    };
  },

  async 'ordinal-mixed'() {
    const { cumulativeLinkMixedModel } = await library();
    const problem = {
      response: wholes(folder, 'grade'),
      effects: { x: fractions(folder, 'x') },
      random: [{ name: 'patient', groups: wholes(folder, 'group') }],
    };
    return () => {
      const fit = cumulativeLinkMixedModel(problem);
      return {
        logLikelihood: fit.logLikelihood,
        effect: fit.effects[0]?.value,
        deviation: fit.components[0]?.standardDeviation,
      };
    };
  },

  async 'crossed-mixed'() {
    const { linearMixedModel } = await library();
    const problem = {
      response: fractions(folder, 'number'),
      random: [
        { name: 'target', groups: wholes(folder, 'target') },
        { name: 'assessor', groups: wholes(folder, 'assessor') },
      ],
    };
    return () => {
      const fit = linearMixedModel(problem);
      return {
        criterion: fit.criterion,
        target: fit.components[0]?.variance,
        assessor: fit.components[1]?.variance,
        residual: fit.residual.variance,
      };
    };
  },

  async 'intraclass-correlation'({ assessors }) {
    const { intraclassCorrelation, ratingsOf } = await library();
    const number = fractions(folder, 'number');
    const rows = Array.from({ length: number.length / assessors }, (_, at) =>
      Array.from(number.subarray(at * assessors, (at + 1) * assessors)),
    );
    const ratings = ratingsOf(rows);
    return () => {
      const { value } = intraclassCorrelation(ratings, {
        model: 'two-way',
        definition: 'agreement',
        unit: 'single',
        interval: 'asymptotic',
      });
      return { correlation: value };
    };
  },

  async 'marginal-logistic'() {
    const { logisticGee } = await library();
    const problem = {
      response: wholes(folder, 'yes'),
      effects: { x: fractions(folder, 'x') },
      clusters: wholes(folder, 'group'),
      correction: /** @type {const} */ ('none'),
    };
    return () => {
      const fit = logisticGee(problem);
      return { effect: fit.effects[1]?.value, error: fit.effects[1]?.standardError, correlation: fit.correlation };
    };
  },

  async cox() {
    const { coxRegression } = await library();
    const data = {
      times: Array.from(fractions(folder, 'time')),
      events: Array.from(wholes(folder, 'event'), Boolean),
      patients: Array.from(wholes(folder, 'group')),
    };
    const covariates = { x: Array.from(fractions(folder, 'x')) };
    return () => {
      const fit = coxRegression(data, covariates);
      return { effect: fit.effects[0]?.logRatio, logLikelihood: fit.logLikelihood };
    };
  },

  async load({ file }) {
    const { loadAssessments } = await library();
    return async () => ({ rows: (await loadAssessments(join(folder, file))).length });
  },

  async 'plain-load'({ file }) {
    const { DuckDBInstance } = await import('@duckdb/node-api');
    const path = join(folder, file).replaceAll("'", "''");
    return async () => {
      const connection = await (await DuckDBInstance.create(':memory:')).connect();
      const form = file.endsWith('.csv') ? 'csv' : 'parquet';
      await connection.run(`CREATE TABLE plain AS SELECT * FROM read_${form}('${path}')`);
      const counted = await connection.runAndReadAll('SELECT COUNT(*) FROM plain');
      return { rows: Number(counted.getRows()[0]?.[0]) };
    };
  },

  async count({ file }) {
    const { congerKappa, filesAsTable, ratingsFromWarehouse } = await library();
    const names = ['patient', 'assessor', 'occasion', 'limb', 'site', 'sign', 'scale', 'value', 'missing'];
    const columns = Object.fromEntries(names.map((name) => [name, name]));
    return async () => {
      const ratings = await filesAsTable(join(folder, file), (engine) =>
        ratingsFromWarehouse(engine, { table: 'assessments', columns }, { sign: 'pulse-grade' }),
      );
      return { kappa: congerKappa(ratings, { interval: 'cluster-robust' }).value };
    };
  },

  /** An empty Node beside it is `nothing`. */
  async import() {
    return async () => {
      await library();
      return {};
    };
  },

  async nothing() {
    return () => ({});
  },
};

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const prepare = pieces[piece];
  if (prepare === undefined)
    throw new Error(`There is no piece "${piece}"; there are ${Object.keys(pieces).join(', ')}.`);
  const work = await prepare(JSON.parse(settings));
  const start = performance.now();
  const { seconds = undefined, ...numbers } = await work();
  const inner = (performance.now() - start) / 1000;
  // maxRSS counts kilobytes on every system.
  const peak = process.resourceUsage().maxRSS * 1024;
  process.stdout.write(`${JSON.stringify({ seconds: seconds ?? { work: inner }, peak, numbers })}\n`);
  process.exit(0);
}

/** The median. @param {number[]} values */
export function middle(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (sorted.length - 1) / 2;
  return ((sorted[Math.floor(at)] ?? Number.NaN) + (sorted[Math.ceil(at)] ?? Number.NaN)) / 2;
}
