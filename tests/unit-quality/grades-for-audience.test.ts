import { expect, it } from 'vitest';
import { gradesResultOf } from '../../src/unit-quality/grades-by-period.ts';
import { gradesForAudience } from '../../src/unit-quality/grades-for-audience.ts';

const grades = gradesResultOf(
  {
    signLabel: 'Pitting edema',
    counted: 'stays',
    rule: 'worst reading',
    segments: [
      {
        scaleLabel: 'depth',
        grades: ['0: none', '1: slight', '2: deep', '3: deeper', '4: deepest'],
        values: ['0', '1', '2', '3', '4'],
        periods: [{ label: '1', counts: [20, 2, 9, 3, 3], notAssessed: 0 }],
      },
    ],
  },
  [],
);

it('names joined grades by the lowest and the highest, and joins none across the grade of a share', () => {
  const [segment] = gradesForAudience(grades, 'outside', { atLeast: '2' }).segments;
  expect(segment).toMatchObject({
    grades: ['0: none through 1: slight', '2: deep', '3: deeper through 4: deepest'],
    values: ['0–1', '2', '3–4'],
    periods: [{ counts: [22, 9, 6] }],
  });
});

it('joins elsewhere where the share begins at another grade', () => {
  const [segment] = gradesForAudience(grades, 'outside', { atLeast: '1' }).segments;
  expect(segment!.values).not.toContain('0–1');
  expect(segment!.grades[0]).toBe('0: none');
});

it('leaves all grades as they are for those inside', () => {
  expect(gradesForAudience(grades, 'inside').segments).toEqual(grades.segments);
});
