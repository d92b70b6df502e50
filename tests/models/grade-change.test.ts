import { describe, expect, test } from 'vitest';
import { type GradeChangeModel, gradeChange } from '../../src/models/grade-change.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';

// Constructed matrices, joint enumeration (independent code).
const E = [
  [0.9, 0.1, 0, 0, 0],
  [0.08, 0.77, 0.15, 0, 0],
  [0, 0.12, 0.7, 0.18, 0],
  [0, 0, 0.15, 0.75, 0.1],
  [0, 0, 0.02, 0.23, 0.75],
];
const model: GradeChangeModel = {
  prior: [0.05, 0.15, 0.3, 0.4, 0.1],
  transitions: [
    [0.95, 0.05, 0, 0, 0],
    [0.08, 0.87, 0.05, 0, 0],
    [0.02, 0.08, 0.85, 0.05, 0],
    [0, 0.02, 0.08, 0.86, 0.04],
    [0, 0, 0.02, 0.1, 0.88],
  ],
  errors: [E, E],
};

describe('gradeChange', () => {
  test('with another matrix on each occasion, every pair by hand', () => {
    const found = gradeChange(
      {
        prior: [0.3, 0.7],
        transitions: [
          [0.6, 0.4],
          [0.25, 0.75],
        ],
        errors: [
          [
            [0.9, 0.1],
            [0.2, 0.8],
          ],
          [
            [0.95, 0.05],
            [0.35, 0.65],
          ],
        ],
      },
      [1, 1],
    );
    const masses = [0.3 * 0.1 * 0.6 * 0.05, 0.3 * 0.1 * 0.4 * 0.65, 0.7 * 0.8 * 0.25 * 0.05, 0.7 * 0.8 * 0.75 * 0.65];
    const total = masses.reduce((sum, mass) => sum + mass, 0);
    expectNear(found.probabilityOfReadings, total, 1e-15);
    found.joint.flat().forEach((share, at) => {
      expectNear(share, (masses[at] as number) / total, 1e-14);
    });
    expectNear(found.rose, (masses[1] as number) / total, 1e-14);
    expectNear(found.fell, (masses[2] as number) / total, 1e-14);
    expectNear(found.stayed, ((masses[0] as number) + (masses[3] as number)) / total, 1e-14);
    expect(found.notes).toEqual([]);
  });

  test('refuses rows that are no distributions, wherever they stand, and grades off the scale', () => {
    const paths = (part: Partial<GradeChangeModel>, observed: readonly [number, number] = [0, 0]): string[] => {
      try {
        gradeChange({ ...model, ...part }, observed);
      } catch (error) {
        return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
      }
      return [];
    };
    const broken = (row: number[]): number[][] => [...E.slice(0, 2), row, ...E.slice(3)];
    expect(paths({})).toEqual([]);
    for (const row of [
      [0.5, 0.5],
      [0.6, 0.6, 0, 0, 0],
      [0.5, 0.4, 0, 0, 0],
      [1.5, -0.5, 0, 0, 0],
      [Number.NaN, 1, 0, 0, 0],
    ]) {
      expect(paths({ transitions: broken(row) })).toEqual(['bad-model transitions.2']);
      expect(paths({ errors: [broken(row), E] })).toEqual(['bad-model errors.0.2']);
      expect(paths({ errors: [E, broken(row)] })).toEqual(['bad-model errors.1.2']);
      if (row.length === 5) expect(paths({ prior: row })).toEqual(['bad-model prior']);
    }
    expect(paths({ transitions: E.slice(1), errors: [E.slice(1), E.slice(0, 4)] }, [-1, 1.5])).toEqual([
      'bad-model transitions',
      'bad-model errors.0',
      'bad-model errors.1',
      'bad-value observed.0',
      'bad-value observed.1',
    ]);
    expect(paths({}, [4, 5])).toEqual(['bad-value observed.1']);
  });

  test('3 then 2', () => {
    const found = gradeChange(model, [3, 2]);
    expectNear(found.probabilityOfReadings, 0.0908948, 1e-10);
    expectNear(found.fell, 0.20919788590766467, 1e-10);
    expectNear(found.stayed, 0.7837059985829771, 1e-10);
    expectNear(found.rose, 0.007096115509358071, 1e-10);
    expectNear(found.joint[3]?.[2] as number, 0.18482905512746603, 1e-10);
    expectNear(found.joint[2]?.[3] as number, 0.004455700436108556, 1e-10);
  });

  test('3 then 1', () => {
    const found = gradeChange(model, [3, 1]);
    expectNear(found.probabilityOfReadings, 0.0164976, 1e-10);
    expectNear(found.fell, 0.6661332557462903, 1e-10);
    expectNear(found.joint[2]?.[0] as number, 0.006546406750072738, 1e-10);
    expect(found.rose).toBe(0);
  });

  test('readings that cannot occur are said to be incompatible', () => {
    const still = {
      ...model,
      prior: [1, 0, 0, 0, 0],
      transitions: E.map((_, g) => E.map((_row, h) => Number(g === h))),
    };
    const found = gradeChange(still, [4, 4]);
    expect(found.probabilityOfReadings).toBe(0);
    expect(found.fell).toBeNaN();
    expect(found.notes.map(({ code }) => code)).toEqual(['incompatible-readings']);
  });

  test('the example', () => {
    const errors = [
      [0.9, 0.1],
      [0.2, 0.8],
    ];
    const found = gradeChange(
      {
        prior: [0.5, 0.5],
        transitions: [
          [0.9, 0.1],
          [0.2, 0.8],
        ],
        errors: [errors, errors],
      },
      [1, 0],
    );
    // .5·.8·.2·.9 = .072 fell; .5·.1·.9·.9 = .0405 and .5·.8·.8·.2 = .064 stayed; .5·.1·.1·.2 = .001 rose.
    expectNear(found.fell, 0.072 / (0.072 + 0.0405 + 0.064 + 0.001), 1e-12);
  });

  test('names every fault', () => {
    expect(() => gradeChange({ ...model, prior: [1, 1, 0, 0, 0], transitions: E.slice(1) }, [5, 0])).toThrow(
      /prior[\s\S]*transitions has 4 rows[\s\S]*observed\[0\]/,
    );
  });
});
