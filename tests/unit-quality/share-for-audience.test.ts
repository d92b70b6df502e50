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

describe('what each audience sees', () => {
  it('own eyes see all; inside the hospital a period of fewer than five people is hidden', () => {
    const triples = [
      [5, 16, 16],
      [1, 4, 9],
    ] as const;
    expect(periodsOf(triples, 'own')).toEqual([
      ['1', 5, 16],
      ['2', 1, 4],
    ]);
    expect(periodsOf(triples, 'inside')).toEqual([
      ['1', 5, 16],
      ['2', null, 4],
    ]);
  });

  it('outside, small periods are joined with their neighbor', () => {
    expect(
      periodsOf(
        [
          [6, 16, 16],
          [2, 14, 14],
          [7, 15, 15],
        ],
        'outside',
      ),
    ).toEqual([
      ['1', 6, 16],
      ['2–3', 9, 29],
    ]);
    expect(
      periodsOf(
        [
          [6, 16, 16],
          [7, 15, 15],
          [2, 14, 14],
        ],
        'outside',
      ),
    ).toEqual([
      ['1', 6, 16],
      ['2–3', 9, 29],
    ]);
  });

  it('what cannot be joined is hidden, and never one period alone', () => {
    expect(
      periodsOf(
        [
          [6, 16, 16],
          [null, 3, 9],
          [2, 14, 14],
        ],
        'outside',
      ),
    ).toEqual([
      ['1', 6, 16],
      ['2', null, 3],
      ['3', null, 14],
    ]);
    expect(
      periodsOf(
        [
          [6, 20, 20],
          [6, 16, 16],
          [null, 3, 9],
        ],
        'outside',
      ).map(([, count]) => count),
    ).toEqual([6, null, null]);
  });

  it('whatever comes, no cell of one to four people leaves the hospital and nobody is lost in the joining', () => {
    const triple = fc
      .tuple(fc.nat(20), fc.nat(20), fc.nat(10))
      .map(([count, without, absent]) => [count, count + without, count + without + absent] as const);
    fc.assert(
      fc.property(fc.array(triple, { minLength: 1, maxLength: 12 }), (triples) => {
        const { periods } = shareForAudience(shareOf(triples), 'outside').segments[0]!;
        for (const { count, assessed, due } of periods)
          if (count !== null)
            for (const people of [count, assessed - count, due - assessed])
              expect(people === 0 || people >= 5).toBe(true);
        const total = triples.reduce((sum, [, assessed]) => sum + assessed, 0);
        expect(periods.reduce((sum, { assessed }) => sum + assessed, 0)).toBe(total);
      }),
    );
  });

  it('an unknown audience is refused with the words that are known', () => {
    expect(() => shareForAudience(shareOf([[1, 2, 3]]), 'board' as never)).toThrow(/own, inside, outside/);
  });
});
