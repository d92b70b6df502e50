import type { PeriodShare, ShareByPeriod } from '../../src/unit-quality/share-by-period.ts';

/** A share on one scale from triples "with it, assessed, due". */
export function shareOf(
  triples: readonly (readonly [count: number | null, assessed: number, due: number])[],
  more: Partial<ShareByPeriod> = {},
): ShareByPeriod {
  const periods = triples.map(
    ([count, assessed, due], at): PeriodShare => ({ label: String(at + 1), count, assessed, due }),
  );
  return {
    signLabel: 'Pitting edema',
    counted: 'stays',
    rule: 'worst reading in the period',
    segments: [{ scaleLabel: 'depth', finding: 'grade 2 or more', middle: 0.4, periods }],
    ...more,
  };
}
