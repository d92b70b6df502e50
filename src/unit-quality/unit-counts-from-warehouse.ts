import {
  allOf,
  conditionFor,
  countAt,
  isText,
  type SqlEngine,
  type SqlOptions,
  SqlReadings,
  type SqlTable,
  textAt,
  withoutReferences,
} from '../assessments/sql-table.js';
import { signOf } from '../signs/codebook.js';
import {
  noPeriods,
  refuseMeasuredUnit,
  signNotPresent,
  type UnitCell,
  type UnitCountOptions,
  type UnitCounts,
  unitNeeded,
} from './unit-counts.js';

/**
 * A sign on a unit, counted by period and worst grade where the data live. `shareByPeriod`, `gradesByPeriod` and
 * `unitDefinition` take these counts in place of assessments and give the same on them as on the rows in memory.
 *
 * Queries: which words occur (checked and understood as a file's are), the periods, the units where none is named, the people of each
 * period, and how many of them had each grade as their worst. Only words of the codebook, the unit's name, periods and counts leave the engine.
 *
 * @param engine what runs a query: `{ query: async (sql) => (await client.query(sql)).rows }`
 * @param table the table or view, with our name of each column → its name there; patient (and stay), period, sign, value or missing.
 * @throws InputError what `loadAssessments` and `unitPeriods` throw, and `spelled-twice`, `column-not-returned`.
 * @example shareByPeriod(await unitCountsFromWarehouse(engine, table, { sign: 'pitting-edema' }), { sign: 'pitting-edema', atLeast: '2' })
 */
export async function unitCountsFromWarehouse(
  engine: SqlEngine,
  table: SqlTable,
  options: UnitCountOptions & SqlOptions,
): Promise<UnitCounts> {
  const sql = new SqlReadings(engine, table, options);
  if (!sql.has('period')) throw noPeriods();
  const inUnit = options.unit === undefined || !sql.has('unit') ? [] : [isText('unit', options.unit)];
  const { assessments, rows, rowOf } = await sql.vocabulary(options.sign, allOf(inUnit));
  if (assessments.length === 0) throw signNotPresent(assessments, options);
  refuseMeasuredUnit(assessments.scales);
  const own = Array.from({ length: assessments.length }, (_, at) => rowOf(at));
  const chosen = new Set(own);
  const others = rows.filter((row) => !chosen.has(row));
  const where = allOf([conditionFor(own, others, ['sign']), ...inUnit]);
  const units = sql.has('unit')
    ? (
        await sql.query(`SELECT "unit", COUNT(*) AS "assessments"\nFROM readings\nWHERE ${where}\nGROUP BY "unit"`)
      ).flatMap((row) => textAt(row, 'unit') ?? [])
    : [];
  if (units.length > 1) throw unitNeeded();
  const periods = await sql.numbers('period', where);
  if (periods.size === 0) throw noPeriods();

  const scales = assessments.scales.map(({ id }) => id);
  /** A CASE that gives each combination of words the number that stands for it. */
  const numbered = (numberAt: (at: number) => number, columns: Parameters<typeof conditionFor>[2]): string => {
    const numbers = own.map((_, at) => numberAt(at));
    const cases = [...new Set(numbers)].sort().flatMap((number) => {
      if (number < 0) return [];
      const these = own.filter((_, at) => numbers[at] === number);
      const rest = own.filter((_, at) => numbers[at] !== number);
      return [`WHEN ${conditionFor(these, rest, columns)} THEN ${number}`];
    });
    return cases.length === 0 ? 'CAST(NULL AS INTEGER)' : `CASE ${cases.join(' ')} END`;
  };
  const scale = numbered((at) => scales.indexOf(assessments.wordAt('scale', at)!), ['scale', 'site']);
  const grade = numbered((at) => assessments.category[at]!, ['value', 'scale', 'site', 'missing']);
  const stays = sql.has('stay') && own.some((row) => countAt(row, 'with stay') > 0);
  const counted = options.counted ?? (stays ? 'stays' : 'patients');
  const person = counted === 'patients' ? '"patient"' : sql.has('stay') ? '"stay"' : 'CAST(NULL AS VARCHAR(1))';
  const conditions = [where, '"period" IS NOT NULL', ...withoutReferences(own, assessments.reference)];
  const graded = `graded AS (
  SELECT "period", ${person} AS "person",
    ${scale} AS "scale",
    ${grade} AS "grade"
  FROM readings
  WHERE ${allOf(conditions)}
)`;
  const people = `people AS (
  SELECT "period", "person", "scale", MAX("grade") AS "worst", COUNT("grade") AS "readings"
  FROM graded
  GROUP BY "period", "person", "scale"
)`;
  const worst = await sql.query(
    'SELECT "period", "scale", "worst", COUNT(*) AS "people", SUM("readings") AS "readings"\nFROM people\n' +
      'WHERE "worst" IS NOT NULL\nGROUP BY "period", "scale", "worst"',
    [graded, people],
  );
  const seen = await sql.query(
    'SELECT "period", COUNT(*) AS "people"\nFROM (SELECT DISTINCT "period", "person" FROM graded) AS seen\nGROUP BY "period"',
    [graded],
  );
  const present = new Map([...periods.values()].map((period) => [period, 0]));
  for (const row of seen) present.set(periods.get(textAt(row, 'period')!)!, countAt(row, 'people'));
  const [unit] = units;
  return {
    signLabel: signOf(options.sign).label,
    counted,
    ...(unit === undefined ? {} : { unit }),
    scales: assessments.scales,
    cells: worst.map(
      (row): UnitCell => ({
        period: periods.get(textAt(row, 'period')!)!,
        scale: scales[countAt(row, 'scale')]!,
        worst: countAt(row, 'worst'),
        people: countAt(row, 'people'),
        readings: countAt(row, 'readings'),
      }),
    ),
    present,
  };
}
