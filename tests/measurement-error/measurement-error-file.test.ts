import { createHash } from 'node:crypto';
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

/** The error as a file of format 2 has it, its sum worked out here. */
function fileOf(error: string, { format = 2, sum = error } = {}): string {
  return `{"format":${format},"sha256":"${createHash('sha256').update(sum).digest('hex')}","error":${error}}`;
}

const SAVED =
  '{"kind":"lengths","confidenceLevel":0.9,"standardError":{"differentAssessor":{"statistic":"s","value":1.5,"standardError":{"$special":"NaN"},' +
  '"interval":{"lower":{"$special":"-Infinity"},"upper":{"$special":"Infinity"},"level":0.9,"method":"m"},"counts":{},"options":{}}},' +
  '"smallestDetectableChange":{"differentAssessor":{"statistic":"c","value":4,"standardError":1,"interval":{"lower":3,"upper":5,"level":0.9,"method":"m"},' +
  '"counts":{},"options":{"list":{"$numbers":[1,{"$special":"NaN"}]},"whole":{"$whole":[2,-1]}}}},"notes":[]}';

it('reads a file of format 2 that was written by hand: marks for what JSON does not know, and lists of numbers', () => {
  const error = measurementErrorFromText(fileOf(SAVED));
  if (error.kind !== 'lengths') return expect.unreachable();
  const { differentAssessor, sameAssessor } = error.standardError;
  expect(differentAssessor.value).toBe(1.5);
  expect(differentAssessor.standardError).toBeNaN();
  expect(differentAssessor.interval).toMatchObject({
    lower: Number.NEGATIVE_INFINITY,
    upper: Number.POSITIVE_INFINITY,
  });
  expect(sameAssessor).toBeUndefined();
  expect(error.smallestDetectableChange.sameAssessor).toBeUndefined();
  const { list, whole } = error.smallestDetectableChange.differentAssessor.options as Record<string, unknown>;
  expect(list).toEqual(Float64Array.of(1, Number.NaN));
  expect(whole).toEqual(Int32Array.of(2, -1));
  const { options: _lists, ...shown } = error.smallestDetectableChange.differentAssessor;
  expect(shown).toMatchObject({ value: 4, standardError: 1, kind: 'estimate' });
  // And is written so again, with the number of its format and the sum of what stands in it.
  const text = measurementErrorText(error);
  expect(text).toMatch(/^\{"format":2,("mark":"[^"]*",)?"sha256":"[0-9a-f]{64}","error":\{.*\}\}\n$/);
  const saved = text.slice(text.indexOf('"error":') + 8, -2);
  expect(text).toContain(createHash('sha256').update(saved).digest('hex'));
  expect(saved).toContain('"lower":{"$special":"-Infinity"},"upper":{"$special":"Infinity"}');
  expect(saved).toContain('"list":{"$numbers":[1,{"$special":"NaN"}]},"whole":{"$whole":[2,-1]}');
});

it('refuses another format before it looks at the sum, and a sum of something else', () => {
  const codeOf = (text: string): string => {
    try {
      measurementErrorFromText(text);
      return 'read';
    } catch (problem) {
      return (problem as InputError).problems[0]!.code;
    }
  };
  expect(codeOf(fileOf(SAVED))).toBe('read');
  expect(codeOf(fileOf(SAVED, { format: 1 }))).toBe('other-format');
  expect(codeOf(fileOf(SAVED, { format: 3, sum: '{}' }))).toBe('other-format');
  expect(codeOf(fileOf(SAVED, { sum: '{}' }))).toBe('changed-since-saved');
  expect(codeOf(fileOf('null'))).toBe('not-an-error-file');
  expect(codeOf(fileOf('{"kind":"lengths"}'))).toBe('not-an-error-file');
  expect(codeOf(fileOf('{"kind":"grades"}'))).toBe('not-an-error-file');
});
