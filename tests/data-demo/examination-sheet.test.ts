import { expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { madeDemoData, truthOf } from './demo-data.ts';

interface Truth {
  scale: string;
  patients: number;
  slips: { row: number; column: string; paper: string }[];
}

it('the invented sheet is refused at its slips, and loads when they are corrected', async () => {
  const files = madeDemoData();
  const text = files.get('examination-sheet.csv') ?? '';
  const truth = truthOf<Truth>(files, 'examination-sheet');
  const { layout, questions } = await previewSheet(
    { text },
    { answers: { scales: { 'pulse-grade': truth.scale }, blanks: 'not-assessed' } },
  );
  expect(questions.filter(({ isNeeded }) => isNeeded)).toEqual([]);
  let refused: InputError['problems'] = [];
  try {
    await loadAssessments({ text }, { layout });
  } catch (error) {
    refused = (error as InputError).problems;
  }
  const cell = ({ row, column }: { row?: number; column?: string }): string => `${row} ${column}`;
  expect(refused.map(cell)).toEqual(truth.slips.map(cell));
  const corrections = truth.slips.map(({ row, column, paper }) => ({ row, column, value: paper }));
  const loaded = await loadAssessments({ text }, { layout: { ...layout, corrections } });
  expect(loaded.patient.values).toHaveLength(truth.patients);
});
