import { expect, it } from 'vitest';
import { measurementTerms } from '../../src/reports/measurement-terms.ts';
import { inventedStudy } from './study.ts';

it('calls weighted kappa and the intraclass correlation reliability, specific agreement and the error of one reading measurement error', async () => {
  const { rows, notes } = measurementTerms(await inventedStudy());
  const of = (statistic: RegExp) => rows.filter((row) => statistic.test(row.statistic as string));
  expect(of(/^Conger kappa/)).toEqual([expect.objectContaining({ property: 'reliability', preferred: 'yes' })]);
  expect(of(/intraclass/i)).toEqual([expect.objectContaining({ property: 'reliability', preferred: 'yes' })]);
  expect(of(/^specific agreement/)).toHaveLength(5);
  for (const row of of(/^specific agreement|standard error/)) expect(row.property).toBe('measurement error');
  expect(of(/percent agreement/i).every((row) => row.preferred === 'beside specific agreement')).toBe(true);
  expect(notes[0]!.message).toMatch(/anchor/);
});
