import { expect, it } from 'vitest';
import { arrivalAndStay } from '../../src/unit-quality/arrival-and-stay.ts';
import { SCALE_A, unitFile } from './unit-file.ts';

const options = { sign: 'pitting-edema', atLeast: '2' } as const;

const file = unitFile([
  // There on arrival, and worse later: on arrival, never new.
  ['s1', 1, 0, 'left', '2'],
  ['s1', 1, 3, 'right', '4'],
  // Free on arrival, new in period 2.
  ['s2', 1, 0, 'left', '1'],
  ['s2', 1, 0, 'right', '0'],
  ['s2', 1, 4, 'left', '1'],
  ['s2', 2, 30, 'left', '3'],
  ['s2', 2, 33, 'left', '3'],
  // Only the left leg read on arrival; the right one later at grade 3 may have been there.
  ['s3', 1, 0, 'left', '0'],
  ['s3', 1, 5, 'right', '3'],
  // Not assessed on arrival: never new.
  ['s4', 2, 0, 'left', 'not-assessed'],
  ['s4', 2, 3, 'left', '4'],
  // Free, read again, stays free.
  ['s5', 2, 0, 'left', '0'],
  ['s5', 2, 3, 'left', '1'],
]);

it('never counts what was there on arrival, or was not read then, as new', async () => {
  const [segment] = arrivalAndStay(await file, options).segments;
  expect(
    segment!.periods.map(({ onArrival, newDuringStay, unknownOnArrival }) => [
      [onArrival.count, onArrival.outOf],
      [newDuringStay.count, newDuringStay.outOf],
      unknownOnArrival,
    ]),
  ).toEqual([
    // Three arrive in period 1, one with edema; only s2 is read again on a leg known to be free.
    [[1, 3], [0, 1], 0],
    [[0, 1], [1, 2], 1],
  ]);
});

it('takes readings of the first days as those of arrival when asked to', async () => {
  const { periods } = arrivalAndStay(await file, { ...options, arrivalDays: 4 }).segments[0]!;
  expect([periods[1]!.onArrival.count, periods[1]!.onArrival.outOf, periods[1]!.unknownOnArrival]).toEqual([1, 2, 0]);
});

it('does not compare a later reading on another scale', async () => {
  const changed = await unitFile([
    ['s1', 1, 0, 'left', '0', { scale: SCALE_A }],
    ['s1', 2, 9, 'left', '4'],
    ['s2', 2, 0, 'left', '0'],
  ]);
  const { segments } = arrivalAndStay(changed, options);
  expect(segments.map(({ periods }) => periods[0]!.newDuringStay.count)).toEqual([0, 0]);
});

it('says how many are unknown on arrival, and refuses what it cannot know', async () => {
  const result = arrivalAndStay(await file, options);
  expect(result.notes.map((note) => note.message).join(' ')).toContain('1 of 5 stays have no reading on arrival');
  expect(result.table.rows[1]).toMatchObject({ fresh: 1, atRisk: 2, unknown: 1 });
  const assessments = await file;
  expect(() => arrivalAndStay(assessments, { ...options, arrivalDays: 0 })).toThrow(/whole number of days/);
  expect(() => arrivalAndStay(assessments, { ...options, atLeast: '9' })).toThrow(/no grade "9"/);
});
