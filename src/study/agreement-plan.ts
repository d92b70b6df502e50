import type { AlphaMetric } from '../agreement/krippendorff-alpha.js';
import { type Weights, weightsName } from '../agreement/weights.js';
import type { Assessments } from '../assessments/assessments.js';
import type { SameTarget } from '../ratings/ratings-from.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { checkIntervalOptions, type IntervalOptions } from '../shared/options.js';
import { codebook } from '../signs/codebook.js';
import { PRIMARY_COEFFICIENTS, type PrimaryCoefficient } from './primary-coefficient.js';

/** What a study can be split by. */
export type StudyGroup = 'site' | 'limb' | 'side' | 'unit' | 'phase' | 'round' | 'period';

const GROUPS: readonly StudyGroup[] = ['site', 'limb', 'side', 'unit', 'phase', 'round', 'period'];

/** A change of the plan after it was fixed: when, why, and what. Old and new results are both kept. */
export interface PlanAmendment {
  /** ISO date, such as "2026-09-14". */
  readonly date: string;
  readonly reason: string;
  readonly change: Pick<AgreementPlan, 'coefficient' | 'weights' | 'metric' | 'by'>;
}

/** An agreement study as it is fixed before anyone sees a result. */
export interface AgreementPlan extends IntervalOptions {
  readonly title?: string;
  /** Ids of the signs to study. */
  readonly signs: readonly string[];
  /** The scale of each sign, where the assessments hold more than one. */
  readonly scales?: Readonly<Record<string, string>>;
  /** Only these sites. Default all. */
  readonly sites?: readonly string[];
  /** Subgroup questions asked beforehand. */
  readonly by?: readonly StudyGroup[];
  /** Subgroup questions that are only explored; they are tagged so wherever they appear. */
  readonly explore?: readonly StudyGroup[];
  /** The one primary coefficient of graded signs. Default: Cohen's kappa for two assessors, Conger's for more. */
  readonly coefficient?: PrimaryCoefficient;
  /** Agreement weights of graded signs. Default `'identity'`. */
  readonly weights?: Weights;
  /** Metric, where the coefficient is Krippendorff's alpha. Default: the sign's own level. */
  readonly metric?: AlphaMetric;
  /** Only these assessors. Default all. */
  readonly assessors?: readonly string[];
  /** When readings are of the same finding. Default: one occasion, or one day where occasions are not recorded. */
  readonly window?: SameTarget;
  readonly amendments?: readonly PlanAmendment[];
}

/** Checks a plan against the assessments; throws one `InputError` with every problem in a sentence. */
export function checkPlan(plan: AgreementPlan, assessments: Assessments): void {
  const problems: Problem[] = [];
  const known = codebook.map((sign) => sign.id);
  const allowed = (path: (string | number)[], value: string, choices: readonly string[]): void => {
    if (!choices.includes(value)) problems.push(unknownChoice(path, value, choices));
  };
  if (plan.signs.length === 0)
    problems.push({
      code: 'no-signs',
      path: ['plan', 'signs'],
      message: 'The plan names no sign.',
      expected: `some of ${assessments.sign.values.join(', ')}`,
    });
  plan.signs.forEach((sign, at) => {
    allowed(['signs', at], sign, [...new Set([...known, ...assessments.sign.values])]);
    if (known.includes(sign) && !assessments.sign.values.includes(sign))
      problems.push({
        code: 'sign-not-present',
        path: ['plan', 'signs', at],
        message: `The assessments hold no ${sign}; they hold ${assessments.sign.values.join(', ')}.`,
      });
  });
  problems.push(...analysisProblems(plan));
  if (problems.length > 0) throw new InputError(problems, 'The plan cannot be carried out as it is written:');
}

/** What is wrong with the questions and methods of a plan, whatever the data. */
export function analysisProblems(plan: Omit<AgreementPlan, 'signs'>): readonly Problem[] {
  const problems: Problem[] = [];
  const allowed = (path: (string | number)[], value: string, choices: readonly string[]): void => {
    if (!choices.includes(value)) problems.push(unknownChoice(path, value, choices));
  };
  for (const [at, group] of (plan.by ?? []).entries()) allowed(['by', at], group, GROUPS);
  for (const [at, group] of (plan.explore ?? []).entries()) allowed(['explore', at], group, GROUPS);
  if (plan.coefficient !== undefined) allowed(['coefficient'], plan.coefficient, Object.keys(PRIMARY_COEFFICIENTS));
  plan.amendments?.forEach((amendment, at) => {
    if (!/^\d{4}-\d{2}-\d{2}$/.test(amendment.date))
      problems.push({
        code: 'bad-date',
        path: ['plan', 'amendments', at, 'date'],
        message: `The amendment has the date "${amendment.date}".`,
        expected: 'year-month-day, such as 2026-09-14',
      });
    if (amendment.reason.trim() === '')
      problems.push({
        code: 'no-reason',
        path: ['plan', 'amendments', at, 'reason'],
        message: 'The amendment gives no reason.',
        expected: 'who asked for it and why',
      });
  });
  try {
    checkIntervalOptions(plan);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    problems.push(...error.problems);
  }
  return problems;
}

function unknownChoice(path: readonly (string | number)[], value: string, choices: readonly string[]): Problem {
  return {
    code: 'unknown-choice',
    path: ['plan', ...path],
    message: `You wrote "${value}"; choose one of ${choices.join(', ')}.`,
  };
}

/** The plan in sentences, as it would stand in a protocol. */
export function planSentences(plan: AgreementPlan): string[] {
  const { confidenceLevel, replicates, seed } = checkIntervalOptions(plan);
  const coefficient =
    plan.coefficient === undefined
      ? 'Cohen kappa for two assessors, Conger kappa for more'
      : PRIMARY_COEFFICIENTS[plan.coefficient].words;
  return [
    `Signs: ${plan.signs.join(', ')}${plan.sites === undefined ? '' : ` at ${plan.sites.join(', ')}`}.`,
    `Primary coefficient of graded signs: ${coefficient}${weighting(plan)}; of measured signs: intraclass correlation for agreement, single reading.`,
    `Questions asked beforehand: all together${plan.by === undefined || plan.by.length === 0 ? '' : `, by ${plan.by.join(', by ')}`}${plan.explore === undefined || plan.explore.length === 0 ? '' : `; explored: by ${plan.explore.join(', by ')}`}.`,
    `${Math.round(100 * confidenceLevel)} % intervals, ${plan.interval ?? 'studentized bootstrap by patient'}, ${replicates} replicates, seed ${seed}.`,
    ...(plan.amendments ?? []).map((amendment) => `Amended ${amendment.date}: ${amendment.reason}`),
  ];
}

function weighting(plan: AgreementPlan): string {
  const takes = plan.coefficient === undefined ? 'weights' : PRIMARY_COEFFICIENTS[plan.coefficient].takes;
  if (takes === 'neither') return '';
  if (takes === 'metric') return `, ${plan.metric ?? "metric of the sign's level"}`;
  return `, ${weightsName(plan.weights ?? 'identity')} weights`;
}
