// The result of a run as a table, on the screen and in DEVELOPERS.md.
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';

const Z = 1.959964;

/** Wilson's 95 % interval of a share. Source: Wilson EB. J Am Stat Assoc 1927;22:209–212, doi:10.1080/01621459.1927.10502953. */
export function wilson(share, n) {
  const square = (Z * Z) / n;
  const middle = (share + square / 2) / (1 + square);
  const reach = (Z / (1 + square)) * Math.sqrt((share * (1 - share)) / n + square / (4 * n));
  return [Math.max(0, middle - reach), Math.min(1, middle + reach)];
}

const seen = ({ outcome }) => outcome === 'killed' || outcome === 'timed out';

function rowsOf({ strata }) {
  const rows = strata
    .filter(({ results }) => results.length > 0)
    .map(({ folder, possible, results }) => {
      const count = (outcome) => results.filter((one) => one.outcome === outcome).length;
      const share = results.filter(seen).length / results.length;
      return {
        folder,
        possible,
        n: results.length,
        killed: count('killed'),
        timedOut: count('timed out'),
        survived: count('survived'),
        share,
        size: results.length,
      };
    });
  const sum = (key) => rows.reduce((total, row) => total + row[key], 0);
  // Folders count by the faults that can be planted in them; the size that goes with unequal weights is Kish's.
  const weight = (row) => row.possible / sum('possible');
  const share = rows.reduce((total, row) => total + weight(row) * row.share, 0);
  const size = 1 / rows.reduce((total, row) => total + weight(row) ** 2 / row.n, 0);
  return [
    ...rows,
    {
      folder: 'all four',
      possible: sum('possible'),
      n: sum('n'),
      killed: sum('killed'),
      timedOut: sum('timedOut'),
      survived: sum('survived'),
      share,
      size,
    },
  ];
}

const percent = (share) => (100 * share).toFixed(1);
const withInterval = ({ share, size }) => {
  const [lower, upper] = wilson(share, size);
  return `${percent(share)} (${percent(lower)}–${percent(upper)})`;
};

export function summary(outcome) {
  return rowsOf(outcome)
    .map(
      (row) =>
        `${row.folder}: ${row.n} drawn, ${row.killed} killed, ${row.timedOut} timed out, ${row.survived} survived, ${withInterval(row)} %\n`,
    )
    .join('');
}

const cell = (text) => text.replaceAll('|', '\\|');
const code = (text) => `\`${text.replaceAll('`', "'")}\``;

function tableOf(outcome) {
  const head =
    '| folder | faults possible | drawn | killed | timed out | survived | seen, % (95 % interval) |\n|---|---|---|---|---|---|---|\n';
  const line = (row) =>
    `| ${row.folder} | ${row.possible} | ${row.n} | ${row.killed} | ${row.timedOut} | ${row.survived} | ${withInterval(row)} |\n`;
  return head + rowsOf(outcome).map(line).join('');
}

/** What survived, with the reason that stands in reasons.json: no test can see it, or none does yet. */
function survivorsOf(survivors, reasons) {
  if (survivors.length === 0) return '';
  const lines = survivors.map((one) => {
    const place = `${one.file.replace(/^src\//, '')}:${one.line}`;
    const what =
      one.to === '' || one.to === ';'
        ? `${code(shortened(one.from))} removed`
        : `${code(shortened(one.from))} → ${code(shortened(one.to))}`;
    return `| ${place} | ${cell(what)} | ${cell(reasons[one.was] ?? 'seen by no test')} |\n`;
  });
  return `| survivor | fault | why |\n|---|---|---|\n${lines.join('')}`;
}
const shortened = (text) => (text.length > 60 ? `${text.slice(0, 57)}…` : text);

const BEGIN = '<!-- faults: begin -->';
const END = '<!-- faults: end -->';

/** Puts the tables between the two marks of DEVELOPERS.md. */
export function writeTable(root, outcome) {
  const reasons = JSON.parse(readFileSync(join(root, 'tests/mutation/reasons.json'), 'utf8'));
  const drawn = outcome.seed === undefined ? 'every fault' : `seed ${outcome.seed}`;
  const machine = `${cpus().length} cores, ${process.platform} ${process.arch}, Node ${process.versions.node}`;
  const left = outcome.strata.flatMap(({ results }) => results).filter((one) => !seen(one));
  const explained = left.filter(({ was }) => reasons[was] !== undefined).length;
  const isEquivalent = (one) => !seen(one) && (reasons[one.was] ?? '').startsWith('equivalent');
  const real = {
    ...outcome,
    strata: outcome.strata.map((stratum) => ({
      ...stratum,
      results: stratum.results.filter((one) => !isEquivalent(one)),
    })),
  };
  const parts = [
    `${outcome.date}, ${drawn}, ${machine}.`,
    '',
    tableOf(outcome),
    `Survivors: ${left.length}, ${explained} of them explained. Without the ${left.filter(isEquivalent).length} that are equivalent, ${withInterval(rowsOf(real).at(-1))} % are seen.`,
    '',
    survivorsOf(left, reasons),
  ];
  const path = join(root, 'DEVELOPERS.md');
  const page = readFileSync(path, 'utf8');
  const [from, to] = [page.indexOf(BEGIN), page.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`DEVELOPERS.md has no ${BEGIN} … ${END}`);
  writeFileSync(path, `${page.slice(0, from + BEGIN.length)}\n${parts.join('\n')}\n${page.slice(to)}`);
}
