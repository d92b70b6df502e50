import { expect, it } from 'vitest';
import { numberedEstimates, resultsFile } from '../../src/reports/results-file.ts';
import { inventedStudy } from './study.ts';

it('has a row for every estimate of the study, each with its digits, its options and where the data came from', async () => {
  const study = await inventedStudy();
  const { rows } = resultsFile(study);
  const single = study.results.flatMap((one) =>
    [one.primary, one.exact, one.withinOneGrade, one.standardErrorOfMeasurement].filter(
      (estimate) => estimate !== undefined,
    ),
  );
  expect(rows).toHaveLength(single.length + study.specificAgreement('pulse-grade').categories.length);
  expect(new Set(rows.map((row) => row.id)).size).toBe(rows.length);
  const values = rows.map((row) => row.value);
  for (const estimate of single) expect(values).toContain(estimate.value);
  for (const { estimate } of study.specificAgreement('pulse-grade').categories)
    expect(values).toContain(estimate.value);
  for (const row of rows) {
    expect(row.data).toBe(study.fingerprint);
    expect(row.version).toBe(study.packageVersion);
    expect(JSON.parse(row.options as string)).toHaveProperty('confidenceLevel', 0.95);
  }
  expect(rows.some((row) => row.asked === 'explored')).toBe(true);
  expect(rows.some((row) => /referee/.test(row.asked as string))).toBe(true);
});

it('is the same file again, to the last digit', async () => {
  expect(resultsFile(await inventedStudy()).toCsv()).toBe(resultsFile(await inventedStudy()).toCsv());
});

it('numbers rows in the order of the study', async () => {
  const numbered = numberedEstimates(await inventedStudy());
  expect(numbered.slice(0, 2).map(({ id, role, where }) => [id, role, where])).toEqual([
    ['R001', 'primary', 'all together'],
    ['R002', 'same grade', 'all together'],
  ]);
});
