import type { ChangeCall, ChangeCalls } from '../progression/change-calls.js';
import { CAUTIONS } from '../shared/cautions.js';
import { siteOf } from '../signs/site.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, textOn, themeOf } from './theme.js';
import { countOf } from './words.js';

const WIDTH = 470;
const ORDER: readonly { readonly call: ChangeCall; readonly words: string }[] = [
  { call: 'beyond error, lower', words: 'beyond the error, lower' },
  { call: 'within error', words: 'within the error' },
  { call: 'same reading', words: 'same reading' },
  { call: 'beyond error, higher', words: 'beyond the error, higher' },
];

/**
 * What became of the limbs: for each site how many last readings are the same as the first, differ within the error of measurement, or lie beyond it — and, in the title, how many
 * such calls assessors alone would give if nothing had changed.
 */
export function changeCallsChart(calls: ChangeCalls, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const sites = [...new Set(calls.limbs.map((limb) => limb.series.site))].sort((a, b) => orderOf(a) - orderOf(b));
  const colors = [theme.signal, theme.categories[4]!, theme.hairline, theme.ink];
  const beyond = calls.limbs.filter((limb) => limb.call.startsWith('beyond')).length;
  const expected = Math.round(calls.expectedFromErrorAlone);
  const rows = sites.map((site) => ({
    site,
    words: site === '' ? 'all' : shortLabel(site),
    limbs: calls.limbs.filter((limb) => limb.series.site === site),
  }));
  const values = rows.flatMap(({ words, limbs }) => {
    let from = 0;
    return ORDER.map(({ call, words: callWords }, at) => {
      const count = limbs.filter((limb) => limb.call === call).length;
      const start = from;
      from += count / limbs.length;
      return {
        site: words,
        from: start,
        to: from,
        middle: (start + from) / 2,
        fill: colors[at],
        text: textOn(theme, colors[at]!),
        label: count / limbs.length >= 0.02 ? String(count) : '',
        words: `${words}: ${count} of ${limbs.length} ${callWords}.`,
      };
    });
  });
  const y = { field: 'site', type: 'ordinal', sort: null, axis: { title: null, labelLimit: 0, labelPadding: 8 } };
  const x = {
    type: 'quantitative',
    scale: { domain: [0, 1], nice: false },
    axis: {
      title: null,
      grid: false,
      values: [0, 0.25, 0.5, 0.75, 1],
      labelExpr: PERCENT_LABELS,
    },
  };
  const color = (field: string) => ({ field, type: 'nominal', scale: null });
  const title = `${beyond} of ${countOf(calls.limbs.length, 'limb-site')} lie beyond the error${Number.isNaN(expected) ? '' : `; assessors alone would put about ${expected} there`}`;
  return chartOf(
    {
      from: calls,
      title,
      subtitle: [
        `${calls.signLabel}, ${calls.scale.label}: last visit against the first, ${countOf(calls.patients, 'person', 'people')}`,
        'Numbers are limb-sites',
      ],
      details: `${rows
        .map(
          ({ words, limbs }) =>
            `${words}: ${ORDER.map(({ call, words: callWords }) => `${limbs.filter((limb) => limb.call === call).length} ${callWords}`).join(', ')}.`,
        )

        .join(' ')}`,
      caution: CAUTIONS.notForCare,
      view: {
        width: WIDTH,
        height: 40 * rows.length,
        data: { values },
        layer: [
          {
            mark: { type: 'bar', height: { band: 0.72 }, stroke: theme.paper, strokeWidth: 1.2 },
            encoding: {
              y,
              x: { field: 'from', ...x },
              x2: { field: 'to' },
              fill: color('fill'),
              tooltip: { field: 'words' },
            },
          },
          {
            mark: { type: 'text', fontSize: TEXT_SIZES.label },
            encoding: { y, x: { field: 'middle', ...x }, text: { field: 'label' }, fill: color('text') },
          },
          ...legendLayers(
            [ORDER.map(({ words }, at) => ({ text: words, mark: 'square' as const, color: colors[at]! }))],
            theme,
            WIDTH,
          ),
        ],
      },
    },
    theme,
  );
}

function orderOf(site: string): number {
  return site === '' ? -1 : siteOf(site).order;
}

/** "inner ankle" of "inner ankle (posterior tibial artery)". */
function shortLabel(site: string): string {
  return siteOf(site).label.replace(/ \(.*\)$/, '');
}
