import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';

const PEOPLE = [12, 20, 30, 60, 200];
/** Coverage that is the least asked for by number of patients, and what is aimed at from 30 on. */
const FLOORS = { 12: [0.91, 1], 20: [0.92, 0.965], 30: [0.92, 0.965], 60: [0.935, 0.965], 200: [0.935, 0.965] };
const AIMS = {
  12: [0.92, 1],
  20: [0.92, 0.965],
  30: [0.935, 0.965],
  60: [0.935, 0.965],
  200: [0.935, 0.965],
};

const three = (share) => (Number.isFinite(share) ? share.toFixed(3).replace(/^0/, '') : '–');
const two = (share) => (Number.isFinite(share) ? share.toFixed(2).replace(/^0/, '') : '–');
const mean = (values) => values.reduce((sum, value) => sum + value, 0) / values.length;
const row = (cells) => `| ${cells.join(' | ')} |`;
const head = (cells) => [row(cells), `|${cells.map(() => '---|').join('')}`];

/** The rows of one kind of interval: each with its cell. */
const rowsOf = (results, interval) =>
  results.flatMap((cell) => cell.rows.filter((one) => one.interval === interval).map((one) => ({ cell, ...one })));

/** Rows that judge an interval: those of designs where most studies had one and did not carry the caution of few patients with another grade. */
const judged = (rows) => rows.filter(({ cell, intervals }) => cell.cautioned < 0.5 && intervals >= 0.95 * cell.studies);

/** Outside the bounds by more than two simulation errors. */
function outside({ cell, coverage, intervals }, bounds) {
  const error = 2 * Math.sqrt((0.95 * 0.05) / intervals);
  const [low, high] = bounds[cell.design.patients];
  return coverage < low - error || coverage > high + error;
}

const summary = (rows) => {
  const shares = rows.map(({ coverage }) => coverage);
  return rows.length === 0
    ? '–'
    : `${three(mean(shares))} (${three(Math.min(...shares))}–${three(Math.max(...shares))})`;
};

function designWords({ design, grades, kappa, assumptions }) {
  return `${design.patients} people × ${design.limbs} limbs × ${design.sites} ${design.sites === 1 ? 'site' : 'sites'}, ${design.assessors} assessors, gaps ${two(design.gaps)}, grades ${grades}, kappa ${kappa}, correlation ${assumptions.patientShare}`;
}

/** The results with the rows of the default intervals as the library now makes them. */
async function withDefaults(results) {
  const { defaultIntervals } = await import('./agreement.mjs');
  const of = defaultIntervals();
  return results.map((cell) => ({
    ...cell,
    rows: cell.rows.map((one) =>
      one.interval === 'default'
        ? {
            ...cell.rows.find(({ statistic, interval }) => statistic === one.statistic && interval === of[statistic]),
            interval: 'default',
          }
        : one,
    ),
  }));
}

async function agreementLines(made) {
  const results = await withDefaults(made);
  const all = rowsOf(results, 'default');
  const kept = judged(all);
  const statistics = [...new Set(all.map(({ statistic }) => statistic))];
  const missed = kept.filter((one) => outside(one, FLOORS));
  const short = kept.filter((one) => outside(one, AIMS) && !outside(one, FLOORS));
  const lines = [
    `${results.length} designs, ${results[0].studies} studies each, ${results[0].replicates} replicates within a study. Each figure: coverage of nominal 95 % intervals, mean over the designs (lowest–highest). Left out of the figures, and counted below: designs where more than 5 % of studies have no interval, or where at least half carry the caution of fewer than ten patients with a grade other than the commonest.`,
    '',
    'The default interval:',
    '',
    ...head(['statistic', ...PEOPLE.map((people) => `${people} people`)]),
    ...statistics.map((statistic) =>
      row([
        statistic,
        ...PEOPLE.map((people) =>
          summary(kept.filter((one) => one.statistic === statistic && one.cell.design.patients === people)),
        ),
      ]),
    ),
    row(['**all**', ...PEOPLE.map((people) => summary(kept.filter((one) => one.cell.design.patients === people)))]),
    row([
      'below the floor, below the aim only, of',
      ...PEOPLE.map((people) => {
        const own = (list) => list.filter(({ cell }) => cell.design.patients === people).length;
        return `${own(missed)}, ${own(short)}, of ${own(kept)}`;
      }),
    ]),
    '',
    'All intervals, pooled over the statistics; width relative to the default:',
    '',
    ...head(['interval', ...PEOPLE.map((people) => `${people} people`), 'width']),
    ...[...new Set(results[0].rows.map(({ interval }) => interval))].map((interval) => {
      const rows = judged(rowsOf(results, interval));
      const ratios = rows.map(
        (one) =>
          one.meanWidth /
          one.cell.rows.find((other) => other.interval === 'default' && other.statistic === one.statistic).meanWidth,
      );
      return row([
        interval,
        ...PEOPLE.map((people) => summary(rows.filter(({ cell }) => cell.design.patients === people))),
        two(mean(ratios)),
      ]);
    }),
    '',
    `Outside the floor by more than two simulation errors: ${missed.length} of ${kept.length} (if every interval stood exactly on a bound of its band, one in 44 would, about ${Math.round(kept.length / 44)}):`,
    '',
    ...missed.map(
      (one) =>
        `- ${three(one.coverage)} (${three(one.below)} below, ${three(one.above)} above): ${one.statistic}, ${designWords(one.cell)}`,
    ),
    '',
  ];
  const left = all.filter((one) => !kept.includes(one));
  const defined = left.filter(({ intervals }) => intervals > 0);
  lines.push(
    `Left out: ${left.length} of ${all.length}. Coverage there, where there is an interval: ${summary(defined)}; lowest in ${designWords(defined.reduce((least, one) => (one.coverage < least.coverage ? one : least)).cell)}.`,
  );
  return lines;
}

/** The picture of coverage, drawn by the library's own chart from the kept results. */
async function drawCoverage(made) {
  const results = await withDefaults(made);
  const server = await createServer({
    root: fileURLToPath(new URL('../..', import.meta.url)),
    configFile: false,
    server: { middlewareMode: true, watch: null },
    logLevel: 'error',
  });
  try {
    const { IntervalCoverage } = await server.ssrLoadModule('/src/planning/interval-coverage.ts');
    const { coverageChart } = await server.ssrLoadModule('/src/charts/coverage-chart.ts');
    const { renderSvg } = await server.ssrLoadModule('/src/charts/render.ts');
    const coverages = results.map(
      ({ design, assumptions, studies, cautioned, replicates, rows }) =>
        new IntervalCoverage(
          rows.filter(({ intervals }) => cautioned < 0.5 && intervals >= 0.95 * studies),
          design,
          assumptions,
          studies,
          cautioned,
          replicates,
          0,
          [],
        ),
    );
    const file = fileURLToPath(new URL('../../notebooks/pictures/interval-coverage.svg', import.meta.url));
    writeFileSync(file, await renderSvg(coverageChart(coverages), { fonts: 'outlined' }));
  } finally {
    await server.close();
  }
}

const modelLines = (results) => [
  `${results[0].studies} data sets each, drawn from the model itself; simulation error ${three(Math.sqrt((0.95 * 0.05) / results[0].studies))}. "below" and "above": the whole interval lies there.`,
  '',
  ...head(['model', 'patients', 'about', 'truth', 'coverage', 'below', 'above', 'without interval']),
  ...results.flatMap(({ model, patients, found, studies }) =>
    found.map(({ about, value, held, below, above, without }) => {
      const intervals = held + below + above;
      return row([
        model,
        patients,
        about,
        value.toFixed(2),
        three(held / intervals),
        three(below / intervals),
        three(above / intervals),
        without === 0 ? '0' : three(without / studies),
      ]);
    }),
  ),
];

async function differenceLines(results) {
  const { TESTS } = await import('./differences.mjs');
  return [
    `Two assessors who read alike, ${results[0].studies} studies in each of 8 designs a column (2 or 14 findings a person, grades even or rare, correlation .1 or .6): share that finds a difference at p < .05, mean (largest).`,
    '',
    ...head(['test', ...PEOPLE.slice(0, 4).map((people) => `${people} people`)]),
    ...TESTS.map((test, at) =>
      row([
        test,
        ...PEOPLE.slice(0, 4).map((people) => {
          const shares = results
            .filter(({ patients, defined }) => patients === people && defined[at] > 0)
            .map(({ found, defined }) => found[at] / defined[at]);
          return `${three(mean(shares))} (${three(Math.max(...shares))})`;
        }),
      ]),
    ),
  ];
}

const classLines = (results) => [
  `Twelve learners, ${results[0].studies} classes each.`,
  '',
  ...head([
    'volunteers',
    'limbs',
    'spread of tendencies',
    'coverage',
    'sentence about a learner',
    'mean standard error',
  ]),
  ...results.map(({ volunteers, sites, tendencies, covered, said, errors, learners, notDefined }) =>
    row([
      volunteers,
      2 * volunteers * sites,
      tendencies === 0 ? 'none' : two(tendencies),
      three(covered / (learners - notDefined)),
      tendencies === 0 ? three(said / learners) : '–',
      three(errors / learners),
    ]),
  ),
];

async function chartLines(results) {
  const { RULES } = await import('./unit-charts.mjs');
  return [
    `Nothing changed: share of ${results[0].studies} charts with a signal. The last column is the test of resemblance itself.`,
    '',
    ...head(['periods', 'people × readings', 'resemblance', ...RULES]),
    ...results.map(({ periods, patients, readings, resemblance, signals, studies }) =>
      row([
        periods,
        `${patients} × ${readings}`,
        resemblance === 0 ? 'none' : resemblance.toFixed(1),
        ...signals.map((count) => three(count / studies)),
      ]),
    ),
  ];
}

async function assessorLines(results) {
  const { WAYS } = await import('./new-assessors.mjs');
  return [
    `Patients unchanged, new assessors read half a grade higher: share of ${results[0].studies} units in which the patients are said to have changed.`,
    '',
    ...head(['assessors who stay', ...WAYS]),
    ...results.map(({ staying, found, studies }) =>
      row([`${staying} of 5`, ...found.map((count) => three(count / studies))]),
    ),
  ];
}

function changeLines(results) {
  const { studies, judgedPairs } = results.find(({ counts }) => counts.studies > 1).counts;
  const error = Math.max(...results.map(({ gaps }) => gaps.weighted.worstError ?? 0));
  return [
    `Worst tenth: the largest distance between stated chance and share changed, averaged over ${studies} studies (Monte Carlo error at most ${three(error)}) / the median of single studies, each of whose tenths has ${judgedPairs / 10} limbs (error of its share changed at most ${three(0.5 / Math.sqrt(judgedPairs / 10))}). False: called though unchanged, of the limbs that did not change; right: of those called; found: of those changed.`,
    '',
    ...head(['true limbs', 'study', 'worst tenth', 'any difference', 'chance .5 or more', 'chance .8 or more']),
    ...results.map(({ world, words, changed, counts, gaps, rules }) => {
      const judged = counts.studies * counts.judgedPairs;
      const rule = (start) => {
        const { called, right, found } = rules.find(({ rule }) => rule.startsWith(start));
        const wrong = (called * (1 - right)) / (judged * (1 - changed));
        return called === 0 ? 'none' : `false ${three(wrong)}, right ${two(right)}, found ${two(found)}`;
      };
      return row([
        world,
        words,
        `${three(gaps.weighted.worst)}${counts.studies === 1 ? '' : ` / ${three(gaps.weighted.medianWorst)}`}`,
        rule('any difference'),
        rule('chance of change 0.5'),
        rule('chance of change 0.8'),
      ]);
    }),
  ];
}

/** Each part of the calibration: the module that runs it, how its results are told, and what else is written. */
export const PARTS = {
  agreement: { lines: agreementLines, write: drawCoverage },
  models: { lines: modelLines },
  differences: { lines: differenceLines },
  'change-probability': { lines: changeLines },
  'unit-charts': { lines: chartLines },
  'new-assessors': { lines: assessorLines },
  'class-of-twelve': { lines: classLines },
};
