import type { Estimate } from '../shared/estimate.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { Site } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import type { AgreementByGroup } from '../study/agreement-study.js';
import { type LegendEntry, legendLayers } from './legend.js';
import { TEXT_SIZES, type Theme } from './theme.js';
import { countsWords, listOf, sentenceCase, valueWithInterval } from './words.js';

/** How one kind of estimate is drawn on every rung. */
export interface LadderSeries {
  /** In the legend and in hover; empty where there is only one. */
  readonly name: string;
  readonly color: string;
  readonly shape: 'circle' | 'diamond';
}

/** One row of a ladder: a place on the body with an estimate for each series. */
export interface Rung {
  /** Where on the body, in plain words, and the artery or bone in small print. */
  readonly place: string;
  readonly detail: string;
  readonly region: Site['region'] | 'all';
  readonly estimates: readonly (Estimate | undefined)[];
}

export interface Ladder {
  readonly rungs: readonly Rung[];
  readonly series: readonly LadderSeries[];
  /** Whether 0 means "as by chance" or "never the same". */
  readonly chanceCorrected: boolean;
  /** An interval drawn as a band behind all rungs. */
  readonly band?: Estimate;
}

const HEADINGS: readonly { readonly region: Rung['region']; readonly words: string }[] = [
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
const PLOT = 300;
const HEADING_STEP = 28;
const VALUES_AT = PLOT + 16;
const PEOPLE_AT = PLOT + 212;

/** The rungs of a study's sites, in the order given, with the estimates of one or more groups. */
export function rungsOf(groups: readonly AgreementByGroup[]): readonly Rung[] {
  const values = [...new Set(groups.flatMap((group) => group.rows.map((row) => row.value)))];
  return values.map((value) => {
    const rows = groups.map((group) => group.rows.find((row) => row.value === value));
    const label = rows.find((row) => row !== undefined)!.label;
    const [, place, detail] = /^([^(]+?) *(?:\((.+)\))?$/.exec(label) ?? [undefined, label, undefined];
    return {
      place: place ?? label,
      detail: detail ?? '',
      region: value === '' ? 'midline' : siteOf(value).region,
      estimates: rows.map((row) => row?.estimate),
    };
  });
}

/** The last rung: all sites together. */
export function allSites(groups: readonly AgreementByGroup[]): Rung {
  return { place: 'All sites together', detail: '', region: 'all', estimates: groups.map((group) => group.pooled) };
}

/** "behind the knee", "at the groin and at the thumb". */
export function whereWords(rungs: readonly Rung[]): string {
  return listOf(
    rungs.map(({ place }) => {
      if (/^(behind|above|below|over) /.test(place)) return place;
      return /^(a|an|another) /.test(place) ? `at ${place}` : `at the ${place}`;
    }),
  );
}

/**
 * A ladder of sites: intervals drawn before dots, arms and legs apart, values and numbers of people at
 * the right, 0 and 1 of the coefficient always on the axis.
 */
export function ladderView(ladder: Ladder, theme: Theme): Readonly<Record<string, unknown>> {
  const { series, rungs } = ladder;
  const step = series.length > 1 ? 44 : 34;
  const { places, headings, height } = placed(rungs, step);
  const values = rungs.flatMap((rung, at) =>
    rung.estimates.flatMap((estimate, each) =>
      estimate === undefined
        ? []
        : [valuesOf(rung, estimate, drawnAs(rung, each), places[at]! + (each - (series.length - 1) / 2) * 18)],
    ),
  );
  const lowest = Math.min(0, ...values.flatMap((row) => [row.lower ?? 0, row.value ?? 0]));
  const from = Math.floor(lowest * 5) / 5;
  const zero = ladder.chanceCorrected ? 'as by chance' : 'never the same';
  const x = {
    type: 'quantitative',
    scale: { domain: [from, 1], nice: false },
    axis: {
      title: null,
      grid: false,
      values: ticks(from),
      labelExpr: `datum.value === 0 ? ['0', '${zero}'] : datum.value === 1 ? ['1', 'always the same'] : format(datum.value, '.1f')`,
      labelFlush: false,
      labelOverlap: false,
    },
  };
  const y = { field: 'y', type: 'quantitative', scale: null };
  const color = { field: 'color', type: 'nominal', scale: null };
  const text = (field: string, at: number, mark: object, filter?: string) => ({
    ...(filter === undefined ? {} : { transform: [{ filter }] }),
    mark: { type: 'text', ...mark },
    encoding: { y, x: { value: at }, text: { field }, tooltip: { field: 'words' } },
  });
  const header = (words: string, at: number, align: string) => ({
    data: { values: [{}] },
    mark: { type: 'text', align, baseline: 'bottom', color: theme.muted, fontSize: TEXT_SIZES.small },
    encoding: { x: { value: at }, y: { value: -4 }, text: { value: words } },
  });
  const small = { fontSize: TEXT_SIZES.small, color: theme.muted };
  const labels = rungs.map(({ place, detail }, at) => ({ place, detail, y: places[at]! }));
  const level = values[0]?.level ?? 0.95;
  const band = ladder.band?.interval;
  return {
    width: PLOT,
    height,
    data: { values },
    layer: [
      ...(band === undefined || Number.isNaN(band.lower)
        ? []
        : [
            {
              data: { values: [{ lower: band.lower, upper: band.upper }] },
              mark: { type: 'rect', color: theme.categories[1], opacity: 0.12 },
              encoding: { x: { field: 'lower', ...x }, x2: { field: 'upper' } },
            },
          ]),
      {
        data: { values: labels },
        mark: { type: 'rule', color: theme.hairline },
        encoding: { y, x: { value: 0 }, x2: { value: PLOT } },
      },
      {
        data: { values: [{ at: 0 }, { at: 1 }] },
        mark: { type: 'rule', color: theme.muted },
        encoding: { x: { field: 'at', ...x } },
      },
      {
        mark: { type: 'rule', strokeWidth: 3, strokeCap: 'round' },
        encoding: { y, x: { field: 'lower', ...x }, x2: { field: 'upper' }, color, tooltip: { field: 'words' } },
      },
      ...(['circle', 'diamond'] as const).map((shape) => ({
        transform: [{ filter: `datum.shape === '${shape}'` }],
        mark: {
          type: 'point',
          shape,
          filled: true,
          opacity: 1,
          size: shape === 'circle' ? 120 : 190,
          stroke: theme.paper,
          strokeWidth: 1.5,
        },
        encoding: { y, x: { field: 'value', ...x }, color, tooltip: { field: 'words' } },
      })),
      {
        data: { values: labels },
        layer: [
          rungLabel('place', "datum.detail === ''", {}),
          rungLabel('place', "datum.detail !== ''", { dy: -7 }),
          rungLabel('detail', "datum.detail !== ''", { dy: 8, ...small }),
        ],
      },
      ...(headings.length === 0
        ? []
        : [
            {
              data: { values: headings },
              ...rungLabel('heading', undefined, { fontWeight: 600, ...small }),
            },
          ]),
      text('text', VALUES_AT, { align: 'left' }, 'datum.smallPrint === null'),
      text('text', VALUES_AT, { align: 'left', dy: -7 }, 'datum.smallPrint !== null'),
      text('smallPrint', VALUES_AT, { align: 'left', dy: 8, ...small }, 'datum.smallPrint !== null'),
      text('people', PEOPLE_AT, { align: 'right' }),
      header(`value (${formatNumber(100 * level, 0)} % interval)`, VALUES_AT, 'left'),
      header('people', PEOPLE_AT, 'right'),
      ...(series.length > 1
        ? legendLayers(
            [series.map(({ name, color, shape }): LegendEntry => ({ text: name, mark: shape, color }))],
            theme,
            PEOPLE_AT,
            30,
          )
        : []),
    ],
  };

  /** Where there is one series, all sites together stand out by shape and by the color of their band. */
  function drawnAs(rung: Rung, each: number): LadderSeries {
    if (series.length > 1 || rung.region !== 'all') return series[each]!;
    return { name: '', color: theme.categories[1]!, shape: 'diamond' };
  }

  function rungLabel(field: string, filter: string | undefined, mark: object) {
    return {
      ...(filter === undefined ? {} : { transform: [{ filter }] }),
      mark: { type: 'text', align: 'right', ...mark },
      encoding: { y, x: { value: -12 }, text: { field } },
    };
  }
}

/** Pixels of every rung and heading from the top: arms and legs apart, all sites together after a gap. */
function placed(rungs: readonly Rung[], step: number) {
  const groups = HEADINGS.filter(({ region }) => rungs.some((rung) => rung.region === region));
  const places: number[] = new Array<number>(rungs.length).fill(0);
  const headings: { heading: string; y: number }[] = [];
  let y = 0;
  const put = (region: Rung['region']): void => {
    rungs.forEach((rung, at) => {
      if (rung.region !== region) return;
      places[at] = y + step / 2;
      y += step;
    });
  };
  for (const { region, words } of groups) {
    if (groups.length > 1) {
      headings.push({ heading: words, y: y + HEADING_STEP / 2 + 2 });
      y += HEADING_STEP;
    }
    put(region);
  }
  if (rungs.some((rung) => rung.region === 'all')) {
    y += 14;
    put('all');
  }
  return { places, headings, height: y };
}

function valuesOf(rung: Rung, estimate: Estimate, series: LadderSeries, y: number) {
  const { value, interval, counts, notes } = estimate;
  const number = (figure: number): number | null => (Number.isFinite(figure) ? figure : null);
  const name = series.name === '' ? '' : `, ${series.name}`;
  const place = rung.detail === '' ? rung.place : `${rung.place} (${rung.detail})`;
  return {
    place,
    ...(rung.region === 'all' ? {} : { site: rung.place }),
    y,
    value: number(value),
    lower: number(interval.lower),
    upper: number(interval.upper),
    level: interval.level,
    color: series.color,
    shape: series.shape,
    people: formatCount(counts.clusters),
    text: valueWithInterval(value, interval),
    // Two lines to a rung leave no room for a third; the note is then in the words.
    smallPrint:
      series.name === '' ? (SMALL_PRINT.find(([code]) => notes.some((note) => note.code === code))?.[1] ?? null) : null,
    words: [
      `${sentenceCase(place)}${name}: ${estimate.statistic} ${valueWithInterval(value, interval)}, ${formatNumber(100 * interval.level, 0)} % interval; ${countsWords(counts)}.`,
      ...notes.map((note) => note.message),
    ].join(' '),
  };
}

function ticks(from: number): number[] {
  // A scale that reaches far below 0 has less room for each label.
  const parts = from < -0.5 ? 2 : 5;
  const values: number[] = [];
  for (let tick = Math.ceil(from * parts - 1e-9); tick <= parts; tick++) values.push(tick / parts);
  return values;
}
