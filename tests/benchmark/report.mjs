// @ts-check
// The table and the chart of the speed harness, and where they are kept.
import { readFileSync, writeFileSync } from 'node:fs';
import { arch, cpus, release, totalmem } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { root } from '../../.config/set-up.mjs';
import { INSTALL } from './measure.mjs';

/** @typedef {import('./measure.mjs').Result} Result */
/** @typedef {import('./measure.mjs').Measured} Measured */
/** @typedef {{ what: string, unit: string, sizes: number[], seconds: number[], slope: number }} Growth */
/** @typedef {import('./profile.mjs').Profile} Profile */

const START = '<!-- bench: written by npm run bench -->';
const END = '<!-- bench: end -->';
const PICTURE = 'notebooks/pictures/speed.svg';

/** @param {readonly Result[]} results */
export function tableLines(results) {
  const lines = [
    '| work | who | whole process | work alone | most memory | ours is faster: whole | work alone | same answer |',
    '|---|---|---|---|---|---|---|---|',
  ];
  for (const { work, ours, theirs, sameness, left } of results) {
    ours.forEach((one, at) => {
      const title = at === 0 ? `**${work.name}**: ${work.title}. Target: ${work.target}` : '';
      lines.push(row(title, one, ['', '', '']));
    });
    theirs.forEach((one, at) => {
      const ratios = ratiosOf(ours[0], one);
      lines.push(
        row('', one, [
          times(ratios.whole),
          one.form.piece === 'nothing' ? '' : times(ratios.inner),
          sameness[at] ?? '',
        ]),
      );
    });
    for (const { who } of left) lines.push(`| | ${who} | not here | | | | | |`);
  }
  return lines;
}

/** @param {string} title @param {Measured} one @param {string[]} beside */
function row(title, { form, runs, whole, inner, peak }, beside) {
  const who = `${form.who}${form.less === true ? ' (less work)' : ''}`;
  const memory = peak === undefined ? '' : bytes(peak);
  return `| ${[title, `${who}, ${runs} ${runs === 1 ? 'run' : 'runs'}`, seconds(whole), seconds(inner), memory, ...beside].join(' | ')} |`;
}

/**
 * The ratio of whole processes is none where ours did several things in turns.
 *
 * @param {Measured | undefined} ours @param {Measured} theirs
 */
function ratiosOf(ours, theirs) {
  const whole = ours?.form.settings?.turns === undefined ? theirs.whole / (ours?.whole ?? Number.NaN) : Number.NaN;
  return { whole, inner: theirs.inner / (ours?.inner ?? Number.NaN) };
}

/** Every target that was missed, with its reason. @param {readonly Result[]} results */
function missedLines(results) {
  const lines = results.flatMap(({ work, ours, theirs }) => {
    const [first] = ours;
    /** @type {string[]} */
    const missed = [];
    for (const { form, ...one } of theirs) {
      const { inner } = ratiosOf(first, { form, ...one });
      if (form.target !== undefined && inner < form.target.times)
        missed.push(`${times(inner)} ${form.who}, not ${times(form.target.times)}${because(form.target.reason)}`);
    }
    const { most } = work;
    if (most?.seconds !== undefined && (first?.inner ?? 0) > most.seconds)
      missed.push(`${seconds(first?.inner ?? Number.NaN)}, not ${seconds(most.seconds)}${because(most.reason)}`);
    if (most?.bytes !== undefined && (first?.peak ?? 0) > most.bytes)
      missed.push(`${bytes(first?.peak ?? Number.NaN)}, not ${bytes(most.bytes)}${because(most.reason)}`);
    return missed.map((words) => `- **${work.name}**: ${words}.`);
  });
  return lines.length === 0 ? ['Every target is met.'] : ['Targets missed (work alone):', '', ...lines];
}

/** @param {string} reason */
function because(reason) {
  return reason === '' ? '' : `: ${reason}`;
}

/** @param {readonly Growth[]} growth */
export function growthLines(growth) {
  return [
    '| work | grows with | from | to | slope |',
    '|---|---|---|---|---|',
    ...growth.map(({ what, unit, sizes, seconds: taken, slope }) => {
      const end = (/** @type {number} */ at) =>
        `${sizes.at(at)?.toLocaleString('en')} in ${seconds(taken.at(at) ?? 0)}`;
      return `| ${what} | ${unit} | ${end(0)} | ${end(-1)} | ${slope.toFixed(2)} |`;
    }),
  ];
}

/** @param {Profile} profile */
export function profileLines({ name, seconds: taken, functions }) {
  return [
    `Where the time of **${name}** goes (${seconds(taken)} under the profiler, each function’s own share):`,
    '',
    '| function | where | share |',
    '|---|---|---|',
    ...functions.map(({ name: called, file, share }) => `| \`${called}\` | ${file} | ${(100 * share).toFixed(0)} % |`),
    '',
  ];
}

/**
 * Writes the section of DEVELOPERS.md and the picture.
 *
 * @param {{ results: readonly Result[], growth: readonly Growth[], profiles: readonly Profile[], programs: ReturnType<typeof import('./measure.mjs').referencePrograms> }} all
 */
export async function writeReport({ results, growth, profiles, programs }) {
  const path = join(root, 'DEVELOPERS.md');
  const text = readFileSync(path, 'utf8');
  const [from, to] = [text.indexOf(START), text.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`DEVELOPERS.md has no ${START} … ${END}.`);
  const machine = machineWords(programs);
  const lines = [
    START,
    machine,
    '',
    `![Ratios of the times of reference programs to ours](${PICTURE})`,
    '',
    ...tableLines(results),
    '',
    ...missedLines(results),
    '',
    '**How the times grow**: five sizes, each twice the one before; a slope of 1 means that twice the size takes twice the time.',
    '',
    ...growthLines(growth),
    '',
    ...profiles.flatMap(profileLines),
  ];
  writeFileSync(path, `${text.slice(0, from)}${lines.join('\n')}${text.slice(to)}`);
  writeFileSync(join(root, PICTURE), await picture(results, machine));
}

/** @param {ReturnType<typeof import('./measure.mjs').referencePrograms>} programs */
function machineWords({ R = {}, pythonPackages }) {
  const [first] = cpus();
  const { base, ...packages } = R;
  const named = (/** @type {Record<string, string>} */ found) =>
    Object.entries(found)
      .map(([name, number]) => `${name} ${number}`)
      .join(', ');
  const { python, ...modules } = pythonPackages;
  const missing =
    base === undefined || python === undefined ? ` Missing here; they come with \`sudo ${INSTALL}\`.` : '';
  const memory = (totalmem() / 2 ** 30).toFixed(0);
  const duckdb = JSON.parse(readFileSync(join(root, 'node_modules/@duckdb/node-api/package.json'), 'utf8')).version;
  const date = new Date().toISOString().slice(0, 10);
  return (
    `Measured ${date} on ${cpus().length} cores (${first?.model.trim()}), ${memory} GB, ${process.platform} ${release()} ${arch()}; ` +
    `Node ${process.versions.node}; DuckDB ${duckdb}; R ${base ?? '–'} (${named(packages)}); Python ${python ?? '–'} (${named(modules)}).${missing}`
  );
}

/** @param {readonly Result[]} results @param {string} machine */
export async function picture(results, machine) {
  /** @type {typeof import('../../src/index.ts')} */
  const { Chart, renderSvg } = await import(new URL('../../dist/index.js', import.meta.url).href);
  const plain = (/** @type {string} */ words) => words.replaceAll('`', '').replaceAll(/ \([^)]*scaled up\)/g, '');
  const values = results.flatMap(({ work, ours, theirs }) =>
    theirs.flatMap((one) => {
      const { whole, inner } = ratiosOf(ours[0], one);
      const label = `${work.name}: ${plain(one.form.who)}${one.form.less === true ? ' (less work)' : ''}`;
      const target = one.form.target?.times;
      return [
        ...(work.name === 'start-library' ? [] : [{ label, what: 'work alone', ratio: inner }]),
        ...(one.form.program === 'kernel' || Number.isNaN(whole)
          ? []
          : [{ label, what: 'whole process', ratio: whole }]),
        ...(target === undefined ? [] : [{ label, what: 'target for the work', ratio: target }]),
      ];
    }),
  );
  const names = [...new Set(values.map(({ label }) => label))];
  const ink = '#1b2a49';
  const spec = {
    $schema: 'https://vega.github.io/schema/vega-lite/v5.json',
    title: {
      text: 'How many times as long the reference programs take',
      subtitle: ['Right of 1 ours is faster. Medians of runs in turns.', ...wrapped(machine, 110)],
      anchor: 'start',
      color: ink,
      subtitleColor: '#5b6b82',
      fontSize: 16,
      subtitleFontSize: 11,
    },
    config: {
      font: 'Source Sans 3, sans-serif',
      view: { stroke: null },
      axis: { labelColor: ink, titleColor: ink, gridColor: '#e6e9ee', domainColor: '#5b6b82', labelFontSize: 11 },
      legend: { labelColor: ink, labelFontSize: 11, orient: 'top', title: null },
    },
    width: 520,
    height: { step: 20 },
    data: { values },
    encoding: {
      y: { field: 'label', type: 'nominal', sort: names, title: null, axis: { labelLimit: 460, grid: true } },
      x: {
        field: 'ratio',
        type: 'quantitative',
        scale: { type: 'log' },
        title: 'times as long as ours (logarithmic)',
        axis: { values: [0.03, 0.1, 0.3, 1, 3, 10, 30, 100, 300, 1000] },
      },
    },
    layer: [
      { mark: { type: 'rule', color: '#5b6b82', strokeDash: [4, 3] }, encoding: { x: { datum: 1 }, y: null } },
      {
        mark: { type: 'point', size: 60, strokeWidth: 1.5, filled: false },
        encoding: {
          shape: {
            field: 'what',
            scale: {
              domain: ['work alone', 'whole process', 'target for the work'],
              range: ['circle', 'square', 'stroke'],
            },
          },
          angle: { condition: { test: "datum.what === 'target for the work'", value: 90 }, value: 0 },
          color: {
            field: 'what',
            scale: {
              domain: ['work alone', 'whole process', 'target for the work'],
              range: [ink, '#1c8c84', '#b03a5b'],
            },
          },
        },
      },
    ],
  };
  const words = values.map(({ label, what, ratio }) => `${label}, ${what}: ${times(ratio)}`).join('; ');
  const chart = new Chart({ spec, title: spec.title.text, description: words });
  return renderSvg(chart, { fonts: 'outlined' });
}

/** @param {string} words @param {number} most letters a line */
function wrapped(words, most) {
  /** @type {string[]} */
  const lines = [''];
  for (const word of words.split(' ')) {
    const last = lines.at(-1) ?? '';
    if (last.length + word.length < most) lines[lines.length - 1] = last === '' ? word : `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** @param {number} value */
function times(value) {
  return Number.isFinite(value)
    ? `${value >= 9.95 ? Math.round(value).toLocaleString('en') : value.toPrecision(2)} ×`
    : '';
}

/** @param {number} value */
function seconds(value) {
  if (value < 0.001) return `${(1000 * value).toPrecision(1)} ms`;
  return value < 1 ? `${Math.round(1000 * value)} ms` : `${value.toPrecision(3)} s`;
}

/** @param {number} value */
function bytes(value) {
  return value < 1e9 ? `${Math.round(value / 1e6)} MB` : `${(value / 1e9).toFixed(2)} GB`;
}
