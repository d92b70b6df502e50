import type { MadeFor } from '../shared/audience.js';
import { normal } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { checkEventTimes, type EventTimes, eventSteps } from './event-times.js';

export interface KaplanMeierOptions {
  /** Scale of the pointwise intervals. Default `'log-log'`, which stays within 0 and 1. */
  readonly scale?: 'log-log' | 'log' | 'plain';
  readonly confidenceLevel?: number;
}

export interface SurvivalStep {
  readonly time: number;
  readonly atRisk: number;
  readonly events: number;
  /** Share without the event just after this time. */
  readonly survival: number;
  readonly standardError: number;
  readonly interval: Interval;
}

/** A curve of the share still without the event. */
export interface SurvivalCurve extends MadeFor {
  readonly kind: 'survival-curve';
  readonly steps: readonly SurvivalStep[];
  /** First time at which at most half are without the event; limits are `NaN` where the band never gets there. */
  readonly median: { readonly value: number; readonly interval: Interval };
  readonly counts: { readonly entries: number; readonly patients: number; readonly events: number };
  readonly options: Readonly<Record<string, unknown>>;
  readonly notes: readonly Note[];
  /** The longest time of observation. */
  readonly lastTime: number;
  /** How many were at risk just before a time. */
  atRisk(time: number): number;
}

/**
 * Kaplan–Meier curve: the share still without the event over time, with late entry.
 *
 * S(t) = Π_{tᵢ ≤ t} (1 − dᵢ/nᵢ), dᵢ events among the nᵢ at risk at tᵢ; standard error S √Σ dᵢ/(nᵢ(nᵢ − dᵢ)) (Greenwood), with several entries a patient from the
 * patients' sums of influence instead. Intervals: log–log exp(−exp(ln(−ln S) ± z·se/(S |ln S|))), log S·exp(± z·se/S) up to 1, plain S ± z·se within 0 and 1.
 *
 * Undefined (`NaN`): the interval where S = 0, and limits of the median that the band does not reach. Missing values are not allowed: an entry whose event was not
 * seen is censored at its last observation. With late entry the first steps can rest on very few at risk; a note says so.
 *
 * @throws InputError `no-rows`, `bad-length`, `bad-time`, `bad-entry`, `unknown-choice`.
 * @example kaplanMeier({ times: [6, 6, 6, 6, 7], events: [true, true, true, false, true] }).steps[0].survival // 0.4
 * Source: Kaplan EL, Meier P. J Am Stat Assoc 1958;53:457–481, doi:10.1080/01621459.1958.10501452; median limits: Brookmeyer R, Crowley J. Biometrics
 * 1982;38:29–41, doi:10.2307/2530286.
 */
export function kaplanMeier(data: EventTimes, options: KaplanMeierOptions = {}): SurvivalCurve {
  checkEventTimes(data);
  const scale = checkChoice('scale', options.scale ?? 'log-log', ['log-log', 'log', 'plain']);
  const level = options.confidenceLevel ?? 0.95;
  const z = normal.quantile(1 - (1 - level) / 2);
  const patients = new Set(data.patients ?? data.times.map((_, at) => at)).size;
  const clustered = patients < data.times.length;
  const eventTimes = eventSteps(data);
  let survival = 1;
  let greenwood = 0;
  const errors = clustered ? clusteredErrors(data, eventTimes) : undefined;
  const steps = eventTimes.map(({ time, atRisk, events }, at): SurvivalStep => {
    survival *= 1 - events / atRisk;
    greenwood += events / (atRisk * (atRisk - events));
    const standardError = survival === 0 ? Number.NaN : survival * (errors?.[at] ?? Math.sqrt(greenwood));
    return {
      time,
      atRisk,
      events,
      survival,
      standardError,
      interval: {
        ...limitsOf(survival, standardError, z, scale),
        level,
        method: `${scale}${clustered ? ', patients as units' : ''}`,
      },
    };
  });
  const reaches = (value: (step: SurvivalStep) => number): number =>
    steps.find((step) => value(step) <= 0.5 + 1e-12)?.time ?? Number.NaN;
  return {
    kind: 'survival-curve',
    steps,
    median: {
      value: reaches((step) => step.survival),
      interval: {
        // Where S is exactly 0 the band is not defined; it cannot bring a limit.
        lower: reaches((step) => (Number.isNaN(step.interval.lower) ? Number.POSITIVE_INFINITY : step.interval.lower)),
        upper: reaches((step) => (Number.isNaN(step.interval.upper) ? Number.POSITIVE_INFINITY : step.interval.upper)),
        level,
        method: `where the ${scale} band crosses one half`,
      },
    },
    counts: { entries: data.times.length, patients, events: eventTimes.reduce((sum, step) => sum + step.events, 0) },
    options: { scale, confidenceLevel: level },
    notes: notesOf(data, steps, clustered),
    lastTime: data.times.reduce((last, time) => Math.max(last, time), Number.NEGATIVE_INFINITY),
    atRisk: (time) =>
      data.times.filter((own, at) => own >= time && (data.entries?.[at] ?? Number.NEGATIVE_INFINITY) < time).length,
  };
}

function limitsOf(
  survival: number,
  error: number,
  z: number,
  scale: 'log-log' | 'log' | 'plain',
): { lower: number; upper: number } {
  if (survival === 0) return { lower: Number.NaN, upper: Number.NaN };
  if (scale === 'plain') return { lower: Math.max(0, survival - z * error), upper: Math.min(1, survival + z * error) };
  if (scale === 'log')
    return {
      lower: survival * Math.exp((-z * error) / survival),
      upper: Math.min(1, survival * Math.exp((z * error) / survival)),
    };
  const center = Math.log(-Math.log(survival));
  const reach = (z * error) / (survival * Math.abs(Math.log(survival)));
  return { lower: Math.exp(-Math.exp(center + reach)), upper: Math.exp(-Math.exp(center - reach)) };
}

/**
 * Standard error of ln S with patients as units: each entry's influence on Σ ln(1 − d/n) up to a time, summed within patients and squared. Without ties and with one
 * entry a patient this is Greenwood's error.
 */
function clusteredErrors(
  data: EventTimes,
  steps: readonly { time: number; atRisk: number; events: number }[],
): number[] {
  const sums = new Map<string | number, number>();
  return steps.map(({ time, atRisk, events }) => {
    data.times.forEach((own, at) => {
      if (own < time || (data.entries?.[at] ?? Number.NEGATIVE_INFINITY) >= time) return;
      const happened = own === time && data.events[at] ? 1 : 0;
      const influence = (happened - events / atRisk) / (atRisk - events);
      const patient = data.patients?.[at] ?? at;
      sums.set(patient, (sums.get(patient) ?? 0) + influence);
    });
    let squares = 0;
    for (const sum of sums.values()) squares += sum * sum;
    return Math.sqrt(squares);
  });
}

function notesOf(data: EventTimes, steps: readonly SurvivalStep[], clustered: boolean): Note[] {
  const [first] = steps;
  const thin = data.entries !== undefined && first !== undefined && first.atRisk < 5;
  return [
    ...(clustered
      ? [information('patients-as-units', 'Several entries belong to one patient; the errors count patients.')]
      : []),
    ...(thin
      ? [
          caution(
            'few-at-risk-early',
            'The first events happened while fewer than five were under observation; the curve rests on them.',
          ),
        ]
      : []),
  ];
}
