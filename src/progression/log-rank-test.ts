import { solveGeneral } from '../models/linear-algebra.js';
import { chiSquare, normal } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { TestResult } from '../shared/test-result.js';
import { checkEventTimes, type EventTimes, eventSteps } from './event-times.js';

export interface LogRankOptions {
  /** Weight S(t−)^ρ of each event time: 0 is the log-rank test, 1 the Peto–Peto test (early events count more). Default 0. */
  readonly rho?: number;
  /** Events are compared within strata only (sites, units). */
  readonly strata?: readonly (string | number)[];
  readonly confidenceLevel?: number;
}

/**
 * Log-rank test of whether groups have the event at the same rate, stratified where asked.
 *
 * At each event time, group g has dᵢg events where nᵢg dᵢ/nᵢ are expected; U = Σ wᵢ (dᵢg − nᵢg dᵢ/nᵢ), V the hypergeometric covariance, χ² = U′V⁻¹U on groups − 1 degrees of freedom.
 * The effect, for two groups, is the hazard ratio exp(U/V) of the second against the first with exp(U/V ± z/√V) (one step from equality; Cox regression refines it).
 *
 * Undefined (`NaN` with a note) when no event could have happened in more than one group. Two limbs of a patient count as independent here: a caution says so; use `coxRegression` with patients.
 *
 * @param groups the group of each entry, two or more. Groups are in order of appearance.
 * @throws InputError `one-group`, and as `kaplanMeier`.
 * Source: Mantel N. Cancer Chemother Rep 1966;50:163–170; Harrington DP, Fleming TR. Biometrika 1982;69:553–566, doi:10.1093/biomet/69.3.553.
 */
export function logRankTest(
  data: EventTimes,
  groups: readonly (string | number)[],
  options: LogRankOptions = {},
): TestResult {
  checkEventTimes(data, groups);
  const names = [...new Set(groups)];
  if (names.length < 2)
    throw refuse('one-group', ['groups'], 'All entries are of one group.', 'give two groups or more.');
  const { rho = 0, confidenceLevel: level = 0.95 } = options;
  const strata = options.strata ?? groups.map(() => 0);
  const size = names.length;
  const observed = new Float64Array(size);
  const expected = new Float64Array(size);
  const score = new Float64Array(size);
  const covariance = new Float64Array(size * size);
  for (const stratum of new Set(strata)) {
    const rows = groups.map((_, at) => at).filter((at) => strata[at] === stratum);
    const part: EventTimes = {
      times: rows.map((at) => data.times[at]!),
      events: rows.map((at) => data.events[at]!),
      ...(data.entries === undefined ? {} : { entries: rows.map((at) => data.entries![at]!) }),
    };
    let survival = 1;
    for (const { time, atRisk, events } of eventSteps(part)) {
      const weight = survival ** rho;
      const risk = new Float64Array(size);
      const happened = new Float64Array(size);
      rows.forEach((row, at) => {
        const g = names.indexOf(groups[row]!);
        if (part.times[at]! >= time && (part.entries?.[at] ?? Number.NEGATIVE_INFINITY) < time) risk[g]!++;
        if (part.times[at] === time && part.events[at]) happened[g]!++;
      });
      const spread = atRisk > 1 ? (events * (atRisk - events)) / (atRisk - 1) : 0;
      for (let g = 0; g < size; g++) {
        const share = risk[g]! / atRisk;
        observed[g]! += happened[g]!;
        expected[g]! += events * share;
        score[g]! += weight * (happened[g]! - events * share);
        for (let h = 0; h < size; h++)
          covariance[g * size + h]! += weight * weight * spread * share * ((g === h ? 1 : 0) - risk[h]! / atRisk);
      }
      survival *= 1 - events / atRisk;
    }
  }
  const free = size - 1;
  const inner = new Float64Array(free * free);
  for (let g = 0; g < free; g++) for (let h = 0; h < free; h++) inner[g * free + h] = covariance[g * size + h]!;
  const solved = solveGeneral(inner, free, score.slice(0, free), 1);
  let statistic = Number.NaN;
  if (solved !== undefined) {
    statistic = 0;
    for (let g = 0; g < free; g++) statistic += score[g]! * solved[g]!;
  }
  // Of two groups: how far the second lies above the first.
  const variance = covariance[0]!;
  const ratio = size === 2 && variance > 0 ? Math.exp(score[1]! / variance) : Number.NaN;
  const reach = normal.quantile(1 - (1 - level) / 2) / Math.sqrt(variance);
  const clusters = new Set(data.patients ?? data.times.map((_, at) => at)).size;
  return new TestResult({
    test: `${rho === 0 ? 'log-rank test' : `weighted log-rank test, rho ${rho}`}${options.strata === undefined ? '' : ', stratified'}`,
    effect: {
      name: size === 2 ? `hazard ratio, ${names[1]} against ${names[0]}` : 'hazard ratio of several groups',
      value: ratio,
      interval: {
        lower: ratio / Math.exp(reach),
        upper: ratio * Math.exp(reach),
        level,
        method: 'one step from equality',
      },
    },
    statistic: { name: 'chi-square', value: statistic },
    degreesOfFreedom: free,
    pValue: chiSquare.upper(statistic, free),
    counts: { targets: data.times.length, clusters, assessors: 0, ratings: data.times.length, excluded: 0 },
    options: { rho, groups: names, confidenceLevel: level },
    details: Object.fromEntries(
      names.flatMap((name, g) => [
        [`observed ${name}`, observed[g]!],
        [`expected ${name}`, expected[g]!],
      ]),
    ),
    notes: notesOf(statistic, clusters < data.times.length),
  });
}

function notesOf(statistic: number, clustered: boolean): Note[] {
  return [
    ...(Number.isNaN(statistic)
      ? [
          caution(
            'not-defined',
            'No event happened while more than one group was at risk, so the groups cannot be compared.',
          ),
        ]
      : []),
    ...(clustered
      ? [
          caution(
            'assumes-independent-limbs',
            'Several entries belong to one patient and count as independent here; use coxRegression with patients.',
          ),
        ]
      : []),
  ];
}
