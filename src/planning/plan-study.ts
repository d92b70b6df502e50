import { InputError, type Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { DEFAULT_SEED } from '../shared/options.js';
import { codebook } from '../signs/codebook.js';
import { nearest } from '../signs/nearest.js';
import type { Limb, Scale, Sign } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import { assessorOrder } from './assessor-order.js';
import { actOf } from './order-of-acts.js';

/** A sign of a study: on which scale, where. */
export interface PlannedSign {
  readonly sign: string;
  readonly scale: string;
  /** Default: every site of the sign that the scale is for. */
  readonly sites?: readonly string[];
  /** Default: every limb of the sign. */
  readonly limbs?: readonly Limb[];
}

export interface StudyDesign {
  readonly title: string;
  readonly signs: readonly PlannedSign[];
  /** Patients of the main phase. */
  readonly patients: number;
  /** Patients of the pilot, who never enter the main results. Default 0. */
  readonly pilotPatients?: number;
  /** Codes of the assessors, never names. */
  readonly assessors: readonly string[];
  /** How often each assessor reads each patient on one occasion. Default 1. */
  readonly replicates?: 1 | 2;
  /** Default 1. */
  readonly occasions?: number;
  /** Days from one occasion to the next. Default 7. */
  readonly daysBetween?: number;
  /** Minutes one assessor needs for one patient. */
  readonly minutesPerExamination: number;
  /** Rest between two assessors. Default 10. */
  readonly restMinutes?: number;
  /** Patients in the rooms at the same time: 1, or as many as there are assessors, who then change rooms together. Default 1. */
  readonly patientsAtOnce?: number;
  /** Default 180. */
  readonly minutesPerAfternoon?: number;
  /** Share of patients who will not come. Default 0.1. */
  readonly absent?: number;
  /** Default 20260301. */
  readonly seed?: number;
}

/** One thing to be read, in bedside order. `limb` and `site` are missing where the sign has none. */
export interface PlannedFinding {
  readonly sign: Sign;
  readonly scale: Scale;
  readonly limb: Limb | undefined;
  readonly site: string | undefined;
  /** Index into `ACTS`. */
  readonly act: number;
}

/** One assessor at one patient. */
export interface PlannedExamination {
  readonly patient: string;
  readonly phase: 'pilot' | 'main';
  /** From 1. */
  readonly occasion: number;
  readonly day: number;
  /** From 1, over all examinations of the patient on the occasion. */
  readonly order: number;
  readonly assessor: string;
  readonly replicate: number;
}

/** What the study asks of people, in minutes and afternoons. */
export interface StudyEffort {
  readonly invited: number;
  readonly minutesPerPatient: number;
  readonly afternoons: number;
  readonly patientsPerAfternoon: number;
  readonly readings: number;
  readonly sentence: string;
}

/** An agreement study planned: who reads what, on whom, in which order. Sheets and the study itself are made from it. */
export class StudyPlan {
  readonly kind = 'study-plan';

  constructor(
    readonly design: Required<StudyDesign>,
    /** Everything to be read on one patient, in bedside order. */
    readonly findings: readonly PlannedFinding[],
    readonly examinations: readonly PlannedExamination[],
    readonly effort: StudyEffort,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /**
   * What `agreementStudy` needs to know of the plan; spread it into the study's own plan with the coefficient and the questions:
   * `agreementStudy(assessments.where({ phase: 'main' }), { ...plan.forStudy, weights: 'quadratic', by: ['site'] })`.
   */
  get forStudy(): {
    readonly title: string;
    readonly signs: readonly string[];
    readonly scales: Readonly<Record<string, string>>;
    readonly assessors: readonly string[];
    readonly seed: number;
  } {
    const { title, signs, assessors, seed } = this.design;
    return {
      title,
      signs: signs.map(({ sign }) => sign),
      scales: Object.fromEntries(signs.map(({ sign, scale }) => [sign, scale])),
      assessors,
      seed,
    };
  }

  toString(): string {
    const { title, patients, pilotPatients, assessors, replicates, seed } = this.design;
    return `${title}: ${patients} people${pilotPatients > 0 ? ` after a pilot of ${pilotPatients}` : ''}, ${assessors.length} assessors${replicates === 2 ? ' reading twice' : ''}, ${this.findings.length} findings a person. ${this.effort.sentence} Seed ${seed}.`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/**
 * Plans an agreement study: what is read on each patient in bedside order, who examines whom in which turn, and what it asks of people.
 *
 * Bedside order: acts in the order in which they do not disturb each other (`ACTS`), within an act arms then legs, from the top down, right beside left. Turns: `assessorOrder`, anew for
 * pilot and main phase and for each occasion. Afternoons = occasions · ⌈⌈patients/p⌉ / ⌊minutes of an afternoon / b⌋⌉, p patients at once, b = E·e + (E − 1)·r minutes for
 * the E examinations of a patient of e minutes with rests of r.
 *
 * @throws InputError every problem at once: `bad-option`, `unknown-sign`, `sign-twice`, `unknown-scale`, `unknown-site`, `unknown-limb`, `nothing-to-read`, `afternoon-too-short`.
 * @example planStudy({ title: 'Edema at the shin', signs: [{ sign: 'pitting-edema', scale: 'pit.0-4.hogan', sites: ['pretibial-shin'], limbs: ['right-leg', 'left-leg'] }],
 *   patients: 22, assessors: ['A', 'B', 'C'], minutesPerExamination: 4 }).effort.afternoons // 5
 */
export function planStudy(given: StudyDesign): StudyPlan {
  const design: Required<StudyDesign> = {
    pilotPatients: 0,
    replicates: 1,
    occasions: 1,
    daysBetween: 7,
    restMinutes: 10,
    patientsAtOnce: 1,
    minutesPerAfternoon: 180,
    absent: 0.1,
    seed: DEFAULT_SEED,
    ...given,
  };
  const problems = problemsOf(design);
  const findings = findingsOf(design, problems);
  const minutesPerPatient = minutesOf(design);
  if (problems.length === 0 && minutesPerPatient > design.minutesPerAfternoon)
    problems.push({
      code: 'afternoon-too-short',
      path: ['minutesPerAfternoon'],
      message: `One patient would be examined for ${minutesPerPatient} minutes, more than an afternoon of ${design.minutesPerAfternoon}.`,
      mend: 'let fewer assessors read each patient, shorten the examination, or use two occasions.',
    });
  if (problems.length > 0) throw new InputError(problems, 'The study cannot be carried out as it is planned:');
  return new StudyPlan(design, findings, examinationsOf(design), effortOf(design, findings.length, minutesPerPatient), [
    information('pilot-apart', 'Pilot patients carry the phase "pilot" and stay out of the main results.'),
    information('seed', `Turns of assessors are drawn with seed ${design.seed}.`),
  ]);
}

function problemsOf(design: Required<StudyDesign>): Problem[] {
  const bad = (name: string, value: unknown, expected: string): Problem => ({
    code: 'bad-option',
    path: [name],
    message: `${name} is ${JSON.stringify(value) ?? 'missing'}.`,
    expected,
  });
  const whole = (name: 'patients' | 'pilotPatients' | 'occasions', least: number): Problem[] =>
    Number.isInteger(design[name]) && design[name] >= least && design[name] <= 9999
      ? []
      : [bad(name, design[name], `a whole number, at least ${least}`)];
  const positive = (name: 'minutesPerExamination' | 'minutesPerAfternoon' | 'daysBetween'): Problem[] =>
    design[name] > 0 ? [] : [bad(name, design[name], 'a number above 0')];
  const codes = design.assessors;
  return [
    ...(design.title.trim() === '' ? [bad('title', design.title, 'a few words')] : []),
    ...whole('patients', 1),
    ...whole('pilotPatients', 0),
    ...whole('occasions', 1),
    ...positive('minutesPerExamination'),
    ...positive('minutesPerAfternoon'),
    ...positive('daysBetween'),
    ...(design.restMinutes >= 0 ? [] : [bad('restMinutes', design.restMinutes, 'at least 0')]),
    ...(design.absent >= 0 && design.absent < 1 ? [] : [bad('absent', design.absent, 'at least 0, less than 1')]),
    ...(design.replicates === 1 || design.replicates === 2 ? [] : [bad('replicates', design.replicates, '1 or 2')]),
    ...(Number.isSafeInteger(design.seed) ? [] : [bad('seed', design.seed, 'a whole number')]),
    ...(codes.length >= 2 && new Set(codes).size === codes.length && codes.every((code) => code.trim() !== '')
      ? []
      : [bad('assessors', codes.length, 'the codes of two assessors or more, all different')]),
    // Orders of a whole square never send one assessor to two patients at once; parts of two squares can.
    ...(design.patientsAtOnce === 1 || design.patientsAtOnce === codes.length
      ? []
      : [bad('patientsAtOnce', design.patientsAtOnce, `1, or ${codes.length}, one an assessor`)]),
  ];
}

/** Everything to be read on one patient, in bedside order; problems are added to the list. */
function findingsOf(design: Required<StudyDesign>, problems: Problem[]): PlannedFinding[] {
  const findings: PlannedFinding[] = [];
  const oneOf = (code: string, path: (string | number)[], value: string, allowed: readonly string[]): boolean => {
    if (allowed.includes(value)) return true;
    const near = nearest(value, allowed);
    problems.push({
      code,
      path: ['signs', ...path],
      message: `You wrote "${value}".`,
      expected: `one of ${allowed.join(', ')}`,
      ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
    });
    return false;
  };
  if (design.signs.length === 0)
    problems.push({ code: 'nothing-to-read', path: ['signs'], message: 'The plan names no sign.' });
  design.signs.forEach((planned, at) => {
    const ids = codebook.map((known) => known.id);
    if (!oneOf('unknown-sign', [at, 'sign'], planned.sign, ids)) return;
    const sign = codebook.find((known) => known.id === planned.sign)!;
    if (design.signs.findIndex((other) => other.sign === planned.sign) < at)
      problems.push({ code: 'sign-twice', path: ['signs', at], message: `"${planned.sign}" is planned twice.` });
    const scaleIds = sign.scales.map((known) => known.id);
    if (!oneOf('unknown-scale', [at, 'scale'], planned.scale, scaleIds)) return;
    const scale = sign.scales.find((known) => known.id === planned.scale)!;
    const fits = [...sign.sites, ...sign.midlineSites].filter((site) => scale.sites?.includes(site) ?? true);
    const sites = (planned.sites ?? fits).filter((site) => oneOf('unknown-site', [at, 'sites'], site, fits));
    const limbs = (planned.limbs ?? sign.limbs).filter((limb) =>
      oneOf('unknown-limb', [at, 'limbs'], limb, sign.limbs),
    );
    const act = actOf(sign.id);
    const before = findings.length;
    if (sign.isPaired === true) for (const site of sites) findings.push({ sign, scale, limb: undefined, site, act });
    else if (fits.length === 0)
      for (const limb of sign.limbs.length === 0 ? [undefined] : limbs)
        findings.push({ sign, scale, limb, site: undefined, act });
    else
      for (const site of sites) {
        const { region } = siteOf(site);
        if (region === 'midline') findings.push({ sign, scale, limb: undefined, site, act });
        else for (const limb of limbs) if (limb.endsWith(region)) findings.push({ sign, scale, limb, site, act });
      }
    if (findings.length === before)
      problems.push({
        code: 'nothing-to-read',
        path: ['signs', at],
        message: `No site of "${planned.sign}" lies on the limbs named.`,
      });
  });
  return findings
    .map((finding, at) => ({ finding, at }))
    .sort((a, b) => compare(placeOf(a.finding), placeOf(b.finding)) || a.at - b.at)
    .map(({ finding }) => finding);
}

/** Act, whole person, arms, then legs, top down, sign, right then left. */
function placeOf({ act, limb, site, sign }: PlannedFinding): readonly number[] {
  const region = site === undefined ? undefined : siteOf(site).region;
  const isLeg = region === 'leg' || limb?.endsWith('leg') === true;
  const isArm = region === 'arm' || limb?.endsWith('arm') === true;
  return [
    act,
    isLeg ? 2 : isArm ? 1 : region === 'midline' ? 1.5 : 0,
    site === undefined ? -1 : siteOf(site).order,
    codebook.indexOf(sign),
    limb?.startsWith('left') === true ? 1 : 0,
  ];
}

function compare(first: readonly number[], second: readonly number[]): number {
  const at = first.findIndex((part, place) => part !== second[place]);
  return at < 0 ? 0 : first[at]! - second[at]!;
}

function examinationsOf(design: Required<StudyDesign>): PlannedExamination[] {
  const { assessors, replicates, occasions, seed } = design;
  const phases = [
    { phase: 'pilot', letter: 'T', patients: design.pilotPatients },
    { phase: 'main', letter: 'P', patients: design.patients },
  ] as const;
  return phases.flatMap(({ phase, letter, patients }, part) =>
    patients === 0
      ? []
      : Array.from({ length: occasions }, (_, at) => {
          // Each round of readings has its own orders, so a second reading does not follow the turns of the first.
          const rounds = Array.from({ length: replicates }, (_, round) =>
            assessorOrder({ assessors, orders: patients, seed, stream: (part * occasions + at) * 2 + round }),
          );
          return Array.from({ length: patients }, (_, number) =>
            rounds.flatMap((orders, round) =>
              orders[number]!.map((assessor, turn) => ({
                patient: codeOf(letter, number + 1, patients),
                phase,
                occasion: at + 1,
                day: at * design.daysBetween,
                order: round * assessors.length + turn + 1,
                assessor,
                replicate: round + 1,
              })),
            ),
          ).flat();
        }).flat(),
  );
}

function codeOf(letter: string, number: number, most: number): string {
  return `${letter}${String(number).padStart(Math.max(2, String(most).length), '0')}`;
}

function minutesOf(design: Required<StudyDesign>): number {
  const examinations = design.assessors.length * design.replicates;
  return examinations * design.minutesPerExamination + (examinations - 1) * design.restMinutes;
}

function effortOf(design: Required<StudyDesign>, findings: number, minutesPerPatient: number): StudyEffort {
  const { patients, pilotPatients, assessors, replicates, occasions, patientsAtOnce, absent } = design;
  const groups = Math.floor(design.minutesPerAfternoon / minutesPerPatient);
  const patientsPerAfternoon = groups * patientsAtOnce;
  const afternoonsOf = (count: number): number => occasions * Math.ceil(Math.ceil(count / patientsAtOnce) / groups);
  const afternoons = afternoonsOf(patients) + afternoonsOf(pilotPatients);
  const invited = Math.ceil(patients / (1 - absent) - 1e-9);
  const readings = patients * findings * assessors.length * replicates * occasions;
  return {
    invited,
    minutesPerPatient,
    afternoons,
    patientsPerAfternoon,
    readings,
    sentence: `${patients} people (invite ${invited}), each for ${minutesPerPatient} minutes${occasions > 1 ? ` on each of ${occasions} occasions` : ''}; ${afternoons} ${afternoons === 1 ? 'afternoon' : 'afternoons'} of ${assessors.length} assessors, at most ${patientsPerAfternoon} people an afternoon${pilotPatients > 0 ? ', the pilot included' : ''}.`,
  };
}
