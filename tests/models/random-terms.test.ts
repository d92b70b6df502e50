import { describe, expect, it } from 'vitest';
import { checkTerms, type RandomTerm, RandomTerms } from '../../src/models/random-terms.ts';
import { InputError, type Problem } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';

const patient = Array.from({ length: 24 }, (_, row) => Math.floor(row / 4));
const limb = patient.map((_, row) => (row % 4 < 2 ? 'left' : 'right'));
const assessor = patient.map((_, row) => (row * 7) % 3);
const day = patient.map((_, row) => (row * 5) % 11);
const all: RandomTerm[] = [
  { name: 'assessor', groups: assessor },
  { name: 'patient', groups: patient, slope: { name: 'day', values: day } },
  { name: 'limb', groups: limb, within: 'patient' },
];

describe('random terms', () => {
  const problems: Problem[] = [];
  const terms = new RandomTerms(24, checkTerms(all, 24, problems, false));

  it('put limbs and patients into the sparse part, assessors into the border', () => {
    expect(problems).toEqual([]);
    expect(terms.blocks.map(({ name }) => name)).toEqual(['limb', 'patient', 'assessor']);
    expect(terms.pattern.sparse).toBe(12 + 2 * 6);
    expect(terms.order).toBe(12 + 2 * 6 + 3);
    expect(terms.parameterCount).toBe(1 + 3 + 1);
    // A limb in a patient is labelled by both, and is another one in every patient.
    expect(terms.blocks[0]?.levels.slice(0, 3)).toEqual(['0/left', '0/right', '1/left']);
    // Below a limb: its patient's two effects and at most 3 assessors; below a patient: 1 or 0, and 3.
    expect(terms.pattern.size).toBeLessThanOrEqual(24 + 12 * 5 + 6 * 7 + 9);
  });

  it('build the information matrix of the scaled design', () => {
    const theta = Float64Array.of(0.5, 2, 0.3, 0.7, 1.1);
    const scaled = new Float64Array(terms.design.length);
    terms.scaleDesign(theta, scaled);
    const weights = Float64Array.from(patient, (_, row) => 1 + (row % 3));
    const values = new Float64Array(terms.pattern.size);
    terms.information(scaled, weights, values);
    const rms = Math.sqrt(day.reduce((sum, value) => sum + value * value, 0) / 24);
    const rows = Array.from({ length: 24 }, (_, row) => row);
    const slopeEntry = (row: number): number => (0.7 * (day[row] as number)) / rms;
    const interceptEntry = (row: number): number => 2 + (0.3 * (day[row] as number)) / rms;
    const first = rows.filter((row) => patient[row] === 0);
    const sum = (of: (row: number) => number, over: number[]): number =>
      over.reduce((total, row) => total + (weights[row] as number) * of(row), 0);
    expectNear(values[terms.pattern.position(12, 12)] as number, 1 + sum((r) => interceptEntry(r) ** 2, first), 1e-14);
    expectNear(
      values[terms.pattern.position(13, 12)] as number,
      sum((r) => interceptEntry(r) * slopeEntry(r), first),
      1e-14,
    );
    const both = first.filter((row) => assessor[row] === assessor[0]);
    expectNear(
      values[terms.pattern.position(24, 12)] as number,
      sum((r) => 1.1 * interceptEntry(r), both),
      1e-14,
    );
  });

  it('make diagonals positive without touching the covariance', () => {
    expect([...terms.positive(Float64Array.of(-1, -2, 3, -4, -0))]).toEqual([1, 2, -3, 4, 0]);
  });

  it('refuse a border too wide to be worked with', () => {
    const rows = 20_000;
    const wide: RandomTerm[] = [
      { name: 'a', groups: Int32Array.from({ length: rows }, (_, row) => row >> 1) },
      { name: 'b', groups: Int32Array.from({ length: rows }, (_, row) => (row * 7919) % 9001) },
    ];
    const checked = checkTerms(wide, rows, [], false);
    expect(() => new RandomTerms(rows, checked)).toThrowError(InputError);
  });
});
