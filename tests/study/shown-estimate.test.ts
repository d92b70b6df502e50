import { expect, it } from 'vitest';
import { caution } from '../../src/shared/note.ts';
import { shownNote } from '../../src/study/shown-estimate.ts';

it('leaves a number of fewer than five people out of a note, and every other note as it is', () => {
  const few = (patients: number) =>
    caution(
      'few-minority-patients',
      `Only ${patients} patients carry a reading other than "normal"; the interval may be too narrow.`,
    );
  expect(shownNote(few(4)).message).toBe(
    'Fewer than 5 patients carry another reading than the usual; the interval may be too narrow.',
  );
  expect(shownNote(few(4)).code).toBe('few-minority-patients');
  expect(shownNote(few(5))).toEqual(few(5));
  const other = caution('few-patients', 'Only 3 patients.');
  expect(shownNote(other)).toBe(other);
});
