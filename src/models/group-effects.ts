import type { RandomBlock, RandomTerms } from './random-terms.js';

/** The predicted effect of every group of a term: its intercept, and with a slope the slope. */
export interface GroupEffects {
  readonly levels: readonly (number | string)[];
  readonly intercepts: Float64Array;
  /** Standard deviation of each intercept given the data, the estimates taken as known. */
  readonly interceptDeviations: Float64Array;
  readonly slopes: Float64Array | undefined;
  readonly slopeDeviations: Float64Array | undefined;
}

/**
 * The effects of every term by its name.
 *
 * @param spherical u, with b = Λu
 * @param inverse the selected inverse of the information on u
 * @param scale what multiplies Λ in the effects' covariance: σ, or 1
 */
export function groupEffects(
  terms: RandomTerms,
  blocks: readonly RandomBlock[],
  theta: Float64Array,
  spherical: Float64Array,
  inverse: Float64Array,
  scale: number,
): Record<string, GroupEffects> {
  return Object.fromEntries(
    blocks.map((block) => {
      const values = terms.effectsOf(block, theta, spherical);
      const deviations = terms.deviationsOf(block, theta, inverse);
      const part = (of: Float64Array, place: number, factor: number): Float64Array =>
        Float64Array.from(block.levels, (_, level) => factor * (of[level * block.width + place] as number));
      return [
        block.name,
        {
          levels: block.levels,
          intercepts: part(values, 0, 1),
          interceptDeviations: part(deviations, 0, scale),
          slopes: block.width === 2 ? part(values, 1, 1) : undefined,
          slopeDeviations: block.width === 2 ? part(deviations, 1, scale) : undefined,
        },
      ];
    }),
  );
}
