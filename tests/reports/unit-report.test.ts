import { beforeAll, describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { outsideReferences } from '../../src/command/execute-notebooks.ts';
import { unitReport } from '../../src/reports/unit-report.ts';
import { gradesByPeriod } from '../../src/unit-quality/grades-by-period.ts';
import { type ShareByPeriodResult, shareByPeriod } from '../../src/unit-quality/share-by-period.ts';
import { unitDefinition } from '../../src/unit-quality/unit-definition.ts';

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

  it('joins periods with small counts for others, and keeps the counts of grades for one’s own copy', async () => {
    const [own, outside] = [
      await unitReport(share, { ...options(), audience: 'own' }),
      await unitReport(share, options()),
    ];
    expect(own.files['grades.csv']).toMatch(/^id,period/);
    expect(outside.files).not.toHaveProperty('grades.csv');
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

  it('is the same bytes again', async () => {
    expect((await unitReport(share, options())).files).toEqual((await unitReport(share, options())).files);
  });
});
