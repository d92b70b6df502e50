import { studentT } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, checkIntervalOptions } from '../shared/options.js';
import {
  codesOf,
  type DesignColumns,
  type NamedColumns,
  orthonormalize,
  readColumn,
  readDesign,
} from './design-columns.js';
import { multiply, symmetricInverse } from './linear-algebra.js';
import type { Coefficient } from './variance-component.js';

export interface LogisticGeeProblem {
  /** 0 or 1 a row. */
  readonly response: ArrayLike<number>;
  /** Columns with effects by name. Default: none. */
  readonly effects?: NamedColumns;
  /** Whether a column of ones is added first. Default true. */
  readonly intercept?: boolean;
  /** The patient of every row. An identifier must be unique over the whole file, not only within a center. */
  readonly clusters: ArrayLike<number | string>;
  /** Working correlation of a patient's rows. Default `'exchangeable'`. */
  readonly correlation?: 'independence' | 'exchangeable';
  /** Correction of the sandwich for few patients. Default `'mancl-derouen'`. */
  readonly correction?: 'mancl-derouen' | 'none';
  /** Coverage of the intervals. Default 0.95. */
  readonly confidenceLevel?: number;
}

export interface LogisticGeeFit {
  readonly kind: 'logistic-gee-fit';
  /** Log odds ratios, averaged over patients, with the sandwich's standard errors. */
  readonly effects: readonly (Coefficient & { readonly interval: Interval; readonly modelBasedError: number })[];
  /** Sandwich covariance of the effects, row by row. */
  readonly covariance: Float64Array;
  readonly modelBasedCovariance: Float64Array;
  /** The exchangeable correlation of two rows of a patient; 0 with independence. */
  readonly correlation: number;
  /** φ, the mean square of the Pearson residuals. */
  readonly dispersion: number;
  readonly counts: { readonly rows: number; readonly clusters: number; readonly largestCluster: number };
  readonly convergence: {
    readonly converged: boolean;
    readonly iterations: number;
    /** Largest change of an effect in the last step. */
    readonly lastStep: number;
    /** Largest entry of the estimating equation at the end. */
    readonly equationNorm: number;
  };
  readonly assumptions: readonly string[];
  readonly notes: readonly Note[];
}

const ITERATION_LIMIT = 100;
const STEP_TOLERANCE = 1e-10;

/**
 * Logistic regression by generalized estimating equations: effects averaged over patients, whose rows may be
 * correlated in any way.
 *
 * Solves Σᵢ DᵢᵀVᵢ⁻¹(yᵢ − μᵢ) = 0 over patients i, logit μ = Xβ, D = ∂μ/∂β, V = φA^½R(α)A^½, A = diag(μ(1 − μ)),
 * R the identity or with α beside the diagonal; φ = Σr²/(N − p) and α = Σ_{j<k} rⱼrₖ/(φ(pairs − p)) from the
 * Pearson residuals r. With B = Σ Bᵢ, Bᵢ = DᵢᵀVᵢ⁻¹Dᵢ, and sᵢ a patient's share of the equation, the sandwich is
 * B⁻¹(Σ sᵢsᵢᵀ)B⁻¹; corrected after Mancl and DeRouen, whose (I − Hᵢ)⁻¹ amounts to Σ tᵢtᵢᵀ with tᵢ = (B − Bᵢ)⁻¹sᵢ.
 * Intervals use Student's t on patients − p degrees of freedom.
 *
 * Undefined: with separated outcomes no finite solution exists (said, not converged); the corrected sandwich
 * is `NaN` with a note where one patient alone carries an effect. Where there are no more pairs than effects
 * the correlation cannot be estimated and independence is used, with a note.
 * Missing values are refused; rows left out must be missing completely at random.
 *
 * @param problem outcomes 0/1, columns and patients, one entry a row
 * @throws InputError `wrong-length`, `not-finite`, `not-binary`, `one-outcome`, `collinear-column`,
 * `reserved-name`, `missing-group`, `too-few-clusters`, `unknown-choice`, `bad-option`
 * @example
 * logisticGee({ response: [0, 1, 1, 1, 0, 0, 1, 1], clusters: [1, 1, 2, 2, 3, 3, 4, 4], correlation: 'independence' })
 *   .effects[0].value; // 0.5108 = ln(5/3)
 *
 * Source: Liang K-Y, Zeger SL. Biometrika 1986;73:13–22, doi:10.1093/biomet/73.1.13; Mancl LA, DeRouen TA.
 * Biometrics 2001;57:126–134, doi:10.1111/j.0006-341X.2001.00126.x.
 */
export function logisticGee(problem: LogisticGeeProblem): LogisticGeeFit {
  const { response, design, codes, clusters, correlation, correction, confidenceLevel } = check(problem);
  const count = design.columns.length;
  const rows = response.length;
  const sizes = new Int32Array(clusters);
  for (const code of codes) sizes[code] = (sizes[code] as number) + 1;
  const largest = sizes.reduce((most, size) => Math.max(most, size), 0);
  const pairs = sizes.reduce((sum, size) => sum + (size * (size - 1)) / 2, 0);
  const notes: Note[] = [];
  const exchangeable = correlation === 'exchangeable' && pairs > count;
  if (correlation === 'exchangeable' && !exchangeable)
    notes.push(
      caution(
        'too-few-pairs',
        'There are no more pairs of rows within patients than effects, so their correlation cannot be estimated; independence is used.',
      ),
    );
  const equations = new Equations(design, response, codes, sizes);
  const coefficients = new Float64Array(count);
  let alpha = 0;
  let dispersion = 1;
  let iterations = 0;
  let lastStep = Number.POSITIVE_INFINITY;
  let bread: Float64Array | undefined;
  // Independence first: a sound start for the correlation.
  for (const stage of exchangeable ? ['independence', 'exchangeable'] : ['independence']) {
    if (stage === 'exchangeable' && !(lastStep <= STEP_TOLERANCE)) break;
    for (let iteration = 0; iteration < ITERATION_LIMIT; iteration++) {
      iterations++;
      ({ alpha, dispersion } = equations.moments(coefficients, stage === 'exchangeable', pairs));
      const { score, information: matrix } = equations.total(coefficients, alpha);
      bread = symmetricInverse(matrix, count);
      if (bread === undefined) break;
      const step = multiply(bread, score, count, count, 1);
      lastStep = step.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
      for (let k = 0; k < count; k++) coefficients[k] = (coefficients[k] as number) + (step[k] as number);
      if (!(lastStep > STEP_TOLERANCE)) break;
    }
  }
  ({ alpha, dispersion } = equations.moments(coefficients, exchangeable, pairs));
  const end = equations.total(coefficients, alpha);
  bread = symmetricInverse(end.information, count);
  const possible = alpha < 1 && 1 + (largest - 1) * alpha > 0;
  const converged = bread !== undefined && lastStep <= STEP_TOLERANCE && possible;
  const separated = !converged && equations.isSaturated(coefficients);
  notes.push(...notesOn(converged, separated, possible));

  const undefinedMatrix = new Float64Array(count * count).fill(Number.NaN);
  const modelBasedCovariance =
    bread !== undefined && converged ? bread.map((entry) => entry * dispersion) : undefinedMatrix;
  let covariance: Float64Array = undefinedMatrix;
  if (bread !== undefined && converged) {
    const found = equations.sandwich(coefficients, alpha, end.information, bread, correction === 'mancl-derouen');
    if (found === undefined)
      notes.push(
        caution(
          'one-patient-carries-an-effect',
          'Without one of the patients an effect could not be estimated at all, so the corrected standard errors are not defined.',
        ),
      );
    else covariance = found;
  }
  const degrees = clusters - count;
  if (converged && clusters < 40)
    notes.push(
      information(
        'few-patients',
        `Only ${clusters} patients: sandwich intervals tend to be too short${correction === 'none' ? ', and no correction was asked for' : ' even when corrected'}.`,
      ),
    );
  const quantile = studentT.quantile((1 + confidenceLevel) / 2, degrees);
  return {
    kind: 'logistic-gee-fit',
    effects: design.names.map((name, k) => {
      const value = coefficients[k] as number;
      const standardError = Math.sqrt(covariance[k * (count + 1)] as number);
      return {
        name,
        value,
        standardError,
        modelBasedError: Math.sqrt(modelBasedCovariance[k * (count + 1)] as number),
        interval: {
          lower: value - quantile * standardError,
          upper: value + quantile * standardError,
          level: confidenceLevel,
          method: `patient sandwich${correction === 'none' ? '' : ' after Mancl and DeRouen'}, t on ${degrees} degrees of freedom`,
        },
      };
    }),
    covariance,
    modelBasedCovariance,
    correlation: alpha,
    dispersion,
    counts: { rows, clusters, largestCluster: largest },
    convergence: {
      converged,
      iterations,
      lastStep,
      equationNorm: end.score.reduce((most, value) => Math.max(most, Math.abs(value)), 0),
    },
    assumptions: [
      'Patients are independent of each other.',
      'Effects are averages over patients, linear in the log odds.',
      `Rows of a patient are ${exchangeable ? 'equally correlated' : 'uncorrelated'} for the weights; the standard errors do not depend on it.`,
      'Absent rows are missing completely at random.',
    ],
    notes,
  };
}

function check(problem: LogisticGeeProblem) {
  const problems: Problem[] = [];
  const rows = problem.response.length;
  const response = readColumn(['response'], problem.response, rows, problems);
  const outside = response.filter((value) => value !== 0 && value !== 1).length;
  if (outside > 0)
    problems.push({
      code: 'not-binary',
      path: ['response'],
      message: `${outside} of ${rows} responses are neither 0 nor 1.`,
      expected: '0 or 1',
    });
  else if (response.every((value) => value === response[0]))
    problems.push({
      code: 'one-outcome',
      path: ['response'],
      message: 'Every response is the same, so no odds can be estimated.',
    });
  const design = readDesign('effects', problem.effects ?? {}, rows, problem.intercept ?? true, problems);
  if (problem.clusters.length !== rows)
    problems.push({
      code: 'wrong-length',
      path: ['clusters'],
      message: `There are ${problem.clusters.length} clusters for ${rows} rows.`,
      expected: 'one patient a row',
    });
  const { codes, levels } = codesOf(problem.clusters);
  if (levels.some((level) => level === undefined || level === null || Number.isNaN(level)))
    problems.push({ code: 'missing-group', path: ['clusters'], message: 'A row has no patient.' });
  if (levels.length <= design.columns.length)
    problems.push({
      code: 'too-few-clusters',
      path: ['clusters'],
      message: `There are ${levels.length} patients for ${design.columns.length} effects.`,
      expected: 'more patients than effects',
    });
  if (problems.length > 0) throw new InputError(problems);
  orthonormalize('effects', design);
  return {
    response,
    design,
    codes,
    clusters: levels.length,
    correlation: checkChoice('correlation', problem.correlation ?? 'exchangeable', ['independence', 'exchangeable']),
    correction: checkChoice('correction', problem.correction ?? 'mancl-derouen', ['mancl-derouen', 'none']),
    confidenceLevel: checkIntervalOptions(
      problem.confidenceLevel === undefined ? {} : { confidenceLevel: problem.confidenceLevel },
    ).confidenceLevel,
  };
}

/** Sums over patients. With e = √v x and Pearson residuals r, R⁻¹ = c₁(I − c₂ 11ᵀ) makes every patient's share a matter of four sums. */
class Equations {
  private readonly count: number;

  constructor(
    private readonly design: DesignColumns,
    private readonly response: Float64Array,
    private readonly codes: Int32Array,
    private readonly sizes: Int32Array,
  ) {
    this.count = design.columns.length;
  }

  /** Dispersion and exchangeable correlation from the residuals. */
  moments(coefficients: Float64Array, exchangeable: boolean, pairs: number): { alpha: number; dispersion: number } {
    const sums = new Float64Array(this.sizes.length);
    let squares = 0;
    let products = 0;
    for (let row = 0; row < this.response.length; row++) {
      const { residual } = this.pearson(row, coefficients);
      squares += residual * residual;
      const code = this.codes[row] as number;
      sums[code] = (sums[code] as number) + residual;
    }
    for (const sum of sums) products += sum * sum;
    const dispersion = squares / (this.response.length - this.count);
    if (!exchangeable) return { alpha: 0, dispersion };
    return { alpha: (products - squares) / 2 / (dispersion * (pairs - this.count)), dispersion };
  }

  total(coefficients: Float64Array, alpha: number): { score: Float64Array; information: Float64Array } {
    const { count } = this;
    const score = new Float64Array(count);
    const information = new Float64Array(count * count);
    const shares = this.shares(coefficients, alpha);
    for (let code = 0; code < this.sizes.length; code++) {
      for (let k = 0; k < count; k++) score[k] = (score[k] as number) + (shares.scores[code * count + k] as number);
      for (let k = 0; k < count * count; k++)
        information[k] = (information[k] as number) + (shares.informations[code * count * count + k] as number);
    }
    return { score, information };
  }

  /** The covariance of the effects, or `undefined` when the correction is not defined. */
  sandwich(
    coefficients: Float64Array,
    alpha: number,
    information: Float64Array,
    bread: Float64Array,
    corrected: boolean,
  ): Float64Array | undefined {
    const { count } = this;
    const { scores, informations } = this.shares(coefficients, alpha);
    const covariance = new Float64Array(count * count);
    for (let code = 0; code < this.sizes.length; code++) {
      const score = scores.subarray(code * count, (code + 1) * count);
      const own = informations.subarray(code * count * count, (code + 1) * count * count);
      const inverse = corrected
        ? symmetricInverse(
            information.map((entry, k) => entry - (own[k] as number)),
            count,
          )
        : bread;
      if (inverse === undefined) return undefined;
      const moved = multiply(inverse, score, count, count, 1);
      for (let i = 0; i < count; i++)
        for (let j = 0; j < count; j++)
          covariance[i * count + j] =
            (covariance[i * count + j] as number) + (moved[i] as number) * (moved[j] as number);
    }
    return covariance;
  }

  /** Some fitted probability has run to 0 or 1. */
  isSaturated(coefficients: Float64Array): boolean {
    return this.response.some((_, row) => !(this.pearson(row, coefficients).root > 1e-5));
  }

  /** sᵢ and Bᵢ (without φ, which cancels) of every patient. */
  private shares(coefficients: Float64Array, alpha: number): { scores: Float64Array; informations: Float64Array } {
    const { count, sizes, codes, design } = this;
    const scores = new Float64Array(sizes.length * count);
    const informations = new Float64Array(sizes.length * count * count);
    const columnSums = new Float64Array(sizes.length * count);
    const residualSums = new Float64Array(sizes.length);
    const own = new Float64Array(count);
    for (let row = 0; row < codes.length; row++) {
      const { residual, root } = this.pearson(row, coefficients);
      const code = codes[row] as number;
      residualSums[code] = (residualSums[code] as number) + residual;
      for (let k = 0; k < count; k++) {
        const value = root * ((design.columns[k] as Float64Array)[row] as number);
        own[k] = value;
        const at = code * count + k;
        columnSums[at] = (columnSums[at] as number) + value;
        scores[at] = (scores[at] as number) + value * residual;
        for (let l = 0; l <= k; l++) {
          const place = (code * count + k) * count + l;
          informations[place] = (informations[place] as number) + value * (own[l] as number);
        }
      }
    }
    const outside = 1 / (1 - alpha);
    for (let code = 0; code < sizes.length; code++) {
      const inside = alpha / (1 + ((sizes[code] as number) - 1) * alpha);
      for (let k = 0; k < count; k++) {
        const sum = columnSums[code * count + k] as number;
        const at = code * count + k;
        scores[at] = outside * ((scores[at] as number) - inside * sum * (residualSums[code] as number));
        for (let l = 0; l <= k; l++) {
          const place = (code * count + k) * count + l;
          const value =
            outside * ((informations[place] as number) - inside * sum * (columnSums[code * count + l] as number));
          informations[place] = value;
          informations[(code * count + l) * count + k] = value;
        }
      }
    }
    return { scores, informations };
  }

  private pearson(row: number, coefficients: Float64Array): { residual: number; root: number } {
    let predictor = 0;
    for (let k = 0; k < this.count; k++)
      predictor += (coefficients[k] as number) * ((this.design.columns[k] as Float64Array)[row] as number);
    const tail = Math.exp(-Math.abs(predictor));
    const root = Math.sqrt(tail) / (1 + tail);
    // (y − μ)/√(μ(1 − μ)) = ±e^(∓predictor/2), without a difference of near numbers.
    const up = this.response[row] === 1;
    const residual = up ? Math.exp(-predictor / 2) : -Math.exp(predictor / 2);
    return { residual, root };
  }
}

function notesOn(converged: boolean, separated: boolean, possible: boolean): Note[] {
  if (converged) return [];
  if (separated)
    return [
      caution(
        'separated',
        'The columns tell the outcomes apart without exception, so at least one effect is infinite. Leave a column out.',
      ),
    ];
  if (!possible)
    return [
      caution(
        'impossible-correlation',
        'The estimated correlation is outside what is possible for patients with so many rows; use independence.',
      ),
    ];
  return [caution('not-converged', 'The equations were not solved; do not use these estimates.')];
}
