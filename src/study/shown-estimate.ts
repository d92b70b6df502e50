import { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { caution, type Note } from '../shared/note.js';

/** An estimate as others than the makers of a study may see it: a note that counts fewer than five people says so without the number. */
export function shownEstimate(estimate: Estimate): Estimate {
  return new Estimate({ ...estimate, notes: estimate.notes.map(shownNote) });
}

/** The note with a small number of people left out of it. */
export function shownNote(note: Note): Note {
  if (note.code !== 'few-minority-patients') return note;
  const [, patients] = /^Only (\d+) patients?/.exec(note.message) ?? [];
  if (patients !== undefined && Number(patients) >= FEWEST_SHOWN) return note;
  return caution(
    note.code,
    `Fewer than ${FEWEST_SHOWN} patients carry another reading than the usual; the interval may be too narrow.`,
  );
}
