import { expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { qualityImprovementElements } from '../../src/reports/quality-improvement-elements.ts';
import { shareByPeriod } from '../../src/unit-quality/share-by-period.ts';

const share = async () =>
  shareByPeriod(
    await loadAssessments({
      rows: Array.from({ length: 40 }, (_, at) => ({
        patient: `p${at}`,
        stay: `s${at}`,
        unit: 'U1',
        period: 1 + Math.floor(at / 4),
        day: 0,
        assessor: 'A',
        limb: 'left-leg',
        site: 'pretibial-shin',
        sign: 'pitting-edema',
        scale: 'pit.0-4.hogan',
        value: String(at % 4),
      })),
    }),
    { sign: 'pitting-edema', atLeast: '2', actions: [{ label: '5', words: 'heels raised' }] },
  );

it('has eighteen elements, fills what the line says, and leaves reasons and meaning to people', async () => {
  const { rows } = qualityImprovementElements(await share());
  expect(rows.map((row) => row.element)).toEqual(Array.from({ length: 18 }, (_, at) => at + 1));
  const of = (words: RegExp) => rows.find((row) => words.test(row.asks as string))!;
  expect(of(/how completely/).filled).toMatch(/Pitting edema.*counted/);
  expect(of(/happened over time/).filled).toMatch(/^40 assessed over 10 periods/);
  expect(of(/What was done, so that/).filled).toContain('heels raised');
  for (const words of [/title/, /should work/, /Ethics/, /main finding/, /explained/, /paid/])
    expect(of(words).left).toBe('[to fill in]');
});
