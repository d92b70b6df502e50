import { checkEventTimes, type EventTimes, eventSteps } from './event-times.js';

export interface HazardStep {
  readonly time: number;
  readonly cumulativeHazard: number;
  readonly standardError: number;
  /** exp(−H), the share without the event that follows from the hazard. */
  readonly survival: number;
}

/**
 * Nelson–Aalen cumulative hazard: H(t) = Σ_{tᵢ ≤ t} dᵢ/nᵢ with variance Σ dᵢ/nᵢ².
 *
 * `ties: 'one by one'` takes tied events as happening one after another: Σ over the dᵢ of 1/(nᵢ − j), j = 0 … dᵢ − 1 (Fleming and Harrington).
 *
 * @throws InputError as `kaplanMeier`.
 * Source: Aalen O. Ann Stat 1978;6:701–726, doi:10.1214/aos/1176344247.
 */
export function nelsonAalen(
  data: EventTimes,
  options: { readonly ties?: 'together' | 'one by one' } = {},
): HazardStep[] {
  checkEventTimes(data);
  let hazard = 0;
  let variance = 0;
  return eventSteps(data).map(({ time, atRisk, events }) => {
    if (options.ties === 'one by one') {
      for (let j = 0; j < events; j++) {
        hazard += 1 / (atRisk - j);
        variance += 1 / (atRisk - j) ** 2;
      }
    } else {
      hazard += events / atRisk;
      variance += events / (atRisk * atRisk);
    }
    return { time, cumulativeHazard: hazard, standardError: Math.sqrt(variance), survival: Math.exp(-hazard) };
  });
}
