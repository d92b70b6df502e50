import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { Site } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { Chart } from './chart.js';
import { type ChartOptions, themeOf } from './theme.js';
import { countOf, countsWords, intervalWords, listOf, sentenceCase, valueWithInterval } from './words.js';

/** Agreement at one site. */
export interface SiteAgreement {
  readonly siteId: string;
  readonly siteLabel: string;
  readonly region: Site['region'];
  readonly estimate: Estimate;
}

/** Agreement on one sign, site by site. */
export interface AgreementBySite {
  readonly signLabel: string;
  readonly scaleLabel: string;
  /** Whether 0 means "as by chance" (kappa, alpha) or "never the same" (percent agreement). */
  readonly chanceCorrected: boolean;
  /** In order from head to toe, as the body gives it; drawn in this order, never sorted by value. */
  readonly rows: readonly SiteAgreement[];
  readonly pooled: Estimate;
}

export interface AgreementBySiteOptions extends ChartOptions {
  /** Which sign of a study; needed when it holds more than one. */
  readonly sign?: string;
}

const HEADINGS: readonly { readonly region: Site['region']; readonly words: string }[] = [
  { region: 'midline', words: 'Trunk' },
  { region: 'arm', words: 'Arms' },
  { region: 'leg', words: 'Legs' },
];
const ALL_SITES = 'All sites together';
const PLOT = 330;

/**
 * A ladder of sites: for each site the agreement with its interval and the number of people, arms and
 * legs apart, over a band for all sites together.
 *
 * The title names a site as the one with least agreement only when its whole interval lies below the
 * interval of every other site; it names the sites whose interval lies wholly below that of all sites
 * together as agreeing less; otherwise it is the question.
 */
export function agreementBySiteChart(
  source: AgreementStudy | AgreementBySite,
  options: AgreementBySiteOptions = {},
): Chart {
  const agreement = 'kind' in source ? agreementOf(source, options.sign) : source;
  const theme = themeOf(options);
  const { pooled } = agreement;
  const statistic = pooled.statistic;
  const groups = HEADINGS.map(({ region, words }) => ({
    words,
    rows: agreement.rows.filter((row) => row.region === region),
  })).filter((group) => group.rows.length > 0);
  const labels = uniqueLabels(agreement.rows);
  const order = [
    ...groups.flatMap((group) => [
      ...(groups.length > 1 ? [group.words] : []),
      ...group.rows.map((row) => labels.get(row)!),
    ]),
    ' ',
    ALL_SITES,
  ];
  const values = [
    ...groups.flatMap((group) => group.rows.map((row) => rowOf(labels.get(row)!, row.estimate, 'site'))),
    rowOf(ALL_SITES, pooled, 'all'),
  ];
  const lowest = Math.min(0, ...values.flatMap((row) => [row.lower ?? 0, row.value ?? 0]));
  const domain = [Math.floor(lowest * 5) / 5, 1];
  const zero = agreement.chanceCorrected ? 'as by chance' : 'never the same';
  const y = { field: 'row', type: 'ordinal', scale: { domain: order }, axis: null };
  const x = {
    type: 'quantitative',
    scale: { domain, nice: false },
    axis: {
      title: null,
      grid: false,
      values: axisValues(domain[0]!),
      labelExpr: `datum.value === 0 ? ['0', '${zero}'] : datum.value === 1 ? ['1', 'always the same'] : format(datum.value, '.1f')`,
      labelFlush: false,
      labelOverlap: false,
    },
  };
  const column = (at: number, extra: object) => ({ y, x: { value: PLOT + at }, ...extra });
  const header = (text: string, at: number, align: string) => ({
    data: { values: [{}] },
    mark: { type: 'text', align, baseline: 'bottom', color: theme.muted, fontSize: 12.5 },
    encoding: { x: { value: PLOT + at }, y: { value: -4 }, text: { value: text } },
  });
  const color = { condition: { test: "datum.kind === 'all'", value: theme.categories[1] }, value: theme.ink };

  return new Chart(
    {
      title: titleOf(agreement),
      subtitle: [
        `${agreement.signLabel}, ${agreement.scaleLabel}: ${countsWords(pooled.counts)}`,
        `${sentenceCase(statistic)} with ${intervalWords(pooled.interval)}`,
      ],
      description: descriptionOf(agreement),
      view: {
        width: PLOT,
        height: { step: 27 },
        data: { values },
        layer: [
          {
            transform: [{ filter: "datum.kind === 'all'" }],
            mark: { type: 'rect', color: theme.categories[1], opacity: 0.12 },
            encoding: { x: { field: 'lower', ...x }, x2: { field: 'upper' } },
          },
          {
            mark: { type: 'rule', color: theme.hairline },
            encoding: { y, x: { value: 0 }, x2: { value: PLOT } },
          },
          {
            data: { values: [{ at: 0 }, { at: 1 }] },
            mark: { type: 'rule', color: theme.muted },
            encoding: {
              x: { field: 'at', ...x },
            },
          },
          {
            mark: { type: 'rule', strokeWidth: 3, strokeCap: 'round' },
            encoding: { y, x: { field: 'lower', ...x }, x2: { field: 'upper' }, color, tooltip: { field: 'words' } },
          },
          {
            mark: { type: 'point', filled: true, opacity: 1, stroke: theme.paper, strokeWidth: 1.5 },
            encoding: {
              y,
              x: { field: 'value', ...x },
              color,
              shape: { condition: { test: "datum.kind === 'all'", value: 'diamond' }, value: 'circle' },
              size: { condition: { test: "datum.kind === 'all'", value: 190 }, value: 120 },
              tooltip: { field: 'words' },
            },
          },
          {
            transform: [{ filter: 'datum.why !== null' }],
            mark: { type: 'text', align: 'left', color: theme.muted, fontSize: 12.5 },
            encoding: { y, x: { value: 8 }, text: { field: 'why' } },
          },
          rowLabels(order, groups.length > 1 ? groups.map((group) => group.words) : []),
          {
            mark: { type: 'text', align: 'left' },
            encoding: column(16, { text: { field: 'text' }, tooltip: { field: 'words' } }),
          },
          {
            mark: { type: 'text', align: 'right' },
            encoding: column(210, { text: { field: 'people' } }),
          },
          header(`value (${formatNumber(100 * pooled.interval.level, 0)} % interval)`, 16, 'left'),
          header('people', 210, 'right'),
        ],
      },
    },
    theme,
  );

  function rowLabels(rows: readonly string[], headings: readonly string[]) {
    return {
      data: { values: rows.filter((row) => row !== ' ').map((row) => ({ row })) },
      mark: { type: 'text', align: 'right' },
      encoding: {
        y,
        x: { value: -12 },
        text: { field: 'row' },
        ...(headings.length === 0
          ? {}
          : {
              color: {
                condition: { test: `indexof(${JSON.stringify(headings)}, datum.row) >= 0`, value: theme.muted },
                value: theme.ink,
              },
            }),
      },
    };
  }
}

function rowOf(row: string, estimate: Estimate, kind: 'site' | 'all') {
  const { value, interval, counts, notes } = estimate;
  const number = (figure: number): number | null => (Number.isFinite(figure) ? figure : null);
  return {
    row,
    kind,
    value: number(value),
    lower: number(interval.lower),
    upper: number(interval.upper),
    people: formatCount(counts.clusters),
    text: valueWithInterval(value, interval),
    why: Number.isFinite(value) ? null : (notes.map((note) => note.message).find((text) => text.length <= 52) ?? null),
    words: [
      `${row}: ${estimate.statistic} ${valueWithInterval(value, interval)}, ${formatNumber(100 * interval.level, 0)} % interval; ${countsWords(counts)}.`,
      ...notes.map((note) => note.message),
    ].join(' '),
  };
}

function axisValues(from: number): number[] {
  const values: number[] = [];
  for (let tick = Math.round(from * 5); tick <= 5; tick++) values.push(tick / 5);
  return values;
}

function uniqueLabels(rows: readonly SiteAgreement[]): ReadonlyMap<SiteAgreement, string> {
  const times = new Map<string, number>();
  for (const row of rows) times.set(row.siteLabel, (times.get(row.siteLabel) ?? 0) + 1);
  return new Map(
    rows.map((row) => [row, times.get(row.siteLabel) === 1 ? row.siteLabel : `${row.siteLabel} (${row.region})`]),
  );
}

function titleOf(agreement: AgreementBySite): string {
  const { rows, pooled } = agreement;
  const rated = rows.filter((row) => Number.isFinite(row.estimate.interval.lower));
  const least = rated.find((row) =>
    rated.every((other) => other === row || row.estimate.interval.upper < other.estimate.interval.lower),
  );
  if (least !== undefined && rated.length > 1) return `Assessors agree least at the ${words(least)}`;
  const below = rated.filter((row) => row.estimate.interval.upper < pooled.interval.lower);
  if (below.length > 0 && below.length <= 3)
    return `Assessors agree less at the ${listOf(below.map(words))} than over all sites together`;
  return `How far do assessors agree on ${agreement.signLabel.toLowerCase()} at each site?`;

  function words(row: SiteAgreement): string {
    return row.siteLabel.charAt(0).toLowerCase() + row.siteLabel.slice(1);
  }
}

function descriptionOf(agreement: AgreementBySite): string {
  const { rows, pooled } = agreement;
  const rated = rows
    .filter((row) => Number.isFinite(row.estimate.value))
    .sort((first, second) => first.estimate.value - second.estimate.value);
  const [lowest, highest] = [rated[0], rated[rated.length - 1]];
  const undefinedRows = rows.filter((row) => !Number.isFinite(row.estimate.value));
  const figure = (row: SiteAgreement): string =>
    `${row.siteLabel} ${valueWithInterval(row.estimate.value, row.estimate.interval)}`;
  return [
    `${sentenceCase(pooled.statistic)} of ${agreement.signLabel.toLowerCase()} at ${countOf(rows.length, 'site')}, from head to toe, each with its ${formatNumber(100 * pooled.interval.level, 0)} % interval.`,
    `${titleOf(agreement)}${titleOf(agreement).endsWith('?') ? '' : '.'}`,
    `All sites together ${valueWithInterval(pooled.value, pooled.interval)}, ${countsWords(pooled.counts)}.`,
    ...(lowest === undefined || highest === undefined || rated.length < 2
      ? []
      : [`Lowest at ${figure(lowest)}, highest at ${figure(highest)}.`]),
    ...(undefinedRows.length === 0 ? [] : [`Not defined at ${listOf(undefinedRows.map((row) => row.siteLabel))}.`]),
  ].join(' ');
}

/** The sites of one sign of a study. */
function agreementOf(study: AgreementStudy, sign: string | undefined): AgreementBySite {
  const [only, ...others] = study.plan.signs;
  if (sign === undefined && others.length > 0)
    throw refuse(
      'sign-needed',
      ['options', 'sign'],
      'The study holds several signs.',
      `name one in the option sign: ${study.plan.signs.join(', ')}.`,
    );
  const { rows, ...agreement } = study.by(sign ?? only!, 'site');
  return {
    ...agreement,
    rows: rows.map(({ value, label, estimate }) => ({
      siteId: value,
      siteLabel: label,
      region: siteOf(value).region,
      estimate,
    })),
  };
}
