import { information } from '../shared/note.js';
import { formatNumber, Table } from '../shared/table.js';
import type { ShareByPeriod } from './share-by-period.js';

/** What a report said of a period: plain numbers to keep in a file beside the report. */
export interface ReportedPeriod {
  readonly label: string;
  readonly finding: string;
  readonly count: number | null;
  readonly assessed: number;
  readonly due: number;
}

/** The periods of a share as plain numbers, to be kept for the next report (`JSON.stringify`). */
export function reportedPeriods(share: ShareByPeriod): readonly ReportedPeriod[] {
  return share.segments.flatMap(({ finding, periods }) =>
    periods.map(({ label, count, assessed, due }) => ({ label, finding, count, assessed, due })),
  );
}

/** What late entries did to periods that were reported before. */
export interface ChangesSinceReport {
  readonly kind: 'changes-since-report';
  /** Periods of the earlier report whose counts are others now. */
  readonly changed: readonly {
    readonly label: string;
    readonly before: ReportedPeriod;
    readonly now: ReportedPeriod;
  }[];
  /** Labels that are only in one of the two. */
  readonly added: readonly string[];
  readonly gone: readonly string[];
  readonly sentence: string;
  readonly table: Table;
}

/**
 * What changed since the last report: periods whose counts moved because of late entries or corrections, with both counts.
 *
 * A period is the same when its label and what counts are the same. Hidden counts (`null`) are compared as hidden. Undefined: nothing; a share over nobody is
 * `NaN`. Missing values: none.
 *
 * @param before kept from the last report (`reportedPeriods`). @param now the share of today.
 * @example changesSinceReport(JSON.parse(kept), share).sentence // "Since the last report one period changed: 16 was 5 of 16 (31 %) and is 6 of 18 (33 %)."
 * Source: common practice, no source.
 */
export function changesSinceReport(before: readonly ReportedPeriod[], now: ShareByPeriod): ChangesSinceReport {
  const keyOf = ({ label, finding }: ReportedPeriod): string => `${finding}\u0000${label}`;
  const today = reportedPeriods(now);
  const current = new Map(today.map((period) => [keyOf(period), period]));
  const earlier = new Map(before.map((period) => [keyOf(period), period]));
  const changed = before.flatMap((period) => {
    const other = current.get(keyOf(period));
    // Of a hidden period nothing else is known.
    return other === undefined ||
      (other.count === period.count &&
        (period.count === null || (other.assessed === period.assessed && other.due === period.due)))
      ? []
      : [{ label: period.label, before: period, now: other }];
  });
  const added = today.filter((period) => !earlier.has(keyOf(period))).map(({ label }) => label);
  const gone = before.filter((period) => !current.has(keyOf(period))).map(({ label }) => label);
  return {
    kind: 'changes-since-report',
    changed,
    added,
    gone,
    sentence: sentenceOf(changed, gone),
    table: new Table(
      `${now.signLabel}: what changed since the last report?`,
      [
        { key: 'period', label: 'period', kind: 'text' },
        { key: 'before', label: 'was', kind: 'text' },
        { key: 'now', label: 'is', kind: 'text' },
        { key: 'due', label: 'in all, was', kind: 'count' },
        { key: 'dueNow', label: 'is', kind: 'count' },
      ],
      changed.map((change) => ({
        period: change.label,
        before: words(change.before),
        now: words(change.now),
        due: change.before.count === null ? null : change.before.due,
        dueNow: change.now.count === null ? null : change.now.due,
      })),
      [
        ...(added.length === 0 ? [] : [information('added', `New since then: ${added.join(', ')}.`)]),
        ...(gone.length === 0
          ? []
          : [
              information(
                'gone',
                `Reported then and not there now, or counted by another definition: ${gone.join(', ')}.`,
              ),
            ]),
      ],
    ),
  };
}

function sentenceOf(changed: ChangesSinceReport['changed'], gone: readonly string[]): string {
  const lost = gone.length === 0 ? '' : ` Reported then and not there now: ${gone.join(', ')}.`;
  const [only] = changed;
  if (only === undefined) return `Since the last report no period changed.${lost}`;
  if (changed.length === 1)
    return `Since the last report one period changed: ${only.label} was ${words(only.before)} and is ${words(only.now)}.${lost}`;
  return `Since the last report ${changed.length} periods changed: ${changed.map(({ label }) => label).join(', ')}.${lost}`;
}

function words({ count, assessed }: ReportedPeriod): string {
  if (count === null) return 'not shown';
  return assessed === 0
    ? 'nobody assessed'
    : `${count} of ${assessed} (${formatNumber((100 * count) / assessed, 0)} %)`;
}
