import { fisherF } from '../shared/distributions.js';
import type { OneWayTable } from './one-way-table.js';
import type { TwoWayTable } from './two-way-table.js';

/** An F ratio with its degrees of freedom, and the intraclass correlation it tests. */
export interface IntraclassRatio {
  readonly f: number;
  readonly numeratorDegrees: number;
  readonly denominatorDegrees: number;
}

interface Limits {
  readonly lower: number;
  readonly upper: number;
}

/** Of one reading, F = MS(targets)/MS(residual or within) at m readings a target: limits (F/F* − 1)/(F/F* + m − 1), F* either quantile. */
function fromRatio(
  { f, numeratorDegrees, denominatorDegrees }: IntraclassRatio,
  readings: number,
  level: number,
): Limits {
  const tail = 1 - (1 - level) / 2;
  const low = f / fisherF.quantile(tail, numeratorDegrees, denominatorDegrees);
  const high = f * fisherF.quantile(tail, denominatorDegrees, numeratorDegrees);
  return { lower: (low - 1) / (low + readings - 1), upper: (high - 1) / (high + readings - 1) };
}

/** One-way model, one reading: exact for independent targets with the same number of readings, else approximate. */
export function oneWayLimits(table: OneWayTable, level: number): Limits {
  return fromRatio(oneWayRatio(table, 0), table.effectiveReadings, level);
}

/** Two-way model, consistency, one reading: exact for independent targets. */
export function consistencyLimits(table: TwoWayTable, level: number): Limits {
  return fromRatio(consistencyRatio(table, 0), table.assessors, level);
}

/**
 * Two-way model, agreement, one reading, with the assessors as a sample of all assessors: Satterthwaite's degrees of freedom at
 * the estimate ρ, a = kρ/(n(1 − ρ)), b = 1 + kρ(n − 1)/(n(1 − ρ)). As corrected in Psychol Methods 1996;1:390.
 */
export function agreementLimits(table: TwoWayTable, rho: number, level: number): Limits {
  const { targets: n, assessors: k } = table;
  const { targetMeanSquare: r, assessorMeanSquare: c, residualMeanSquare: e } = table;
  const degrees = agreementDenominator(table, rho).degrees;
  const tail = 1 - (1 - level) / 2;
  const rest = k * c + (k * n - k - n) * e;
  const low = fisherF.quantile(tail, n - 1, degrees);
  const high = fisherF.quantile(tail, degrees, n - 1);
  return {
    lower: (n * (r - low * e)) / (low * rest + n * r),
    upper: (n * (high * r - e)) / (rest + n * high * r),
  };
}

/** F ratio of the hypothesis that the coefficient of one reading is `rho`. */
export function oneWayRatio(table: OneWayTable, rho: number): IntraclassRatio {
  return {
    f: ((table.betweenMeanSquare / table.withinMeanSquare) * (1 - rho)) / (1 + (table.effectiveReadings - 1) * rho),
    numeratorDegrees: table.betweenDegrees,
    denominatorDegrees: table.withinDegrees,
  };
}

/** F ratio of the hypothesis that the consistency of one reading is `rho`. */
export function consistencyRatio(table: TwoWayTable, rho: number): IntraclassRatio {
  const { targets: n, assessors: k } = table;
  return {
    f: ((table.targetMeanSquare / table.residualMeanSquare) * (1 - rho)) / (1 + (k - 1) * rho),
    numeratorDegrees: n - 1,
    denominatorDegrees: (n - 1) * (k - 1),
  };
}

/** F ratio of the hypothesis that the agreement of one reading is `rho`; degrees of freedom of the denominator by Satterthwaite at `rho`. */
export function agreementRatio(table: TwoWayTable, rho: number): IntraclassRatio {
  const { meanSquare, degrees } = agreementDenominator(table, rho);
  return {
    f: table.targetMeanSquare / meanSquare,
    numeratorDegrees: table.targets - 1,
    denominatorDegrees: degrees,
  };
}

/** a·MS(assessors) + b·MS(residual), what the targets' mean square is held against, and its degrees of freedom. */
function agreementDenominator(table: TwoWayTable, rho: number): { meanSquare: number; degrees: number } {
  const { targets: n, assessors: k } = table;
  const ofAssessors = ((k * rho) / (n * (1 - rho))) * table.assessorMeanSquare;
  const ofResidual = (1 + (k * rho * (n - 1)) / (n * (1 - rho))) * table.residualMeanSquare;
  const meanSquare = ofAssessors + ofResidual;
  return {
    meanSquare,
    degrees: meanSquare ** 2 / (ofAssessors ** 2 / (k - 1) + ofResidual ** 2 / ((n - 1) * (k - 1))),
  };
}
