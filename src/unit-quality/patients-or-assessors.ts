import type { Assessments } from '../assessments/assessments.js';
import { type CumulativeLinkMixedFit, cumulativeLinkMixedModelLong } from '../models/cumulative-link-mixed-model.js';
import type { NamedColumns } from '../models/design-columns.js';
import { normal } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { scaleSegments, type UnitPeriodOptions, unitPeriods } from './unit-periods.js';

export interface PatientsOrAssessorsOptions extends UnitPeriodOptions, LongWorkOptions {
  /** First period of the later stretch. Default: the last period of the scale in use in which two or more assessors began, else one. */
  readonly from?: number;
  readonly confidenceLevel?: number;
}

/** Shares of the variance of a reading on the logit scale; they add up to 1. */
export interface VarianceShares {
  readonly patients: number;
  readonly assessors: number;
  readonly periods: number;
  readonly readings: number;
}

/** Did the patients change, or those who read them? For the quality team's own eyes; names nobody. */
export class PatientsOrAssessors {
  readonly kind = 'patients-or-assessors';

  constructor(
    /** First period of the later stretch; `undefined` where no assessor began on the scale in use. */
    readonly from: number | undefined,
    readonly assessors: { readonly before: number; readonly after: number; readonly bridging: number },
    /** Odds of a higher grade, later against earlier: as the readings are, whoever read. */
    readonly asRead: Estimate | undefined,
    /** The same between readings of the same assessors. `undefined` where nobody read before and after. */
    readonly sameAssessors: Estimate | undefined,
    /** The same with assessors as a random sample: the sensitivity check. */
    readonly randomAssessors: Estimate | undefined,
    readonly shares: VarianceShares | undefined,
    readonly sentence: string,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  get table(): Table {
    const rows = [
      { what: 'as read, whoever read', estimate: this.asRead },
      { what: 'between readings of the same assessors', estimate: this.sameAssessors },
      { what: 'the same, assessors as a random sample (check)', estimate: this.randomAssessors },
    ];
    return new Table(
      `Odds of a higher grade, period ${this.from ?? '–'} and later against before: did patients or assessors change?`,
      [
        { key: 'what', label: 'compared', kind: 'text' },
        { key: 'value', label: 'odds ratio', kind: 'number' },
        { key: 'lower', label: 'from', kind: 'number' },
        { key: 'upper', label: 'to', kind: 'number' },
      ],
      rows.flatMap(({ what, estimate }) =>
        estimate === undefined
          ? []
          : [{ what, value: estimate.value, lower: estimate.interval.lower, upper: estimate.interval.upper }],
      ),
      [information('own-view', 'For the quality team’s own eyes; never on a board’s page.'), ...this.notes],
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return `${this.sentence}\n${this.table.toText()}`;
  }
}

/** The variance of a logistic variable: what a reading has of its own on the logit scale. */
const LOGISTIC = Math.PI ** 2 / 3;

/**
 * Patients or assessors? Whether a change over periods is there between readings of the same assessors.
 *
 * One row a patient, day and assessor, with the worst grade on either side, on the scale in use. logit P(grade ≤ j) = τⱼ − β·later − αₐ − bₚ, later 1 from
 * period `from` on, αₐ the assessor's own effect, bₚ ~ N(0, σ²) the patient's. The odds ratio is exp β: as read without α; between readings of the same assessors with α
 * fixed; as a check with α ~ N(0, s²). Fixed effects use only assessors who bridge both stretches for β. Shares of variance come from
 * a fit with random patients, assessors and periods; a reading's own part is π²/3.
 *
 * With nobody who bridges the two stretches, patients and assessors cannot be told apart, and no estimate is given. Undefined (`NaN` with a note)
 * where a fit did not arrive. Missing values: rows without a grade or an assessor do not enter and are counted.
 *
 * @throws InputError `bad-option` (from is no later period of the scale in use), `too-few-grades` (one grade only), and what `unitPeriods` throws.
 * @example (await patientsOrAssessors(assessments, { sign: 'pitting-edema' })).sentence
 * Source: the model, Hedeker D, Gibbons RD. Biometrics 1994;50:933–944, doi:10.2307/2533433; fixed effects of those who cross over as in the analysis of connected designs (common practice, no source).
 */
export async function patientsOrAssessors(
  assessments: Assessments,
  options: PatientsOrAssessorsOptions,
): Promise<PatientsOrAssessors> {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const { scale, periods } = scaleSegments(unitPeriods(assessments, options).periods).at(-1)!;
  const inUse = new Set(periods.map(({ period }) => period));
  const ofUnit = assessments.where({
    sign: options.sign,
    ...(options.unit === undefined ? {} : { unit: options.unit }),
  });
  const { rows, left } = worstByDay(ofUnit, scale.id, inUse);
  if (new Set(rows.map(({ grade }) => grade)).size < 2)
    throw refuse('too-few-grades', ['assessments'], 'All readings on the scale in use are one grade; nothing varies.');
  const firstPeriod = periods[0]!.period;
  const from = options.from ?? turnOf(ofUnit, inUse, firstPeriod);
  if (options.from !== undefined && (!inUse.has(options.from) || options.from === firstPeriod))
    throw refuse(
      'bad-option',
      ['options', 'from'],
      `from is ${options.from}.`,
      `choose a later period of the scale in use: ${[...inUse].slice(1).join(', ')}.`,
    );
  const notes: Note[] =
    left === 0
      ? []
      : [information('left-out', `${left} rows on the scale in use without a grade or an assessor do not enter.`)];
  const work = { ...(options.signal === undefined ? {} : { signal: options.signal }) };
  const progress = (share: number, words: string): void => options.progress?.(share, words);

  const response = rows.map(({ grade }) => grade);
  const patient = { name: 'patient', groups: rows.map((row) => row.patient) };
  const assessor = { name: 'assessor', groups: rows.map((row) => row.assessor) };
  const problem = { response, categories: scale.categories!.length };
  const codes = [...new Set(rows.map((row) => row.assessor))];
  const several = codes.length > 1;
  progress(0, 'shares of the variance');
  const sharesFit = await cumulativeLinkMixedModelLong(
    {
      ...problem,
      random: [
        patient,
        ...(several ? [assessor] : []),
        ...(inUse.size > 1 ? [{ name: 'period', groups: rows.map((row) => row.period) }] : []),
      ],
    },
    work,
  );
  const shares = sharesOf(sharesFit);
  if (shares === undefined)
    notes.push(caution('not-converged', 'The fit behind the shares of variance did not arrive.'));
  const isLater = rows.map(({ period }) => Number(from !== undefined && period >= from));
  const before = new Set(rows.filter((_, at) => isLater[at] === 0).map((row) => row.assessor));
  const after = new Set(rows.filter((_, at) => isLater[at] === 1).map((row) => row.assessor));
  const bridging = [...after].filter((code) => before.has(code)).length;
  const counts = { before: before.size, after: after.size, bridging };
  if (from === undefined || after.size === 0 || before.size === 0)
    return new PatientsOrAssessors(
      undefined,
      counts,
      undefined,
      undefined,
      undefined,
      shares,
      'No assessor began on the scale in use, so a change of readers explains nothing there.',
      notes,
    );
  const oddsRatio = async (statistic: string, effects: NamedColumns, random: boolean): Promise<Estimate> => {
    const fit = await cumulativeLinkMixedModelLong(
      { ...problem, effects: { later: isLater, ...effects }, random: [patient, ...(random ? [assessor] : [])] },
      work,
    );
    const { value, standardError } = fit.effects.find(({ name }) => name === 'later')!;
    const arrived = fit.convergence.converged;
    const reach = normal.quantile(0.5 + confidenceLevel / 2) * standardError;
    const limit = (side: number): number => (arrived ? Math.exp(value + side * reach) : Number.NaN);
    return new Estimate({
      statistic,
      value: arrived ? Math.exp(value) : Number.NaN,
      standardError: arrived ? Math.exp(value) * standardError : Number.NaN,
      interval: {
        lower: limit(-1),
        upper: limit(1),
        level: confidenceLevel,
        method: 'Wald on the log odds, patients random',
      },
      counts: {
        targets: rows.length,
        clusters: new Set(patient.groups).size,
        assessors: codes.length,
        ratings: rows.length,
        excluded: left,
      },
      options: { from, scale: scale.id },
      details: { logOddsRatio: value, logStandardError: standardError },
      notes: arrived ? [] : [caution('not-converged', 'The fit did not arrive; no figure is given.')],
    });
  };
  progress(0.25, 'as read');
  const asRead = await oddsRatio('odds ratio, as read', {}, false);
  progress(0.5, 'assessors as a random sample');
  const randomAssessors = several ? await oddsRatio('odds ratio, assessors random', {}, true) : undefined;
  progress(0.75, 'the same assessors');
  const indicators = Object.fromEntries(
    codes.slice(1).map((code) => [`assessor ${code}`, rows.map((row) => Number(row.assessor === code))]),
  );
  const sameAssessors = bridging === 0 ? undefined : await oddsRatio('odds ratio, same assessors', indicators, false);
  progress(1, 'done');
  if (bridging > 0 && bridging < 3)
    notes.push(
      caution(
        'few-bridge',
        `The comparison rests on ${bridging === 1 ? 'one assessor' : `${bridging} assessors`} who read before and after; have two people examine the same legs each month.`,
      ),
    );
  const began = [...after].filter((code) => !before.has(code)).length;
  return new PatientsOrAssessors(
    from,
    counts,
    asRead,
    sameAssessors,
    randomAssessors,
    shares,
    sentenceOf(from, counts, began, asRead, sameAssessors),
    notes,
  );
}

interface WorstRow {
  readonly patient: number;
  readonly assessor: number;
  readonly period: number;
  grade: number;
}

/** One row a patient, day and assessor on the scale, and how many rows have no grade or no assessor. */
function worstByDay(
  ofUnit: Assessments,
  scale: string,
  periods: ReadonlySet<number>,
): { rows: WorstRow[]; left: number } {
  const found = new Map<string, WorstRow>();
  let left = 0;
  for (let row = 0; row < ofUnit.length; row++) {
    const period = ofUnit.period[row]!;
    if (!periods.has(period) || ofUnit.wordAt('scale', row) !== scale || ofUnit.reference[row] === 1) continue;
    const grade = ofUnit.category[row]!;
    const assessor = ofUnit.assessor.codes[row]!;
    if (grade < 0 || assessor < 0) {
      left++;
      continue;
    }
    const patient = ofUnit.patient.codes[row]!;
    const key = `${patient}/${ofUnit.day[row]}/${period}/${assessor}/${ofUnit.occasion.codes[row]}`;
    const known = found.get(key);
    if (known === undefined) found.set(key, { patient, assessor, period, grade });
    else known.grade = Math.max(known.grade, grade);
  }
  return { rows: [...found.values()], left };
}

/** The last period of the scale in use in which two or more assessors began, else one; not the scale's first. */
function turnOf(ofUnit: Assessments, inUse: ReadonlySet<number>, firstPeriod: number): number | undefined {
  const began = new Map<number, number>();
  for (let row = 0; row < ofUnit.length; row++) {
    const assessor = ofUnit.assessor.codes[row]!;
    const period = ofUnit.period[row]!;
    if (assessor < 0 || Number.isNaN(period) || ofUnit.category[row]! < 0 || ofUnit.reference[row] === 1) continue;
    began.set(assessor, Math.min(began.get(assessor) ?? period, period));
  }
  const turns = [...inUse]
    .filter((period) => period !== firstPeriod)
    .map((period) => ({ period, fresh: [...began.values()].filter((first) => first === period).length }))
    .reverse();
  return (turns.find(({ fresh }) => fresh >= 2) ?? turns.find(({ fresh }) => fresh === 1))?.period;
}

function sharesOf(fit: CumulativeLinkMixedFit): VarianceShares | undefined {
  if (!fit.convergence.converged) return undefined;
  const variance = (name: string): number => fit.components.find((component) => component.term === name)?.variance ?? 0;
  const [patients, assessors, periods] = [variance('patient'), variance('assessor'), variance('period')];
  const total = patients + assessors + periods + LOGISTIC;
  return {
    patients: patients / total,
    assessors: assessors / total,
    periods: periods / total,
    readings: LOGISTIC / total,
  };
}

function sentenceOf(
  from: number,
  counts: PatientsOrAssessors['assessors'],
  began: number,
  asRead: Estimate,
  same: Estimate | undefined,
): string {
  const who = `From period ${from} on, ${began} of ${counts.after} assessors were new and ${counts.bridging} had read before.`;
  if (same === undefined)
    return `${who} Patients and assessors cannot be told apart: nobody read before and after. Have two people examine the same legs before concluding.`;
  const says = ({ interval }: Estimate): boolean => interval.lower > 1 || interval.upper < 1;
  if (Number.isNaN(asRead.value) || Number.isNaN(same.value))
    return `${who} A fit did not arrive, so nothing is said about patients or assessors.`;
  if (says(same))
    return `${who} Between readings of the same assessors the odds of a higher grade ${same.value > 1 ? 'rose' : 'fell'} too.`;
  if (says(asRead) && began > 0)
    return `${who} The change coincides with a change in who assesses: between readings of the same assessors it is not seen. Have two people examine the same legs before concluding.`;
  return `${who} Neither as read nor between readings of the same assessors is a change clear.`;
}
