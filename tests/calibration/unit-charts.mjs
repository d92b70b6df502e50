// How often do the charts of a unit signal though nothing changed? Patients read once or several times, with and without
// resemblance of neighboring periods. And how often is a shift blamed on patients when only assessors changed? Seeded.
// node tests/calibration/unit-charts.mjs [charts a cell, default 1000] [units for the question of assessors, default 40]
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';

const charts = Number(process.argv[2] ?? 1000);
const units = Number(process.argv[3] ?? 40);
const SEED = 20260321;
const server = await createServer({
  root: fileURLToPath(new URL('../..', import.meta.url)),
  configFile: false,
  server: { middlewareMode: true, watch: null },
  logLevel: 'error',
});
const line = (/** @type {readonly unknown[]} */ cells) =>
  process.stdout.write(
    `${cells.map((cell, at) => (at === 0 ? String(cell).padEnd(44) : String(cell).padStart(9))).join('')}\n`,
  );
try {
  const load = (/** @type {string} */ file) => server.ssrLoadModule(`/src/${file}`);
  const { seededRandom } = await load('shared/random.ts');
  const { normal } = await load('shared/distributions.ts');
  const { runChart } = await load('unit-quality/run-chart.ts');
  const { proportionChart } = await load('unit-quality/proportion-chart.ts');
  const { clusteredProportionChart } = await load('unit-quality/clustered-proportion-chart.ts');
  const { autocorrelation } = await load('unit-quality/autocorrelation.ts');
  const { movingAverageChart } = await load('unit-quality/moving-average-chart.ts');
  const { cumulativeSumChart } = await load('unit-quality/cumulative-sum-chart.ts');
  const { patientsOrAssessors } = await load('unit-quality/patients-or-assessors.ts');
  const { loadAssessments } = await load('assessments/load-assessments.ts');

  line([
    'share of charts with a signal',
    'own med.',
    'frozen',
    'p 3 SD',
    'p exact',
    'p′ 12',
    'p′ 24',
    'clustered',
    'EWMA',
    'CUSUM',
    'resemble',
  ]);
  let cell = 0;
  for (const periods of [24, 36])
    for (const [patients, readings] of [
      [20, 1],
      [50, 1],
      [10, 5],
      [20, 5],
    ])
      for (const drift of [0, 0.2, 0.4]) {
        cell++;
        const hits = Array(10).fill(0);
        for (let chart = 0; chart < charts; chart++) {
          const random = seededRandom(SEED, 100000 * cell + chart);
          let state = random.normal();
          const rows = [];
          for (let period = 0; period < periods; period++) {
            if (period > 0) state = drift * state + Math.sqrt(1 - drift * drift) * random.normal();
            // Neighboring periods resemble each other through a common level whose share of the variance of the period's share is a half.
            const level = drift === 0 ? 0.35 : 0.35 + state * Math.sqrt((0.35 * 0.65) / patients);
            for (let patient = 0; patient < patients; patient++) {
              const own = random.normal();
              let count = 0;
              for (let reading = 0; reading < readings; reading++) {
                // Correlation of two readings of a patient on the normal scale .46: about .3 for yes and no.
                const value = readings === 1 ? own : Math.sqrt(0.46) * own + Math.sqrt(0.54) * random.normal();
                if (normal.cdf(value) < level) count++;
              }
              rows.push({ period, patient: `${period}/${patient}`, count, readings });
            }
          }
          const counts = Array.from({ length: periods }, (_, at) =>
            rows.filter(({ period }) => period === at).reduce((sum, { count }) => sum + count, 0),
          );
          const sizes = counts.map(() => patients * readings);
          const shares = counts.map((count, at) => count / sizes[at]);
          const outside = (result) => result.points.some((point) => point.outside);
          const first = { baseline: { from: 0, to: 23 } };
          const middle = shares.slice(0, 24).reduce((sum, share) => sum + share, 0) / 24;
          const sigma = Math.sqrt((middle * (1 - middle)) / sizes[0]);
          [
            runChart(shares).signal,
            runChart(shares, { baseline: 12 }).signal,
            outside(proportionChart(counts, sizes, { limits: 'normal', ...first })),
            outside(proportionChart(counts, sizes, { limits: 'exact', ...first })),
            outside(proportionChart(counts, sizes, { limits: 'spread', baseline: { from: 0, to: 11 } })),
            outside(proportionChart(counts, sizes, { limits: 'spread', ...first })),
            outside(clusteredProportionChart(rows, periods, first)),
            outside(movingAverageChart(shares, { target: middle, sigma, lambda: 0.2, width: 2.962 })),
            cumulativeSumChart(shares, { target: middle, allowance: 0.5 * sigma, decision: 5 * sigma }).signals.length >
              0,
            autocorrelation(shares).resemble,
          ].forEach((signal, at) => {
            if (signal) hits[at]++;
          });
        }
        line([
          `${periods} periods, ${patients} × ${readings} readings, r = ${drift}`,
          ...hits.map((count) => (count / charts).toFixed(3)),
        ]);
      }

  process.stdout.write('\n');
  line(['patients unchanged, new assessors read higher', 'as read', 'fixed', 'random', 'units']);
  for (const staying of [3, 1]) {
    const found = [0, 0, 0];
    let n = 0;
    for (let unit = 0; unit < units; unit++) {
      const random = seededRandom(SEED, 77000000 + 1000 * staying + unit);
      const habits = Array.from({ length: 9 }, () => 0.3 * random.normal());
      const rows = [];
      for (let period = 1; period <= 16; period++)
        for (let patient = 0; patient < 15; patient++) {
          const depth = 1.4 + 1.1 * random.normal();
          for (let day = 0; day < 3; day++) {
            const person = random.below(5);
            const fresh = period > 8 && person >= staying;
            const reader = fresh ? 4 + person : person;
            const read = depth + habits[reader] + (fresh ? 0.5 : 0) + 0.45 * random.normal();
            rows.push({
              patient: `w${period}-${patient}`,
              stay: `s${period}-${patient}`,
              unit: 'U1',
              day,
              period,
              assessor: `K${reader}`,
              limb: 'left-leg',
              site: 'shin',
              sign: 'pitting-edema',
              scale: 'pit.0-4.hogan',
              value: String([0.5, 1.5, 2.5, 3.5].filter((cut) => read > cut).length),
            });
          }
        }
      const result = await patientsOrAssessors(await loadAssessments({ rows }), { sign: 'pitting-edema', from: 9 });
      const says = (estimate) => estimate !== undefined && (estimate.interval.lower > 1 || estimate.interval.upper < 1);
      [result.asRead, result.sameAssessors, result.randomAssessors].forEach((estimate, at) => {
        if (says(estimate)) found[at]++;
      });
      n++;
    }
    line([`${staying} of 5 assessors bridge`, ...found.map((count) => (count / n).toFixed(3)), n]);
  }
} finally {
  await server.close();
}
