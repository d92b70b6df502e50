import { expect, it } from 'vitest';
import { measurementErrorFromText, measurementErrorText } from '../../src/measurement-error/measurement-error-file.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

it('comes back as it was: the same calls and chances to the last digit, without a code of a patient', async () => {
  const { study, serial } = await simulatedLimbs(5, { patients: 40, serial: 60, readingsPerVisit: 1 });
  const error = measurementErrorOf(ratingsFrom(study, { sign: 'pulse-grade' }));
  const text = measurementErrorText(error);
  const back = measurementErrorFromText(text);
  expect(changeCalls(serial, back).limbs.map((limb) => [limb.call, limb.chance])).toEqual(
    changeCalls(serial, error).limbs.map((limb) => [limb.call, limb.chance]),
  );
  expect(measurementErrorText(back)).toBe(text);
  expect(text).not.toMatch(/"s\d+"/);
});

it('keeps seconds and lengths, undefined numbers and all', () => {
  const error = measurementErrorOf(
    ratingsOf([
      [1.2, 1.4],
      [2.2, 2.1],
      [3, null],
    ]),
    { as: 'lengths' },
  );
  const back = measurementErrorFromText(measurementErrorText(error));
  expect(back).toEqual(error);
  // Nobody read twice: the error is NaN, which JSON does not know. Numbers that it knows stay plain.
  const unknown = measurementErrorOf(ratingsOf([[1.2, null]]), { as: 'lengths' });
  expect(unknown.kind === 'lengths' && unknown.standardError.differentAssessor.value).toBeNaN();
  expect(measurementErrorFromText(measurementErrorText(unknown))).toEqual(unknown);
  expect(measurementErrorText(error)).toMatch(/"confidenceLevel":0\.95/);
});

it('refuses what is no saved error, and another format', () => {
  expect(() => measurementErrorFromText('patient,day')).toThrow(/not a saved error/);
  expect(() => measurementErrorFromText('{"format":2}')).toThrow(/not a saved error/);
  expect(() => measurementErrorFromText('{"format":99,"error":{"kind":"grades"}}')).toThrow(/format 99/);
});

it('refuses a file that was cut or changed in one digit, and what only looks like one', () => {
  const text = measurementErrorText(
    measurementErrorOf(
      ratingsOf([
        [1.2, 1.4],
        [2.2, 2.1],
        [3, 3.3],
      ]),
      { as: 'lengths' },
    ),
  );
  const digit = text.lastIndexOf('0.9') + 2;
  expect(() => measurementErrorFromText(`${text.slice(0, digit)}8${text.slice(digit + 1)}`)).toThrow(/cut or changed/);
  expect(() => measurementErrorFromText(text.slice(0, -20))).toThrow(/not a saved error/);
  for (const error of ['null', '1', '{"kind":"grades"}', '['.repeat(100_000)])
    expect(() => measurementErrorFromText(`{"format":2,"error":${error}}`)).toThrow(InputError);
});
