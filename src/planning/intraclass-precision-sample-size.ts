import { normal } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize } from './sample-size.js';

export interface IntraclassPrecisionSampleSizeOptions {
  /** The intraclass correlation that is expected. */
  readonly expected: number;
  /** Readings of each finding. */
  readonly readings: number;
  /** Whole width of the interval, from its lower to its upper limit. */
  readonly width: number;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/**
 * Findings needed for an intraclass correlation whose interval has a given width.
 *
 * n = 8z²(1 − ρ)²(1 + (k − 1)ρ)² / (k(k − 1)w²) + 1, and 5ρ more when k = 2 and ρ ≥ 0.7; ρ the value `expected`, k the readings of each finding, w the whole
 * width, z the normal quantile of the confidence level. `details.unadjusted` is the number without the 5ρ.
 *
 * Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example intraclassPrecisionSampleSize({ expected: 0.8, readings: 3, width: 0.2 }).findings // 36
 * Source: Bonett DG. Stat Med 2002;21:1331–1335, doi:10.1002/sim.1108.
 */
export function intraclassPrecisionSampleSize(options: IntraclassPrecisionSampleSizeOptions): SampleSize {
  const { expected, readings, width } = options;
  const confidenceLevel = options.confidenceLevel ?? 0.95;
  checkPlanning([
    ['expected', expected, expected >= 0 && expected < 1, 'at least 0, less than 1'],
    ['readings', readings, Number.isInteger(readings) && readings >= 2, 'a whole number, at least 2'],
    ['width', width, width > 0 && width < 2, 'a number between 0 and 2'],
    ['confidenceLevel', confidenceLevel, isFraction(confidenceLevel), FRACTION],
  ]);
  const z = normal.quantile((1 + confidenceLevel) / 2);
  const unadjusted =
    (8 * z * z * (1 - expected) ** 2 * (1 + (readings - 1) * expected) ** 2) /
      (readings * (readings - 1) * width * width) +
    1;
  return new SampleSize({
    purpose: `for a ${formatNumber(100 * confidenceLevel, 0)} % interval ${formatNumber(width)} wide about an intraclass correlation of ${formatNumber(expected)}, ${readings} readings each`,
    exact: unadjusted + (readings === 2 && expected >= 0.7 ? 5 * expected : 0),
    method: 'Bonett 2002',
    options: { expected, readings, width, confidenceLevel },
    details: { unadjusted },
  });
}
