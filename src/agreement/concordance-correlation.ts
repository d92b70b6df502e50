import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { assessorsWhoRead, centerOfNumbers, measuredNumbers, type NumberOptions } from './measured-numbers.js';
import { targetShare, targetShareGradient, twoWaySums } from './two-way-table.js';

export interface ConcordanceCorrelationOptions extends IntervalOptions, NumberOptions {
  /** The assessors to compare, two or more. Default: all. */
  readonly assessors?: readonly string[];
  /** Divisor of variances and covariances. Default `'n'`, as Lin has it; some programs divide by n − 1 for many assessors. */
  readonly divisor?: 'n' | 'n − 1';
}

/**
 * Concordance correlation: how near pairs of readings lie to the line of equality; overall for more than two assessors.
 *
 * ρ_c = Σⱼ<ₗ 2sⱼₗ / Σⱼ<ₗ (sⱼ² + sₗ² + (x̄ⱼ − x̄ₗ)²), x̄ⱼ the mean, sⱼ² the variance of assessor j's readings and sⱼₗ the covariance with those of l. For two it is
 * ρ·C_b: Pearson's correlation times the bias correction C_b = 2/(v + 1/v + u²), v = s₁/s₂ the scale shift, u = (x̄₁ − x̄₂)/√(s₁s₂) the
 * location shift. With divisor n it is the agreement form of the intraclass correlation with n for n − 1, and the quadratic kappa of grades.
 *
 * Undefined (`NaN` with a note) when nothing varies. Missing values: a target enters when all these assessors have read it.
 *
 * Intervals. With patients: studentized patient bootstrap on the Fisher scale. Asymptotic, two assessors and divisor n: Lin's error as corrected
 * in 2000, with n − 2, on the Fisher scale; else linearized. `details` for two: pearson, biasCorrection, locationShift, scaleShift.
 *
 * @param ratings numbers; grades only with `gradesAsNumbers: true`.
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited`, `grades-not-numbers`, `unknown-choice`, `bad-option`.
 * @example concordanceCorrelation(ratingsOf([[494, 512], [395, 430], [516, 520], [434, 428]])).value // 0.9082
 * Source: Lin LI-K. Biometrics 1989;45:255–268, doi:10.2307/2532051, corrected 2000;56:324–325, doi:10.1111/j.0006-341X.2000.00324.x; many
 * assessors: Barnhart HX, Haber M, Song J. Biometrics 2002;58:1020–1027, doi:10.1111/j.0006-341X.2002.01020.x.
 */
export function concordanceCorrelation(ratings: Ratings, options: ConcordanceCorrelationOptions = {}): Estimate {
  const notes = measuredNumbers(ratings, options, 'concordanceCorrelation');
  const divisor = checkChoice('divisor', options.divisor ?? 'n', ['n', 'n − 1']);
  const own = options.assessors === undefined ? assessorsWhoRead(ratings) : ratings.ofAssessors(...options.assessors);
  if (own.assessors.length < 2)
    throw refuse(
      'two-assessors-needed',
      ['ratings'],
      own.assessors.length === 0
        ? 'concordanceCorrelation compares assessors, but who gave which reading is not known here.'
        : 'concordanceCorrelation needs at least two assessors.',
    );
  const k = own.columns;
  const coefficient = concordanceCoefficient(own, divisor);
  const made = coefficientEstimate(own, coefficient, options, {
    options: { divisor },
    ratingsPerTarget: k,
    notes: (value) => [
      ...(Number.isNaN(value)
        ? [information('not-defined', 'The concordance correlation is not defined: the readings do not vary.')]
        : []),
      ...notes,
    ],
  });
  if (k > 2) return made;
  const shifts = shiftsOf(own, made.value);
  const withShifts = new Estimate({ ...made, details: { ...made.details, ...shifts } });
  if (made.options.interval !== 'asymptotic' || divisor !== 'n') return withShifts;
  const { value, interval } = made;
  const n = made.counts.targets;
  const { pearson, locationShift } = shifts;
  const u2 = locationShift ** 2;
  const variance =
    ((1 - pearson ** 2) * value ** 2 * (1 - value ** 2)) / pearson ** 2 +
    (2 * value ** 3 * (1 - value) * u2) / pearson -
    (value ** 4 * u2 ** 2) / (2 * pearson ** 2);
  const standardError = Math.sqrt(variance / (n - 2));
  const reach = (normal.quantile((1 + interval.level) / 2) * standardError) / (1 - value ** 2);
  if (!(reach > 0)) return withShifts;
  return new Estimate({
    ...withShifts,
    standardError,
    interval: {
      lower: Math.tanh(Math.atanh(value) - reach),
      upper: Math.tanh(Math.atanh(value) + reach),
      level: interval.level,
      method: 'asymptotic, Fisher scale (Lin 1989, corrected 2000), targets taken as independent',
    },
    notes: withShifts.notes.filter(({ code }) => code !== 'limit-beyond-one'),
  });
}

export function concordanceCoefficient(ratings: Ratings, divisor: 'n' | 'n − 1'): Coefficient {
  const sums = twoWaySums(ratings);
  return {
    name: ratings.columns === 2 ? 'concordance correlation' : 'overall concordance correlation',
    cells: sums.cells,
    add: sums.add,
    scale: 'fisher',
    bootstrapForm: 'equal-tailed',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'linearized',
    // The means' differences count in full: σₐ² without the residual's share taken off.
    value(totals) {
      if (divisor === 'n') return targetShare(sums.derivatives(totals).components, true);
      const { target, residual } = sums.components(totals);
      return targetShare({ target, residual, assessor: sums.derivatives(totals).components.assessor }, true);
    },
    gradient: (totals) => targetShareGradient(sums, totals, true),
  };
}

function shiftsOf(
  pair: Ratings,
  value: number,
): { pearson: number; biasCorrection: number; locationShift: number; scaleShift: number } {
  // Off a common place, so that readings far from 0 keep their digits.
  const center = centerOfNumbers(pair, () => true);
  let n = 0;
  const mean = [0, 0];
  const squares = [0, 0];
  let products = 0;
  for (let target = 0; target < pair.targets; target++) {
    const x = pair.numbers[2 * target]! - center;
    const y = pair.numbers[2 * target + 1]! - center;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    n++;
    const offX = x - mean[0]!;
    const offY = y - mean[1]!;
    mean[0]! += offX / n;
    mean[1]! += offY / n;
    squares[0]! += offX * (x - mean[0]!);
    squares[1]! += offY * (y - mean[1]!);
    products += offX * (y - mean[1]!);
  }
  const pearson = products / Math.sqrt(squares[0]! * squares[1]!);
  return {
    pearson,
    biasCorrection: value / pearson,
    locationShift: (mean[0]! - mean[1]!) / Math.sqrt(Math.sqrt(squares[0]! * squares[1]!) / n),
    scaleShift: Math.sqrt(squares[0]! / squares[1]!),
  };
}
