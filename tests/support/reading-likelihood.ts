import { WEAK_PRIORS } from '../../src/models/reading-layer.ts';
import type { TargetReadings } from '../../src/models/reading-patterns.ts';
import { fillReadingProbabilities, type ReadingParameters } from '../../src/models/reading-probabilities.ts';

/** Drops one reading in six and lets one assessor repeat some, so that gaps and repeats enter. */
export function withGaps(data: TargetReadings): TargetReadings {
  const keep = Array.from({ length: data.target.length }, (_, row) => row).filter((row) => row % 6 !== 4);
  const rows = [...keep, ...keep.filter((row) => row % 9 === 0)];
  const column = (from: ArrayLike<number>): number[] => rows.map((row) => from[row] as number);
  return {
    target: column(data.target),
    reader: column(data.reader),
    category: column(data.category),
    cluster: column(data.cluster as ArrayLike<number>),
  };
}

/** The penalized log-likelihood written a second time, target by target, with Simpson's rule on 4,001 places. */
export function secondFormula(
  data: TargetReadings,
  reading: ReadingParameters,
  truth: 'normal' | { at: number[]; share: number[] },
): number {
  const nodes = truth === 'normal' ? Array.from({ length: 4001 }, (_, i) => -6 + (12 * i) / 4000) : truth.at;
  const weights =
    truth === 'normal'
      ? nodes.map(
          (x, i) =>
            ((12 / 4000 / 3) * (i === 0 || i === 4000 ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp((-x * x) / 2)) /
            Math.sqrt(2 * Math.PI),
        )
      : truth.share;
  const grades = reading.cuts.length + 1;
  const table = new Float64Array(reading.tendencies.length * grades * nodes.length);
  fillReadingProbabilities(reading, nodes, table);
  const byTarget = new Map<number, Float64Array>();
  for (let row = 0; row < data.target.length; row++) {
    const target = data.target[row] as number;
    let own = byTarget.get(target);
    if (own === undefined) {
      own = Float64Array.from(weights);
      byTarget.set(target, own);
    }
    const cell = ((data.reader[row] as number) * grades + (data.category[row] as number)) * nodes.length;
    for (let i = 0; i < nodes.length; i++) own[i] = (own[i] as number) * (table[cell + i] as number);
  }
  let sum = 0;
  for (const own of byTarget.values()) sum += Math.log(own.reduce((total, mass) => total + mass, 0));
  return sum;
}

export function logPriors(reading: ReadingParameters): number {
  const b = Array.from(reading.tendencies).reduce((sum, own) => sum - (own * own) / 2, 0);
  const spreads = Array.from(reading.spreads);
  const s = spreads.reduce((sum, own) => sum - Math.log(own / WEAK_PRIORS.spreadCenter) ** 2 / 2, 0);
  return b + s + 0.5 * Math.log(reading.slip) + 19 * Math.log(1 - reading.slip);
}
