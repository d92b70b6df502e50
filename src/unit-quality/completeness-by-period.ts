import { type MadeFor, madeForOf } from '../shared/audience.js';
import { information, type Note } from '../shared/note.js';
import { formatNumber, Table } from '../shared/table.js';
import type { PeriodShare, ShareByPeriod } from './share-by-period.js';

/** How many of those there were assessed, and what the share could have been had all been. */
export interface CompletenessByPeriod extends MadeFor {
  readonly kind: 'completeness-by-period';
  /** Said only where the newest periods differ from those before by the stated rule. */
  readonly sentence: string | undefined;
  readonly table: Table;
  readonly notes: readonly Note[];
}

/** The newest periods that are held against those before (common practice, no source). */
const NEWEST = 3;
/** Fewer earlier periods than this are no comparison. */
const EARLIER = 3;
/** A difference of completeness worth a sentence: ten in a hundred. */
const DIFFERENCE = 0.1;

/**
 * Completeness by period: how many of those who were there have a reading at all, and between which limits the share with the finding would
 * lie had everybody been assessed.
 *
 * completeness = assessed / due; limits: lower = count / due (nobody unassessed had it), upper = (count + due − assessed) / due (all had). No assumption is
 * needed for them. The sentence compares the last three periods of the newest scale with those before, sums over sums: it is said when completeness differs by ten in a hundred or
 * more, and names a share that fell or rose along with it.
 *
 * Undefined (`NaN`) where nobody was there. Missing values: periods whose counts are hidden do not enter.
 *
 * @param share from `shareByPeriod`, for other eyes from `forAudience`.
 * @example completenessByPeriod(share).sentence
 * Source: limits without assumptions: Manski CF. Partial Identification of Probability Distributions, 2003 (from memory).
 */
export function completenessByPeriod(share: ShareByPeriod): CompletenessByPeriod {
  const notes = [
    information(
      'limits-without-assumptions',
      'The last two columns: the share had nobody, and had everybody, of those not assessed had the finding. Not assessed is not normal.',
    ),
  ];
  const table = new Table(
    `${share.signLabel}: how many of the ${share.counted} were assessed, and what does it leave open?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'assessed', label: 'assessed', kind: 'count' },
      { key: 'due', label: 'in all', kind: 'count' },
      { key: 'completeness', label: 'share assessed', kind: 'percent' },
      { key: 'count', label: 'with the finding', kind: 'count' },
      { key: 'lower', label: 'share of all, at least', kind: 'percent' },
      { key: 'upper', label: 'at most', kind: 'percent' },
    ],
    share.segments.flatMap((segment) =>
      segment.periods
        .filter((period) => period.count !== null)
        .map((period) => ({
          period: period.label,
          assessed: period.assessed,
          due: period.due,
          completeness: period.assessed / period.due,
          count: period.count,
          lower: period.count! / period.due,
          upper: (period.count! + period.due - period.assessed) / period.due,
        })),
    ),
    notes,
    share,
  );
  return { kind: 'completeness-by-period', sentence: sentenceOf(share), table, notes, ...madeForOf(share) };
}

function sentenceOf(share: ShareByPeriod): string | undefined {
  const shown = (share.segments.at(-1)?.periods ?? []).filter((period) => period.count !== null && period.due > 0);
  if (shown.length < NEWEST + EARLIER) return undefined;
  const early = totalOf(shown.slice(0, -NEWEST));
  const late = totalOf(shown.slice(-NEWEST));
  const more = late.completeness - early.completeness;
  if (Math.abs(more) < DIFFERENCE - 1e-12 || early.assessed === 0 || late.assessed === 0) return undefined;
  const fell = more < 0;
  const change = late.share - early.share;
  const counted = `${percent(early.completeness)} of the ${share.counted} were assessed before and ${percent(late.completeness)} in the last ${NEWEST} periods`;
  if (fell && change < 0)
    return `A falling rate with falling completeness: ${counted}. The share of those assessed went from ${percent(early.share)} to ${percent(late.share)}, which may be who was left out.`;
  if (!fell && change > 0)
    return `A rising rate with rising completeness: ${counted}. The share of those assessed went from ${percent(early.share)} to ${percent(late.share)}, which may be that more was looked for.`;
  return `Completeness ${fell ? 'fell' : 'rose'}: ${counted}.`;
}

function totalOf(periods: readonly PeriodShare[]): { assessed: number; completeness: number; share: number } {
  const sum = (of: (period: PeriodShare) => number): number => periods.reduce((total, period) => total + of(period), 0);
  const assessed = sum((period) => period.assessed);
  return {
    assessed,
    completeness: assessed / sum((period) => period.due),
    share: sum((period) => period.count ?? 0) / assessed,
  };
}

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}
