import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shareForAudience } from '../../src/unit-quality/share-for-audience.ts';
import { shareOf } from './share-examples.ts';

const periodsOf = (triples: Parameters<typeof shareOf>[0], audience: 'own' | 'inside' | 'outside') =>
  shareForAudience(shareOf(triples), audience).segments[0]!.periods.map(({ label, count, assessed }) => [
    label,
    count,
    assessed,
  ]);

describe('what each audience sees of a share', () => {
  it('own eyes see all; inside the hospital a period of fewer than five people is joined', () => {
    const triples = [
      [5, 16, 16],
      [1, 4, 9],
    ] as const;
    expect(periodsOf(triples, 'own')).toEqual([
      ['1', 5, 16],
      ['2', 1, 4],
    ]);
    expect(periodsOf(triples, 'inside')).toEqual([['1–2', 6, 20]]);
    // A unit's own count may be small where those assessed are not.
    expect(periodsOf([[2, 16, 16]], 'inside')).toEqual([['1', 2, 16]]);
  });

  it('outside, small periods are joined by twos, fours …, counted from the first', () => {
    const triples = [
      [6, 16, 16],
      [2, 14, 14],
      [7, 15, 15],
    ] as const;
    expect(periodsOf(triples, 'outside')).toEqual([
      ['1–2', 8, 30],
      ['3', 7, 15],
    ]);
    expect(periodsOf([...triples, [1, 12, 12]], 'outside')).toEqual([
      ['1–2', 8, 30],
      ['3–4', 8, 27],
    ]);
  });

  it('what has nothing to be joined with is hidden with all its numbers, and nothing said sums over it', () => {
    const shown = shareForAudience(
      shareOf([
        [6, 16, 16],
        [7, 14, 14],
        [2, 11, 13],
      ]),
      'outside',
    );
    expect(shown.segments[0]!.periods[2]).toEqual({ label: '3', count: null, assessed: Number.NaN, due: Number.NaN });
    expect(shown.table.rows[2]).toEqual({
      period: '3',
      finding: 'grade 2 or more',
      count: 'hidden',
      assessed: 'hidden',
      due: 'hidden',
      share: 'hidden',
      lower: 'hidden',
      upper: 'hidden',
    });
    expect(shown.audience).toBe('outside');
    expect(shown.table.audience).toBe('outside');
  });

  it('intervals, middle line and rules are made anew from the joined periods', () => {
    const monthly = Array.from({ length: 16 }, (_, at) => [at % 2 === 0 ? 4 : 3, 20, 20] as const);
    const { segments } = shareForAudience(shareOf(monthly), 'outside');
    expect(segments[0]!.periods.map(({ count, assessed }) => [count, assessed])).toEqual(
      Array.from({ length: 8 }, () => [7, 40]),
    );
    expect(segments[0]!.middle).toBe(7 / 40);
    expect(segments[0]!.periods[0]!.interval?.method).toBe('Wilson, each counted once');
  });

  it('whatever comes, no cell of one to four people leaves the hospital, and late months never cut an older block', () => {
    const triple = fc
      .tuple(fc.nat(20), fc.nat(20), fc.nat(10))
      .map(([count, without, absent]) => [count, count + without, count + without + absent] as const);
    fc.assert(
      fc.property(fc.array(triple, { minLength: 2, maxLength: 20 }), (triples) => {
        const now = shareForAudience(shareOf(triples), 'outside').segments[0]!.periods;
        for (const { count, assessed, due } of now)
          if (count !== null)
            for (const people of [count, assessed - count, due - assessed])
              expect(people === 0 || people >= 5).toBe(true);
        const ends = (periods: typeof now): number[] => periods.map(({ label }) => Number(label.split('–').at(-1)));
        const before = shareForAudience(shareOf(triples.slice(0, -1)), 'outside').segments[0]!.periods;
        const starts = (periods: typeof now): number[] => periods.map(({ label }) => Number(label.split('–')[0]));
        // Blocks of both reports are nested or apart.
        before.forEach((_, at) => {
          const [from, to] = [starts(before)[at]!, ends(before)[at]!];
          now.forEach((__, other) => {
            const [start, end] = [starts(now)[other]!, ends(now)[other]!];
            const crosses = (start < from && from <= end && end < to) || (from < start && start <= to && to < end);
            expect(crosses).toBe(false);
          });
        });
      }),
    );
  });

  it('an unknown audience is refused with the words that are known', () => {
    expect(() => shareForAudience(shareOf([[1, 2, 3]]), 'board' as never)).toThrow(/own, inside, outside/);
  });
});
