import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { planStudy, type StudyDesign, type StudyPlan } from '../planning/plan-study.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { checkIntervalOptions } from '../shared/options.js';
import { nearest } from '../signs/nearest.js';
import { type AgreementPlan, analysisProblems } from './agreement-plan.js';

/** How a planned study will be analyzed: what a plan for the bedside leaves open. */
export interface PlannedAnalysis
  extends Pick<
    AgreementPlan,
    | 'coefficient'
    | 'weights'
    | 'metric'
    | 'by'
    | 'explore'
    | 'window'
    | 'confidenceLevel'
    | 'interval'
    | 'replicates'
    | 'amendments'
  > {
  /** How the number of people was set, in a sentence: `String(patientsNeeded(…))`, or what a simulation said. */
  readonly sampleSize?: string;
}

/** A plan as it was written before the study: for the bedside, and for the analysis. */
export interface PlannedStudy {
  readonly kind: 'planned-study';
  /** Who examines whom in which turn. */
  readonly plan: StudyPlan;
  /** What `agreementStudy` takes: signs, scales, sites, assessors, coefficient, weights, questions, seed. */
  readonly analysis: AgreementPlan;
  readonly sampleSize: string | undefined;
  /** SHA-256 of the file, which tells whether it was changed since. */
  readonly planFingerprint: string;
}

const FORMAT = 'plan of an agreement study, 1';

const DESIGN_KEYS: readonly (keyof StudyDesign)[] = [
  'title',
  'signs',
  'patients',
  'pilotPatients',
  'assessors',
  'replicates',
  'occasions',
  'daysBetween',
  'minutesPerExamination',
  'restMinutes',
  'patientsAtOnce',
  'minutesPerAfternoon',
  'absent',
  'seed',
];

const ANALYSIS_KEYS: readonly (keyof PlannedAnalysis)[] = [
  'coefficient',
  'weights',
  'metric',
  'by',
  'explore',
  'window',
  'confidenceLevel',
  'interval',
  'replicates',
  'sampleSize',
  'amendments',
];

/**
 * A plan as the text of a file, to be kept before the first patient comes and read again by the study: the design, its seed, and how it will be analyzed. Amendments are added to the
 * file later, with date and reason; what was there stays.
 *
 * @throws InputError every problem of the analysis at once.
 * @example writeFileSync('study-plan.json', planFile(plan, { coefficient: 'conger-kappa', weights: 'quadratic', by: ['site'] }))
 */
export function planFile(plan: StudyPlan, analysis: PlannedAnalysis): string {
  const problems = analysisProblems(analysis);
  if (problems.length > 0) throw new InputError(problems, 'The plan cannot be carried out as it is written:');
  const { confidenceLevel, replicates } = checkIntervalOptions(analysis);
  const written = { ...analysis, confidenceLevel, replicates, amendments: analysis.amendments ?? [] };
  const content = {
    format: FORMAT,
    design: inOrder(plan.design, DESIGN_KEYS),
    analysis: inOrder<PlannedAnalysis>(written, ANALYSIS_KEYS),
  };
  return `${JSON.stringify(content, null, 2)}\n`;
}

/** What is set, in one order, so that the same plan is the same text. */
function inOrder<T extends object>(settings: T, keys: readonly (keyof T & string)[]): object {
  return Object.fromEntries(keys.flatMap((key) => (settings[key] === undefined ? [] : [[key, settings[key]]])));
}

/**
 * Reads a plan from its file, checked as if it had just been made.
 *
 * @param source path of the file, or `{ text }`.
 * @throws InputError `file-not-found`, `no-plan` (not such a file), `unknown-setting`, and every problem that `planStudy` and the analysis have.
 * @example
 * const planned = await loadPlan('study-plan.json');
 * const study = await agreementStudy(assessments, planned.analysis);
 * const report = await studyReport(study, planned);
 */
export async function loadPlan(source: string | { readonly text: string }): Promise<PlannedStudy> {
  const text = typeof source === 'string' ? await textOf(source) : source.text;
  const { design: given, analysis } = parsed(text);
  const problems: Problem[] = Object.keys(analysis)
    .filter((key) => !(ANALYSIS_KEYS as readonly string[]).includes(key))
    .map((key) => {
      const near = nearest(key, ANALYSIS_KEYS);
      return {
        code: 'unknown-setting',
        path: ['analysis', key],
        message: 'The analysis of a plan has no setting of that name.',
        expected: `one of ${ANALYSIS_KEYS.join(', ')}`,
        ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
      };
    });
  problems.push(...analysisProblems(analysis));
  let design: StudyPlan | undefined;
  try {
    design = planStudy(given);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    problems.push(...error.problems);
  }
  if (problems.length > 0 || design === undefined)
    throw new InputError(problems, 'The plan cannot be carried out as it is written:');
  const { sampleSize, ...asked } = analysis;
  const sites = sitesOf(design);
  return {
    kind: 'planned-study',
    plan: design,
    analysis: { ...design.forStudy, ...(sites === undefined ? {} : { sites }), ...asked },
    sampleSize,
    planFingerprint: createHash('sha256').update(text).digest('hex'),
  };
}

async function textOf(path: string): Promise<string> {
  const text = await readFile(path, 'utf8').catch(() => undefined);
  if (text !== undefined) return text;
  throw refuse(
    'file-not-found',
    ['source'],
    'There is no such file.',
    'check the path; it counts from the folder in which the program runs.',
  );
}

interface PlanContent {
  readonly format?: unknown;
  readonly design?: StudyDesign;
  readonly analysis?: PlannedAnalysis;
}

function parsed(text: string): { readonly design: StudyDesign; readonly analysis: PlannedAnalysis } {
  let content: PlanContent | null = null;
  try {
    content = JSON.parse(text) as PlanContent | null;
  } catch {
    // Said below: whatever is no JSON is no plan.
  }
  const { format, design, analysis }: PlanContent = content ?? {};
  if (format === FORMAT && typeof design === 'object' && typeof analysis === 'object') return { design, analysis };
  throw refuse(
    'no-plan',
    ['source'],
    `The file is no plan of a study: it is not JSON with "format": "${FORMAT}", "design" and "analysis".`,
    'write it with planFile(plan, analysis), as the planning notebook does.',
  );
}

/** The sites of all signs, where every sign names its own. */
function sitesOf({ design }: StudyPlan): readonly string[] | undefined {
  if (design.signs.some(({ sites }) => sites === undefined)) return undefined;
  return [...new Set(design.signs.flatMap(({ sites }) => sites ?? []))];
}
