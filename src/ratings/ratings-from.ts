import type { Assessments, TextColumnName } from '../assessments/assessments.js';
import { InputError, refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { signOf } from '../signs/codebook.js';
import { safeMappings } from '../signs/scale-mapping.js';
import type { Scale, Sign } from '../signs/sign.js';
import { orderedRatings } from './ordered-ratings.js';
import type { RatingCategory, Ratings, RatingsFields, RepeatReading } from './ratings.js';

/** When two readings are of the same finding: in the same occasion, on the same day, or at most so many days apart. */
export type SameTarget = 'occasion' | 'day' | { readonly days: number };

export interface RatingsFromOptions {
  readonly sign: string;
  /** Needed when the assessments hold the sign on more than one scale: they are never pooled. */
  readonly scale?: string;
  /** One site or several; default all. */
  readonly site?: string | readonly string[];
  /** Default `'occasion'` where occasions are recorded, else `'day'`. */
  readonly window?: SameTarget;
}

/** Attributes of a target that a study can be split by. */
const ATTRIBUTES = ['site', 'limb', 'unit', 'phase', 'round', 'occasion'] as const satisfies readonly TextColumnName[];

/**
 * Ratings of one sign on one scale from assessments: which readings are of the same target, by whom.
 *
 * A target is the same sign on the same limb and site of the same patient at the same time (`window`). Targets stand in an
 * order that the readings decide (patient's code, then grades), so however the rows are sorted every digit is the same. The
 * first replicate of an assessor enters the matrix, further ones stay beside it as repeats. Reference readings
 * and readings without an assessor do not enter; readings given only as a bound (`<2`) count as gaps; both are
 * counted in notes, as is each reason for a missing reading.
 *
 * @throws InputError `unknown-sign`, `sign-not-present`, `scale-needed` (several scales; the safe mappings are
 * offered), `scale-not-present`, `no-readings`, `bad-option`, `same-assessor-twice` (one assessor, one target, the same
 * replicate; with how many).
 * @example ratingsFrom(assessments, { sign: 'pulse-grade', site: 'popliteal' })
 */
export function ratingsFrom(assessments: Assessments, options: RatingsFromOptions): Ratings {
  const { sign, scale, readings } = readingsOf(assessments, options);
  const key = targetKey(readings, options.window);

  const columnOf = assessorColumns(readings);
  const columns = columnOf.size;
  const keys = new Map<string | number, number>();
  const firstRow: number[] = [];
  const missing = new Map<string, number>();
  // Of each assessment that is a reading: its row and its place in the matrix.
  const rows = new Int32Array(readings.length);
  const places = new Int32Array(readings.length);
  let count = 0;
  let references = 0;
  let anonymous = 0;
  let bounds = 0;
  for (let row = 0; row < readings.length; row++) {
    if (readings.reference[row] === 1) {
      references++;
      continue;
    }
    const assessor = readings.assessor.codes[row]!;
    if (assessor < 0) {
      anonymous++;
      continue;
    }
    const target = numberOf(keys, key(row), firstRow, row);
    const kind = kindOfReading(readings, scale, row);
    if (kind === 'bound') bounds++;
    else if (kind === 'reading') {
      rows[count] = row;
      places[count++] = target * columns + columnOf.get(assessor)!;
    } else {
      const reason = readings.wordAt('missing', row) ?? 'left blank';
      missing.set(reason, (missing.get(reason) ?? 0) + 1);
    }
  }
  if (count === 0)
    throw refuse('no-readings', ['assessments'], `No assessor has a reading of ${sign.label.toLowerCase()} here.`);

  const { categories, codeOf } = categoriesFrom(scale, readings);
  const targets = keys.size;
  const codes = new Int32Array(targets * columns).fill(-1);
  // The first replicate of a place stands in the matrix; where there are others they are put in order first.
  const found = new Uint8Array(targets * columns);
  for (let at = 0; at < count; at++) if (found[places[at]!]! < 2) found[places[at]!]!++;
  const several: { row: number; place: number; replicate: number }[] = [];
  for (let at = 0; at < count; at++) {
    const place = places[at]!;
    const row = rows[at]!;
    const replicate = readings.replicate[row]!;
    if (found[place] === 1) codes[place] = codeOf(row);
    else several.push({ row, place, replicate: Number.isNaN(replicate) ? 1 : replicate });
  }
  several.sort((a, b) => a.place - b.place || a.replicate - b.replicate || a.row - b.row);
  const repeats: RepeatReading[] = [];
  let doubles = 0;
  several.forEach(({ row, place, replicate }, at) => {
    const before = several[at - 1];
    const again = before?.place === place;
    if (again && before.replicate === replicate) doubles++;
    const code = codeOf(row);
    if (!again) codes[place] = code;
    else {
      const assessor = place % columns;
      repeats.push({
        target: (place - assessor) / columns,
        assessor,
        replicate,
        code,
        number: readings.number[row]!,
      });
    }
  });
  refuseDoubles(doubles);
  const word = (code: number): string => readings.assessor.values[code]!;
  return orderedRatings({
    ...aboutRatings(sign, scale, categories),
    assessors: [...columnOf.keys()].map(word),
    codes,
    patients: firstRow.map((row) => readings.wordAt('patient', row)!),
    repeats,
    attributes: attributesOf(readings, firstRow),
    notes: notesOf(missing, references, anonymous, bounds),
  });
}

/** Throws `same-assessor-twice` where readings of one target by one assessor have the same replicate number. */
export function refuseDoubles(doubles: number): void {
  if (doubles === 0) return;
  throw new InputError([
    {
      code: 'same-assessor-twice',
      path: ['options', 'window'],
      message: `${doubles} readings are a second one of the same finding by the same assessor with the same replicate number.`,
      mend: 'number the repeats in the column replicate, record the occasion, or choose a narrower window.',
    },
  ]);
}

/** What ratings of a sign on a scale say of themselves. */
export function aboutRatings(
  sign: Sign,
  scale: Scale,
  categories: readonly RatingCategory[],
): Pick<RatingsFields, 'level' | 'categories' | 'subject'> {
  return {
    level: scale.level,
    categories,
    subject: {
      sign: sign.id,
      signLabel: sign.label,
      scale: scale.id,
      scaleLabel: scale.label,
      ...(scale.unit === undefined ? {} : { unit: scale.unit }),
    },
  };
}

/** The assessments that are meant: of one sign on one scale, at the sites asked for. */
export function readingsOf(
  assessments: Assessments,
  options: Pick<RatingsFromOptions, 'sign' | 'scale' | 'site'>,
): { readonly sign: Sign; readonly scale: Scale; readonly readings: Assessments } {
  const sign = signOf(options.sign);
  const ofSign = assessments.where({ sign: sign.id, ...(options.site === undefined ? {} : { site: options.site }) });
  if (ofSign.length === 0)
    throw refuse(
      'sign-not-present',
      ['options', 'sign'],
      `There are no assessments of ${sign.label.toLowerCase()}${options.site === undefined ? '' : ' at that site'}.`,
      `the file holds ${assessments.sign.values.join(', ')}.`,
    );
  const scale = scaleFor(ofSign, options.scale);
  return { sign, scale, readings: ofSign.where({ scale: scale.id }) };
}

/** What an assessment adds to ratings: a reading, a bound (which counts as a gap), or nothing. */
export function kindOfReading(readings: Assessments, scale: Scale, row: number): 'reading' | 'bound' | 'missing' {
  if (scale.categories !== undefined) return readings.category[row]! >= 0 ? 'reading' : 'missing';
  if (readings.comparator.codes[row]! >= 0) return 'bound';
  return Number.isNaN(readings.number[row]!) ? 'missing' : 'reading';
}

function scaleFor(ofSign: Assessments, asked: string | undefined): Scale {
  const present = ofSign.scales;
  const names = present.map((scale) => scale.id).join(', ');
  if (asked !== undefined) {
    const found = present.find((scale) => scale.id === asked);
    if (found !== undefined) return found;
    throw refuse(
      'scale-not-present',
      ['options', 'scale'],
      `You wrote ${JSON.stringify(asked)}; this sign is recorded on ${names}.`,
    );
  }
  if (present.length === 1) return present[0]!;
  const reachable = present.map((scale) => [scale.id, ...safeMappings(scale.id).map((mapping) => mapping.to)]);
  const shared = reachable[0]!.filter((id) => reachable.every((ids) => ids.includes(id)));
  throw refuse(
    'scale-needed',
    ['options', 'scale'],
    `This sign is recorded on ${present.length} scales (${names}); the same digit does not mean the same on them, so they are not pooled.`,
    `name one in the option scale${shared.length === 0 ? '' : `, or map all of them to ${shared.join(' or ')} first`}.`,
  );
}

/** What tells targets apart, as a key per row. */
function targetKey(readings: Assessments, window: SameTarget | undefined): (row: number) => string | number {
  const { patient, limb, site, occasion, day } = readings;
  const place = (row: number): string => `${patient.codes[row]}/${limb.codes[row]}/${site.codes[row]}`;
  const chosen = window ?? (occasion.codes.some((code) => code >= 0) ? 'occasion' : 'day');
  if (chosen === 'occasion') {
    // As one whole number where that is exact: a text for each of a million rows takes longer than all the rest.
    const [limbs, sites, occasions] = [limb, site, occasion].map(({ values }) => values.length + 1) as [
      number,
      number,
      number,
    ];
    const isExact = patient.values.length * limbs * sites * occasions < Number.MAX_SAFE_INTEGER;
    return isExact
      ? (row) =>
          ((patient.codes[row]! * limbs + limb.codes[row]! + 1) * sites + site.codes[row]! + 1) * occasions +
          occasion.codes[row]! +
          1
      : (row) => `${place(row)}/${occasion.codes[row]}`;
  }
  if (chosen === 'day') return (row) => `${place(row)}/${day[row]}`;
  if (typeof chosen !== 'object' || !(chosen.days >= 0))
    throw refuse(
      'bad-option',
      ['options', 'window'],
      'window is not a way to tell findings apart.',
      "give 'occasion', 'day' or { days: 2 }.",
    );
  // A window opens with a reading and holds all that follow within its days.
  const order = Array.from({ length: readings.length }, (_, row) => row).sort(
    (a, b) => place(a).localeCompare(place(b)) || day[a]! - day[b]! || a - b,
  );
  const keys = new Array<string>(readings.length);
  let open = { place: '', day: Number.NaN };
  for (const row of order) {
    const here = place(row);
    if (open.place !== here || !(day[row]! - open.day <= chosen.days)) open = { place: here, day: day[row]! };
    keys[row] = `${here}/${open.day}`;
  }
  return (row) => keys[row]!;
}

function numberOf(known: Map<string | number, number>, key: string | number, firstRow: number[], row: number): number {
  const found = known.get(key);
  if (found !== undefined) return found;
  const next = known.size;
  known.set(key, next);
  firstRow.push(row);
  return next;
}

/** Columns in order of the assessors' codes, so that the same file gives the same columns however its rows are sorted. */
function assessorColumns(readings: Assessments): Map<number, number> {
  const used = new Set<number>();
  for (let row = 0; row < readings.length; row++)
    if (readings.assessor.codes[row]! >= 0 && readings.reference[row] !== 1) used.add(readings.assessor.codes[row]!);
  const word = (code: number): string => readings.assessor.values[code]!;
  const ordered = [...used].sort((a, b) => (word(a) < word(b) ? -1 : 1));
  return new Map(ordered.map((code, column) => [code, column]));
}

/** The scale's categories; for a measured value, its distinct numbers. */
export function categoriesFrom(
  scale: Scale,
  readings: Assessments,
): { categories: RatingCategory[]; codeOf: (row: number) => number } {
  if (scale.categories !== undefined)
    return { categories: [...scale.categories], codeOf: (row) => readings.category[row]! };
  const distinct = [...new Set(readings.number)].filter((value) => !Number.isNaN(value)).sort((a, b) => a - b);
  const codes = new Map(distinct.map((value, code) => [value, code]));
  return {
    categories: distinct.map((value) => ({ value, words: String(value), score: value })),
    codeOf: (row) => codes.get(readings.number[row]!)!,
  };
}

function attributesOf(readings: Assessments, rows: readonly number[]): Record<string, readonly string[]> {
  const attributes: Record<string, readonly string[]> = {};
  for (const name of ATTRIBUTES)
    if (readings[name].values.length > 0) attributes[name] = rows.map((row) => readings.wordAt(name, row) ?? '');
  if (attributes.limb !== undefined) attributes.side = attributes.limb.map((limb) => limb.split('-')[0] ?? '');
  if (readings.period.some((period) => !Number.isNaN(period)))
    attributes.period = rows.map((row) => String(readings.period[row]));
  return attributes;
}

/** What did not enter, counted. */
export function notesOf(
  missing: ReadonlyMap<string, number>,
  references: number,
  anonymous: number,
  bounds: number,
): Note[] {
  const notes: Note[] = [];
  if (missing.size > 0) {
    const reasons = [...missing]
      .sort()
      .map(([reason, count]) => `${reason} ${count}`)
      .join(', ');
    notes.push(information('gaps', `Readings that are missing: ${reasons}.`));
  }
  if (references > 0)
    notes.push(information('references-left-out', `${references} reference readings do not count as an assessor's.`));
  if (anonymous > 0) notes.push(information('no-assessor', `${anonymous} readings name no assessor and do not enter.`));
  if (bounds > 0)
    notes.push(
      information(
        'bounds-left-out',
        `${bounds} readings are given only as a bound (such as <2); they count as gaps, not as the number.`,
      ),
    );
  return notes;
}
