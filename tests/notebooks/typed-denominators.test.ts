import { expect, it } from 'vitest';
import { madeDemoData, rowsOf } from '../data-demo/demo-data.ts';
import { codeOf, type Notebook, notebookTexts } from '../support/notebook.ts';

it('the stays typed into the notebook of the unit are those of the small table beside the data', () => {
  const text = notebookTexts().find(([name]) => name === 'edema-trend-of-a-unit.ipynb')?.[1] ?? '{"cells":[]}';
  const typed = /staysInPeriod = \[([^\]]*)\]/.exec(codeOf(JSON.parse(text) as Notebook).join('\n'))?.[1];
  expect(typed?.split(',').map(Number)).toEqual(
    rowsOf(madeDemoData(), 'unit-denominators.csv').map((row) => Number(row.stays)),
  );
});
