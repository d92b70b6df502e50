// How often do the charts of a unit signal though nothing changed? Patients read once or several times, with and without
// resemblance of neighboring periods.
import { fromSource } from './from-source.mjs';

const { seededRandom } = await fromSource('shared/random.ts');
const { normal } = await fromSource('shared/distributions.ts');
const { runChart } = await fromSource('unit-quality/run-chart.ts');
const { proportionChart } = await fromSource('unit-quality/proportion-chart.ts');
const { clusteredProportionChart } = await fromSource('unit-quality/clustered-proportion-chart.ts');
const { autocorrelation } = await fromSource('unit-quality/autocorrelation.ts');
const { movingAverageChart } = await fromSource('unit-quality/moving-average-chart.ts');
const { cumulativeSumChart } = await fromSource('unit-quality/cumulative-sum-chart.ts');

const SEED = 20260321;
const MEAN = 0.35;

export const RULES = [
  'runs, own median',
  'runs, median of 12 earlier periods',
  'p chart, 3 standard errors',
  'p chart, exact limits',
  'p′ chart, 12 baseline periods',
  'p′ chart, 24 baseline periods',
  'p chart, limits from patients',
  'moving average',
  'cumulative sum',
  'neighbors resemble each other',
];

export const cells = [24, 36].flatMap((periods) =>
  [
    { patients: 20, readings: 1 },
    { patients: 50, readings: 1 },
    { patients: 10, readings: 5 },
    { patients: 20, readings: 5 },
  ].flatMap((size) => [0, 0.2, 0.4].map((resemblance) => ({ periods, ...size, resemblance }))),
);
export const studies = 4000;

/** Periods of one unit in which nothing changed: who was read, and how many of the readings found it. */
function quietUnit(random, { periods, patients, readings, resemblance }) {
  const rows = [];
  let state = random.normal();
  for (let period = 0; period < periods; period++) {
    if (period > 0) state = resemblance * state + Math.sqrt(1 - resemblance * resemblance) * random.normal();
    // Neighboring periods resemble each other through a common level whose share of the variance of the period's share is a half.
    const level = resemblance === 0 ? MEAN : MEAN + state * Math.sqrt((MEAN * (1 - MEAN)) / patients);
    const cut = level <= 0 ? Number.NEGATIVE_INFINITY : level >= 1 ? Number.POSITIVE_INFINITY : normal.quantile(level);
    for (let patient = 0; patient < patients; patient++) {
      const own = random.normal();
      let count = 0;
      for (let reading = 0; reading < readings; reading++) {
        // Correlation of two readings of a patient on the normal scale .46: about .3 for yes and no.
        const value = readings === 1 ? own : Math.sqrt(0.46) * own + Math.sqrt(0.54) * random.normal();
        if (value < cut) count++;
      }
      rows.push({ period, patient: `${period}/${patient}`, count, readings });
    }
  }
  return rows;
}

export async function run(cell, count) {
  const { periods, patients, readings } = cell;
  const signals = RULES.map(() => 0);
  for (let chart = 0; chart < count; chart++) {
    const rows = quietUnit(seededRandom(SEED, 100_000 * (1 + cells.indexOf(cell)) + chart), cell);
    const counts = Array(periods).fill(0);
    for (const row of rows) counts[row.period] += row.count;
    const sizes = counts.map(() => patients * readings);
    const shares = counts.map((found, at) => found / sizes[at]);
    const outside = (result) => result.points.some((point) => point.outside);
    const baseline = { baseline: { from: 0, to: 23 } };
    const target = shares.slice(0, 24).reduce((sum, share) => sum + share, 0) / 24;
    const sigma = Math.sqrt((target * (1 - target)) / sizes[0]);
    [
      runChart(shares).signal,
      runChart(shares, { baseline: 12 }).signal,
      outside(proportionChart(counts, sizes, { limits: 'normal', ...baseline })),
      outside(proportionChart(counts, sizes, { limits: 'exact', ...baseline })),
      outside(proportionChart(counts, sizes, { limits: 'spread', baseline: { from: 0, to: 11 } })),
      outside(proportionChart(counts, sizes, { limits: 'spread', ...baseline })),
      outside(clusteredProportionChart(rows, periods, baseline)),
      outside(movingAverageChart(shares, { target, sigma, lambda: 0.2, width: 2.962 })),
      cumulativeSumChart(shares, { target, allowance: 0.5 * sigma, decision: 5 * sigma }).signals.length > 0,
      autocorrelation(shares).resemble,
    ].forEach((signal, at) => {
      if (signal) signals[at]++;
    });
  }
  return { ...cell, studies: count, signals };
}
