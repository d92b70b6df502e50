import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { Site } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import type { AgreementByGroup, AgreementStudy } from '../study/agreement-study.js';
import { Chart } from './chart.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, countsWords, intervalWords, listOf, sentenceCase, valueWithInterval } from './words.js';

export interface AgreementBySiteOptions extends ChartOptions {
  /** The sign to draw; needed where the study holds several. */
  readonly sign?: string;
}

/** One row of the ladder. */
interface Rung {
  readonly row: string;
  /** Where on the body, in plain words, and the artery or bone in small print. */
  readonly place: string;
  readonly detail: string;
  readonly region: Site['region'] | 'all';
  readonly estimate: Estimate;
}

const HEADINGS: readonly { readonly region: Site['region']; readonly words: string }[] = [
  { region: 'midline', words: 'Trunk' },
  { region: 'arm', words: 'Arms' },
  { region: 'leg', words: 'Legs' },
];
/** What a reader must know beside a value, in few words, by the code of its note; the first that applies. */
const SMALL_PRINT: readonly (readonly [code: string, words: string])[] = [
  ['not-defined', 'one grade only, or none'],
  ['nearly-all-alike', 'nearly all readings alike'],
  ['few-minority-patients', 'few unlike the usual'],
  ['few-patients', 'few patients'],
  ['no-interval', 'too few for an interval'],
];
const ALL_SITES = 'All sites together';
const PLOT = 300;
const STEP = 34;

/**
 * A ladder of sites: for each site the agreement with its interval and the number of people, arms and
 * legs apart, over a band for all sites together. The rows stand as given, never sorted by value.
 *
 * The title names a site as the one with least agreement only when its whole interval lies below the
 * interval of every other site; it names the sites whose interval lies wholly below that of all sites
 * together as agreeing less; otherwise it is the question.
 *
 * Throws `InputError`: `sign-needed` where the study holds several signs, `not-in-plan` where it was not made by site.
 */
export function agreementBySiteChart(
  agreement: AgreementStudy | AgreementByGroup,
  options: AgreementBySiteOptions = {},
): Chart {
  const theme = themeOf(options);
  const group = 'kind' in agreement ? agreement.by(signOf(agreement, options.sign)) : agreement;
  const { pooled } = group;
  const { statistic } = pooled;
  const rungs = rungsOf(group);
  const headings = HEADINGS.filter(({ region }) => rungs.some((rung) => rung.region === region));
  const grouped = headings.length > 1;
  const several = rungs.length > 1;
  const order = [
    ...headings.flatMap(({ region, words }) => [
      ...(grouped ? [words] : []),
      ...rungs.filter((rung) => rung.region === region).map((rung) => rung.row),
    ]),
    ...(several ? [' ', ALL_SITES] : []),
  ];
  const values = [...rungs, ...(several ? [rungOf(ALL_SITES, ALL_SITES, 'all', pooled)] : [])].map(valuesOf);
  const lowest = Math.min(0, ...values.flatMap((row) => [row.lower ?? 0, row.value ?? 0]));
  const domain = [Math.floor(lowest * 5) / 5, 1];
  const zero = group.chanceCorrected ? 'as by chance' : 'never the same';
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
    mark: { type: 'text', align, baseline: 'bottom', color: theme.muted, fontSize: TEXT_SIZES.small },
    encoding: { x: { value: PLOT + at }, y: { value: -4 }, text: { value: text } },
  });
  const color = { condition: { test: "datum.region === 'all'", value: theme.categories[1] }, value: theme.ink };

  return new Chart(
    {
      title: titleOf(group, rungs),
      subtitle: [
        `${group.signLabel}, ${group.scaleLabel}: ${countsWords(pooled.counts)}`,
        `${sentenceCase(statistic)} with ${intervalWords(pooled.interval)}`,
      ],
      description: descriptionOf(group, rungs),
      view: {
        width: PLOT,
        height: { step: STEP },
        data: { values },
        layer: [
          {
            transform: [{ filter: "datum.region === 'all'" }],
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
              shape: { condition: { test: "datum.region === 'all'", value: 'diamond' }, value: 'circle' },
              size: { condition: { test: "datum.region === 'all'", value: 190 }, value: 120 },
              tooltip: { field: 'words' },
            },
          },
          {
            transform: [{ filter: 'datum.smallPrint !== null' }],
            mark: { type: 'text', align: 'left', dy: 8, color: theme.muted, fontSize: TEXT_SIZES.small },
            encoding: column(16, { text: { field: 'smallPrint' } }),
          },
          ...rowLabels(),
          ...[true, false].map((alone) => ({
            transform: [{ filter: `datum.smallPrint ${alone ? '===' : '!=='} null` }],
            mark: { type: 'text', align: 'left', dy: alone ? 0 : -7 },
            encoding: column(16, { text: { field: 'text' }, tooltip: { field: 'words' } }),
          })),
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

  /** Plain words first, the artery or bone under them in small print; headings stand alone. */
  function rowLabels(): object[] {
    const label = (filter: string, mark: object, field = 'place') => ({
      transform: [{ filter }],
      mark: { type: 'text', align: 'right', ...mark },
      encoding: { y, x: { value: -12 }, text: { field } },
    });
    return [
      label("datum.detail === ''", {}),
      label("datum.detail !== ''", { dy: -7 }),
      label("datum.detail !== ''", { dy: 8, fontSize: TEXT_SIZES.small, color: theme.muted }, 'detail'),
      ...(grouped
        ? [
            {
              data: { values: headings.map(({ words }) => ({ row: words })) },
              mark: { type: 'text', align: 'right', color: theme.muted, fontWeight: 600, fontSize: TEXT_SIZES.small },
              encoding: { y, x: { value: -12 }, text: { field: 'row' } },
            },
          ]
        : []),
    ];
  }
}

function signOf(study: AgreementStudy, sign: string | undefined): string {
  const [first, ...others] = study.plan.signs;
  if (sign !== undefined) return sign;
  if (first !== undefined && others.length === 0) return first;
  throw refuse(
    'sign-needed',
    ['options', 'sign'],
    `The study holds ${listOf(study.plan.signs)}.`,
    'name one of them in the option sign.',
  );
}

function rungsOf(group: AgreementByGroup): readonly Rung[] {
  const times = new Map<string, number>();
  for (const { label } of group.rows) times.set(label, (times.get(label) ?? 0) + 1);
  return group.rows.map(({ value, label, estimate }) =>
    rungOf(
      times.get(label) === 1 ? label : `${label} (${value})`,
      label,
      value === '' ? 'midline' : siteOf(value).region,
      estimate,
    ),
  );
}

function rungOf(row: string, label: string, region: Rung['region'], estimate: Estimate): Rung {
  const [, place, detail] = /^([^(]+?) *(?:\((.+)\))?$/.exec(label) ?? [undefined, label, undefined];
  return { row, place: place ?? label, detail: detail ?? '', region, estimate };
}

function valuesOf({ row, place, detail, region, estimate }: Rung) {
  const { value, interval, counts, notes } = estimate;
  const number = (figure: number): number | null => (Number.isFinite(figure) ? figure : null);
  return {
    row,
    place,
    detail,
    region,
    value: number(value),
    lower: number(interval.lower),
    upper: number(interval.upper),
    people: formatCount(counts.clusters),
    text: valueWithInterval(value, interval),
    smallPrint: SMALL_PRINT.find(([code]) => notes.some((note) => note.code === code))?.[1] ?? null,
    words: [
      `${sentenceCase(row)}: ${estimate.statistic} ${valueWithInterval(value, interval)}, ${formatNumber(100 * interval.level, 0)} % interval; ${countsWords(counts)}.`,
      ...notes.map((note) => note.message),
    ].join(' '),
  };
}

function axisValues(from: number): number[] {
  const values: number[] = [];
  for (let tick = Math.round(from * 5); tick <= 5; tick++) values.push(tick / 5);
  return values;
}

function titleOf(group: AgreementByGroup, rungs: readonly Rung[]): string {
  const rated = rungs.filter((rung) => Number.isFinite(rung.estimate.interval.lower));
  const least = rated.find((rung) =>
    rated.every((other) => other === rung || rung.estimate.interval.upper < other.estimate.interval.lower),
  );
  if (least !== undefined && rated.length > 1) return `Assessors agree least ${where([least])}`;
  const below = rated.filter((rung) => rung.estimate.interval.upper < group.pooled.interval.lower);
  if (below.length > 0 && below.length <= 3) return `Assessors agree less ${where(below)} than over all sites together`;
  const [only] = rungs;
  return `How far do assessors agree on ${group.signLabel.toLowerCase()} ${rungs.length === 1 ? where([only!]) : 'at each site'}?`;
}

/** "behind the knee", "at the groin and at the thumb". */
function where(rungs: readonly Rung[]): string {
  return listOf(
    rungs.map(({ place }) => {
      if (/^(behind|above|below|over) /.test(place)) return place;
      return /^(a|an|another) /.test(place) ? `at ${place}` : `at the ${place}`;
    }),
  );
}

function descriptionOf(group: AgreementByGroup, rungs: readonly Rung[]): string {
  const { pooled } = group;
  const rated = rungs
    .filter((rung) => Number.isFinite(rung.estimate.value))
    .sort((first, second) => first.estimate.value - second.estimate.value);
  const [lowest, highest] = [rated[0], rated[rated.length - 1]];
  const undefinedRungs = rungs.filter((rung) => !Number.isFinite(rung.estimate.value));
  const figure = (rung: Rung): string =>
    `${where([rung])} ${valueWithInterval(rung.estimate.value, rung.estimate.interval)}`;
  const title = titleOf(group, rungs);
  return [
    `${sentenceCase(pooled.statistic)} of ${group.signLabel.toLowerCase()} at ${countOf(rungs.length, 'site')}${rungs.length > 1 ? ', from head to toe, each' : ''} with its ${formatNumber(100 * pooled.interval.level, 0)} % interval.`,
    title.endsWith('?') ? title : `${title}.`,
    `All sites together ${valueWithInterval(pooled.value, pooled.interval)}, ${countsWords(pooled.counts)}.`,
    ...(lowest === undefined || highest === undefined || rated.length < 2
      ? []
      : [`Lowest ${figure(lowest)}, highest ${figure(highest)}.`]),
    ...(undefinedRungs.length === 0 ? [] : [`Not defined ${where(undefinedRungs)}.`]),
  ].join(' ');
}
