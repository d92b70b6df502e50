import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { captureSheet } from '../../src/planning/capture-sheet.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { codebook } from '../../src/signs/codebook.ts';
import { plan } from './plan.ts';

describe('captureSheet', () => {
  it('loads as it is: every row, every column, nothing read yet', async () => {
    const assessments = await loadAssessments({ text: captureSheet(plan) });
    expect(assessments.length).toBe(8 * 3 * 14);
    expect([...assessments.phase.values].sort()).toEqual(['main', 'pilot']);
    expect(assessments.order[0]).toBe(1);
    expect(assessments.category.every((code) => code < 0)).toBe(true);
  });

  it('loads filled, each grade, number and reason as it was written', async () => {
    const lines = captureSheet(plan, { phase: 'main', assessor: 'B' }).trimEnd().split('\n');
    const write = (line: string, value: string, missing = ''): string => line.replace(/,,$/, `,${value},${missing}`);
    const filled = lines.map((line) => {
      if (line.includes('pulse-grade')) return write(line, '3');
      if (line.includes('ankle-girth')) return write(line, '23.5');
      if (line.includes('pitting-edema')) return write(line, '', 'covered');
      return line;
    });
    const assessments = await loadAssessments({ text: filled.join('\n') });
    expect(assessments.length).toBe(6 * 14);
    expect([...assessments.where({ sign: 'pulse-grade' }).category]).toEqual(new Array(24).fill(3));
    expect([...assessments.where({ sign: 'ankle-girth' }).number]).toEqual(new Array(12).fill(23.5));
    expect(assessments.where({ missing: 'covered' }).length).toBe(6 * 5);
  });

  it('loads for every sign and scale of the codebook', async () => {
    const rest = { title: 'x', patients: 1, assessors: ['A', 'B'], minutesPerExamination: 1 };
    const most = Math.max(...codebook.map((sign) => sign.scales.length));
    for (let at = 0; at < most; at++) {
      const signs = codebook.flatMap((sign) =>
        sign.scales.slice(at, at + 1).map((scale) => ({ sign: sign.id, scale: scale.id })),
      );
      const all = planStudy({ ...rest, signs });
      const assessments = await loadAssessments({ text: captureSheet(all) });
      expect(assessments.length).toBe(2 * all.findings.length);
    }
  });
});
