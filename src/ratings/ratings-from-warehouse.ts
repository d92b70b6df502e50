import {
  allOf,
  conditionFor,
  countAt,
  isText,
  quotedName,
  quotedText,
  type SqlEngine,
  type SqlOptions,
  SqlReadings,
  type SqlRow,
  type SqlTable,
  textAt,
  type Vocabulary,
  withoutReferences,
} from '../assessments/sql-table.js';
import { InputError, refuse } from '../shared/input-error.js';
import type { Scale } from '../signs/sign.js';
import { orderedRatings } from './ordered-ratings.js';
import type { Ratings, RepeatReading } from './ratings.js';
import {
  aboutRatings,
  categoriesFrom,
  kindOfReading,
  notesOf,
  type RatingsFromOptions,
  readingsOf,
  refuseDoubles,
} from './ratings-from.js';

/** What targets can be split by afterwards (`ofGroup`, `splitRatings`). */
export type WarehouseAttribute = 'site' | 'limb' | 'unit' | 'phase' | 'round';

export interface WarehouseRatingsOptions extends Omit<RatingsFromOptions, 'window'>, SqlOptions {
  /** Default `'occasion'` where occasions are recorded, else `'day'`. */
  readonly window?: 'occasion' | 'day';
  /** Attributes to keep. Each makes the result longer: it is counted for each value of them. Default none. */
  readonly by?: readonly WarehouseAttribute[];
}

/** One of the readings a target can have, and the column of the query that holds it. */
interface ReadingColumn {
  readonly alias: string;
  readonly assessor: number;
  readonly replicate: number;
  readonly condition: string;
}

/**
 * Ratings of one sign on one scale, counted where the data live: the engine counts how many targets of each patient were
 * read alike, and only these counts leave it. Every coefficient gives on them what it gives on `ratingsFrom` of the
 * same rows in memory, to the last digit.
 *
 * Three or four queries: which words occur (checked and understood as a file's are, the row of a problem being the row of
 * that query's result), the days where they tell targets apart, the assessors, and the counts by patient. What leaves the
 * engine is words of the codebook, codes of patients and assessors, and counts. Reference readings and readings without
 * an assessor do not enter; bounds, blanks and reasons are gaps and are counted in the notes.
 *
 * Where `by` names an attribute that differs within a target (its unit, phase or round), the first in the engine's order counts.
 *
 * @param engine what runs a query: `{ query: async (sql) => (await client.query(sql)).rows }`
 * @param table the table or view, with our name of each column → its name there; patient, assessor and value or missing are needed.
 * @throws InputError what `loadAssessments` and `ratingsFrom` throw, and `spelled-twice` (one place or number in two spellings),
 * `identifier-value` (codes that have the form of an identifier), `column-not-returned`.
 * @example
 * const ratings = await ratingsFromWarehouse(engine, {
 *   table: ['ward', 'pulses'],
 *   columns: { patient: 'patient_code', assessor: 'nurse_code', day: 'day', limb: 'limb', site: 'site', value: 'grade' },
 *   constants: { sign: 'pulse-grade', scale: 'pulse.0-3.normal2' },
 * }, { sign: 'pulse-grade', print: console.log });
 * congerKappa(ratings)
 */
export async function ratingsFromWarehouse(
  engine: SqlEngine,
  table: SqlTable,
  options: WarehouseRatingsOptions,
): Promise<Ratings> {
  const sql = new SqlReadings(engine, table, options);
  if (!sql.has('assessor'))
    throw refuse('column-missing', ['columns', 'assessor'], 'No column says who read (assessor).');
  const vocabulary = await sql.vocabulary(options.sign);
  const { sign, scale, readings } = readingsOf(vocabulary.assessments, options);
  const words = wordsOf(vocabulary, readings, scale);
  if (words.texts.size === 0)
    throw refuse('no-readings', ['table'], `No assessor has a reading of ${sign.label.toLowerCase()} here.`);

  const place = (['site', 'limb', 'side'] as const).filter((name) => sql.has(name));
  refuseSpellings(words.rows, readings, place);
  const chosen = new Set(words.rows);
  const meant = conditionFor(
    words.rows,
    vocabulary.rows.filter((row) => !chosen.has(row)),
    ['sign', 'scale', 'site'],
  );
  const where = allOf([meant, '"assessor" IS NOT NULL', ...words.references]);
  const window = options.window ?? (words.occasions > 0 ? 'occasion' : 'day');
  const time = sql.has(window) ? [window] : [];
  if (window === 'day' && sql.has('day')) await sql.numbers('day', where);

  const { assessors, columns } = await readingColumns(sql, where);
  const reading = readingExpression(sql, words.gaps);
  const by = (options.by ?? []).filter((name) => sql.has(name) || (name === 'limb' && place.length > 0));
  const kept = [...new Set(by.flatMap((name) => (name === 'limb' ? place : [name])))];
  const keys = ['patient', ...place, ...time];
  const listed = (names: readonly string[]): string => names.map(quotedName).join(', ');
  const targets = [
    'targets AS (\n  SELECT\n    ',
    [
      quotedName('patient'),
      ...kept.map((name) =>
        keys.includes(name) ? quotedName(name) : `MIN(${quotedName(name)}) AS ${quotedName(name)}`,
      ),
      `COUNT(${reading}) AS "readings"`,
      ...columns.map(
        ({ alias, condition }) => `MAX(CASE WHEN ${condition} THEN ${reading} END) AS ${quotedName(alias)}`,
      ),
    ].join(',\n    '),
    `\n  FROM readings\n  WHERE ${where}\n  GROUP BY ${listed(keys)}\n)`,
  ].join('');
  const result = ['patient', ...kept, ...columns.map(({ alias }) => alias)];
  const counts = await sql.query(
    `SELECT ${listed(result)}, COUNT(*) AS "targets", SUM("readings") AS "readings"\nFROM targets\nGROUP BY ${listed(result)}`,
    [targets],
  );

  const codes = new Int32Array(counts.length * assessors.length).fill(-1);
  const repeats: RepeatReading[] = [];
  let doubles = 0;
  for (const [target, row] of counts.entries()) {
    let found = 0;
    for (const { alias, assessor, replicate } of columns) {
      const text = textAt(row, alias);
      if (text === null) continue;
      found++;
      const understood = words.texts.get(text);
      if (understood === undefined)
        throw refuse('table-changed', ['table'], 'The table changed while it was counted.', 'count again.');
      const at = target * assessors.length + assessor;
      if (codes[at] === -1) codes[at] = understood.code;
      else repeats.push({ target, assessor, replicate, ...understood });
    }
    doubles += countAt(row, 'readings') - found * countAt(row, 'targets');
  }
  refuseDoubles(doubles);
  const patients = counts.map((row) => textAt(row, 'patient')!);
  sql.guardCodes('patient', patients);
  sql.guardCodes('assessor', assessors);
  return orderedRatings({
    ...aboutRatings(sign, scale, words.categories),
    assessors,
    codes,
    patients,
    times: counts.map((row) => countAt(row, 'targets')),
    repeats,
    attributes: attributesOf(counts, by, place, words.rows, readings),
    notes: notesOf(words.missing, words.referenceReadings, words.anonymous, words.bounds),
  });
}

/** What the combinations of words mean: readings by their text, gaps by their reason, and what is left out. */
function wordsOf(vocabulary: Vocabulary, readings: Vocabulary['assessments'], scale: Scale) {
  const { categories, codeOf } = categoriesFrom(scale, readings);
  const texts = new Map<string, { code: number; number: number }>();
  const gaps = new Set<string>();
  const missing = new Map<string, number>();
  const counts = { referenceReadings: 0, anonymous: 0, bounds: 0, occasions: 0 };
  const rows: SqlRow[] = [];
  for (let at = 0; at < readings.length; at++) {
    const row = vocabulary.rowOf(at, readings);
    rows.push(row);
    const n = countAt(row, 'assessments');
    if ('with occasion' in row) counts.occasions += countAt(row, 'with occasion');
    const kind = kindOfReading(readings, scale, at);
    const value = 'value' in row ? textAt(row, 'value') : null;
    if (kind !== 'reading' && value !== null && ('comparator' in row ? textAt(row, 'comparator') : null) === null)
      gaps.add(value);
    if (readings.reference[at] === 1) counts.referenceReadings += n;
    else if (countAt(row, 'with assessor') === 0) counts.anonymous += n;
    else if (kind === 'bound') counts.bounds += n;
    else if (kind === 'missing') {
      const reason = readings.wordAt('missing', at) ?? 'left blank';
      missing.set(reason, (missing.get(reason) ?? 0) + n);
    } else {
      const unit = 'valueUnit' in row ? textAt(row, 'valueUnit') : null;
      texts.set(unit === null ? value! : `${value} ${unit}`, { code: codeOf(at), number: readings.number[at]! });
    }
  }
  return {
    ...counts,
    categories,
    texts,
    gaps: [...gaps],
    missing,
    references: withoutReferences(rows, readings.reference),
    rows,
  };
}

/** The engine tells places apart by their spelling, so each may have only one. */
function refuseSpellings(rows: readonly SqlRow[], readings: Vocabulary['assessments'], place: readonly string[]): void {
  const spelling = new Map<string, string>();
  for (const [at, row] of rows.entries()) {
    const understood = `${readings.wordAt('site', at)}/${readings.wordAt('limb', at)}`;
    const spelled = JSON.stringify(place.map((name) => textAt(row, name)));
    if ((spelling.get(understood) ?? spelled) !== spelled)
      throw new InputError([
        {
          code: 'spelled-twice',
          path: ['table'],
          message: `One place (${understood}) is spelled in two ways in the columns ${place.join(', ')}; the engine would take it for two.`,
          mend: 'give each place one spelling in a view, and name the view.',
        },
      ]);
    spelling.set(understood, spelled);
  }
}

/** The assessors in order of their codes, and a column for each number a reading of theirs has. */
async function readingColumns(
  sql: SqlReadings,
  where: string,
): Promise<{ readonly assessors: readonly string[]; readonly columns: readonly ReadingColumn[] }> {
  const numbered = sql.has('replicate');
  const keys = numbered ? '"assessor", "replicate"' : '"assessor"';
  const rows = await sql.query(
    `SELECT ${keys}, COUNT(*) AS "assessments"\nFROM readings\nWHERE ${where}\nGROUP BY ${keys}`,
  );
  const assessors = [...new Set(rows.map((row) => textAt(row, 'assessor')!))].sort();
  const spellings = numbered ? await sql.numbers('replicate', where) : new Map<string, number>();
  const found = new Map<string, { assessor: number; replicate: number; texts: (string | null)[] }>();
  for (const row of rows) {
    const assessor = assessors.indexOf(textAt(row, 'assessor')!);
    const text = numbered ? textAt(row, 'replicate') : null;
    const replicate = text === null ? 1 : spellings.get(text)!;
    const key = `${assessor}/${replicate}`;
    const known = found.get(key);
    if (known === undefined) found.set(key, { assessor, replicate, texts: [text] });
    else known.texts.push(text);
  }
  const ordered = [...found.values()].sort((a, b) => a.assessor - b.assessor || a.replicate - b.replicate);
  const columns = ordered.map(({ assessor, replicate, texts }): ReadingColumn => {
    const who = isText('assessor', assessors[assessor]!);
    const which = texts.map((text) => isText('replicate', text)).join(' OR ');
    return {
      alias: `assessor ${assessor + 1}${replicate === 1 ? '' : ` reading ${replicate}`}`,
      assessor,
      replicate,
      condition: numbered ? `${who} AND (${which})` : who,
    };
  });
  return { assessors, columns };
}

/** The text of a reading with its unit; nothing where the words are a reason or a bound. */
function readingExpression(sql: SqlReadings, gaps: readonly string[]): string {
  const none = [
    ...(gaps.length === 0 ? [] : [`"value" IN (${gaps.map(quotedText).join(', ')})`]),
    ...(sql.has('comparator') ? ['"comparator" IS NOT NULL'] : []),
  ];
  const text = sql.has('valueUnit') ? `"value" || COALESCE(' ' || "valueUnit", '')` : '"value"';
  return none.length === 0 ? text : `CASE WHEN ${none.join(' OR ')} THEN NULL ELSE ${text} END`;
}

function attributesOf(
  counts: readonly SqlRow[],
  by: readonly WarehouseAttribute[],
  place: readonly string[],
  rows: readonly SqlRow[],
  readings: Vocabulary['assessments'],
): Record<string, readonly string[]> {
  const attributes: Record<string, readonly string[]> = {};
  for (const name of by) {
    const spelled = name === 'limb' ? place : [name];
    const keyOf = (row: SqlRow): string => JSON.stringify(spelled.map((column) => textAt(row, column)));
    const understood =
      name === 'limb' || name === 'site'
        ? new Map(rows.map((row, at) => [keyOf(row), readings.wordAt(name, at) ?? '']))
        : undefined;
    attributes[name] = counts.map(
      (row) => understood?.get(keyOf(row)) ?? (understood === undefined ? textAt(row, name) : null) ?? '',
    );
    if (name === 'limb') attributes.side = attributes.limb!.map((limb) => limb.split('-')[0] ?? '');
  }
  return attributes;
}
