import { describe, expect, it } from 'vitest';
import { coxRegression } from '../../src/progression/cox-regression.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

/** Thirty people with three limbs each, times in whole weeks so that many are tied, half of them entered late. */
function limbs() {
  const random = seededRandom(77);
  const data = {
    times: [] as number[],
    events: [] as boolean[],
    entries: [] as number[],
    patients: [] as number[],
  };
  const covariates = { treated: [] as number[], age: [] as number[] };
  for (let patient = 0; patient < 30; patient++) {
    const own = 0.6 * random.normal();
    const age = random.normal();
    for (let limb = 0; limb < 3; limb++) {
      const treated = random.below(2);
      const entry = random.below(2) * random.below(4);
      const hazard = 0.12 * Math.exp(own + 0.5 * treated - 0.4 * age);
      const time = entry + Math.ceil(-Math.log(1 - random.uniform()) / hazard);
      const end = entry + 3 + random.below(12);
      data.times.push(Math.min(time, end));
      data.events.push(time <= end);
      data.entries.push(entry);
      data.patients.push(patient);
      covariates.treated.push(treated);
      covariates.age.push(age);
    }
  }
  return { data, covariates };
}

/**
 * The sandwich written out from the definition, row by row and event by event (Lin DY, Wei LJ. J Am Stat Assoc 1989;84:1074–1078; Efron's ties
 * as each of the d tied events with the risk set less j/d of the tied ones): score residuals, their sums over patients, K/(K − 1).
 */
function sandwichByDefinition(beta: readonly number[], ties: 'efron' | 'breslow') {
  const { data, covariates } = limbs();
  const x = data.times.map((_, row) => [covariates.treated[row]!, covariates.age[row]!]);
  const weight = x.map(([a, b]) => Math.exp(beta[0]! * a! + beta[1]! * b!));
  const residual = x.map(() => [0, 0]);
  const information = [
    [0, 0],
    [0, 0],
  ];
  for (const time of new Set(data.times.filter((_, row) => data.events[row]))) {
    const risk = data.times.flatMap((until, row) => (data.entries[row]! < time && until >= time ? [row] : []));
    const tied = risk.filter((row) => data.times[row] === time && data.events[row]);
    tied.forEach((_, j) => {
      const part = (row: number): number =>
        weight[row]! * (tied.includes(row) && ties === 'efron' ? 1 - j / tied.length : 1);
      const total = risk.reduce((sum, row) => sum + part(row), 0);
      const mean = [0, 1].map((k) => risk.reduce((sum, row) => sum + part(row) * x[row]![k]!, 0) / total);
      for (const row of risk)
        for (const k of [0, 1]) residual[row]![k]! -= (part(row) / total) * (x[row]![k]! - mean[k]!);
      for (const row of tied) for (const k of [0, 1]) residual[row]![k]! += (x[row]![k]! - mean[k]!) / tied.length;
      for (const k of [0, 1])
        for (const l of [0, 1])
          information[k]![l]! +=
            risk.reduce((sum, row) => sum + part(row) * x[row]![k]! * x[row]![l]!, 0) / total - mean[k]! * mean[l]!;
    });
  }
  const middle = [
    [0, 0],
    [0, 0],
  ];
  for (let patient = 0; patient < 30; patient++) {
    const sum = [0, 1].map((k) =>
      residual.reduce((total, own, row) => total + (data.patients[row] === patient ? own[k]! : 0), 0),
    );
    for (const k of [0, 1]) for (const l of [0, 1]) middle[k]![l]! += (sum[k]! * sum[l]! * 30) / 29;
  }
  const [[a, b], [, d]] = information as [[number, number], [number, number]];
  const determinant = a * d - b * b;
  const inverse = [
    [d / determinant, -b / determinant],
    [-b / determinant, a / determinant],
  ];
  return [0, 1].map((k) => {
    let variance = 0;
    for (const i of [0, 1]) for (const j of [0, 1]) variance += inverse[k]![i]! * middle[i]![j]! * inverse[j]![k]!;
    return Math.sqrt(variance);
  });
}

describe('errors of Cox regression that count patients', () => {
  it.each(['efron', 'breslow'] as const)('are those of the definition, with late entry and %s ties', (ties) => {
    const { data, covariates } = limbs();
    const { effects, counts } = coxRegression(data, covariates, { ties });
    expect(counts.patients).toBe(30);
    const expected = sandwichByDefinition(
      effects.map(({ logRatio }) => logRatio),
      ties,
    );
    effects.forEach(({ standardError }, k) => {
      expectNear(standardError, expected[k]!, 1e-9);
    });
  });
});
