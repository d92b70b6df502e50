import { InputError, type Problem } from '../shared/input-error.js';

/** Times to an event, one entry a limb or patient, in one unit of time. */
export interface EventTimes {
  /** Time of the event or of the last observation. */
  readonly times: readonly number[];
  /** Whether the event was seen at that time; otherwise it had not happened by then. */
  readonly events: readonly boolean[];
  /** When observation began (late entry): before it nobody could have been seen with the event. Default 0. */
  readonly entries?: readonly number[];
  /** The patient of each entry; two limbs of one patient are not independent. Default: every entry its own. */
  readonly patients?: readonly (string | number)[];
}

/** Refuses unequal columns and times that are not times, all at once. */
export function checkEventTimes(data: EventTimes, groups?: readonly unknown[]): void {
  const problems: Problem[] = [];
  const n = data.times.length;
  if (n === 0) problems.push({ code: 'no-rows', path: ['times'], message: 'There are no times.' });
  const lengths = { events: data.events, entries: data.entries, patients: data.patients, groups };
  for (const [name, column] of Object.entries(lengths))
    if (column !== undefined && column.length !== n)
      problems.push({
        code: 'bad-length',
        path: [name],
        message: `${name} has ${column.length} entries for ${n} times.`,
      });
  data.times.forEach((time, at) => {
    if (!(Number.isFinite(time) && time >= 0))
      problems.push({
        code: 'bad-time',
        path: ['times', at],
        message: `A time is ${time}.`,
        expected: 'a number of 0 or more',
      });
    const entry = data.entries?.[at];
    if (entry !== undefined && !(Number.isFinite(entry) && entry < time))
      problems.push({
        code: 'bad-entry',
        path: ['entries', at],
        message: `Observation begins at ${entry} and ends at ${time}.`,
        expected: 'a beginning before the end',
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}

/** One time at which events happened. */
export interface EventStep {
  readonly time: number;
  readonly atRisk: number;
  readonly events: number;
}

/** The times with events, in order, with how many were at risk just before. Censoring at an event time comes after it. */
export function eventSteps(data: EventTimes): EventStep[] {
  const times = [...new Set(data.times.filter((_, at) => data.events[at]))].sort((a, b) => a - b);
  return times.map((time) => {
    let atRisk = 0;
    let events = 0;
    data.times.forEach((own, at) => {
      if (own >= time && (data.entries?.[at] ?? Number.NEGATIVE_INFINITY) < time) atRisk++;
      if (own === time && data.events[at]) events++;
    });
    return { time, atRisk, events };
  });
}
