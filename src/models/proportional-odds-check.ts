import { chiSquare } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import type { CumulativeLinkProblem } from './cumulative-link.js';
import { type CumulativeLinkMixedProblem, cumulativeLinkMixedModel } from './cumulative-link-mixed-model.js';
import { type CumulativeLinkEstimates, cumulativeLinkModel, type VaryingEffect } from './cumulative-link-model.js';
import type { NamedColumns } from './design-columns.js';
import type { Convergence } from './optimize.js';

/** Whether one effect, or all together, may be taken as the same at every threshold. */
export interface ProportionalOddsTest {
  /** The effects let vary. */
  readonly names: readonly string[];
  /** 2 (ln L varying − ln L common); `NaN` where the varying fit has no maximum. */
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  readonly pValue: number;
  readonly commonLogLikelihood: number;
  readonly varyingLogLikelihood: number;
  /** The effects threshold by threshold: how much they differ matters more than the p-value. */
  readonly varying: readonly VaryingEffect[];
}

export interface ProportionalOddsCheck {
  readonly kind: 'proportional-odds-check';
  /** One test an effect, each let vary alone. */
  readonly single: readonly ProportionalOddsTest[];
  /** All effects let vary together; `undefined` with a single effect. */
  readonly together: ProportionalOddsTest | undefined;
  readonly notes: readonly Note[];
}

/**
 * The check of the assumption of proportional odds (or, with the probit link, of common shifts): the
 * likelihood ratio of the model with one effect a column against the model in which it differs from threshold
 * to threshold, 2(ln L₁ − ln L₀) on (thresholds − 1) degrees of freedom a column, χ² in large samples.
 *
 * Undefined (`NaN` with a note) where a varying fit has no maximum, as with few rows in a grade. With two grades
 * there is one threshold and nothing to check.
 * Missing values are refused: leave such rows out and say how many.
 *
 * @param problem as for `cumulativeLinkModel`, or with random effects as for `cumulativeLinkMixedModel`
 * @throws InputError as those, and `no-effect` where there is no column to check
 * @example
 * proportionalOddsCheck({ response, effects: { warm, contact } }).single[1].pValue;
 *
 * Source: Peterson B, Harrell FE. Appl Stat 1990;39:205–217, doi:10.2307/2347760.
 */
export function proportionalOddsCheck(
  problem: CumulativeLinkProblem | CumulativeLinkMixedProblem,
): ProportionalOddsCheck {
  const effects = problem.effects ?? {};
  const names = Object.keys(effects);
  if (names.length === 0)
    throw refuse('no-effect', ['effects'], 'There is no column whose effect could differ between thresholds.');
  const common = fit(problem);
  const notes: Note[] = [];
  const test = (varied: readonly string[]): ProportionalOddsTest => {
    const part = (keep: boolean): NamedColumns =>
      Object.fromEntries(Object.entries(effects).filter(([name]) => varied.includes(name) === keep));
    const varying = fit({ ...problem, effects: part(false), varying: { ...problem.varying, ...part(true) } });
    const usable = common.convergence.converged && varying.convergence.converged;
    if (!usable)
      notes.push(
        caution(
          'not-testable',
          `Effects that vary by threshold could not be fitted for ${varied.join(', ')}, so the assumption cannot be tested there; look at the grades with few rows.`,
        ),
      );
    const thresholds = common.thresholdErrors.filter((error) => !Number.isNaN(error)).length;
    const degreesOfFreedom = varied.length * (thresholds - 1);
    const statistic = usable ? Math.max(0, 2 * (varying.logLikelihood - common.logLikelihood)) : Number.NaN;
    return {
      names: varied,
      statistic,
      degreesOfFreedom,
      pValue: degreesOfFreedom > 0 ? chiSquare.upper(statistic, degreesOfFreedom) : Number.NaN,
      commonLogLikelihood: common.logLikelihood,
      varyingLogLikelihood: varying.logLikelihood,
      varying: varying.varying.filter(({ name }) => varied.includes(name)),
    };
  };
  const single = names.map((name) => test([name]));
  const together = names.length > 1 ? test(names) : undefined;
  if (!('random' in problem))
    notes.push(
      information(
        'rows-independent',
        'The test takes rows as independent; where patients have several rows its p-value is too small.',
      ),
    );
  return { kind: 'proportional-odds-check', single, together, notes };
}

function fit(
  problem: CumulativeLinkProblem | CumulativeLinkMixedProblem,
): CumulativeLinkEstimates & { readonly logLikelihood: number; readonly convergence: Convergence } {
  return 'random' in problem ? cumulativeLinkMixedModel(problem) : cumulativeLinkModel(problem);
}
