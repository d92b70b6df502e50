import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import type { AgreementByGroup, AgreementStudy } from '../study/agreement-study.js';
import { type Chart, chartOf } from './chart.js';
import { allSites, ladderView, type Rung, rungsOf, whereWords } from './ladder.js';
import { type ChartOptions, themeOf } from './theme.js';
import { countOf, countsWords, intervalWords, listOf, sentenceCase, valueWithInterval } from './words.js';

export interface AgreementBySiteOptions extends ChartOptions {
  /** The sign to draw; needed where the study holds several. */
  readonly sign?: string;
}

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
  const rungs = rungsOf([group]);
  return chartOf(
    {
      from: group,
      title: titleOf(group, rungs),
      subtitle: [
        `${group.signLabel}, ${group.scaleLabel}: ${countsWords(pooled.counts)}`,
        `${sentenceCase(pooled.statistic)} with ${intervalWords(pooled.interval)}${rungs.length > 1 ? '; the band is the interval of all sites together' : ''}`,
      ],
      details: detailsOf(group, rungs),
      view: ladderView(
        {
          rungs: rungs.length > 1 ? [...rungs, allSites([group])] : rungs,
          series: [{ name: '', color: theme.ink, shape: 'circle' }],
          chanceCorrected: group.chanceCorrected,
          ...(rungs.length > 1 ? { band: pooled } : {}),
        },
        theme,
      ),
    },
    theme,
  );
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

function titleOf(group: AgreementByGroup, rungs: readonly Rung[]): string {
  const rated = rungs.flatMap((rung) => {
    const interval = rung.estimates[0]?.interval;
    return interval === undefined || !Number.isFinite(interval.lower) ? [] : [{ rung, interval }];
  });
  const least = rated.find((one) => rated.every((other) => other === one || one.interval.upper < other.interval.lower));
  if (least !== undefined && rated.length > 1) return `Assessors agree least ${whereWords([least.rung])}`;
  const below = rated.filter(({ interval }) => interval.upper < group.pooled.interval.lower);
  if (below.length > 0 && below.length <= 3)
    return `Assessors agree less ${whereWords(below.map(({ rung }) => rung))} than over all sites together`;
  return `How far do assessors agree on ${group.signLabel.toLowerCase()} ${rungs.length === 1 ? whereWords(rungs) : 'at each site'}?`;
}

function detailsOf(group: AgreementByGroup, rungs: readonly Rung[]): string {
  const { pooled } = group;
  const estimates = rungs.map((rung) => ({ rung, estimate: rung.estimates[0]! }));
  const rated = estimates
    .filter(({ estimate }) => Number.isFinite(estimate.value))
    .sort((first, second) => first.estimate.value - second.estimate.value);
  const missing = estimates.filter(({ estimate }) => !Number.isFinite(estimate.value)).map(({ rung }) => rung);
  const [lowest, highest] = [rated[0], rated[rated.length - 1]];
  const figure = ({ rung, estimate }: (typeof estimates)[number]): string =>
    `${whereWords([rung])} ${valueWithInterval(estimate.value, estimate.interval)}`;
  return [
    `${sentenceCase(pooled.statistic)} of ${group.signLabel.toLowerCase()} at ${countOf(rungs.length, 'site')}${rungs.length > 1 ? ', from head to toe, each' : ''} with its ${formatNumber(100 * pooled.interval.level, 0)} % interval.`,
    `All sites together ${valueWithInterval(pooled.value, pooled.interval)}, ${countsWords(pooled.counts)}.`,
    ...(lowest === undefined || highest === undefined || rated.length < 2
      ? []
      : [`Lowest ${figure(lowest)}, highest ${figure(highest)}.`]),
    ...(missing.length === 0 ? [] : [`Not defined ${whereWords(missing)}.`]),
  ].join(' ');
}
