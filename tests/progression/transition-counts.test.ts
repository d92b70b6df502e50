import { join } from 'node:path';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { transitionCounts } from '../../src/progression/transition-counts.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ownScale } from '../../src/signs/own-scale.ts';
import { referenceData } from '../support/optional.ts';
import { problemsIn } from '../support/problems-in.ts';

const row = (patient: string, day: number | null, value: number | null, limb = 'L') => ({
  patient,
  day,
  value,
  limb,
  site: 'pretibial-shin',
  sign: 'pitting-edema',
  scale: 'oed.0-3.words',
  assessor: 'A',
});

test('counts successive recorded grades of each limb, whatever the order of the rows', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 20, 2),
      row('P1', 0, 0),
      row('P1', 10, null), // passed over: 0 is followed by 2
      row('P1', 30, 2),
      row('P1', 0, 3, 'R'),
      row('P1', 7, 1, 'R'),
      row('P2', 0, 1), // one reading: no pair
    ],
  });
  const result = transitionCounts(assessments);
  expect(result.counts).toEqual([
    [0, 0, 1, 0],
    [0, 0, 0, 0],
    [0, 0, 1, 0],
    [0, 1, 0, 0],
  ]);
  expect(result.gapDays).toEqual({ median: 10, lowest: 7, highest: 20 });
  expect([result.transitions, result.courses, result.patients]).toEqual([3, 3, 2]);
  expect(result.table.toText()).toContain('0 (none)');
});

test('counts the first grade with the last, one pair a course, when asked', async () => {
  const assessments = await loadAssessments({
    rows: [row('P1', 0, 0), row('P1', 10, 2), row('P1', 30, 1), row('P2', 5, 3), row('P2', 9, null), row('P3', 0, 1)],
  });
  const result = transitionCounts(assessments, { pairs: 'first and last' });
  expect(result.counts).toEqual([
    [0, 1, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0],
  ]);
  expect(result.gapDays.median).toBe(30);
  expect([result.pairs, result.transitions, result.courses]).toEqual(['first and last', 1, 3]);
  expect(result.notes[0]?.message).toContain('a first and a last reading');
});

test('is undefined without pairs, and says so', async () => {
  const result = transitionCounts(await loadAssessments({ rows: [row('P1', 0, 1)] }));
  expect(result.gapDays.median).toBeNaN();
  expect(result.notes[0]?.message).toContain('nothing to count');
});

test('takes the reading that stands first in the file when asked, and says how many it left out', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 9, 2),
      { ...row('P1', 9, 3), assessor: 'B' },
      row('P1', 0, 1),
      { ...row('P1', 0, 0), assessor: 'B' },
    ],
  });
  const result = transitionCounts(assessments, { severalReadings: 'first in file' });
  expect(result.counts[1]).toEqual([0, 0, 1, 0]);
  expect(result.transitions).toBe(1);
  expect(result.notes[1]?.message).toContain('2 further readings');
});

test('refuses several readings a day, grades without a day, two scales and measured values', async () => {
  const twice = await loadAssessments({ rows: [row('P1', 0, 1), { ...row('P1', 0, 2), assessor: 'B' }] });
  expect(() => transitionCounts(twice)).toThrow(/read more than once on a day/);
  expect(transitionCounts(twice.where({ assessor: 'A' })).transitions).toBe(0);
  expect(() => transitionCounts(twice.where({ assessor: 'Z' }))).toThrow(/no readings/);
  const undated = await loadAssessments({ rows: [row('P1', null, 1)] });
  expect(() => transitionCounts(undated)).toThrow(/have no day/);
  const two = await loadAssessments({ rows: [row('P1', 0, 1), { ...row('P2', 0, 1), scale: 'oed.present' }] });
  expect(() => transitionCounts(two)).toThrow(/2 scales/);
  const seconds = await loadAssessments({
    rows: [{ ...row('P1', 0, 2), site: 'great-toe', sign: 'capillary-refill', scale: 'refill.seconds.toe' }],
  });
  expect(() => transitionCounts(seconds)).toThrow(/has no grades/);
});

test.each(['successive', 'first and last'] as const)(
  '%s pairs of many patients, limbs and sites, some without a limb, as a plain count gives them',
  async (pairs) => {
    const random = seededRandom(23);
    const where = [
      ['left-leg', 'pretibial-shin'],
      ['left-leg', 'dorsum-of-foot'],
      ['right-leg', 'pretibial-shin'],
      ['right-leg', 'dorsum-of-foot'],
      ['', 'sacrum'],
    ] as const;
    const rows = Array.from({ length: 400 }, (_, at) => {
      const [limb, site] = where[random.below(5)]!;
      const value = random.uniform() < 0.15 ? null : random.below(4);
      return { ...row(`P${random.below(12)}`, 0, value, limb), day: random.below(60), site, assessor: `A${at}` };
    });
    const assessments = await loadAssessments({ rows });
    const counts = Array.from({ length: 4 }, () => [0, 0, 0, 0]);
    const gaps: number[] = [];
    const places = new Set(rows.map(({ patient, limb, site }) => `${patient}|${limb}|${site}`));
    let [courses, leftOut] = [0, 0];
    const patients = new Set<string>();
    for (const place of places) {
      const own = rows.filter((one) => `${one.patient}|${one.limb}|${one.site}` === place && one.value !== null);
      if (own.length === 0) continue;
      courses++;
      patients.add(own[0]!.patient);
      const days = [...new Set(own.map(({ day }) => day))].sort((a, b) => a - b);
      leftOut += own.length - days.length;
      const read = days.map((day) => ({ day, grade: own.find((one) => one.day === day)!.value! }));
      const kept = pairs === 'successive' ? read : [read[0]!, read.at(-1)!].slice(0, read.length);
      kept.slice(1).forEach(({ day, grade }, at) => {
        counts[kept[at]!.grade]![grade]!++;
        gaps.push(day - kept[at]!.day);
      });
    }
    gaps.sort((a, b) => a - b);
    const half = (gaps.length - 1) / 2;
    const result = transitionCounts(assessments, { pairs, severalReadings: 'first in file' });
    expect(leftOut).toBeGreaterThan(0);
    expect(result).toMatchObject({
      counts,
      pairs,
      transitions: gaps.length,
      patients: patients.size,
      courses,
      gapDays: {
        median: (gaps[Math.floor(half)]! + gaps[Math.ceil(half)]!) / 2,
        lowest: gaps[0]!,
        highest: gaps.at(-1)!,
      },
    });
    expect(result.notes.map(({ code }) => code)).toEqual(['transitions', 'one-reading-a-day']);
    expect(result.notes[1]!.message).toMatch(new RegExp(`^${leftOut} further readings`));
  },
);

test('shows the counts with the words of the grades, and what they are of', async () => {
  const rows = [row('P1', 0, 0), row('P1', 10, 2), row('P1', 31, 1), row('P2', 0, 3), row('P2', 7, 3)];
  const { table, notes, scale, categories } = transitionCounts(await loadAssessments({ rows }));
  expect(scale.id).toBe('oed.0-3.words');
  expect(categories.map(({ value }) => value)).toEqual(['0', '1', '2', '3']);
  expect(table.caption).toBe(`How often a grade was followed by a grade (${scale.label})`);
  expect(table.columns.map(({ label }) => label)).toEqual(['Read first', 'then 0', 'then 1', 'then 2', 'then 3']);
  expect(table.rows).toEqual(
    [
      [0, 0, 1, 0],
      [0, 0, 0, 0],
      [0, 1, 0, 0],
      [0, 0, 0, 1],
    ].map(([to0, to1, to2, to3], at) => ({
      from: `${categories[at]!.value} (${categories[at]!.words})`,
      to0,
      to1,
      to2,
      to3,
    })),
  );
  expect(notes).toEqual([
    {
      code: 'transitions',
      severity: 'information',
      message: '3 pairs of successive readings of 2 patients, 10 days apart in the middle (7 to 21).',
    },
  ]);
  const last = transitionCounts(await loadAssessments({ rows }), { pairs: 'first and last' }).table;
  expect(last.caption).toBe(`How often a first grade ended in a last grade (${scale.label})`);
  expect(last.columns[1]!.label).toBe('last 0');
});

test('gives every figure as not defined without pairs, with the courses counted', async () => {
  const result = transitionCounts(await loadAssessments({ rows: [row('P1', 0, 1), row('P2', 3, 2)] }), {
    pairs: 'first and last',
  });
  expect(result.gapDays).toEqual({ median: Number.NaN, lowest: Number.NaN, highest: Number.NaN });
  expect([result.transitions, result.patients, result.courses]).toEqual([0, 2, 2]);
  expect(result.counts.flat().every((count) => count === 0)).toBe(true);
});

test('names what it refuses', async () => {
  const twice = await loadAssessments({ rows: [row('P1', 0, 1), { ...row('P1', 0, 2), assessor: 'B' }] });
  expect(problemsIn(() => transitionCounts(twice))).toEqual(['several-readings-a-day assessments']);
  expect(() => transitionCounts(twice)).toThrow(/On 1 occasions/);
  const undated = await loadAssessments({
    rows: [row('P1', null, 1), row('P1', 3, 1), { ...row('P1', null, null), assessor: 'B' }],
  });
  expect(problemsIn(() => transitionCounts(undated))).toEqual(['no-day assessments.day']);
  expect(() => transitionCounts(undated)).toThrow(/1 grades have no day/);
  const fine = await loadAssessments({ rows: [row('P1', 0, 1), row('P1', 3, 1), row('P1', null, null)] });
  expect(transitionCounts(fine).transitions).toBe(1);
  for (const options of [{ pairs: 'all' }, { severalReadings: 'mean' }] as const)
    expect(problemsIn(() => transitionCounts(fine, options as never))[0]).toMatch(/^unknown-choice/);
});

// Data: survival::pbcseq (312 patients of a liver-disease trial, edema in three levels); counts by R 4.2.2.
const folder = referenceData();
test.runIf(folder)('edema at 1,945 irregular visits: the counts of R', async () => {
  const scale = ownScale({
    id: 'trial.edema.0-2',
    sign: 'edema-overall',
    label: 'none, with or without treatment and gone, despite treatment',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'no edema' },
      { value: '1', words: 'edema untreated, or gone with treatment' },
      { value: '2', words: 'edema despite treatment' },
    ],
  });
  const assessments = await loadAssessments(join(folder ?? '', 'data', 'pbcseq_edema.csv'), {
    columns: { patient: 'id', value: 'oed' },
    constants: { sign: 'edema-overall' },
    scales: { 'edema-overall': scale },
  });
  expect(assessments.length).toBe(1945);
  const result = transitionCounts(assessments);
  expect(result.counts).toEqual([
    [1097, 116, 23],
    [55, 195, 50],
    [2, 24, 71],
  ]);
  expect(result.gapDays).toEqual({ median: 356, lowest: 48, highest: 2107 });
  expect(result.patients).toBe(312);
});
