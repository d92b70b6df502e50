import { symmetricInverse } from '../models/linear-algebra.js';
import type { Ratings } from '../ratings/ratings.js';
import { chiSquare, normal, studentT } from '../shared/distributions.js';
import type { Counts, Estimate, Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, checkIntervalOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { TestResult } from '../shared/test-result.js';
import { adjustForMultiplicity } from './adjust-for-multiplicity.js';
import { agreementCoefficient, type CoefficientChoice } from './agreement-coefficient.js';
import { covarianceOf, type JointInfluences, jointInfluences } from './joint-covariance.js';

/** One of the groups that are compared; what it does not say is taken from the options. */
export interface ComparedGroup extends CoefficientChoice {
  readonly label: string;
  /** Groups with the same `Ratings` share its patients; groups with different ones are taken as independent (but see `patientOf`). */
  readonly ratings: Ratings;
  /** Only these targets of the ratings. Default all. */
  readonly targets?: (target: number) => boolean;
  /** Only these assessors. Default all. */
  readonly assessors?: readonly string[];
  /** The patient of a target in a numbering that all groups with `patientOf` share. Default: the ratings' own numbering. */
  readonly patientOf?: (target: number) => number;
}

export interface CompareAgreementOptions extends CoefficientChoice {
  /** Default 0.95. */
  readonly confidenceLevel?: number;
  /**
   * `'cluster-robust'` (patient jackknife), the default where patients are known, or `'asymptotic'` (linearized: over patients where they are
   * known, else over targets).
   */
  readonly interval?: 'cluster-robust' | 'asymptotic';
  /**
   * What is contrasted: every pair (default), each group with the next, each with the first, or rows of weights that each sum to 0.
   */
  readonly contrasts?: 'pairs' | 'successive' | 'against-first' | readonly (readonly number[])[];
  /** How the p-values of several contrasts are adjusted. Default `'holm'`. */
  readonly adjustment?: 'holm' | 'benjamini-hochberg';
}

/** A contrast with its test; `adjustedP` allows for all contrasts of the comparison. */
export interface AgreementContrast {
  readonly label: string;
  readonly weights: readonly number[];
  readonly result: TestResult;
  readonly adjustedP: number;
}

/** Coefficients of several groups beside one another, their joint covariance, and what differs. */
export class AgreementComparison {
  readonly kind = 'agreement-comparison';
  readonly groups: readonly { readonly label: string; readonly estimate: Estimate }[];
  /** Covariance of the coefficients, in the order of the groups. */
  readonly covariance: readonly (readonly number[])[];
  /** The common coefficient, were there one: weighted by the inverse covariance. */
  readonly pooled: { readonly value: number; readonly standardError: number };
  /** Chi-square test that all groups have the same coefficient. */
  readonly homogeneity: { readonly statistic: number; readonly degreesOfFreedom: number; readonly pValue: number };
  readonly contrasts: readonly AgreementContrast[];
  readonly notes: readonly Note[];

  constructor(fields: Omit<AgreementComparison, 'kind' | 'table'>) {
    this.groups = Object.freeze([...fields.groups]);
    this.covariance = Object.freeze(fields.covariance);
    this.pooled = Object.freeze(fields.pooled);
    this.homogeneity = Object.freeze(fields.homogeneity);
    this.contrasts = Object.freeze([...fields.contrasts]);
    this.notes = Object.freeze([...fields.notes]);
    Object.freeze(this);
  }

  /** The contrasts: difference and interval first, then p, then p adjusted for all of them. */
  get table(): Table {
    return new Table(
      `Where does agreement differ? (${this.groups[0]?.estimate.statistic ?? 'agreement'})`,
      [
        { key: 'contrast', label: 'contrast', kind: 'text' },
        { key: 'value', label: 'difference', kind: 'number' },
        { key: 'lower', label: 'from', kind: 'number' },
        { key: 'upper', label: 'to', kind: 'number' },
        { key: 'pValue', label: 'p', kind: 'number', decimals: 3 },
        { key: 'adjustedP', label: 'p adjusted', kind: 'number', decimals: 3 },
      ],
      this.contrasts.map(({ label, result, adjustedP }) => ({
        contrast: label,
        value: result.effect.value,
        lower: result.effect.interval.lower,
        upper: result.effect.interval.upper,
        pValue: result.pValue,
        adjustedP,
      })),
      this.notes,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return [...this.groups.map(({ label, estimate }) => `${label}: ${estimate}`), '', this.table.toText()].join('\n');
  }
}

/**
 * Compares a coefficient of agreement between groups: wards or examiners (other patients), sites, sides or signs (the same
 * patients), before and after, or several coefficients of the same readings.
 *
 * contrast = Σ cᵢ θᵢ, variance Σ cᵢ cⱼ Vᵢⱼ, V the joint covariance of the coefficients θ. Cluster-robust: Vᵢⱼ = Σₖ uᵢₖ uⱼₖ over patients k,
 * uᵢₖ = √((Kᵢ − 1)/Kᵢ) (θᵢ without patient k − their mean), the patient jackknife; t quantiles with Satterthwaite's degrees of freedom from
 * the kurtosis of Σ cᵢ uᵢₖ. Asymptotic: the same sums of each coefficient's linearization, normal quantiles; over patients with factor K/(K − 1)
 * where they are known, else over targets as in its own asymptotic error. Homogeneity: χ² = (θ − θ̃)ᵀ V⁻¹ (θ − θ̃), θ̃ = 1ᵀV⁻¹θ / 1ᵀV⁻¹1, with groups − 1 degrees of freedom; for
 * independent groups that is Σ (θᵢ − θ̃)² / Vᵢᵢ.
 *
 * Undefined (`NaN` with a note) where a coefficient is not defined, or one patient less would leave it so; homogeneity also where V is
 * singular (the same readings twice). Missing values: as the coefficient has it.
 *
 * Without a name the coefficient is Cohen's kappa for two assessors, Conger's for more, and for measured signs the intraclass correlation.
 *
 * A difference can come from the mix of grades alone: chance-corrected coefficients fall where grades vary less.
 *
 * @param groups two or more; `splitRatings` makes them from a site, side, unit or period.
 * @throws InputError `too-few-groups`, `patients-needed`, `bad-contrast`, `unknown-choice`, `unknown-assessor`, `bad-option`, and what the
 * coefficient throws.
 * @example compareAgreement(splitRatings(ratings, 'side'), { coefficient: 'gwet-agreement', weights: 'quadratic' }).table
 * Source: independent groups: Fleiss JL. Statistical Methods for Rates and Proportions, 1981, ch. 13.1 (from memory); Donner A, Klar N.
 * Stat Med 1996;15:817–828 (from memory); same targets: Landis JR, Koch GG. Biometrics 1977;33:159–174, doi:10.2307/2529310; jackknife:
 * McKenzie DP and others. J Psychiatr Res 1996;30:483–492 (from memory; there by resampling).
 */
export function compareAgreement(
  groups: readonly ComparedGroup[],
  options: CompareAgreementOptions = {},
): AgreementComparison {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  if (groups.length < 2)
    throw refuse('too-few-groups', ['groups'], `There are ${groups.length} groups.`, 'give two or more.');
  const known = groups.every((group) => group.ratings.clustersKnown);
  const interval = checkChoice('interval', options.interval ?? (known ? 'cluster-robust' : 'asymptotic'), [
    'cluster-robust',
    'asymptotic',
  ]);
  if (interval === 'cluster-robust' && !known)
    throw refuse(
      'patients-needed',
      ['options', 'interval'],
      'Patients are not known in every group.',
      "give the ratings' clusters, or use interval: 'asymptotic'.",
    );
  const given = {};
  const prepared = groups.map((group) => {
    const ratings = group.assessors === undefined ? group.ratings : group.ratings.ofAssessors(...group.assessors);
    const choice = choiceOf(group, options);
    const entry = agreementCoefficient(choice.coefficient);
    return {
      label: group.label,
      estimate: entry.estimate(group.targets === undefined ? ratings : ratings.ofTargets(group.targets), {
        ...choice,
        interval: known ? 'cluster-robust' : 'asymptotic',
        confidenceLevel,
      }),
      part: {
        ratings,
        coefficient: entry.coefficient(ratings, choice),
        targets: group.targets,
        space: group.patientOf === undefined ? group.ratings : given,
        patientOf: group.patientOf,
      },
    };
  });
  const joint = jointInfluences(
    prepared.map(({ part }) => part),
    interval === 'cluster-robust' ? 'jackknife' : known ? 'patients' : 'targets',
  );
  const covariance = covarianceOf(joint);
  const spaces = prepared.map(({ part }) => part.space);
  const labels = groups.map((group) => group.label);
  const results = contrastRows(options.contrasts ?? 'pairs', groups.length).map((weights) => ({
    label: contrastLabel(weights, labels),
    weights,
    result: contrastResult({
      label: contrastLabel(weights, labels),
      weights,
      joint,
      covariance,
      interval,
      known,
      confidenceLevel,
      separate: new Set(spaces.filter((_, at) => weights[at] !== 0)).size,
      counts: countsOf(prepared.map(({ estimate }) => estimate)),
    }),
  }));
  const adjustment = options.adjustment ?? 'holm';
  const adjusted = adjustForMultiplicity(
    results.map(({ result }) => result.pValue),
    { method: adjustment },
  );
  return new AgreementComparison({
    groups: prepared.map(({ label, estimate }) => ({ label, estimate })),
    covariance,
    ...homogeneityOf(joint.values, covariance),
    contrasts: results.map((contrast, at) => ({ ...contrast, adjustedP: adjusted[at]! })),
    notes: [
      ...(joint.values.some(Number.isNaN)
        ? [information('not-defined', 'The coefficient of a group is not defined, so it cannot be compared.')]
        : []),
      ...(results.length > 1
        ? [
            information(
              'adjusted',
              `p adjusted for ${results.length} contrasts (${adjustment === 'holm' ? 'Holm' : 'Benjamini and Hochberg'}).`,
            ),
          ]
        : []),
      ...(known
        ? []
        : [caution('patients-not-given', 'Patients were not given, so every target counts as independent.')]),
      ...fewPatients(interval, joint),
    ],
  });
}

/** Groups for `compareAgreement` by an attribute of the targets: one for each of its values, with the same patients. */
export function splitRatings(ratings: Ratings, attribute: string): ComparedGroup[] {
  const values = ratings.attributes[attribute];
  if (values === undefined)
    throw refuse(
      'unknown-attribute',
      ['attribute'],
      `"${attribute}" is not recorded for these readings; there are ${Object.keys(ratings.attributes).join(', ') || 'none'}.`,
    );
  return ratings.groups(attribute).map((value) => ({ label: value, ratings, targets: (at) => values[at] === value }));
}

function choiceOf(
  group: ComparedGroup,
  options: CompareAgreementOptions,
): CoefficientChoice & {
  coefficient: NonNullable<CoefficientChoice['coefficient']>;
} {
  const weights = group.weights ?? options.weights;
  const metric = group.metric ?? options.metric;
  const within = group.within ?? options.within;
  const assessors = group.assessors?.length ?? group.ratings.assessors.length;
  const measured = group.ratings.level === 'interval' || group.ratings.level === 'ratio';
  const usual = measured ? 'intraclass-correlation' : assessors === 2 ? 'cohen-kappa' : 'conger-kappa';
  return {
    coefficient: group.coefficient ?? options.coefficient ?? usual,
    ...(weights === undefined ? {} : { weights }),
    ...(metric === undefined ? {} : { metric }),
    ...(within === undefined ? {} : { within }),
  };
}

function contrastRows(asked: NonNullable<CompareAgreementOptions['contrasts']>, size: number): (readonly number[])[] {
  if (typeof asked !== 'string') {
    asked.forEach((row, at) => {
      const sum = row.reduce((total, weight) => total + weight, 0);
      if (row.length !== size || !(Math.abs(sum) < 1e-9) || row.every((weight) => weight === 0))
        throw refuse(
          'bad-contrast',
          ['options', 'contrasts', at],
          `This contrast has ${row.length} weights that sum to ${sum}.`,
          `give ${size} weights, one a group, that sum to 0, such as 1 and −1.`,
        );
    });
    return [...asked];
  }
  const kind = checkChoice('contrasts', asked, ['pairs', 'successive', 'against-first']);
  const rows: number[][] = [];
  for (let g = 0; g < size; g++) {
    for (let h = g + 1; h < size; h++) {
      if (kind === 'successive' && h !== g + 1) continue;
      if (kind === 'against-first' && g !== 0) continue;
      const row = new Array<number>(size).fill(0);
      row[g] = 1;
      row[h] = -1;
      rows.push(row);
    }
  }
  return rows;
}

function contrastLabel(weights: readonly number[], labels: readonly string[]): string {
  const plus = weights.flatMap((weight, at) => (weight > 0 ? [weightedLabel(weight, labels[at]!)] : []));
  const minus = weights.flatMap((weight, at) => (weight < 0 ? [weightedLabel(-weight, labels[at]!)] : []));
  return `${plus.join(' + ')} minus ${minus.join(' + ')}`;
}

function weightedLabel(weight: number, label: string): string {
  return weight === 1 ? label : `${Number(weight.toFixed(3))} × ${label}`;
}

function contrastResult(fields: {
  readonly label: string;
  readonly weights: readonly number[];
  readonly joint: JointInfluences;
  readonly covariance: readonly (readonly number[])[];
  readonly interval: 'cluster-robust' | 'asymptotic';
  readonly known: boolean;
  readonly confidenceLevel: number;
  readonly separate: number;
  readonly counts: Counts;
}): TestResult {
  const { weights, joint, covariance, confidenceLevel } = fields;
  const robust = fields.interval === 'cluster-robust';
  let difference = 0;
  let variance = 0;
  weights.forEach((weight, g) => {
    if (weight === 0) return;
    difference += weight * joint.values[g]!;
    weights.forEach((other, h) => {
      if (other !== 0) variance += weight * other * covariance[g]![h]!;
    });
  });
  const standardError = variance > 1e-24 ? Math.sqrt(variance) : Number.NaN;
  const degrees = robust ? satterthwaite(joint, weights, fields.separate) : Number.POSITIVE_INFINITY;
  const statistic = difference / standardError;
  const upperTail = 1 - (1 - confidenceLevel) / 2;
  const reach = (robust ? studentT.quantile(upperTail, degrees) : normal.quantile(upperTail)) * standardError;
  const interval: Interval = {
    lower: difference - reach,
    upper: difference + reach,
    level: confidenceLevel,
    method: robust
      ? `patient jackknife, t with ${degrees.toFixed(1)} degrees of freedom`
      : `asymptotic, ${fields.known ? 'patients' : 'targets taken'} as independent`,
  };
  return new TestResult({
    test: 'comparison of agreement',
    effect: { name: fields.label, value: difference, interval },
    statistic: { name: robust ? 't' : 'z', value: statistic },
    degreesOfFreedom: degrees,
    pValue: Number.isNaN(statistic)
      ? Number.NaN
      : 2 * (robust ? studentT.upper(Math.abs(statistic), degrees) : normal.upper(Math.abs(statistic))),
    counts: fields.counts,
    options: { weights, interval: fields.interval, confidenceLevel },
    details: { standardError },
    notes: Number.isNaN(standardError)
      ? [information('not-defined', 'A coefficient or its error is not defined, so the difference has no interval.')]
      : [],
  });
}

/** Satterthwaite's degrees of freedom of a contrast from the kurtosis of what each patient adds to it. */
function satterthwaite(joint: JointInfluences, weights: readonly number[], separate: number): number {
  let count = 0;
  let second = 0;
  let fourth = 0;
  for (const unit of joint.units) {
    let sum = 0;
    let entered = false;
    weights.forEach((weight, g) => {
      if (weight === 0 || unit[g] === 0) return;
      entered = true;
      sum += weight * unit[g]!;
    });
    if (!entered) continue;
    count++;
    second += sum * sum;
    fourth += sum ** 4;
  }
  const most = Math.max(1, count - separate);
  const kurtosis = (count * fourth) / (second * second);
  return Math.max(1, Math.min(most, kurtosis > 1 ? (2 * most) / (kurtosis - 1) : most));
}

function homogeneityOf(
  values: readonly number[],
  covariance: readonly (readonly number[])[],
): Pick<AgreementComparison, 'pooled' | 'homogeneity'> {
  const size = values.length;
  const inverse = symmetricInverse(Float64Array.from(covariance.flat()), size);
  if (inverse === undefined || values.some(Number.isNaN))
    return {
      pooled: { value: Number.NaN, standardError: Number.NaN },
      homogeneity: { statistic: Number.NaN, degreesOfFreedom: size - 1, pValue: Number.NaN },
    };
  let weight = 0;
  let weighted = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h < size; h++) {
      weight += inverse[g * size + h]!;
      weighted += inverse[g * size + h]! * values[h]!;
    }
  }
  const common = weighted / weight;
  let statistic = 0;
  for (let g = 0; g < size; g++)
    for (let h = 0; h < size; h++) statistic += (values[g]! - common) * inverse[g * size + h]! * (values[h]! - common);
  return {
    pooled: { value: common, standardError: Math.sqrt(1 / weight) },
    homogeneity: { statistic, degreesOfFreedom: size - 1, pValue: chiSquare.upper(statistic, size - 1) },
  };
}

/** Counts of all groups together; patients and targets that several groups share are counted in each. */
function countsOf(estimates: readonly Estimate[]): Counts {
  const sum = (key: keyof Counts): number => estimates.reduce((total, { counts }) => total + counts[key], 0);
  return {
    targets: sum('targets'),
    clusters: sum('clusters'),
    assessors: Math.max(...estimates.map(({ counts }) => counts.assessors)),
    ratings: sum('ratings'),
    excluded: sum('excluded'),
  };
}

function fewPatients(interval: string, joint: JointInfluences): Note[] {
  const fewest = Math.min(...joint.sums.map((sums) => sums.clusters));
  return interval === 'cluster-robust' && fewest < 12
    ? [caution('few-patients', `A group has only ${fewest} patients: the interval may be too narrow.`)]
    : [];
}
