import { checkChoice } from '../shared/options.js';
import type { PeriodShare, ShareByPeriod, ShareSegment } from './share-by-period.js';

/** Who will see it: oneself, people inside the hospital, or anybody. Set once, at the top of a notebook. */
export type Audience = 'own' | 'inside' | 'outside';

const AUDIENCES: readonly Audience[] = ['own', 'inside', 'outside'];
/** People below which a number can point at somebody (common practice, no source). */
const FEWEST = 5;

/**
 * The same share with what could point at a person merged or hidden, by who will see it.
 *
 * Own eyes: unchanged. Inside the hospital: a unit's counts are shown, but a period with fewer than 5 people assessed is hidden.
 * Outside: a period in which 1 to 4 people have, or have not, the finding, or were not assessed, is joined with its neighbor on the same scale until none is left; what
 * cannot be joined is hidden. Where one period alone would be hidden a second one is hidden too, so that it cannot be had by subtraction from a total.
 * Intervals and marks of joined or hidden periods are left out.
 *
 * Undefined: nothing. Missing values: hidden periods stay hidden.
 *
 * @throws InputError `unknown-choice`.
 * @example forAudience(share, 'outside')
 * Source: a least cell of five, common practice, no source.
 */
export function forAudience(share: ShareByPeriod, audience: Audience): ShareByPeriod {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  const { signLabel, counted, rule, sentence, actions } = share;
  const plain = {
    signLabel,
    counted,
    rule,
    ...(sentence === undefined ? {} : { sentence }),
    ...(actions === undefined ? {} : { actions }),
  };
  if (chosen === 'own') return { ...plain, segments: share.segments };
  return { ...plain, segments: share.segments.map((segment) => segmentFor(segment, chosen === 'outside')) };
}

function segmentFor(segment: ShareSegment, outside: boolean): ShareSegment {
  const periods = outside ? joined(segment.periods, isSmallOutside) : segment.periods;
  const isSmall = outside ? isSmallOutside : ({ assessed }: PeriodShare): boolean => assessed > 0 && assessed < FEWEST;
  return { ...segment, periods: hiddenFrom(periods, isSmall, outside) };
}

const isFew = (people: number): boolean => people > 0 && people < FEWEST;

function isSmallOutside({ count, assessed, due }: PeriodShare): boolean {
  return count !== null && (isFew(count) || isFew(assessed - count) || isFew(due - assessed));
}

/** Joins each small period with the next one, the last with the one before it. */
function joined(periods: readonly PeriodShare[], isSmall: (period: PeriodShare) => boolean): PeriodShare[] {
  const result: PeriodShare[] = [];
  for (const period of periods) {
    const last = result.at(-1);
    if (last !== undefined && last.count !== null && period.count !== null && isSmall(last))
      result[result.length - 1] = sumOf(last, period);
    else result.push(period);
  }
  while (result.length > 1) {
    const [before, last] = result.slice(-2) as [PeriodShare, PeriodShare];
    if (before.count === null || last.count === null || !isSmall(last)) break;
    result.splice(-2, 2, sumOf(before, last));
  }
  return result;
}

function sumOf(first: PeriodShare, second: PeriodShare): PeriodShare {
  const from = first.label.split('–')[0]!;
  return {
    label: `${from}–${second.label.split('–').at(-1)}`,
    count: first.count! + second.count!,
    assessed: first.assessed + second.assessed,
    due: first.due + second.due,
  };
}

function hiddenFrom(
  periods: readonly PeriodShare[],
  isSmall: (period: PeriodShare) => boolean,
  totalsKnown: boolean,
): PeriodShare[] {
  const hide = new Set(periods.flatMap((period, at) => (period.count === null || isSmall(period) ? [at] : [])));
  if (totalsKnown && hide.size === 1 && periods.length > 1) {
    const smallest = periods
      .map((period, at) => ({ at, people: period.assessed }))
      .filter(({ at }) => !hide.has(at))
      .sort((a, b) => a.people - b.people || a.at - b.at)[0]!;
    hide.add(smallest.at);
  }
  return periods.map((period, at) => {
    if (!hide.has(at)) return period;
    const { label, assessed, due } = period;
    return { label, count: null, assessed, due };
  });
}
