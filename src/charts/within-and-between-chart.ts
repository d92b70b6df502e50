import { narrowestOf } from '../shared/audience.js';
import type { AgreementByGroup } from '../study/agreement-study.js';
import { type Chart, chartOf } from './chart.js';
import { allSites, ladderView, rungsOf } from './ladder.js';
import { type ChartOptions, themeOf } from './theme.js';
import { countsWords, intervalWords, sentenceCase, valueWithInterval } from './words.js';

const SAME = 'same assessor twice';
const TWO = 'two assessors';

/**
 * One assessor reading twice against two assessors: two dots with their intervals a site, on one
 * coefficient. How far two assessors can agree is limited by how far each agrees with their own
 * earlier reading.
 *
 * The title says that one assessor agrees more only when, over all sites, the interval of the same
 * assessor lies wholly above that of two; otherwise it asks.
 *
 * @param within agreement of the same assessor reading twice, by site.
 * @param between agreement of two assessors, by site, on the same sign and scale.
 */
export function withinAndBetweenChart(
  within: AgreementByGroup,
  between: AgreementByGroup,
  options: ChartOptions = {},
): Chart {
  const theme = themeOf(options);
  const groups = [between, within];
  const rungs = rungsOf(groups);
  const [one, two] = [within.pooled, between.pooled];
  const apart = one.interval.lower > two.interval.upper;
  const sign = between.signLabel.toLowerCase();
  const title = apart
    ? 'One assessor reading twice agrees more than two assessors do'
    : `Does one assessor reading ${sign} twice agree more than two assessors do?`;
  const statistic = sentenceCase(two.statistic);
  return chartOf(
    {
      from: narrowestOf([within, between]),
      title,
      subtitle: [
        `${between.signLabel}, ${between.scaleLabel}; ${TWO}: ${countsWords(two.counts)}; ${SAME}: ${countsWords(one.counts)}`,
        one.statistic === two.statistic
          ? `${statistic} with ${intervalWords(two.interval)}`
          : `${statistic} (${TWO}), ${one.statistic} (${SAME}), with ${intervalWords(two.interval)}`,
      ],
      details: `${statistic} of ${sign}, ${TWO} against the ${SAME}, by site. All sites together: ${TWO} ${valueWithInterval(two.value, two.interval)}, ${SAME} ${valueWithInterval(one.value, one.interval)}.`,
      view: ladderView(
        {
          rungs: rungs.length > 1 ? [...rungs, allSites(groups)] : rungs,
          series: [
            { name: TWO, color: theme.ink, shape: 'circle' },
            { name: SAME, color: theme.categories[1]!, shape: 'diamond' },
          ],
          chanceCorrected: between.chanceCorrected,
        },
        theme,
      ),
    },
    theme,
  );
}
