import { AUDIENCES, type Audience } from '../shared/audience.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { information, type Note } from '../shared/note.js';
import { checkChoice, DEFAULT_CONFIDENCE_LEVEL } from '../shared/options.js';
import { isFew, joinedLabel, joinPeriods } from './join-periods.js';
import {
  type PeriodShare,
  periodShare,
  type ShareByPeriod,
  type ShareByPeriodResult,
  type ShareSegment,
  shareResultOf,
} from './share-by-period.js';

/**
 * The same share with what could point at a person joined or hidden, by who will see it.
 *
 * Own eyes: unchanged. Inside the hospital a period is small when 1 to 4 people were assessed in it; outside, when 1 to 4 people have, or have not, the finding, or were not assessed.
 * Small periods are joined by `joinPeriods`, what is left is hidden with all its numbers. Intervals, middle lines, rules and sentence are made anew from
 * what is shown; a joined period that reaches beyond a frozen baseline is no part of it. Joined periods are sums: who was there in two of them counts in each.
 *
 * Undefined: nothing. Missing values: hidden periods stay hidden.
 *
 * @throws InputError `unknown-choice`.
 * @example shareForAudience(share, 'outside').segments[0].periods[0].label // '1–2'
 * Source: a least cell of five, common practice, no source.
 */
export function shareForAudience(share: ShareByPeriod, audience: Audience): ShareByPeriodResult {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  if (chosen === 'own') return shareResultOf(share, []);
  const isSmall = chosen === 'outside' ? isSmallOutside : isSmallInside;
  const segments = share.segments.map((segment) => segmentFor(segment, isSmall));
  const notes = suppressionNotes(share.segments, segments);
  const shown = shareResultOf({ ...share, segments, audience: chosen }, notes);
  // Where nothing was small, what was said of the share still holds.
  const { sentence } = share;
  return notes.length > 0
    ? shown
    : { ...shown, segments: share.segments, ...(sentence === undefined ? {} : { sentence }) };
}

function isSmallInside({ count, assessed }: PeriodShare): boolean {
  return count === null || isFew(assessed);
}

function isSmallOutside({ count, assessed, due }: PeriodShare): boolean {
  return count === null || isFew(count) || isFew(assessed - count) || isFew(due - assessed);
}

function segmentFor(segment: ShareSegment, isSmall: (period: PeriodShare) => boolean): ShareSegment {
  const { baselinePeriods = 0, ...rest } = segment;
  const { periods, ends } = joined(segment.periods, isSmall);
  // A block that reaches beyond the frozen baseline is not part of it.
  const frozen = ends.filter((end) => end <= baselinePeriods).length;
  const isKnown = periods.slice(0, frozen).some(({ count, assessed }) => count !== null && assessed > 0);
  return { ...rest, ...(isKnown ? { baselinePeriods: frozen } : {}), periods };
}

/** The joined periods, and the index behind the last period of each. */
function joined(
  periods: readonly PeriodShare[],
  isSmall: (period: PeriodShare) => boolean,
): { readonly periods: PeriodShare[]; readonly ends: readonly number[] } {
  const sumOf = (from: number, to: number): PeriodShare => {
    const own = periods.slice(from, to);
    const sum = (of: (period: PeriodShare) => number): number => own.reduce((total, period) => total + of(period), 0);
    const label = joinedLabel(own.map((period) => period.label));
    if (own.some(({ count }) => count === null)) return hiddenPeriod(label);
    return periodShare(
      label,
      sum(({ count }) => count!),
      sum(({ assessed }) => assessed),
      sum(({ due }) => due),
      own[0]!.interval?.level ?? DEFAULT_CONFIDENCE_LEVEL,
    );
  };
  const blocks = joinPeriods(periods.length, (from, to) => isSmall(sumOf(from, to)));
  return {
    periods: blocks.map(({ from, to, hidden }) =>
      hidden
        ? hiddenPeriod(joinedLabel(periods.slice(from, to).map(({ label }) => label)))
        : to - from === 1
          ? periods[from]!
          : sumOf(from, to),
    ),
    ends: blocks.map(({ to }) => to),
  };
}

function hiddenPeriod(label: string): PeriodShare {
  return { label, count: null, assessed: Number.NaN, due: Number.NaN };
}

/** What was done to the periods, in words and without numbers of people. */
export function suppressionNotes(
  before: readonly { readonly periods: readonly unknown[] }[],
  after: readonly {
    readonly periods: readonly { readonly label: string; readonly count?: unknown; readonly counts?: unknown }[];
  }[],
): readonly Note[] {
  const total = (segments: readonly { readonly periods: readonly unknown[] }[]): number =>
    segments.reduce((sum, { periods }) => sum + periods.length, 0);
  const isHidden = (period: { readonly count?: unknown; readonly counts?: unknown }): boolean =>
    period.count === null || period.counts === null;
  return [
    ...(total(after) < total(before)
      ? [
          information(
            'periods-joined',
            `Periods were joined because numbers under ${FEWEST_SHOWN} could point at somebody; who was there in two of them counts in each.`,
          ),
        ]
      : []),
    ...(after.some(({ periods }) => periods.some(isHidden))
      ? [
          information(
            'periods-hidden',
            `Periods with numbers under ${FEWEST_SHOWN} that could not be joined are hidden.`,
          ),
        ]
      : []),
  ];
}
