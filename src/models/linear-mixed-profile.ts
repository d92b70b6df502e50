import { normal } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { LinearMixedCriterion } from './linear-mixed-criterion.js';
import {
  type LinearMixedProblem,
  type PreparedLinearMixed,
  prepareLinearMixed,
  searchTheta,
} from './linear-mixed-model.js';
import { minimize, type Objective } from './optimize.js';
import type { RandomBlock } from './random-terms.js';

/** The profile-likelihood interval of one parameter. */
export interface ProfileInterval {
  /** `fixed.NAME`, `deviation.TERM`, `deviation.TERM.SLOPE`, `correlation.TERM.SLOPE` or `deviation.residual`. */
  readonly name: string;
  readonly value: number;
  readonly interval: Interval;
  /** Which likelihood was profiled: fixed effects need the full one. */
  readonly criterion: 'REML' | 'ML';
}

export interface LinearMixedProfile {
  readonly kind: 'linear-mixed-profile';
  readonly intervals: readonly ProfileInterval[];
  readonly stopped: boolean;
  readonly notes: readonly Note[];
}

/**
 * Profile-likelihood intervals of a linear mixed model: all values ψ for which −2 ln L, the other parameters at
 * their best beside ψ, exceeds its minimum by at most the χ² quantile on one degree of freedom. Standard
 * deviations, correlations and the residual's deviation are profiled on the likelihood the model is fitted by;
 * fixed effects always on the full likelihood, as restricted ones with different fixed parts do not compare.
 *
 * A deviation's lower limit is 0, a correlation's limits are ±1, where the criterion does not rise enough
 * before; at an estimate on the boundary the χ² quantile is conservative.
 * Undefined: a limit whose search fails is `NaN` with a note.
 *
 * @param problem as for `linearMixedModel`
 * @throws InputError as `linearMixedModel`; `bad-option` for the confidence level
 * @example
 * (await linearMixedProfile(problem)).intervals.find(({ name }) => name === 'deviation.patient')?.interval.lower;
 *
 * Source: Venzon DJ, Moolgavkar SH. Appl Stat 1988;37:87–94, doi:10.2307/2347496; Bates D et al. J Stat Softw
 * 2015;67(1), section 5.1, doi:10.18637/jss.v067.i01.
 */
export async function linearMixedProfile(
  problem: LinearMixedProblem,
  options: LongWorkOptions & { readonly confidenceLevel?: number } = {},
): Promise<LinearMixedProfile> {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const threshold = normal.quantile((1 + confidenceLevel) / 2);
  const prepared = prepareLinearMixed(problem);
  const full = prepared.method === 'ML' ? prepared : prepareLinearMixed({ ...problem, method: 'ML' });
  const profiles = [...varianceProfiles(prepared), ...fixedProfiles(full)];
  const intervals: ProfileInterval[] = [];
  const notes: Note[] = [];
  let stopped = false;
  for (const [at, profile] of profiles.entries()) {
    if (options.signal?.aborted === true) {
      stopped = true;
      notes.push(caution('stopped', `Stopped after ${at} of ${profiles.length} parameters.`));
      break;
    }
    const lower = profileLimit(profile, -1, threshold);
    const upper = profileLimit(profile, 1, threshold);
    for (const { code } of [lower, upper]) {
      if (code === 'failed')
        notes.push(caution('limit-not-found', `A limit of ${profile.name} could not be found and is not defined.`));
      if (code === 'better')
        notes.push(
          caution(
            'not-the-maximum',
            `Beside ${profile.name} the likelihood rises above the fitted maximum: the fit is a local one.`,
          ),
        );
      if (code === 'edge')
        notes.push(
          information('limit-on-boundary', `A limit of ${profile.name} stands at the edge of what is possible.`),
        );
    }
    intervals.push({
      name: profile.name,
      value: profile.value,
      interval: {
        lower: lower.limit,
        upper: upper.limit,
        level: confidenceLevel,
        method: `profile likelihood (${profile.criterion})`,
      },
      criterion: profile.criterion,
    });
    options.progress?.((at + 1) / profiles.length, `${at + 1} of ${profiles.length} parameters`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  return { kind: 'linear-mixed-profile', intervals, stopped, notes };
}

interface Profile {
  readonly name: string;
  readonly value: number;
  readonly criterion: 'REML' | 'ML';
  /** A first step away from the value, about one standard error. */
  readonly step: number;
  readonly lowest: number;
  readonly highest: number;
  /** How far −2 ln L is above its minimum at a value, each search begun where the last one ended. */
  readonly rise: (value: number) => number;
}

interface Limit {
  readonly limit: number;
  readonly code: 'found' | 'edge' | 'failed' | 'better';
}

/** How far below the fitted minimum a profile may dip by rounding. */
const DIP = 1e-5;

/** Where the root of the rise reaches the threshold on one side of the estimate. */
function profileLimit(profile: Profile, side: -1 | 1, threshold: number): Limit {
  const bound = side < 0 ? profile.lowest : profile.highest;
  if (profile.value === bound) return { limit: bound, code: 'edge' };
  let better = false;
  const height = (value: number): number => {
    const rise = profile.rise(value);
    if (rise < -DIP) better = true;
    return Math.sqrt(Math.max(0, rise)) - threshold;
  };
  let inside = profile.value;
  let insideHeight = -threshold;
  let outside = Number.NaN;
  let outsideHeight = Number.NaN;
  let step = profile.step * threshold;
  for (let attempt = 0; attempt < 60; attempt++) {
    let next = inside + side * step;
    if (side * (next - bound) >= 0) next = bound;
    if (!Number.isFinite(next)) break;
    const reached = height(next);
    if (Number.isNaN(reached)) break;
    if (reached >= 0) {
      outside = next;
      outsideHeight = reached;
      break;
    }
    if (next === bound) return { limit: bound, code: better ? 'better' : 'edge' };
    // The root is nearly linear in the value: aim a little beyond where it should cross. Where it levels off just below the
    // threshold, as toward a deviation of 0, such steps never get there; then ever longer ones do.
    const slope = (reached + threshold) / Math.abs(next - profile.value);
    const least = attempt < 5 ? 1e-3 * step : 2 * step;
    step = slope > 0 ? Math.max((1.1 * -reached) / slope, least) : 2 * step;
    inside = next;
    insideHeight = reached;
  }
  if (Number.isNaN(outside)) return { limit: Number.NaN, code: 'failed' };
  // Regula falsi, halving the weight of an end that stays (the Illinois rule).
  for (let iteration = 0; iteration < 60; iteration++) {
    const share = insideHeight / (insideHeight - outsideHeight);
    const middle = inside + share * (outside - inside);
    const reached = Number.isFinite(outsideHeight) ? height(middle) : Number.NaN;
    if (Number.isNaN(reached)) return { limit: Number.NaN, code: 'failed' };
    if (Math.abs(reached) < 1e-7) return { limit: middle, code: better ? 'better' : 'found' };
    if (reached > 0) {
      outside = middle;
      outsideHeight = reached;
      insideHeight /= iteration % 2 === 1 ? 2 : 1;
    } else {
      inside = middle;
      insideHeight = reached;
      outsideHeight /= iteration % 2 === 1 ? 2 : 1;
    }
    if (Math.abs(outside - inside) <= 1e-10 * Math.max(Math.abs(inside), 1e-10)) break;
  }
  return { limit: (inside + outside) / 2, code: better ? 'better' : 'found' };
}

/** How the free numbers of a constrained search make (θ, ln σ), and how a gradient goes back to them. */
interface Constraint {
  readonly start: Float64Array;
  readonly expand: (free: Float64Array, value: number) => { theta: Float64Array; logScale: number };
  readonly pull: (free: Float64Array, value: number, byTheta: Float64Array, byScale: number) => Float64Array;
}

function varianceProfiles(prepared: PreparedLinearMixed): Profile[] {
  const { criterion, terms, blocks, method } = prepared;
  const minimum = searchTheta(prepared);
  const theta = minimum.point;
  const lowest = minimum.value;
  const variance = criterion.penalizedSquares(theta) / criterion.degrees;
  const sigma = Math.sqrt(variance);
  // A search may not begin at an entry of zero, where the criterion is level by symmetry.
  const begin = Float64Array.from(theta);
  for (const k of terms.diagonal()) if (begin[k] === 0) begin[k] = 0.1;
  const make = (
    name: string,
    value: number,
    step: number,
    [low, high]: readonly [number, number],
    constraint: Constraint,
  ): Profile => {
    let last: Float64Array = constraint.start;
    return {
      name,
      value,
      criterion: method,
      step,
      lowest: low,
      highest: high,
      rise(at) {
        const variances = (free: Float64Array): { theta: Float64Array; variance: number } => {
          const { theta: whole, logScale } = constraint.expand(free, at);
          return { theta: whole, variance: Math.exp(2 * logScale) };
        };
        const objective: Objective = {
          value(free) {
            const whole = variances(free);
            return criterion.value(whole.theta, whole.variance);
          },
          gradient(free) {
            const whole = variances(free);
            const { theta: byTheta, scale } = criterion.gradient(whole.theta, whole.variance);
            return constraint.pull(free, at, byTheta, scale);
          },
        };
        const found = minimize(objective, last, { finalHessian: false, inverseHessian: curvature(last, criterion) });
        if (found.stoppedBy === 'bad-start') return Number.NaN;
        last = found.point;
        return found.value - lowest;
      },
    };
  };
  const profiles: Profile[] = [];
  for (const block of blocks) {
    const { parameter, slopeScale, name, slopeName } = block;
    const first = theta[parameter] as number;
    const typical = sigma / Math.sqrt(2 * block.levels.length);
    profiles.push(
      make(
        `deviation.${name}`,
        sigma * first,
        typical * Math.max(first, 0.3),
        [0, Number.POSITIVE_INFINITY],
        fixedDiagonal(begin, parameter, sigma),
      ),
    );
    if (block.width === 1) continue;
    const cross = theta[parameter + 1] as number;
    const second = theta[parameter + 2] as number;
    const whole = Math.hypot(cross, second);
    profiles.push(
      make(
        `deviation.${name}.${slopeName}`,
        (sigma * whole) / slopeScale,
        (typical * Math.max(whole, 0.1)) / slopeScale,
        [0, Number.POSITIVE_INFINITY],
        fixedSlope(begin, block, sigma),
      ),
    );
    if (first > 0 && whole > 0)
      profiles.push(
        make(
          `correlation.${name}.${slopeName}`,
          cross / whole,
          1 / Math.sqrt(block.levels.length),
          [-1, 1],
          fixedCorrelation(begin, block, sigma),
        ),
      );
  }
  profiles.push(
    make('deviation.residual', sigma, sigma / Math.sqrt(2 * criterion.degrees), [0, Number.POSITIVE_INFINITY], {
      start: begin,
      expand: (free, value) => ({ theta: free, logScale: Math.log(value) }),
      pull: (_, __, byTheta) => byTheta,
    }),
  );
  return profiles;
}

/** λ = deviation/σ for one intercept; the rest of θ and ln σ are free. */
function fixedDiagonal(theta: Float64Array, k: number, sigma: number): Constraint {
  const kept = others(theta, [k]);
  const size = kept.length;
  return {
    start: Float64Array.of(...kept.map((i) => theta[i] as number), Math.log(sigma)),
    expand(free, value) {
      const logScale = free[size] as number;
      const whole = spread(theta.length, kept, free);
      whole[k] = value * Math.exp(-logScale);
      return { theta: whole, logScale };
    },
    pull(free, value, byTheta, byScale) {
      const own = value * Math.exp(-(free[size] as number));
      return Float64Array.of(...kept.map((i) => byTheta[i] as number), byScale - own * (byTheta[k] as number));
    },
  };
}

/** λ₂₁ = s sin a, λ₂₂ = s cos a with s = deviation/σ; the angle a, the rest of θ and ln σ are free. */
function fixedSlope(theta: Float64Array, { parameter, slopeScale }: RandomBlock, sigma: number): Constraint {
  const cross = parameter + 1;
  const second = parameter + 2;
  const kept = others(theta, [cross, second]);
  const size = kept.length;
  return {
    start: Float64Array.of(
      ...kept.map((i) => theta[i] as number),
      Math.log(sigma),
      Math.atan2(theta[cross] as number, theta[second] as number),
    ),
    expand(free, value) {
      const logScale = free[size] as number;
      const length = value * slopeScale * Math.exp(-logScale);
      const whole = spread(theta.length, kept, free);
      whole[cross] = length * Math.sin(free[size + 1] as number);
      whole[second] = length * Math.cos(free[size + 1] as number);
      return { theta: whole, logScale };
    },
    pull(free, value, byTheta, byScale) {
      const length = value * slopeScale * Math.exp(-(free[size] as number));
      const sine = length * Math.sin(free[size + 1] as number);
      const cosine = length * Math.cos(free[size + 1] as number);
      const byCross = byTheta[cross] as number;
      const bySecond = byTheta[second] as number;
      return Float64Array.of(
        ...kept.map((i) => byTheta[i] as number),
        byScale - sine * byCross - cosine * bySecond,
        cosine * byCross - sine * bySecond,
      );
    },
  };
}

/** λ₂₁ = ρm, λ₂₂ = √(1 − ρ²)m; m, the rest of θ and ln σ are free. */
function fixedCorrelation(theta: Float64Array, { parameter }: RandomBlock, sigma: number): Constraint {
  const cross = parameter + 1;
  const second = parameter + 2;
  const kept = others(theta, [cross, second]);
  const size = kept.length;
  const beside = (correlation: number): number => Math.sqrt(Math.max(0, 1 - correlation * correlation));
  return {
    start: Float64Array.of(
      ...kept.map((i) => theta[i] as number),
      Math.log(sigma),
      Math.hypot(theta[cross] as number, theta[second] as number),
    ),
    expand(free, value) {
      const whole = spread(theta.length, kept, free);
      whole[cross] = value * (free[size + 1] as number);
      whole[second] = beside(value) * (free[size + 1] as number);
      return { theta: whole, logScale: free[size] as number };
    },
    pull: (_, value, byTheta, byScale) =>
      Float64Array.of(
        ...kept.map((i) => byTheta[i] as number),
        byScale,
        value * (byTheta[cross] as number) + beside(value) * (byTheta[second] as number),
      ),
  };
}

/** Each fixed effect held at a value: its column times the value leaves the response, and the rest is fitted again. */
function fixedProfiles(prepared: PreparedLinearMixed): Profile[] {
  const { criterion, design, response, terms } = prepared;
  const minimum = searchTheta(prepared);
  const variance = criterion.penalizedSquares(minimum.point) / criterion.degrees;
  const { fixed, covariance } = criterion.estimates(minimum.point);
  const begin = Float64Array.from(minimum.point);
  for (const k of terms.diagonal()) if (begin[k] === 0) begin[k] = 0.1;
  return design.names.map((name, j): Profile => {
    const rest = {
      names: design.names.filter((_, k) => k !== j),
      columns: design.columns.filter((_, k) => k !== j),
    };
    const column = design.columns[j] as Float64Array;
    let last: Float64Array = begin;
    return {
      name: `fixed.${name}`,
      value: fixed[j] as number,
      criterion: 'ML',
      step: Math.sqrt(variance * (covariance[j * (fixed.length + 1)] as number)),
      lowest: Number.NEGATIVE_INFINITY,
      highest: Number.POSITIVE_INFINITY,
      rise(value) {
        const left = response.map((y, row) => y - value * (column[row] as number));
        const constrained = new LinearMixedCriterion(terms, rest, left, false);
        const found = minimize(
          {
            value: (theta) => constrained.value(theta),
            gradient: (theta) => constrained.gradient(theta).theta,
          },
          last,
          { finalHessian: false, inverseHessian: curvature(last, constrained) },
        );
        if (found.stoppedBy === 'bad-start') return Number.NaN;
        last = found.point;
        return found.value - minimum.value;
      },
    };
  });
}

/** A rough inverse Hessian to begin from: variances known about as well as their number of groups allows. */
function curvature(point: Float64Array, criterion: LinearMixedCriterion): Float64Array {
  const order = point.length;
  const inverse = new Float64Array(order * order);
  for (let k = 0; k < order; k++)
    inverse[k * (order + 1)] = Math.max(0.01, (point[k] as number) ** 2) / Math.max(4, criterion.terms.order);
  return inverse;
}

function others(theta: Float64Array, without: readonly number[]): number[] {
  return Array.from(theta, (_, k) => k).filter((k) => !without.includes(k));
}

function spread(order: number, kept: readonly number[], free: Float64Array): Float64Array {
  const whole = new Float64Array(order);
  kept.forEach((k, at) => {
    whole[k] = free[at] as number;
  });
  return whole;
}
