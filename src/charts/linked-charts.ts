import { narrowestOf } from '../shared/audience.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { Chart, type ChartSpec } from './chart.js';

export interface LinkedChartsOptions {
  /** Whom or what a reader follows through the charts: one assessor, by code, or one site. */
  readonly follow: 'assessor' | 'site';
}

/** Everything that is not about what is followed steps back to this share of its color. */
const ASIDE = 0.22;

/**
 * Several charts as one picture, one below the other, in which an assessor or a site can be followed: click a mark, or choose a code
 * from the list below the picture (which the keyboard reaches), and in every chart the marks about the others fade. Marks about
 * nobody in particular, such as all sites together, stay. A front end that runs no scripts shows the charts as they are.
 *
 * One picture and not several, because the outputs of a notebook cannot hear each other.
 *
 * Throws `InputError`: `too-few-charts` (below two), `nothing-to-follow` for every chart whose marks are not about an assessor or a
 * site, `several-themes`.
 *
 * @example await show(linkedCharts([habitBarsChart(ratings), pairwiseAgreementChart(ratings, pairs)], { follow: 'assessor' }))
 */
export function linkedCharts(charts: readonly Chart[], options: LinkedChartsOptions): Chart {
  const { follow } = options;
  const [first] = charts;
  if (first === undefined || charts.length < 2)
    throw refuse(
      'too-few-charts',
      ['charts'],
      `There ${charts.length === 1 ? 'is one chart' : 'is none'}; it takes two to link.`,
    );
  const followed = charts.map((chart) => namesIn(chart.spec, follow));
  const problems: Problem[] = charts.flatMap((chart, at) => [
    ...(followed[at]!.length > 0
      ? []
      : [
          problem('nothing-to-follow', at, `No mark of "${chart.title}" is about one ${follow}.`, `marks by ${follow}`),
        ]),
    ...(JSON.stringify(chart.spec.config) === JSON.stringify(first.spec.config)
      ? []
      : [problem('several-themes', at, `"${chart.title}" has another theme than the first chart.`, 'one theme')]),
  ]);
  if (problems.length > 0) throw new InputError(problems);

  const names = [...new Set(followed.flat())];
  const title = `The same ${follow}s in ${charts.length} pictures`;
  const cautions = new Set(charts.flatMap(({ caution }) => caution ?? []));
  const { $schema, config, usermeta } = first.spec;
  const description = [`${title}.`, ...charts.map((chart) => chart.description)].join(' ');
  return new Chart({
    title,
    description,
    ...narrowestOf(charts),
    ...(cautions.size === 0 ? {} : { caution: [...cautions].join(' ') }),
    spec: {
      $schema,
      description,
      config,
      usermeta,
      spacing: 24,
      vconcat: linkedViews(charts, follow, names),
    },
  });
}

type Row = Readonly<Record<string, unknown>>;

/** Whom or what a mark is about stands in the field of that name, or, of several at once, in the field of the plural. */
function namesOf(row: Row, follow: string): readonly string[] {
  const [one, several] = [row[follow], row[`${follow}s`]];
  return typeof one === 'string' ? [one] : Array.isArray(several) ? several : [];
}

/** Every name in the data of a specification. */
function namesIn(node: unknown, follow: string): readonly string[] {
  if (typeof node !== 'object' || node === null) return [];
  const { data } = node as { data?: { values?: readonly Row[] } };
  return [
    ...(data?.values ?? []).flatMap((row) => namesOf(row, follow)),
    ...Object.entries(node).flatMap(([key, value]) => (key === 'data' ? [] : namesIn(value, follow))),
  ];
}

/** The charts without what is said once for all of them, their marks fading when another is followed. */
function linkedViews(charts: readonly Chart[], follow: string, names: readonly string[]): readonly ChartSpec[] {
  const chosen = `followed.${follow}`;
  const aside = [
    `isDefined(${chosen}) && isValid(${chosen}[0])`,
    `(isDefined(datum.${follow}) || isDefined(datum.${follow}s))`,
    `datum.${follow} !== ${chosen}[0]`,
    `indexof(datum.${follow}s || [], ${chosen}[0]) < 0`,
  ].join(' && ');
  // The choice is made in one view; its list and its clicks are heard in all.
  let chooser: object[] = [
    {
      name: 'followed',
      select: { type: 'point', fields: [follow], on: 'click', clear: 'dblclick', toggle: false },
      bind: { input: 'select', name: `Follow ${follow} `, options: [null, ...names], labels: ['none', ...names] },
    },
  ];
  const linked = (view: ChartSpec, inherited: readonly Row[]): ChartSpec => {
    const rows = (view.data as { values?: readonly Row[] } | undefined)?.values ?? inherited;
    const whole: Record<string, unknown> = { ...view };
    for (const part of ['layer', 'hconcat', 'vconcat', 'concat'])
      if (Array.isArray(view[part])) whole[part] = view[part].map((child: ChartSpec) => linked(child, rows));
    if (view.mark === undefined || !rows.some((row) => namesOf(row, follow).length > 0)) return whole;
    const { opacity = 1 } = view.mark as { opacity?: number };
    const params = chooser;
    chooser = [];
    return {
      ...whole,
      ...(params.length === 0 ? {} : { params }),
      encoding: {
        ...(view.encoding as object),
        opacity: { condition: { test: aside, value: opacity * ASIDE }, value: opacity },
      },
    };
  };
  return charts.map(
    ({ spec: { $schema: _schema, config: _config, usermeta: _usermeta, description: _words, ...view } }) =>
      linked(view, []),
  );
}

function problem(code: string, at: number, message: string, expected: string): Problem {
  return { code, path: ['charts', at], message, expected };
}
