import { mkdtemp, readdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { agreementBySiteChart } from '../../src/charts/agreement-by-site-chart.ts';
import { arrivalAndStayChart } from '../../src/charts/arrival-and-stay-chart.ts';
import type { Chart } from '../../src/charts/chart.ts';
import { controlLimitsChart } from '../../src/charts/control-limits-chart.ts';
import { gradesByPeriodChart } from '../../src/charts/grades-by-period-chart.ts';
import { save } from '../../src/charts/save.ts';
import { shareByPeriodChart } from '../../src/charts/share-by-period-chart.ts';
import { tableHtml, tableMarkdown } from '../../src/charts/table-html.ts';
import { transitionsChart } from '../../src/charts/transitions-chart.ts';
import { whoReadWhatChart } from '../../src/charts/who-read-what-chart.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { forAudience } from '../../src/reports/for-audience.ts';
import { resultsFile } from '../../src/reports/results-file.ts';
import { Estimate } from '../../src/shared/estimate.ts';
import { seededRandom } from '../../src/shared/random.ts';
import type { Table } from '../../src/shared/table.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';
import { completenessByPeriod } from '../../src/unit-quality/completeness-by-period.ts';
import { type GradesByPeriod, gradesResultOf } from '../../src/unit-quality/grades-by-period.ts';
import { proportionChart } from '../../src/unit-quality/proportion-chart.ts';
import { periodShare, type ShareByPeriod, shareResultOf } from '../../src/unit-quality/share-by-period.ts';
import { pulseTransitions } from '../charts/change-examples.ts';
import { edemaArrivals, edemaCourse, edemaFunnel, examples, pulseAgreement, pulsePairs } from '../charts/examples.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { type Told, workedOut } from '../support/attack.ts';

const GRADES = ['0', '1', '2', '3', '4'];

/** A unit's months as somebody may have them: few people in the high grades, some not assessed. */
function unitOf(seed: number, periods: number): { counts: number[][]; notAssessed: number[] } {
  const random = seededRandom(seed);
  const sizes = [9, 6, 4, 2, 1.2].map((size) => size * (0.5 + random.uniform()));
  const counts = Array.from({ length: periods }, () => sizes.map((size) => random.below(Math.ceil(2 * size))));
  return { counts, notAssessed: counts.map(() => (random.uniform() < 0.4 ? 0 : random.below(9))) };
}

function resultsOf({ counts, notAssessed }: ReturnType<typeof unitOf>) {
  const named = { signLabel: 'Pitting edema', counted: 'stays', rule: 'worst reading' };
  const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
  return {
    share: shareResultOf(
      {
        ...named,
        segments: [
          {
            scaleLabel: 'depth',
            finding: 'grade 2 or more',
            periods: counts.map((row, at) =>
              periodShare(String(at + 1), sum(row.slice(2)), sum(row), sum(row) + notAssessed[at]!, 0.95),
            ),
          },
        ],
      },
      [],
    ),
    grades: gradesResultOf(
      {
        ...named,
        segments: [
          {
            scaleLabel: 'depth',
            grades: GRADES,
            values: GRADES,
            periods: counts.map((row, at) => ({ label: String(at + 1), counts: row, notAssessed: notAssessed[at]! })),
          },
        ],
      },
      [],
    ),
  };
}

const cell = (period: number, grade: number | 'not'): string => `${period}/${grade}`;

/** The periods a label such as "3–6" stands for. */
function periodsIn(label: string): number[] {
  const [from, to = from] = label.split('–').map(Number) as [number, number?];
  return Array.from({ length: to! - from + 1 }, (_, at) => from + at);
}

const number = (value: unknown): number => {
  expect(typeof value).toBe('number');
  return value as number;
};

/** All that the three tables of a unit tell, as sums of unknown cells. */
function toldBy(share: ShareByPeriod, grades: GradesByPeriod): Told[] {
  const told: Told[] = [];
  const over = (label: string, of: readonly (number | 'not')[]): string[] =>
    periodsIn(label).flatMap((period) => of.map((grade) => cell(period, grade)));
  for (const table of [(share as never as { table: Table }).table, completenessByPeriod(share).table])
    for (const row of table.rows) {
      if (row.count === 'hidden') {
        expect(Object.values(row).filter((value) => typeof value === 'number')).toEqual([]);
        continue;
      }
      const label = String(row.period);
      told.push({ of: over(label, [2, 3, 4]), sum: number(row.count) });
      told.push({ of: over(label, [0, 1, 2, 3, 4]), sum: number(row.assessed) });
      told.push({ of: over(label, [0, 1, 2, 3, 4, 'not']), sum: number(row.due) });
    }
  const { table } = grades as never as { table: Table };
  for (const row of table.rows) {
    if (row.notAssessed === 'hidden') continue;
    const label = String(row.period);
    for (const { key } of table.columns.filter((column) => column.key.startsWith('grade '))) {
      const [from, to = from] = key.slice(6).split('–').map(Number) as [number, number?];
      const joined = Array.from({ length: to! - from + 1 }, (_, at) => from + at);
      told.push({ of: over(label, joined), sum: number(row[key]) });
    }
    told.push({ of: over(label, ['not']), sum: number(row.notAssessed) });
    told.push({ of: over(label, [0, 1, 2, 3, 4, 'not']), sum: number(row.present) });
  }
  return told;
}

describe('an attack on all that is given out of a unit', () => {
  it('finds no cell of one to four people from share, completeness and grades together', () => {
    let shown = 0;
    let hidden = 0;
    for (let seed = 1; seed <= 25; seed++) {
      const unit = unitOf(seed, 4 + (seed % 5));
      const { share, grades } = resultsOf(unit);
      const outside = {
        share: forAudience(share, 'outside'),
        grades: forAudience(grades, 'outside', { atLeast: '2' }),
      };
      const told = toldBy(outside.share, outside.grades);
      const cells = unit.counts.flatMap((_, at) => [0, 1, 2, 3, 4, 'not' as const].map((grade) => cell(at + 1, grade)));
      // The sums a share hides: with the finding, without it, in each period.
      const found = workedOut(cells, told);
      const small = (value: number): boolean => value > 0 && value < 5;
      unit.counts.forEach((row, at) => {
        [...row, unit.notAssessed[at]!].forEach((value, grade) => {
          if (!small(value)) return;
          hidden++;
          const name = cell(at + 1, grade === 5 ? 'not' : grade);
          expect([seed, name, found.get(name)]).toEqual([seed, name, undefined]);
        });
      });
      shown += told.length;
    }
    // The attack is no attack where nothing is shown, or nothing was small.
    expect(shown).toBeGreaterThan(100);
    expect(hidden).toBeGreaterThan(300);
  });

  it('the same attack breaks a table in which one small cell alone is hidden', () => {
    const found = workedOut(
      ['a', 'b', 'c'],
      [
        { of: ['a'], sum: 9 },
        { of: ['b'], sum: 12 },
        { of: ['a', 'b', 'c'], sum: 23 },
      ],
    );
    expect(found.get('c')).toBe(2);
  });

  it('picture, hover text and alternative text hold no count that the table does not', () => {
    const { share, grades } = resultsOf(unitOf(3, 8));
    for (const audience of ['inside', 'outside'] as const) {
      const shown = forAudience(share, audience);
      const allowed = new Set(
        shown.segments.flatMap(({ periods }) =>
          periods.flatMap(({ count, assessed, due }) =>
            count === null ? [] : [`${count} of ${assessed}`, `${assessed} of ${due}`],
          ),
        ),
      );
      const total = shown.segments[0]!.periods.reduce(
        (sums, { count, assessed, due }) => (count === null ? sums : [sums[0]! + assessed, sums[1]! + due]),
        [0, 0],
      );
      allowed.add(`${total[0]} of ${total[1]}`);
      const pairs = wordsOf(shareByPeriodChart(shown)).flatMap((words) => words.match(/\d+ of \d+/g) ?? []);
      expect(pairs.length).toBeGreaterThan(0);
      expect(pairs.filter((pair) => !allowed.has(pair))).toEqual([]);
    }
    const shown = forAudience(grades, 'outside');
    for (const words of wordsOf(gradesByPeriodChart(shown)))
      for (const [, count] of words.matchAll(/ in (\d+) of \d+/g)) expect(Number(count)).toBeGreaterThanOrEqual(5);
  });
});

/** Every text of a chart: title, alternative text, and all strings in its data. */
function wordsOf(chart: Chart): string[] {
  const found: string[] = [chart.title, chart.description];
  const walk = (value: unknown): void => {
    if (typeof value === 'string') found.push(value);
    else if (Array.isArray(value)) value.forEach(walk);
    else if (typeof value === 'object' && value !== null) Object.values(value).forEach(walk);
  };
  walk(chart.spec);
  return found;
}

describe('an attack on a cross-table', () => {
  it('finds no count of one to four from cells, totals and percent agreement, whatever the table', () => {
    const random = seededRandom(7);
    let small = 0;
    for (let trial = 0; trial < 120; trial++) {
      const size = 2 + (trial % 4);
      const ordered = trial % 2 === 0;
      const counts = Array.from({ length: size }, (_, i) =>
        Array.from({ length: size }, (__, j) => random.below(i === j ? 25 : Math.abs(i - j) === 1 ? 9 : 3)),
      );
      if (counts.flat().every((count) => count === 0)) continue;
      const cross = crossTable(
        ratingsOfTable(counts, { categories: Array.from({ length: size }, (_, at) => String(at)) }),
      );
      const shown = forAudience(cross, 'outside', { joinsGrades: ordered });
      const gradesIn = (label: string): number[] => periodsIn(label);
      const name = (i: number, j: number): string => `${i}|${j}`;
      const unknowns = counts.flatMap((row, i) => row.map((_, j) => name(i, j)));
      const told: Told[] = shown.counts.flatMap((row, i) =>
        row.flatMap((count, j) =>
          count === null
            ? []
            : [
                {
                  of: gradesIn(shown.grades[i]!).flatMap((a) => gradesIn(shown.grades[j]!).map((b) => name(a, b))),
                  sum: count,
                },
              ],
        ),
      );
      const all = counts.flat().reduce((sum, count) => sum + count, 0);
      told.push({ of: unknowns, sum: all });
      const same = counts.reduce((sum, row, at) => sum + row[at]!, 0);
      told.push({ of: counts.map((_, at) => name(at, at)), sum: same });
      const found = workedOut(unknowns, told);
      counts.forEach((row, i) => {
        row.forEach((count, j) => {
          if (count === 0 || count > 4) return;
          small++;
          const value = found.get(name(i, j));
          // What percent agreement alone gives away (one disagreement in all) no table can hide.
          const byAgreement = workedOut(unknowns, told.slice(-2)).get(name(i, j));
          if (byAgreement === undefined)
            expect({ trial, counts, shown: shown.counts, at: name(i, j), value }).toMatchObject({ value: undefined });
        });
      });
    }
    expect(small).toBeGreaterThan(300);
  });

  it('the picture of a table with hidden counts prints no totals and no sum over them', () => {
    const ratings = ratingsOfTable(
      [
        [20, 2],
        [9, 30],
      ],
      { categories: ['0', '1'] },
    );
    const words = wordsOf(whoReadWhatChart(ratings, { audience: 'outside' }));
    expect(words.join(' ')).toContain('hidden');
    const figures = words.flatMap((text) => text.match(/\b\d+ (?:of|findings?,)/g) ?? []);
    expect([...new Set(figures)]).toEqual(['61 findings,']);
    expect(words.filter((text) => /^\d\d+$/.test(text))).toEqual([]);
    expect(words.join(' ')).not.toContain('NaN');
  });

  it('gives out every count by a decision that stands in table, notes and picture', () => {
    const ratings = ratingsOfTable(
      [
        [20, 2],
        [9, 30],
      ],
      { categories: ['0', '1'] },
    );
    const release = { reason: 'asked for by the second referee' };
    const full = forAudience(crossTable(ratings), 'outside', { release });
    expect(full.counts).toEqual([
      [20, 2],
      [9, 30],
    ]);
    expect(tableHtml(full.table, { audience: 'outside' })).toContain('asked for by the second referee');
    const chart = whoReadWhatChart(ratings, { audience: 'outside', release });
    expect(JSON.stringify(chart.marked().spec)).toContain('by decision: asked for by the second referee');
    expect(() => forAudience(crossTable(ratings), 'outside', { release: { reason: ' ' } })).toThrow(/no reason/);
  });
});

describe('what is exported', () => {
  it('refuses a file for eyes that it was not made for, and says what to do', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'audience-'));
    const { share } = resultsOf(unitOf(2, 6));
    const chart = shareByPeriodChart(share);
    await expect(save(chart, join(folder, 'own.svg'), { audience: 'outside' })).rejects.toThrow(
      /made for your own eyes.*forAudience\(result, 'outside'\)/s,
    );
    expect(await readdir(folder)).toEqual([]);
    await save(shareByPeriodChart(forAudience(share, 'outside')), join(folder, 'all.svg'), { audience: 'outside' });
    await save(shareByPeriodChart(forAudience(share, 'outside')), join(folder, 'in.svg'), { audience: 'inside' });
    expect((await readdir(folder)).sort()).toEqual(['all.svg', 'in.svg']);
    const { table } = share as never as { table: Table };
    for (const write of [tableHtml, tableMarkdown])
      expect(() => write(table, { audience: 'inside' })).toThrow(/This table/);
    expect(() => table.toCsv({ audience: 'inside' })).toThrow(/This table/);
    expect(tableHtml(table)).toContain('Not for sharing');
    expect(tableHtml((forAudience(share, 'inside') as never as { table: Table }).table)).toContain(
      'For inside the hospital only',
    );
    expect(tableHtml((forAudience(share, 'outside') as never as { table: Table }).table)).not.toMatch(
      /sharing|inside the hospital/,
    );
  });

  it('no picture of the library goes outside by itself, except those about nobody', () => {
    const free = Object.entries(examples).filter(([, draw]) => draw().audience === 'outside');
    expect(free.map(([name]) => name)).toEqual(['coverage', 'planning-curve', 'calibration']);
    for (const [name, draw] of Object.entries(examples)) {
      if (free.some(([about]) => about === name)) continue;
      expect(() => forAudience(draw(), 'outside'), name).toThrow(/pass the result/);
      const full = forAudience(draw(), 'outside', { release: { reason: 'invented data' } });
      expect(full.marked().description, name).toContain('by decision: invented data.');
    }
  });

  it('what shows single persons, or does not know how many stand behind it, is refused with what to do instead', () => {
    expect(() => forAudience(edemaCourse(), 'inside')).toThrow(/one person’s.*changeCalls/s);
    expect(() => forAudience(proportionChart([3, 4], [20, 20]), 'outside')).toThrow(/forAudience\(share/);
    expect(() => forAudience({ kind: 'patients-or-assessors' }, 'inside')).toThrow(/cannot be joined or hidden/);
    expect(() => forAudience({ rows: [] }, 'inside')).toThrow(/cannot be joined or hidden/);
    expect(forAudience(edemaCourse(), 'own')).toEqual(edemaCourse());
  });

  it('a control chart goes where its share goes, once its points are those of the share', () => {
    const share = forAudience(resultsOf(unitOf(5, 16)).share, 'outside');
    const { periods } = share.segments[0]!;
    const shown = (value: number, count: number | null): number => (count === null ? 0 : value);
    const control = proportionChart(
      periods.map(({ count }) => count ?? 0),
      periods.map(({ assessed, count }) => shown(assessed, count)),
    );
    const options = { what: 'Edema', labels: periods.map(({ label }) => label), share };
    expect(controlLimitsChart(control, options).audience).toBe('outside');
    const other = proportionChart(
      periods.map(() => 1),
      periods.map(() => 30),
    );
    expect(() => controlLimitsChart(other, options)).toThrow(/not the shares of these periods/);
  });
});

describe('results of other kinds', () => {
  it('arrival and stay joins periods until no part is small', () => {
    const shown = forAudience(edemaArrivals(), 'outside');
    for (const { onArrival, newDuringStay, unknownOnArrival } of shown.segments[0]!.periods)
      for (const value of [
        onArrival.count,
        onArrival.outOf - onArrival.count,
        newDuringStay.count,
        newDuringStay.outOf - newDuringStay.count,
        unknownOnArrival,
      ])
        expect(Number.isNaN(value) || value === 0 || value >= 5).toBe(true);
    expect(arrivalAndStayChart(shown).audience).toBe('outside');
    expect(JSON.stringify(arrivalAndStayChart(shown).spec)).not.toContain('NaN');
  });

  it('transitions join grades; a funnel hides small units, and never one alone', () => {
    const transitions = forAudience(pulseTransitions(), 'outside');
    for (const count of transitions.counts.flat()) expect(Number.isNaN(count) || count === 0 || count >= 5).toBe(true);
    expect(transitionsChart(transitions).audience).toBe('outside');
    const [before] = edemaFunnel();
    expect(forAudience(before, 'outside').units.every((unit) => unit !== undefined)).toBe(true);
    const one = {
      ...before,
      units: before.units.map((unit, at) => (at === 4 ? { ...unit!, size: 12, share: 2 / 12 } : unit)),
    };
    const shown = forAudience(one, 'outside');
    expect(shown.units.map((unit) => unit === undefined)).toEqual([true, false, false, false, true, false]);
    expect(shown.target).toBeCloseTo((21 + 13 + 33 + 17) / (64 + 41 + 58 + 52), 12);
  });

  it('agreement leaves out groups and pairs of fewer than five people, and one more where one would follow from the total', () => {
    const group = pulseAgreement();
    const few = {
      ...group,
      rows: group.rows.map((row, at) =>
        at === 2
          ? {
              ...row,
              estimate: new Estimate({ ...row.estimate, counts: { ...row.estimate.counts, clusters: 3 } }),
            }
          : row,
      ),
    };
    const shown = forAudience(few, 'inside');
    expect(shown.rows).toHaveLength(group.rows.length - 2);
    expect(shown.rows.map(({ value }) => value)).not.toContain(group.rows[2]!.value);
    expect(agreementBySiteChart(shown).audience).toBe('inside');
    expect(forAudience(pulsePairs(), 'outside').table.audience).toBe('outside');
  });

  it('a study for the outside leaves out small groups, rounds, and drops the figures behind its values', async () => {
    const random = seededRandom(4);
    const lines: Parameters<typeof assessmentsOf>[2][number][] = [];
    for (let patient = 0; patient < 12; patient++)
      for (const site of ['femoral', 'dorsalis-pedis', ...(patient < 3 ? ['popliteal'] : [])])
        for (const assessor of ['A', 'B'])
          lines.push([
            `p${patient}`,
            0,
            assessor,
            'left-leg',
            site,
            Math.min(3, random.below(3) + Number(site === 'femoral')),
          ]);
    const study = await agreementStudy(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines), {
      signs: ['pulse-grade'],
      by: ['site'],
      seed: 5,
    });
    const shown = forAudience(study, 'outside');
    // The knee rests on three people; the next smallest group goes with it.
    expect(shown.results.map(({ group }) => group?.value)).toHaveLength(2);
    expect(shown.results.map(({ group }) => group?.value)).not.toContain('popliteal');
    expect(shown.notes.map(({ code }) => code)).toContain('groups-left-out');
    const file = resultsFile(shown);
    expect(file.audience).toBe('outside');
    expect(() => resultsFile(study).toCsv({ audience: 'outside' })).toThrow(/not be given|cannot be given/);
    for (const row of file.rows) {
      expect(row.details).toMatch(/^\{("readings":\d+)?\}$/);
      for (const key of ['value', 'standardError', 'lower', 'upper'])
        if (typeof row[key] === 'number' && !Number.isNaN(row[key]))
          expect(Math.round(1000 * row[key]) / 1000).toBe(row[key]);
    }
    expect(shown.table.audience).toBe('outside');
    expect(shown.by('pulse-grade').audience).toBe('outside');
    expect(shown.pairs('pulse-grade').audience).toBe('outside');
    const tiny = study.released({ results: study.results, specific: (one) => one, notes: study.notes }, {});
    expect(forAudience(tiny, 'own')).toBe(tiny);
  });
});
