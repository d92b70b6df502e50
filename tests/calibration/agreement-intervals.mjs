// How often do the 95 % intervals of the agreement statistics cover, and how often do the tests of bias cry wolf?
// Simulated studies: 12, 20, 30, 60 patients with 3, 8, 14 targets, correlation .1 or .5 within a patient, grades 0–4 spread
// evenly or with rare low grades, small or large error; two assessors, or three with 15 % of readings missing.
// usage: node tests/calibration/agreement-intervals.mjs [studies a cell, default 40] [folder of the built library, default dist] [part of a name]
// With a part of a name only the statistics whose names hold it are run; with "tests" only the tests.
// Prints one table of coverage (a row a statistic, a column an interval) and one of tests. Seeded: the same call, the same digits.
import process from 'node:process';
import { pathToFileURL } from 'node:url';

const studies = Number(process.argv[2] ?? 40);
const only = process.argv[4] ?? '';
const built = pathToFileURL(`${process.cwd()}/${process.argv[3] ?? 'dist'}/`).href;
const load = (file) => import(new URL(file, built).href);

const { ratingsOf } = await load('ratings/ratings-of.js');
const { seededRandom } = await load('shared/random.js');
const { clusterSums } = await load('agreement/coefficient.js');
const { asymptoticInterval, clusterRobustInterval, replicateStatistics, studentizedLimits, jackknifeShares } =
  await load('agreement/interval.js');
const { agreementCoefficient } = await load('agreement/agreement-coefficient.js');
const { specificCoefficient } = await load('agreement/specific-agreement.js');
const { meanDifference, shareShift } = await load('agreement/marginal-shift.js');
const { compareAgreement } = await load('agreement/compare-agreement.js');
const { mcnemarTest } = await load('agreement/mcnemar-test.js');
const { bowkerTest } = await load('agreement/bowker-test.js');
const { stuartMaxwellTest } = await load('agreement/stuart-maxwell-test.js');
const { bhapkarTest } = await load('agreement/bhapkar-test.js');

const CATEGORIES = [0, 1, 2, 3, 4];
const LEVEL = 0.95;
const REPLICATES = 499;
const patientsOf = [12, 20, 30, 60];
const targetsOf = [3, 8, 14];
const correlations = [0.1, 0.5];
const cutsOf = { common: [-0.84, -0.25, 0.25, 0.84], rare: [-2.2, -1.7, -1.2, -0.4] };
const errors = [0.3, 0.8];

const named =
  (name, choice = {}) =>
  (ratings) =>
    agreementCoefficient(name).coefficient(ratings, choice);
/** Two assessors (no gaps) or three (gaps); each with the coefficient it makes of ratings. */
const allStatistics = [
  { name: 'percent agreement, 3', assessors: 3, make: named('percent-agreement') },
  { name: 'specific agreement, lowest grade, 3', assessors: 3, make: (r) => specificCoefficient(r, 0) },
  { name: 'specific agreement, highest grade, 3', assessors: 3, make: (r) => specificCoefficient(r, 4) },
  { name: 'Cohen kappa, identity', assessors: 2, make: named('cohen-kappa') },
  { name: 'Cohen kappa, quadratic', assessors: 2, make: named('cohen-kappa', { weights: 'quadratic' }) },
  { name: 'Scott pi, quadratic', assessors: 2, make: named('scott-pi', { weights: 'quadratic' }) },
  { name: 'Fleiss kappa, identity, 3', assessors: 3, make: named('fleiss-kappa') },
  { name: 'Conger kappa, quadratic, 3', assessors: 3, make: named('conger-kappa', { weights: 'quadratic' }) },
  { name: 'Light kappa, quadratic, 3', assessors: 3, make: named('light-kappa', { weights: 'quadratic' }) },
  { name: 'Krippendorff alpha, ordinal, 3', assessors: 3, make: named('krippendorff-alpha', { metric: 'ordinal' }) },
  { name: 'Krippendorff alpha, interval, 3', assessors: 3, make: named('krippendorff-alpha', { metric: 'interval' }) },
  { name: 'Brennan–Prediger, identity, 3', assessors: 3, make: named('brennan-prediger') },
  { name: 'Brennan–Prediger, quadratic, 3', assessors: 3, make: named('brennan-prediger', { weights: 'quadratic' }) },
  { name: 'Gwet first, 3', assessors: 3, make: named('gwet-agreement') },
  { name: 'Gwet second, quadratic, 3', assessors: 3, make: named('gwet-agreement', { weights: 'quadratic' }) },
  { name: 'mean difference', assessors: 2, make: meanDifference },
  { name: 'share shift, highest grade', assessors: 2, make: (r) => shareShift(r, 4) },
];
const statistics = allStatistics.filter(({ name }) => name.includes(only));
const withTests = only === '' || only === 'tests';
const METHODS = ['equal-tailed', 'symmetric', 'jackknife t', 'asymptotic'];
const TESTS = ['McNemar', 'McNemar mid-p', 'Bowker', 'Stuart–Maxwell', 'Bhapkar', 'contrast of two halves'];

/** Readings of one study: rows of three assessors, the patient of each row. */
function study(random, { patients, targets, correlation, cuts, error, bias, gaps }) {
  const rows = [];
  const clusters = [];
  const own = Math.sqrt(1 - correlation);
  for (let patient = 0; patient < patients; patient++) {
    const shared = Math.sqrt(correlation) * random.normal();
    for (let target = 0; target < targets; target++) {
      const position = shared + own * random.normal();
      rows.push(
        [0, bias, -bias].map((b) => {
          const x = position + b + error * random.normal();
          const grade = cuts.filter((cut) => x > cut).length;
          return gaps && random.uniform() < 0.15 ? null : grade;
        }),
      );
      clusters.push(patient);
    }
  }
  return { rows, clusters };
}

const ratingsFor = ({ rows, clusters }, assessors) =>
  ratingsOf(
    rows.map((row) => row.slice(0, assessors)),
    { categories: CATEGORIES, clusters },
  );

/** The values in a very large study, one patient after another. */
function truths(cuts, error) {
  const random = seededRandom(99, 1);
  const large = { patients: 400, targets: 500, correlation: 0, cuts, error, bias: 0.15 };
  const two = ratingsFor(study(random, { ...large, gaps: false }), 2);
  const three = ratingsFor(study(random, { ...large, gaps: true }), 3);
  return statistics.map(({ assessors, make }) => {
    const ratings = assessors === 2 ? two : three;
    const coefficient = make(ratings);
    return coefficient.value(clusterSums(ratings, coefficient).totals);
  });
}

const tally = new Map();
function count(group, name, key, hit) {
  const at = `${group}|${name}|${key}`;
  const entry = tally.get(at) ?? { hits: 0, of: 0 };
  entry.of++;
  if (hit) entry.hits++;
  tally.set(at, entry);
}

let cell = 0;
const started = Date.now();
for (const [rarity, cuts] of Object.entries(cutsOf)) {
  for (const error of errors) {
    const truth = truths(cuts, error);
    for (const correlation of correlations) {
      for (const patients of patientsOf) {
        for (const targets of targetsOf) {
          const random = seededRandom(20260301, ++cell);
          for (let one = 0; one < studies; one++) {
            const shape = { patients, targets, correlation, cuts, error };
            const two = ratingsFor(study(random, { ...shape, bias: 0.15, gaps: false }), 2);
            const three = ratingsFor(study(random, { ...shape, bias: 0.15, gaps: true }), 3);
            const cellName = `${patients} ${rarity} ${error} ${correlation}`;
            statistics.forEach(({ name, assessors, make }, at) => {
              cover(cellName, name, make(assessors === 2 ? two : three), assessors === 2 ? two : three, truth[at], one);
            });
            if (withTests) cryWolf(cellName, ratingsFor(study(random, { ...shape, bias: 0, gaps: false }), 2));
          }
        }
      }
    }
  }
}

function cover(group, name, coefficient, ratings, truth, seed) {
  const sums = clusterSums(ratings, coefficient);
  const value = coefficient.value(sums.totals);
  const options = { confidenceLevel: LEVEL, replicates: REPLICATES, seed, interval: undefined };
  const standardError = Math.sqrt(jackknifeShares(coefficient, sums).reduce((sum, share) => sum + share * share, 0));
  if (!(standardError > 1e-12) || Math.abs(value) === 1 || (coefficient.scale === 'logit' && value === 0)) {
    count(group, name, 'without interval', true);
    return;
  }
  count(group, name, 'without interval', false);
  const within = ({ lower, upper }) => lower <= truth && truth <= upper;
  const robust = clusterRobustInterval(coefficient, sums, options).interval;
  const studentized = replicateStatistics(coefficient, sums, options, value);
  for (const form of ['equal-tailed', 'symmetric']) {
    const limits = studentizedLimits(coefficient, { value, standardError, studentized, form }, LEVEL) ?? robust;
    count(group, name, form, within(limits));
  }
  count(group, name, 'jackknife t', within(robust));
  count(group, name, 'asymptotic', within(asymptoticInterval(coefficient, ratings, sums, options).interval));
}

function cryWolf(group, ratings) {
  const plain = { interval: 'cluster-robust' };
  const p = [
    mcnemarTest(ratings, { category: 4, ...plain }).pValue,
    mcnemarTest(ratings, { category: 4, method: 'mid-p', ...plain }).pValue,
    bowkerTest(ratings, plain).pValue,
    stuartMaxwellTest(ratings, plain).pValue,
    bhapkarTest(ratings, plain).pValue,
    compareAgreement(
      [0, 1].map((half) => ({ label: `${half}`, ratings, targets: (target) => target % 2 === half })),
      { coefficient: 'cohen-kappa', weights: 'quadratic' },
    ).contrasts[0].result.pValue,
  ];
  p.forEach((value, at) => {
    count(group, TESTS[at], 'p below .05', value < 0.05);
  });
}

/** Pooled over targets a patient: the mean over the cells of a number of patients, and the worst of them. */
function summary(name, key, patients, worst) {
  const cells = [...tally].filter(([at]) => at.startsWith(`${patients} `) && at.endsWith(`|${name}|${key}`));
  const shares = cells.map(([, { hits, of }]) => hits / of);
  const all = cells.reduce((sum, [, { hits, of }]) => [sum[0] + hits, sum[1] + of], [0, 0]);
  return cells.length === 0
    ? '      –     '
    : `${(all[0] / all[1]).toFixed(3)} (${worst(...shares).toFixed(2)})`.replaceAll('0.', '.').padStart(12);
}

const print = (line) => process.stdout.write(`${line}\n`);
const share = Math.sqrt((LEVEL * (1 - LEVEL)) / (studies * 24));
print(
  `Coverage of nominal 95 % intervals: mean over 24 cells (worst of 8, pooled over targets a patient); ${studies} studies a cell, Monte Carlo error of the mean ${share.toFixed(4)}`,
);
for (const { name } of statistics) {
  print(`\n${name}`);
  for (const method of METHODS)
    print(`  ${method.padEnd(14)}${patientsOf.map((k) => summary(name, method, k, Math.min)).join('  ')}`);
  print(
    `  ${'no interval'.padEnd(14)}${patientsOf.map((k) => summary(name, 'without interval', k, Math.max)).join('  ')}`,
  );
}
if (withTests) print('\nTests of no difference at p < .05, assessors alike: share of studies (largest of 8)');
for (const name of withTests ? TESTS : [])
  print(`  ${name.padEnd(24)}${patientsOf.map((k) => summary(name, 'p below .05', k, Math.max)).join('  ')}`);
print(`\ncolumns: ${patientsOf.join(', ')} patients; ${Math.round((Date.now() - started) / 1000)} s`);
