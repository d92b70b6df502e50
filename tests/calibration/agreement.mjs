// Coverage and width of the intervals of agreement over the designs that units have (`agreement-cells.mjs`).
import { AGREEMENT_CELLS } from './agreement-cells.mjs';
import { fromSource } from './from-source.mjs';

const { coverageOf, percentileInterval } = await fromSource('planning/interval-coverage.ts');
const { longRunReadings } = await fromSource('planning/simulate-readings.ts');
const { agreementCoefficient } = await fromSource('agreement/agreement-coefficient.ts');
const { clusterSums } = await fromSource('agreement/coefficient.ts');
const { asymptoticInterval, clusterRobustInterval, jackknifeShares, replicateStatistics, studentizedLimits } =
  await fromSource('agreement/interval.ts');
const { specificCoefficient } = await fromSource('agreement/specific-agreement.ts');
const { meanDifference } = await fromSource('agreement/marginal-shift.ts');

const named = (name, choice = {}) => ({
  coefficient: (ratings) => agreementCoefficient(name).coefficient(ratings, choice),
});
const conger = named('conger-kappa', { weights: 'quadratic' });
const ALL = [
  conger,
  named('fleiss-kappa'),
  named('krippendorff-alpha', { metric: 'ordinal' }),
  named('gwet-agreement', { weights: 'quadratic' }),
  named('percent-agreement'),
  { coefficient: (ratings) => specificCoefficient(ratings, 0) },
];
/** Of two assessors only. */
const OF_TWO = [named('cohen-kappa', { weights: 'quadratic' }), { coefficient: meanDifference }];

const SEED = 20261127;

export const cells = AGREEMENT_CELLS;
export const studies = 4000;

/** By the name of a statistic, which of the intervals below is the library's default as it now is: kept results say it of both forms. */
export function defaultIntervals() {
  const ratings = longRunReadings(
    { ...cells[0].design, patients: 1 },
    { ...cells[0].assumptions, readingSpread: 1 },
    100,
    SEED,
  );
  return Object.fromEntries(
    [...OF_TWO, ...ALL].map(({ coefficient }) => {
      const { name, bootstrapForm } = coefficient(ratings);
      return [name, `bootstrap, ${bootstrapForm}`];
    }),
  );
}

/** One design: the coverage of every statistic. */
export async function run(cell, count) {
  const at = cells.indexOf(cell);
  const assumptions = { ...cell.assumptions, readingSpread: spreadFor(cell) };
  const found = await coverageOf(
    cell.design.assessors === 2 ? [...OF_TWO, ...ALL] : ALL,
    {
      design: cell.design,
      assumptions,
      studies: count,
      seed: SEED + 1_000_000 * at,
    },
    everyInterval,
  );
  const { cautioned, replicates, rows } = found;
  return { ...cell, assumptions, studies: found.studies, cautioned, replicates, rows };
}

/** The default interval (the form that the coefficient names) beside both forms, the wider of both and others, all from one set of replicates. */
function everyInterval(coefficient, ratings, sums, options) {
  const value = coefficient.value(sums.totals);
  const standardError = Math.hypot(...jackknifeShares(coefficient, sums));
  const jackknife = clusterRobustInterval(coefficient, sums, options).interval;
  if (Number.isNaN(jackknife.lower + jackknife.upper)) return { default: jackknife };
  const studentized = replicateStatistics(coefficient, sums, options, { value, standardError });
  const usable = studentized.length > options.replicates / 2;
  const limits = (form) =>
    (usable
      ? studentizedLimits(coefficient, { value, standardError, studentized, form }, options.confidenceLevel)
      : undefined) ?? jackknife;
  const equal = limits('equal-tailed');
  const symmetric = limits('symmetric');
  return {
    default: limits(coefficient.bootstrapForm),
    'bootstrap, equal-tailed': equal,
    'bootstrap, symmetric': symmetric,
    'bootstrap, wider of both': {
      lower: Math.min(equal.lower, symmetric.lower),
      upper: Math.max(equal.upper, symmetric.upper),
    },
    'symmetric or jackknife, wider': {
      lower: Math.min(jackknife.lower, symmetric.lower),
      upper: Math.max(jackknife.upper, symmetric.upper),
    },
    'patient jackknife': jackknife,
    'percentile bootstrap': percentileInterval(coefficient, sums, options),
    'targets independent': asymptoticInterval(coefficient, ratings, sums, options).interval,
  };
}

/** The spread of readings with which quadratic kappa is the cell's in the long run. */
function spreadFor({ design, assumptions, kappa }) {
  const kappaWith = (readingSpread) => {
    const ratings = longRunReadings(design, { ...assumptions, readingSpread }, 20_000, SEED);
    const coefficient = conger.coefficient(ratings);
    return coefficient.value(clusterSums(ratings, coefficient).totals);
  };
  let [low, high] = [Math.log(0.02), Math.log(10)];
  for (let step = 0; step < 14; step++) {
    const middle = (low + high) / 2;
    if (kappaWith(Math.exp(middle)) > kappa) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}
