import { Estimate } from './estimate.js';
import type { Note } from './note.js';

/** An estimate to three decimals, without the figures behind it and without notes that carry figures: what goes outside the hospital. */
export function roundedEstimate(estimate: Estimate): Estimate {
  const round = (value: number): number => Math.round(1000 * value) / 1000;
  const { interval } = estimate;
  return new Estimate({
    ...estimate,
    value: round(estimate.value),
    standardError: round(estimate.standardError),
    interval: { ...interval, lower: round(interval.lower), upper: round(interval.upper) },
    details: {},
    notes: withoutFigures(estimate.notes),
  });
}

/** The notes that hold no figure. */
export function withoutFigures(notes: readonly Note[]): readonly Note[] {
  return notes.filter(({ message }) => !/\d/.test(message));
}
