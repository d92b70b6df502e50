import { beforeAll, expect, it } from 'vitest';
import { type MeasurementError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { serialChecks } from '../../src/progression/serial-checks.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
let error: MeasurementError;
let serial: Awaited<ReturnType<typeof simulatedLimbs>>['serial'];

beforeAll(async () => {
  const made = await simulatedLimbs(7, { patients: 40, serial: 150, readingsPerVisit: 3 });
  error = measurementErrorOf(ratingsFrom(made.study, { sign: 'pulse-grade' }));
  serial = made.serial;
});

it('finds nothing to look at where readings are fresh', () => {
  const { checks } = serialChecks(serial, error);
  expect(checks.map((check) => check.look)).toEqual([false, false, false]);
  expect(checks[0]!.answer).toMatch(/^\d+ of 450 readings repeat/);
});

it('asks about readings that repeat more often than fresh ones would', async () => {
  const copied: Line[] = Array.from({ length: 60 }, (_, at): Line[] =>
    [0, 30, 60].map((day) => [`c${at}`, day, 'A', 'left-leg', 'popliteal', at % 5]),
  ).flat();
  const [check] = serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', copied), error).checks;
  expect(check!.look).toBe(true);
  expect(check!.answer).toMatch(/^120 of 120 readings repeat/);
});

// Patients who each repeat one grade twice exceed what is allowed by 2(1 − c) each: n patients by 2n(1 − c) against two standard errors,
// 4√n (1 − c), whatever the chance c. Above it from five patients on.
it('holds the excess against two standard errors, patients as the units', async () => {
  const look = async (patients: number): Promise<boolean> => {
    const lines = Array.from({ length: patients }, (_, at): Line[] =>
      [0, 30, 60].map((day) => [`c${at}`, day, 'A', 'left-leg', 'popliteal', 2]),
    ).flat();
    return serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines), error).checks[0]!.look;
  };
  expect(await look(3)).toBe(false);
  expect(await look(5)).toBe(true);
});

it('asks about visits that come sooner after a worse grade, and about other readers at the end', async () => {
  const lines: Line[] = Array.from({ length: 40 }, (_, at): Line[] => [
    [`d${at}`, 0, 'A', 'left-leg', 'popliteal', at % 4],
    [`d${at}`, 10 + 20 * (at % 4), 'B', 'left-leg', 'popliteal', 2],
  ]).flat();
  const { checks } = serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines), error);
  expect(checks[1]!.look).toBe(true);
  expect(checks[2]!.answer).toMatch(/^40 of 40/);
  expect(checks[2]!.look).toBe(true);
});
