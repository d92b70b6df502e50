import { randomInt } from 'node:crypto';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { type PrepareOptions, prepareExport } from '../../src/assessments/prepare-export.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { InputError, type Problem } from '../../src/shared/input-error.ts';

const text = [
  'MRN,Name,Age,Sex,Ward,Seen on,Nurse,Site,Leg,Edema,Comment',
  '44178201,"Doe, Jane",91,F,W1,1/14/2026,Kelly,shin,L,2+,wife says worse',
  '44178201,"Doe, Jane",91,F,W1,2/3/2026,Kelly,shin,L,1+,',
  '44178350,"Roe, Sam",67,M,W2,1/31/2026,Ortiz,shin,R,0,no change',
].join('\n');
const columns = {
  MRN: 'patient',
  Name: 'drop',
  Age: 'age',
  Sex: 'keep',
  Ward: 'keep',
  'Seen on': 'date',
  Nurse: 'assessor',
  Site: 'keep',
  Leg: 'keep',
  Edema: 'keep',
  Comment: 'drop',
} as const;
const options: PrepareOptions = { columns, randomBelow: (bound) => randomInt(bound) };
const prepare = async (source: string, given: Partial<PrepareOptions> = {}) =>
  prepareExport(await readSheet({ text: source }), { ...options, ...given });

async function problemsOf(action: Promise<unknown>): Promise<readonly Problem[]> {
  try {
    await action;
  } catch (error) {
    if (error instanceof InputError) return error.problems;
  }
  throw new Error('was not refused');
}

test('codes, day offsets, periods and pooled ages; nothing of the export in text or report', async () => {
  const { csv, key, report } = await prepare(text);
  const [header, ...lines] = csv.trim().split('\n');
  expect(header).toBe('patient,Age,Sex,Ward,day,period,assessor,Site,Leg,Edema');
  const byDay = lines.map((line) => line.split(','));
  expect(byDay.map((cells) => cells.slice(1, 6).join()).sort()).toEqual([
    '67,M,W2,0,1',
    '90+,F,W1,0,1',
    '90+,F,W1,20,2',
  ]);
  for (const secret of ['44178201', '44178350', 'Doe', 'Roe', 'Jane', 'Kelly', 'Ortiz', '2026', 'wife', '91'])
    expect(`${csv} ${report.join(' ')}`).not.toContain(secret);
  expect(Object.keys(key.MRN ?? {})).toEqual(['44178201', '44178350']);
  expect(Object.keys(key)).toEqual(['MRN', 'Nurse']);
  for (const code of Object.values(key.MRN ?? {})) expect(code).toMatch(/^[A-Z][A-Z2-9]{4}$/);
});

test('what is prepared loads', async () => {
  const { csv } = await prepare(text);
  const loaded = await loadAssessments(
    { text: csv },
    {
      columns: { value: 'Edema', side: 'Leg', unit: 'Ward' },
      constants: { sign: 'pitting-edema', scale: 'pit.0-4.depth-only' },
    },
  );
  expect([loaded.length, loaded.patient.values.length, loaded.assessor.values.length]).toEqual([3, 2, 2]);
});

test('codes are random, not derived: another run gives others, the earlier key keeps them', async () => {
  const first = await prepare(text);
  const second = await prepare(text);
  expect(second.key).not.toEqual(first.key);
  const later = await prepare(`${text}\n44179999,"Poe, Ann",45,F,W2,3/1/2026,Kelly,shin,L,0,`, { key: first.key });
  expect(later.key.MRN).toMatchObject(first.key.MRN ?? {});
  expect(Object.keys(later.key.MRN ?? {})).toHaveLength(3);
});

test('rows are not in the order of the export', async () => {
  const lines = Array.from({ length: 40 }, (_, at) => `${44178000 + at},x,60,F,W1,1/20/2026,K,shin,L,${at % 4},`);
  const { csv } = await prepare([text.split('\n')[0], ...lines].join('\n'));
  const patients = csv
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split(',')[0] ?? '');
  expect(patients).toEqual([...patients].sort());
});

test('periods go on from one export to the next, by months or by stretches of days', async () => {
  const periods = async (given: Partial<PrepareOptions>) =>
    (await prepare(text, given)).csv
      .trim()
      .split('\n')
      .slice(1)
      .map((line) => line.split(',')[5])
      .sort();
  expect(await periods({ periodStart: '2025-11-01' })).toEqual(['3', '3', '4']);
  expect(await periods({ periodDays: 14, periodStart: '2026-01-14' })).toEqual(['1', '2', '2']);
});

test('small groups are told', async () => {
  const { report } = await prepare(text);
  expect(report.join('\n')).toContain('2 values of "Sex" are of fewer than 5 patients each');
  expect(report.join('\n')).toContain('k = 1');
});

test('every problem at once, without a value', async () => {
  expect(
    (await problemsOf(prepare(text, { columns: { MRN: 'patient', Nam: 'drop' } }))).map(({ code }) => code),
  ).toEqual([...Array.from({ length: 10 }, () => 'treatment-missing'), 'column-not-found']);
  expect((await problemsOf(prepare(text, { columns: { ...columns, MRN: 'keep' } }))).map(({ code }) => code)).toEqual([
    'no-patient',
  ]);
  const broken = text.replace('2/3/2026', '2/30/2026').replace('67,M', 'old,M');
  const problems = await problemsOf(prepare(broken, { columns: { ...columns, Name: 'keep', Comment: 'keep' } }));
  expect(problems.map(({ row, code }) => `${row ?? '-'} ${code}`)).toEqual([
    '- identifier-column',
    '2 identifier-value',
    '3 not-a-date',
    '4 not-an-age',
  ]);
  expect(JSON.stringify(problems)).not.toMatch(/Doe|wife|4417/);
  const unclear = text.replaceAll(/1\/14\/2026|1\/31\/2026/g, '1/2/2026');
  expect((await problemsOf(prepare(unclear))).map(({ code }) => code)).toEqual(['unclear-date']);
  const dayFirst = (await prepare(unclear, { dateOrder: 'day-month-year' })).csv;
  expect(dayFirst).toContain(',29,2,'); // from 1 February to 2 March
});

test('a column called after what every object has is asked about, coded, and written', async () => {
  const sheet = 'who,constructor,__proto__\nA,x,y\n';
  const problems = await problemsOf(prepare(sheet, { columns: { who: 'patient' } }));
  expect(problems.map(({ code }) => code)).toEqual(['treatment-missing', 'treatment-missing']);
  const given = JSON.parse('{"who":"patient","constructor":"keep","__proto__":"code"}') as PrepareOptions['columns'];
  const { csv, key } = await prepare(sheet, { columns: given });
  expect(csv).toMatch(/^patient,constructor,__proto__\n\w{5},x,\w{5}\n$/);
  expect(Object.keys(key)).toEqual(['who', '__proto__']);
});

test('formulas of the export do not run in the clean copy; numbers stay numbers', async () => {
  const { csv } = await prepare('who,a,b\nA,=1+1,-2\n', { columns: { who: 'patient', a: 'keep', b: 'keep' } });
  expect(csv).toMatch(/\n\w{5},'=1\+1,-2\n$/);
});

test('columns of the clean copy have different names, and it loads again', async () => {
  const columns = { who: 'patient', nurse: 'assessor', second: 'assessor', day: 'keep', seen: 'date' } as const;
  const { csv } = await prepare('who,nurse,second,day,seen\nA,N,M,1,2026-03-01\n', { columns });
  expect(csv.split('\n')[0]).toBe('patient,assessor,assessor 2,day,day 2,period');
});

test('the name of a column that is an identifier does not reach the clean copy', async () => {
  const problems = await problemsOf(
    prepare('who,Jane Doe\nA,1\n', { columns: { who: 'patient', 'Jane Doe': 'code' } }),
  );
  expect(problems.map(({ code }) => code)).toEqual(['identifier-column']);
  expect(JSON.stringify(problems)).not.toContain('Jane');
});
