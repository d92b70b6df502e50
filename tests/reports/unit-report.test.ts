import { beforeAll, describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { outsideReferences } from '../../src/command/execute-notebooks.ts';
import { forAudience } from '../../src/reports/for-audience.ts';
import { unitReport } from '../../src/reports/unit-report.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { gradesByPeriod, gradesResultOf } from '../../src/unit-quality/grades-by-period.ts';
import {
  periodShare,
  type ShareByPeriodResult,
  shareByPeriod,
  shareResultOf,
} from '../../src/unit-quality/share-by-period.ts';
import { unitDefinition } from '../../src/unit-quality/unit-definition.ts';
import { type Told, workedOut } from '../support/attack.ts';

const counting = { sign: 'pitting-edema', atLeast: '2', actions: [{ label: '5', words: 'heels raised' }] };
let assessments: Awaited<ReturnType<typeof loadAssessments>>;
let share: ShareByPeriodResult;
const options = () => ({
  title: 'Edema on the ward',
  fingerprint: assessments.fingerprint(),
  definition: unitDefinition(assessments, counting),
  grades: gradesByPeriod(assessments, counting),
});

beforeAll(async () => {
  // Twelve periods of eleven stays; the third to last of each period is not read.
  const rows = Array.from({ length: 132 }, (_, at) => ({
    patient: `p${at}`,
    stay: `s${at}`,
    unit: 'U1',
    period: 1 + Math.floor(at / 11),
    day: 0,
    assessor: 'A',
    limb: 'left-leg',
    site: 'pretibial-shin',
    sign: 'pitting-edema',
    scale: 'pit.0-4.hogan',
    ...(at % 11 === 8 ? { missing: 'out-of-time' } : { value: String((at * 7) % 5) }),
  }));
  assessments = await loadAssessments({ rows });
  share = shareByPeriod(assessments, counting);
});

const textOf = (html: string): string => html.replace(/<(script|style)[\s\S]*?<\/\1>/g, '').replace(/<[^>]*>/g, ' ');

describe('the report of a unit', () => {
  it('has a row for every period, and each line of its tables prints that row', async () => {
    const { files } = await unitReport(share, { ...options(), audience: 'own' });
    const [header = '', ...lines] = files['results.csv']!.trimEnd().split('\n');
    expect(lines).toHaveLength(12);
    const at = (name: string) => header.split(',').indexOf(name);
    expect(lines.map((line) => line.split(',')[at('period')])).toEqual(
      Array.from({ length: 12 }, (_, period) => String(period + 1)),
    );
    const page = files['report.html']!;
    share.segments[0]!.periods.forEach(({ count, assessed, due }, place) => {
      const id = `U${String(place + 1).padStart(3, '0')}`;
      const cited = [...page.matchAll(/<tr>([\s\S]*?)<\/tr>/g)]
        .map(([row]) => textOf(row))
        .filter((row) => row.includes(id));
      expect(cited).toHaveLength(2);
      expect(cited[0]).toMatch(new RegExp(`\\s${count}\\s+${assessed}\\s+${Math.round((100 * count!) / assessed)} %`));
      expect(cited[1]).toMatch(new RegExp(`\\s${assessed}\\s+${due}\\s`));
    });
  });

  it('says what the rule says, and nothing more than that', async () => {
    const { files } = await unitReport(share, { ...options(), audience: 'inside' });
    const words = textOf(files['report.html']!);
    expect(words).toContain(share.runCharts[0]!.sentence);
    expect(words).toMatch(
      /Last period, 12: \d+ of 10 stays assessed had grade 2 or more \(\d+ %\); 10 of 11 were assessed/,
    );
  });

  it('has the eighteen elements, the definition, completeness and the cautions of a rate', async () => {
    const { files } = await unitReport(share, options());
    const page = files['report.html']!;
    expect(page.match(/<h3>\d+\. /g)).toHaveLength(18);
    for (const words of [
      'What is counted',
      'Who was not assessed',
      'A unit’s rate does not say who is at risk',
      'Not assessed is not normal',
    ])
      expect(page.includes(words), words).toBe(true);
    const [, from = '', to = from] = /Begun in period (\d+)(?:–(\d+))?: heels raised\./.exec(page) ?? [];
    expect(Number(from) <= 5 && Number(to) >= 5).toBe(true);
    expect(outsideReferences(page.replace(/<script>[\s\S]*?<\/script>/g, ''))).toEqual([]);
  });

  it('joins periods with small counts for others', async () => {
    const outside = await unitReport(share, options());
    const [, ...lines] = outside.files['results.csv']!.trimEnd().split('\n');
    expect(lines.length).toBeLessThan(12);
    for (const line of lines) {
      const [count, assessed, due] = line
        .replace(/"[^"]*"/g, '')
        .split(',')
        .slice(4, 7)
        .map(Number) as [number, number, number];
      for (const few of [count, assessed - count, due - assessed]) expect(few === 0 || few >= 5, line).toBe(true);
    }
  });

  it('holds the grades by period, whole for one’s own eyes and those inside, joined for those outside', async () => {
    const [own, inside, outside] = await Promise.all(
      (['own', 'inside', 'outside'] as const).map((audience) => unitReport(share, { ...options(), audience })),
    );
    expect(own!.files['grades.csv']).toMatch(/^id,period,scale,grade 0,grade 1,grade 2,grade 3,grade 4,/);
    // Inside the hospital a period of ten assessed is large enough to be broken down.
    expect(inside!.files['grades.csv']).toBe(own!.files['grades.csv']);
    expect(outside!.files['grades.csv']).toMatch(/^id,period,scale,grade /);
    expect(outside!.files['grades.csv']!.split('\n').length).toBeLessThan(own!.files['grades.csv']!.split('\n').length);
    expect(textOf(outside!.files['report.html']!)).toMatch(
      /What was found, period by period[\s\S]*Periods were joined/,
    );
  });

  it('leaves the grades out for others where the share names no grade, or was joined before', async () => {
    const { atLeast: _atLeast, ...nameless } = share;
    expect((await unitReport(nameless, options())).files).not.toHaveProperty('grades.csv');
    expect((await unitReport(nameless, { ...options(), audience: 'own' })).files).toHaveProperty('grades.csv');
    const joined = forAudience(share, 'outside');
    expect((await unitReport(joined, options())).files).not.toHaveProperty('grades.csv');
  });

  it('refuses grades of other findings, which could give small numbers away beside the share', async () => {
    const { grades } = options();
    const others = {
      ...grades,
      segments: grades.segments.map((segment) => ({
        ...segment,
        periods: segment.periods.map((period) => ({ ...period, notAssessed: period.notAssessed + 1 })),
      })),
    };
    await expect(unitReport(share, { ...options(), grades: others })).rejects.toThrow(/do not add up to the share/);
  });

  it('is the same bytes again', async () => {
    expect((await unitReport(share, options())).files).toEqual((await unitReport(share, options())).files);
  });
});

/** The rows of a file of the report, without the cells that stand between quotation marks. */
function rowsOf(csv: string): Record<string, string>[] {
  const [header = [], ...rows] = csv
    .trimEnd()
    .split('\n')
    .map((line) => line.replace(/"[^"]*"/g, '').split(','));
  return rows.map((row) => Object.fromEntries(header.map((key, at) => [key, row[at] ?? ''])));
}

const GRADES = [0, 1, 2, 3, 4] as const;

describe('an attack on what the report for others holds', () => {
  /** A ward whose counts of each grade are small or nothing in many periods. */
  async function reportOf(seed: number, audience: 'inside' | 'outside') {
    const random = seededRandom(seed);
    const periods = 4 + (seed % 5);
    const sizes = [12, 7, 5, 3, 2].map((size) => size * (0.4 + 1.2 * random.uniform()));
    const counts = Array.from({ length: periods }, () => sizes.map((size) => random.below(Math.ceil(2 * size))));
    const notAssessed = counts.map(() => (random.uniform() < 0.4 ? 0 : random.below(9)));
    const names = { signLabel: 'Pitting edema', counted: 'stays', rule: 'worst reading' };
    const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
    const atLeast = String(1 + (seed % 4));
    const values = GRADES.map(String);
    const counted = shareResultOf(
      {
        ...names,
        atLeast,
        segments: [
          {
            scaleLabel: 'depth',
            finding: `grade ${atLeast} or more`,
            periods: counts.map((row, at) =>
              periodShare(String(at + 1), sum(row.slice(Number(atLeast))), sum(row), sum(row) + notAssessed[at]!, 0.95),
            ),
          },
        ],
      },
      [],
    );
    const segment = {
      scaleLabel: 'depth',
      grades: values,
      values,
      periods: counts.map((row, at) => ({ label: String(at + 1), counts: row, notAssessed: notAssessed[at]! })),
    };
    const grades = gradesResultOf({ ...names, segments: [segment] }, []);
    const { files } = await unitReport(counted, { title: 'Ward', fingerprint: 'f', grades, audience });
    return { counts, notAssessed, cut: Number(atLeast), files };
  }

  const cell = (period: number, part: number | string): string => `${period}/${part}`;
  const isNumber = (text: string | undefined): boolean => text !== undefined && /^\d+$/.test(text);
  const small = (value: number): boolean => value > 0 && value < 5;

  /** Of a label such as "3–6" the periods, and of "2–4" the grades. */
  function within(label: string): number[] {
    const [from, to = from] = label.split('–').map(Number) as [number, number?];
    return Array.from({ length: to! - from + 1 }, (_, at) => from + at);
  }

  /** What both files tell about the people at or above a grade, below it, and not assessed, and about single grades. */
  function toldBy(files: Readonly<Record<string, string>>, cut: number) {
    const single: Told[] = [];
    const halves: Told[] = [];
    const over = (label: string, parts: readonly (number | string)[]): string[] =>
      within(label).flatMap((period) => parts.map((each) => cell(period, each)));
    for (const row of rowsOf(files['results.csv']!)) {
      if (!isNumber(row.count)) continue;
      const [count, assessed, due] = [Number(row.count), Number(row.assessed), Number(row.due)];
      single.push({ of: over(row.period!, GRADES.slice(cut)), sum: count });
      single.push({ of: over(row.period!, GRADES), sum: assessed });
      single.push({ of: over(row.period!, ['not']), sum: due - assessed });
      halves.push({ of: over(row.period!, ['above']), sum: count });
      halves.push({ of: over(row.period!, ['below']), sum: assessed - count });
      halves.push({ of: over(row.period!, ['not']), sum: due - assessed });
    }
    for (const row of rowsOf(files['grades.csv']!)) {
      if (!isNumber(row['not assessed'])) continue;
      const sums = { above: 0, below: 0 };
      for (const [key, text] of Object.entries(row).filter(([name]) => name.startsWith('grade '))) {
        const joined = within(key.slice(6));
        single.push({ of: over(row.period!, joined), sum: Number(text) });
        expect(joined.every((grade) => grade >= cut) || joined.every((grade) => grade < cut)).toBe(true);
        sums[joined[0]! >= cut ? 'above' : 'below'] += Number(text);
      }
      single.push({ of: over(row.period!, ['not']), sum: Number(row['not assessed']) });
      for (const part of ['above', 'below'] as const) halves.push({ of: over(row.period!, [part]), sum: sums[part] });
    }
    return { single, halves };
  }

  it('finds no number of one to four people from the share and the grades together', async () => {
    let [hidden, told, gradesShown] = [0, 0, 0];
    for (let seed = 1; seed <= 16; seed++) {
      const { counts, notAssessed, cut, files } = await reportOf(seed, 'outside');
      const { single, halves } = toldBy(files, cut);
      told += single.length;
      gradesShown += rowsOf(files['grades.csv']!).filter((row) => isNumber(row['not assessed'])).length;
      const truth = new Map<string, number>();
      counts.forEach((row, at) => {
        row.forEach((count, grade) => {
          truth.set(cell(at + 1, grade), count);
        });
        truth.set(cell(at + 1, 'not'), notAssessed[at]!);
      });
      const sides = new Map<string, number>();
      counts.forEach((row, at) => {
        const above = row.slice(cut).reduce((total, count) => total + count, 0);
        sides.set(cell(at + 1, 'above'), above);
        sides.set(cell(at + 1, 'below'), row.reduce((total, count) => total + count, 0) - above);
        sides.set(cell(at + 1, 'not'), notAssessed[at]!);
      });
      for (const [real, known] of [
        [truth, single],
        [sides, halves],
      ] as const) {
        const found = workedOut([...real.keys()], known);
        for (const [name, value] of real) {
          if (!small(value)) continue;
          hidden++;
          expect([seed, name, found.get(name)]).toEqual([seed, name, undefined]);
        }
      }
    }
    // The attack is no attack where nothing is shown, or nothing was small.
    expect(hidden).toBeGreaterThan(300);
    expect(told).toBeGreaterThan(100);
    expect(gradesShown).toBeGreaterThan(10);
  });

  it('shows no period of one to four assessed to those inside', async () => {
    for (let seed = 1; seed <= 4; seed++) {
      const { files } = await reportOf(seed, 'inside');
      for (const row of rowsOf(files['grades.csv']!))
        if (isNumber(row['not assessed']))
          expect(small(Number(row['stays in all']) - Number(row['not assessed']))).toBe(false);
    }
  });
});
