import { InputError, type Problem } from '../shared/input-error.js';
import { checkChoice } from '../shared/options.js';

export interface AdjustForMultiplicityOptions {
  /**
   * `'holm'` (default) bounds the chance of any false finding among all tests; `'benjamini-hochberg'` bounds the expected share of
   * false ones among the findings, for independent or positively dependent tests.
   */
  readonly method?: 'holm' | 'benjamini-hochberg';
}

/**
 * Adjusts p-values for being several.
 *
 * With p₍₁₎ ≤ … ≤ p₍ₘ₎. Holm: p̃₍ᵢ₎ = max over j ≤ i of min(1, (m − j + 1) p₍ⱼ₎). Benjamini–Hochberg: p̃₍ᵢ₎ = min over j ≥ i of
 * min(1, m p₍ⱼ₎ / j).
 *
 * Undefined p-values (`NaN`) stay undefined and do not count in m. Missing values: none.
 *
 * @param pValues in any order; the result has the same order.
 * @throws InputError `bad-p-value` (each one outside 0 … 1), `unknown-choice`.
 * @example adjustForMultiplicity([0.01, 0.04, 0.03]) // [0.03, 0.06, 0.06]
 * Source: Holm S. Scand J Stat 1979;6:65–70; Benjamini Y, Hochberg Y. J R Stat Soc B 1995;57:289–300,
 * doi:10.1111/j.2517-6161.1995.tb02031.x.
 */
export function adjustForMultiplicity(
  pValues: readonly number[],
  options: AdjustForMultiplicityOptions = {},
): number[] {
  const method = checkChoice('method', options.method ?? 'holm', ['holm', 'benjamini-hochberg']);
  const problems: Problem[] = pValues.flatMap((p, at) =>
    p < 0 || p > 1
      ? [
          {
            code: 'bad-p-value',
            path: ['pValues', at],
            message: `A p-value is ${p}.`,
            expected: 'a number from 0 to 1',
          },
        ]
      : [],
  );
  if (problems.length > 0) throw new InputError(problems);
  const order = pValues.flatMap((p, at) => (Number.isNaN(p) ? [] : [at])).sort((a, b) => pValues[a]! - pValues[b]!);
  const count = order.length;
  const adjusted = new Array<number>(pValues.length).fill(Number.NaN);
  let bound = method === 'holm' ? 0 : 1;
  for (let step = 0; step < count; step++) {
    const rank = method === 'holm' ? step + 1 : count - step;
    const at = order[rank - 1]!;
    const p = pValues[at]!;
    bound =
      method === 'holm' ? Math.max(bound, Math.min(1, (count - rank + 1) * p)) : Math.min(bound, (count * p) / rank);
    adjusted[at] = bound;
  }
  return adjusted;
}
