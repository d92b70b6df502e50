import { execFileSync } from 'node:child_process';
import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type AssessmentSource, loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { LoadOptions } from '../../src/assessments/load-options.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { problemsOf } from '../support/problems-of.ts';

const HEADER = 'patient,day,assessor,limb,site,sign,scale,value,missing';
const text = (...lines: string[]): { text: string } => ({ text: [HEADER, ...lines, ''].join('\n') });
const PULSE = 'pulse-grade,pulse.0-3.normal2';

const codesOf = async (source: AssessmentSource, options?: LoadOptions): Promise<string[]> =>
  (await problemsOf(source, options)).map(({ row, code }) => `${row ?? '-'} ${code}`);

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'load-test-'));
});
afterAll(() => rm(folder, { recursive: true }));

const file = async (name: string, content: string | Buffer): Promise<string> => {
  const path = join(folder, name);
  await writeFile(path, content);
  return path;
};

describe('readings', () => {
  test.each([
    ['2+', PULSE, 'DP', '2', 2],
    ['+2', PULSE, 'DP', '2', 2],
    ['2/3', PULSE, 'DP', '2', 2],
    ['2.0', PULSE, 'DP', '2', 2],
    ['normal', PULSE, 'DP', '2', 2],
    ['2/4', 'pulse-grade,pulse.0-4.normal3', 'popliteal', '2', 2],
    ['trace', 'pitting-edema,pit.0-4.hogan.trace', 'shin', 'trace', 0.5],
    ['Tr', 'pitting-edema,pit.0-4.hogan.trace', 'shin', 'trace', 0.5],
    ['yes', 'pulse-grade,pulse.binary', 'DP', '1', 1],
    ['Doppler only', 'pulse-detection,pulse.detection4', 'DP', 'doppler-only', 1],
    ['not felt, Doppler not used', 'pulse-detection,pulse.detection4', 'DP', 'not-felt-doppler-not-used', 3],
    ['2.5', 'capillary-refill,refill.seconds.toe', 'great toe', 2.5, 2.5],
    ['2.5 s', 'capillary-refill,refill.seconds.toe', 'great toe', 2.5, 2.5],
  ])('%s on %s', async (written, sign, site, value, number) => {
    const loaded = await loadAssessments(text(`P1,0,A,left-leg,${site},${sign},"${written}",`));
    expect(loaded.toRows()[0]?.value).toBe(value);
    expect(loaded.number[0]).toBe(number);
  });

  test.each([
    ['<2', '<', 2],
    ['>15', '>', 15],
    ['≤ 3', '<=', 3],
  ])('%s keeps its comparator', async (written, comparator, number) => {
    const loaded = await loadAssessments(
      text(`P1,0,A,left-leg,great toe,capillary-refill,refill.seconds.toe,${written},`),
    );
    expect([loaded.wordAt('comparator', 0), loaded.number[0]]).toEqual([comparator, number]);
  });

  test('0, an empty cell and each reason stay apart', async () => {
    const loaded = await loadAssessments(
      text(
        `P1,0,A,left-leg,DP,${PULSE},0,`,
        `P2,0,A,left-leg,DP,${PULSE},,`,
        `P3,0,A,left-leg,DP,${PULSE},,covered`,
        `P4,0,A,left-leg,DP,${PULSE},refused,`,
        `P5,0,A,left-leg,DP,${PULSE},,part absent`,
      ),
    );
    expect([...loaded.category]).toEqual([0, -1, -1, -1, -1]);
    expect(loaded.toRows().map(({ missing }) => missing)).toEqual([null, null, 'covered', 'refused', 'part-absent']);
  });

  test('a decimal comma is understood, and mixed decimals are refused at the rarer kind', async () => {
    const refill = (patient: string, value: string): string =>
      `${patient};A;L;great toe;capillary-refill;refill.seconds.toe;${value}`;
    const header = 'patient;assessor;limb;site;sign;scale;value';
    const loaded = await loadAssessments({ text: [header, refill('P1', '2,5'), refill('P2', '3')].join('\n') });
    expect([...loaded.number]).toEqual([2.5, 3]);
    const mixed = [header, refill('P1', '2,5'), refill('P2', '3,5'), refill('P3', '1.5')].join('\n');
    expect(await codesOf({ text: mixed })).toEqual(['4 mixed-decimals']);
    expect(await codesOf({ text: mixed }, { decimal: '.' })).toEqual(['2 mixed-decimals', '3 mixed-decimals']);
  });

  test('a measured value is converted to the unit of its scale, and an unusual spelling is noted', async () => {
    const loaded = await loadAssessments({
      rows: [
        {
          patient: 'P1',
          limb: 'L',
          site: 'great-toe',
          sign: 'capillary-refill',
          scale: 'refill.seconds.toe',
          value: 2,
          valueUnit: 'sec',
        },
        {
          patient: 'P1',
          limb: 'R',
          site: 'great-toe',
          sign: 'capillary-refill',
          scale: 'refill.seconds.toe',
          value: 0.1,
          valueUnit: 'min',
        },
      ],
    });
    expect([...loaded.number]).toEqual([2, 6]);
    expect(loaded.notes.map(({ code }) => code)).toEqual(['unit-spelling']);
  });
});

describe('limbs and sites', () => {
  test.each(['left-leg', 'L', 'left', 'LL', 'L_leg', 'left lower limb', 'Left Leg'])(
    '%s is the left leg',
    async (limb) => {
      const loaded = await loadAssessments(text(`P1,0,A,${limb},dorsalis pedis,${PULSE},2,`));
      expect([loaded.wordAt('limb', 0), loaded.wordAt('site', 0)]).toEqual(['left-leg', 'dorsalis-pedis']);
    },
  );

  test('a column side is enough where the site tells arm from leg', async () => {
    const row = { patient: 'P1', side: 'R', site: 'radial', sign: 'pulse-grade', scale: 'pulse.binary', value: 1 };
    expect((await loadAssessments({ rows: [row] })).wordAt('limb', 0)).toBe('right-arm');
  });

  test('what does not fit together is refused', async () => {
    expect(
      await codesOf(
        text(
          `P1,0,A,,DP,${PULSE},2,`,
          `P1,0,A,left-arm,DP,${PULSE},2,`,
          `P1,0,A,left-leg,,${PULSE},2,`,
          `P1,0,A,left-leg,great toe,${PULSE},2,`,
          'P1,0,A,left-leg,sacrum,pitting-edema,pit.0-4.hogan,2,',
          'P1,0,A,left-leg,,edema-overall,oed.overall.words,2,',
          `P1,0,A,both,DP,${PULSE},2,`,
          `P1,0,A,left-leg,DPP,${PULSE},2,`,
          'P1,0,A,left-leg,index finger,capillary-refill,refill.seconds.toe,2,',
        ),
      ),
    ).toEqual([
      '2 side-missing',
      '3 limb-site-mismatch',
      '4 site-missing',
      '5 site-not-of-sign',
      '6 side-for-midline',
      '7 limb-not-of-sign',
      '8 two-limbs',
      '9 unknown-site',
      '10 limb-site-mismatch',
      '10 scale-not-of-site',
    ]);
  });
});

describe('scales', () => {
  const unlabelled = [
    'patient,assessor,limb,site,sign,value',
    'P1,A,L,DP,pulse-grade,2/3',
    'P2,A,L,DP,pulse-grade,1',
    'P2,A,,,edema-overall,1',
  ].join('\n');

  test('an unlabelled column of pulses is refused once, with what its readings point to', async () => {
    const problems = await problemsOf({ text: unlabelled });
    expect(problems.map(({ code, row, path }) => [code, row, path?.join('.')])).toEqual([
      ['scale-missing', undefined, 'scales.pulse-grade'],
      ['scale-missing', undefined, 'scales.edema-overall'],
    ]);
    expect(problems[0]?.message).toContain('parts of 3, which fits pulse.0-3.normal2');
    expect(problems[0]?.expected).toContain('pulse.0-4.normal3 (0 to 4, where 3 is normal)');
  });

  test('the options say it', async () => {
    const scales = { 'pulse-grade': 'pulse.0-3.normal2', 'edema-overall': 'oed.overall.words' };
    const loaded = await loadAssessments({ text: unlabelled }, { scales });
    expect(loaded.scales.map(({ id }) => id)).toEqual(['oed.overall.words', 'pulse.0-3.normal2']);
    expect(await codesOf({ text: unlabelled }, { scales: { ...scales, 'pulse-grade': 'pulse.0-4.normal2' } })).toEqual([
      '2 denominator-contradicts-scale',
    ]);
  });

  test('the site chooses among several scales for refill', async () => {
    const loaded = await loadAssessments(
      { text: 'patient,limb,site,sign,value\nP1,L,great toe,capillary-refill,3\nP1,L,thumb,capillary-refill,2\n' },
      { scales: { 'capillary-refill': ['refill.seconds.finger', 'refill.seconds.toe'] } },
    );
    expect([loaded.wordAt('scale', 0), loaded.wordAt('scale', 1)]).toEqual([
      'refill.seconds.toe',
      'refill.seconds.finger',
    ]);
  });

  test('a scale of another sign, an unknown one and a missing one are told apart', async () => {
    expect(
      await codesOf(
        text(
          'P1,0,A,L,DP,pulse-grade,pit.0-4.hogan,2,',
          'P1,0,A,L,DP,pulse-grade,pulse.0-9,2,',
          'P1,0,A,L,DP,pulse-grade,,2,',
          'P1,0,A,L,DP,puls-grade,pulse.binary,1,',
        ),
      ),
    ).toEqual(['2 scale-not-of-sign', '3 unknown-scale', '4 scale-missing', '5 unknown-sign']);
  });

  test('grades off the scale, trace without trace, and a 4 under 0 to 3', async () => {
    const problems = await problemsOf(
      text(
        `P1,0,A,L,DP,${PULSE},4,`,
        'P1,0,A,L,shin,pitting-edema,pit.0-4.hogan,trace,',
        `P2,0,A,L,DP,${PULSE},2/4,`,
        'P1,0,A,L,great toe,capillary-refill,refill.seconds.toe,-1,',
        'P2,0,A,L,great toe,capillary-refill,refill.seconds.toe,247,',
        `P3,0,A,L,DP,${PULSE},<2,`,
        `P4,0,A,L,DP,${PULSE},NA,`,
        `P5,0,A,L,DP,${PULSE},strong-ish,`,
      ),
    );
    expect(problems.map(({ row, code }) => `${row} ${code}`)).toEqual([
      '2 off-scale',
      '3 off-scale',
      '4 denominator-contradicts-scale',
      '5 below-range',
      '6 above-range',
      '7 comparator-on-grade',
      '8 unclear-mark',
      '9 off-scale',
    ]);
    expect(problems[0]?.message).toBe('Grade 4 is not on the scale "0 to 3, where 2 is normal" (pulse.0-3.normal2).');
    expect(problems[1]?.mend).toContain('pit.0-4.hogan.trace');
    expect(JSON.stringify(problems)).not.toContain('strong-ish');
  });
});

describe('sources', () => {
  const rows = [
    {
      patient: 'P2',
      assessor: 'B',
      limb: 'L',
      site: 'DP',
      sign: 'pulse-grade',
      scale: 'pulse.0-3.normal2',
      value: 2,
      day: 3,
    },
    {
      patient: 'P1',
      assessor: 'A',
      limb: 'R',
      site: 'PT',
      sign: 'pulse-grade',
      scale: 'pulse.0-3.normal2',
      value: null,
      day: 0,
    },
  ];
  const csv =
    'patient,assessor,limb,site,sign,scale,value,day\nP2,B,L,DP,pulse-grade,pulse.0-3.normal2,2,3\nP1,A,R,PT,pulse-grade,pulse.0-3.normal2,,0\n';

  test('file, text, rows and frame of the same assessments have the same fingerprint', async () => {
    const fromText = await loadAssessments({ text: csv });
    const sources: AssessmentSource[] = [
      await file('same.csv', csv),
      await file('bom.csv', `\ufeff${csv.replaceAll('\n', '\r\n')}`),
      await file('semicolon.csv', csv.replaceAll(',', ';')),
      await file('tab.tsv', csv.replaceAll(',', '\t')),
      await file('quoted.csv', csv.replaceAll(/[^,\n]+/g, '"$&"')),
      { rows },
      { rows: fromText.toRows() },
      { frame: await fromText.toFrame() },
    ];
    for (const source of sources) expect((await loadAssessments(source)).fingerprint()).toBe(fromText.fingerprint());
    expect((await loadAssessments({ rows: [...rows].reverse() })).fingerprint()).not.toBe(fromText.fingerprint());
  });

  test('columns are mapped, absent ones are constants, others are named as not read', async () => {
    const loaded = await loadAssessments(
      { text: 'id,who,puls,room\nP1,A,2,21\n' },
      {
        columns: { patient: 'id', assessor: 'who', value: 'puls' },
        constants: {
          sign: 'pulse-grade',
          scale: 'pulse.0-3.normal2',
          limb: 'left-leg',
          site: 'dorsalis-pedis',
          day: 4,
          blinded: true,
        },
      },
    );
    expect(loaded.toRows()[0]).toMatchObject({ patient: 'P1', assessor: 'A', value: '2', day: 4, blinded: true });
    expect(loaded.notes.map(({ message }) => message)).toEqual(['Columns not read: room.']);
  });

  test('a wrong constant is told once, not at every row', async () => {
    const problems = await problemsOf(
      { text: 'patient,assessor,value\nP1,A,2\nP2,A,1\n' },
      { constants: { sign: 'pulse-grade', scale: 'pulse.0-3.normal2', limb: 'left-lag', site: 'DP' } },
    );
    expect(problems.map(({ code, path, row }) => [code, path?.join('.'), row])).toEqual([
      ['unknown-limb', 'constants.limb', undefined],
    ]);
  });

  test('options are checked together, with the nearest word offered', async () => {
    const problems = await problemsOf({ text: csv }, {
      scales: { 'pulse-grad': 'x', 'pulse-grade': 'pulse.0-3.normal' },
      signs: ['pulse'],
      delimiter: '#' as ',',
      colums: {},
    } as LoadOptions);
    expect(problems.map(({ code }) => code).sort()).toEqual([
      'unknown-choice',
      'unknown-option',
      'unknown-scale',
      'unknown-sign',
      'unknown-sign',
    ]);
    expect(problems.map(({ mend }) => mend)).toContain('did you mean columns?');
  });

  test('columns that are needed and columns that are named wrongly are told together', async () => {
    expect(
      await codesOf({ text: 'id,grade,reading\nP1,2,2\n' }, { columns: { patient: 'idd', assesor: 'x' } as never }),
    ).toEqual(['- unknown-column', '- column-not-found', '- column-twice', '- column-missing', '- column-missing']);
  });

  test('several files are read as one, and a problem names its file', async () => {
    await file('ward-1.csv', csv);
    await file('ward-2.csv', csv.replace('P2', 'P3').replace('P1', 'P4'));
    expect((await loadAssessments(join(folder, 'ward-?.csv'))).length).toBe(4);
    await file('ward-3.csv', `${csv.replace('P2', 'P5').replace('P1', 'P6').replace(',2,3', ',9,3')}P7,B\n`);
    const problems = await problemsOf(join(folder, 'ward-?.csv'));
    expect(problems.map(({ row, code, path }) => [path?.[0], row, code])).toEqual([
      ['ward-3.csv', 2, 'off-scale'],
      ['ward-3.csv', 4, 'cells-missing'],
    ]);
  });

  test('one sign of several is loaded when asked for', async () => {
    const loaded = await loadAssessments(text(`P1,0,A,L,DP,${PULSE},2,`, 'P1,0,A,L,nowhere,pitting-edema,x,y,'), {
      signs: ['pulse-grade'],
    });
    expect(loaded.sign.values).toEqual(['pulse-grade']);
    expect(loaded.notes.map(({ message }) => message)).toEqual([
      'Rows of other signs that were left out, as asked for: 1.',
    ]);
  });

  test('files that are no table are refused in words', async () => {
    expect(await codesOf(join(folder, 'absent.csv'))).toEqual(['- file-not-found']);
    expect(await codesOf(await file('empty.csv', ''))).toEqual(['- file-empty']);
    expect(await codesOf(await file('book.xlsx', 'PK\u0003\u0004...'))).toEqual(['- file-format']);
    expect(await codesOf(await file('wide.csv', Buffer.from(csv, 'utf16le')))).toEqual(['- file-encoding']);
    expect(await codesOf(await file('twice.csv', 'patient,patient\nP1,P1\n'))).toEqual(['1 header-twice']);
    expect(
      await codesOf(
        await file('latin.csv', Buffer.from(`${csv}P9,\xe9,L,DP,pulse-grade,pulse.binary,1,0\n`, 'latin1')),
      ),
    ).toEqual(['4 file-encoding']);
    expect(await codesOf({ rows: [{ patient: new Date(0), sign: 'pulse-grade', value: Number.NaN }] })).toEqual([
      '- scale-missing',
      '2 cell-type',
      '2 cell-type',
      '2 patient-missing',
      '2 site-missing',
    ]);
    expect(await codesOf({ nothing: 1 } as never)).toEqual(['- unknown-source']);
  });

  test('rows are numbered as the spreadsheet numbers them', async () => {
    const lines = [
      HEADER, // row 1
      '', // row 2
      `P1,0,"A\nB",left-leg,DP,${PULSE},9,`, // row 3, though it takes two lines
      ',,,,,,,,', // row 4
      `P2,0,A,left-leg,DP,${PULSE},2,`,
      'P3,0', // row 6
      '', // row 7
      `P4,0,A,left-leg,DP,${PULSE},8,`, // row 8
    ];
    for (const end of ['\n', '\r\n'])
      expect(await codesOf(await file('numbered.csv', `\ufeff${lines.join(end)}`))).toEqual([
        '3 off-scale',
        '6 cells-missing',
        '8 off-scale',
      ]);
  });

  test('an empty line after the byte order mark is counted', async () => {
    const content = `\ufeff\n${HEADER}\nP1,0,A,left-leg,DP,${PULSE},9,\n`;
    expect(await codesOf(await file('marked.csv', content))).toEqual(['3 off-scale']);
  });

  test('stops when asked to', async () => {
    await expect(loadAssessments({ rows }, { signal: AbortSignal.abort() })).rejects.toThrow(/abort/i);
    const shares: number[] = [];
    await loadAssessments({ text: csv }, { progress: (share) => shares.push(share) });
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
  });
});

describe('identifiers', () => {
  test('are refused with row and rule and never repeated', async () => {
    const secret = ['1961-04-17', 'someone@example.org', '555-010-1234', '441782344', 'Doe'];
    let message = '';
    try {
      await loadAssessments({
        text: [
          `patient,last name,born,mail,assessor,limb,site,sign,scale,value`,
          `${secret[3]},${secret[4]},${secret[0]},${secret[1]},A,L,DP,${PULSE},2`,
          `P2,${secret[4]},,${secret[2]},A,L,DP,${PULSE},3-Feb`,
        ].join('\n'),
      });
    } catch (error) {
      message = `${(error as Error).message} ${JSON.stringify((error as InputError).problems)}`;
    }
    for (const value of secret) expect(message).not.toContain(value);
    expect(message).toContain('row 2, column "patient": The value has the form of an identifier (long number)');
    expect(message).toContain('row 2, column "mail"'.replace('row 2, ', ''));
    expect(message).toContain('row 3, column "value": The value has the form of an identifier (date)');
    expect(message).toContain('type the reading again');
  });

  test('a column can be declared harmless, and the notes say so', async () => {
    const source = { text: `patient,limb,site,sign,scale,value\n441782344,L,DP,${PULSE},2\n` };
    expect(await codesOf(source)).toEqual(['2 identifier-value']);
    const loaded = await loadAssessments(source, { notIdentifying: ['patient'] });
    expect(loaded.notes.map(({ code, severity }) => [code, severity])).toEqual([['not-identifying', 'caution']]);
  });
});

describe('duplicates', () => {
  test('the same finding twice is an error that names both rows; replicate and day tell them apart', async () => {
    const line = `P1,0,A,left-leg,DP,${PULSE},2,`;
    const problems = await problemsOf(text(line, `P2,0,A,left-leg,DP,${PULSE},2,`, line.replace('left-leg', 'L')));
    expect(problems.map(({ row, code }) => `${row} ${code}`)).toEqual(['4 duplicate']);
    expect(problems[0]?.message).toContain('as row 2');
    expect((await loadAssessments(text(line, line.replace('P1,0', 'P1,1')))).length).toBe(2);
    const numbered = `${HEADER},replicate\n${line},1\n${line},2\n`;
    expect((await loadAssessments({ text: numbered })).length).toBe(2);
    expect(await codesOf({ text: `${HEADER},replicate\n${line},1\n${line},\n` })).toEqual(['3 duplicate']);
  });
});

test('a file of 1,000 broken rows lists every problem and loses none', async () => {
  const faults: readonly (readonly [string, readonly string[]])[] = [
    [`P#,0,A,left-leg,DP,${PULSE},7,`, ['off-scale']],
    [`P#,0,A,left-leg,DP,${PULSE},2/4,`, ['denominator-contradicts-scale']],
    [`P#,0,A,,DP,${PULSE},2,`, ['side-missing']],
    [`P#,0,A,left-leg,,${PULSE},2,`, ['site-missing']],
    [`P#,0,A,left-leg,sacrum,pitting-edema,pit.0-4.hogan,2,`, ['side-for-midline']],
    [`P#,0,A,left-leg,great toe,${PULSE},2,`, ['site-not-of-sign']],
    [`,0,A,left-leg,DP,${PULSE},2,`, ['patient-missing']],
    [`P#,zero,A,left-leg,DP,${PULSE},2,`, ['not-a-number']],
    [`P#,0,A,left-leg,DP,,,2,`, ['sign-missing']],
    [`P#,0,A,left-leg,DP,palse,x,2,`, ['unknown-sign']],
    ['P#,0,A,left-leg,DP,pulse-grade,,2,', ['scale-missing']],
    ['P#,0,A,left-leg,DP,pulse-grade,pulse.0-5,2,', ['unknown-scale']],
    [`P#,0,A,left-leg,DP,${PULSE},2,refused`, ['value-and-missing']],
    [`P#,0,A,left-leg,DP,${PULSE},,weather`, ['unknown-reason']],
    [`P#,0,A,left-leg,DP,${PULSE},?,`, ['unclear-mark']],
    [`P#,2026-03-01,A,left-leg,DP,${PULSE},2,`, ['identifier-value']],
    [`P#,0,A,left-leg,DP,${PULSE},3-Feb,`, ['identifier-value']],
    ['P#,0,A,left-leg,great toe,capillary-refill,refill.seconds.toe,-2,', ['below-range']],
    ['P#,0,A,left-leg,great toe,capillary-refill,refill.seconds.toe,2 cm,', ['unit-does-not-fit']],
    ['P#,0,A,left-leg,great toe,capillary-refill,refill.seconds.toe,fast,', ['not-a-number']],
    [`P#,0,A,left-knee,DP,${PULSE},9,`, ['off-scale', 'unknown-limb']],
    ['P#,0,A,left-leg', ['cells-missing']],
    [`P#,0,A,left-leg,DP,${PULSE},2,,extra`, ['cells-too-many']],
    [`P1,0,A,left-leg,DP,${PULSE},2,`, ['duplicate']],
    [`"P#,0,A,left-leg,DP,${PULSE},2,`.replace('"P#', '"P#"x'), ['quotation-mark']],
  ];
  const lines = [HEADER, `P1,0,A,left-leg,DP,${PULSE},2,`];
  const expected: string[] = [];
  for (let at = 0; at < 1000; at++) {
    if (at % 97 === 5) lines.push('');
    const [line, codes] = faults[at % faults.length] ?? ['', []];
    lines.push(line.replace('P#', `P${at + 2}`));
    expected.push(...codes.map((code) => `${lines.length} ${code}`));
  }
  const path = await file('broken.csv', `${lines.join('\n')}\n`);
  const found = await codesOf(path);
  expect([...found].sort()).toEqual([...expected].sort());
  expect(found.length).toBe(1040);
  const rows = found.map((problem) => Number.parseInt(problem, 10));
  expect(rows).toEqual([...rows].sort((a, b) => a - b));
});

describe('what a file can do to a reader', () => {
  const row = { patient: 'P1', limb: 'L', site: 'DP', sign: 'pulse-grade', scale: 'pulse.0-3.normal2', value: '2' };

  test('words that every object has are words', async () => {
    expect(await codesOf({ rows: [{ ...row, value: 'constructor' }] })).toEqual(['2 off-scale']);
    expect(await codesOf({ rows: [{ ...row, missing: 'constructor' }] })).toEqual(['2 unknown-reason']);
    expect(await codesOf({ rows: [{ ...row, blinded: '__proto__' }] })).toEqual(['2 not-yes-or-no']);
    const named = { ...row, patient: 'constructor', assessor: '__proto__', constructor: 'x' };
    const loaded = await loadAssessments({ rows: [named, { ...row, patient: 'P2' }] });
    expect(loaded.toRows().map(({ patient, assessor }) => [patient, assessor])).toEqual([
      ['constructor', '__proto__'],
      ['P2', null],
    ]);
    expect(loaded.notes.map(({ message }) => message)).toEqual(['Columns not read: constructor.']);
  });

  test('a value nobody looked at for identifiers is not silently blank', async () => {
    const excepted = { notIdentifying: ['value', 'day', 'site'] };
    expect(await codesOf({ rows: [{ ...row, value: '2026-03-01' }] }, excepted)).toEqual(['2 off-scale']);
    expect(await codesOf({ rows: [{ ...row, day: '2026-03-01' }] }, excepted)).toEqual(['2 not-a-number']);
    expect(await codesOf({ rows: [{ ...row, site: 'Jane Doe' }] }, excepted)).toEqual(['2 unknown-site']);
  });

  test('an identifier among the options is refused, and not said', async () => {
    const { patient: _, ...rest } = row;
    const [problem] = await problemsOf({ rows: [rest] }, { constants: { patient: 'Jane Doe' } });
    expect(problem).toMatchObject({ code: 'identifier-value', path: ['constants', 'patient'] });
    expect(JSON.stringify(problem)).not.toContain('Jane');
  });

  test('numbers that may be dates or record numbers are not repeated', async () => {
    const [grade] = await problemsOf({ rows: [{ ...row, value: '46082' }] });
    expect(grade?.message).toMatch(/^The value is not on the scale/);
    const [small] = await problemsOf({ rows: [{ ...row, value: '7' }] });
    expect(small?.message).toMatch(/^Grade 7 is not on the scale/);
  });

  test('names of columns and files that can identify a person are not said', async () => {
    const twice = await problemsOf({ text: 'Jane Doe,Jane Doe\n1,2\n' });
    expect(twice).toMatchObject([{ code: 'header-twice', row: 1 }]);
    expect(JSON.stringify(twice)).not.toContain('Jane');
    await file('Jane Doe 1.csv', 'patient,value\nP1,2\n');
    await file('Jane Doe 2.csv', 'patient,value\nP1\n');
    const problems = await problemsOf(join(folder, 'Jane Doe ?.csv'));
    expect(JSON.stringify(problems)).not.toContain('Jane');
  });

  test('empty first lines that end in another way do not cost the rows', async () => {
    const lines = [Object.keys(row).join(','), Object.values(row).join(',')];
    expect(await codesOf({ text: `\n${lines.join('\r')}\r` })).toEqual(['- line-ends']);
    expect(await codesOf({ text: `"a\rb",${lines[0]}\n,${lines[1]}\n` })).toEqual(['- line-ends']);
    expect((await loadAssessments({ text: `\r${lines.join('\r')}\r` })).length).toBe(1);
  });

  test('a first line in another encoding, without end, or of thousands of columns', async () => {
    const latin = Buffer.from('patient,pr\xe9cis,value\nP1,x,2\n', 'latin1');
    expect(await codesOf(await file('latin-header.csv', latin))).toEqual(['- file-encoding']);
    expect(await codesOf({ text: `patient,${'x'.repeat(300_000)}\nP1,1\n` })).toEqual(['- file-too-large']);
    const wide = Array.from({ length: 3000 }, (_, at) => `c${at}`).join(',');
    expect(await codesOf({ text: `${wide}\n${wide}\n` })).toEqual(['- file-too-large']);
    expect(await codesOf({ text: 'patient,value\nP\ud800,2\n' })).toEqual(['- file-encoding']);
  });

  test('cells of any length take no time to speak of', async () => {
    const start = performance.now();
    for (const long of [
      'a'.repeat(400_000),
      `l${'<'.repeat(400_000)}`,
      `1${' '.repeat(400_000)}x`,
      '1 a '.repeat(100_000),
    ])
      expect(await codesOf({ rows: [{ ...row, value: long, remark: long }] })).toContain('2 identifier-value');
    expect(performance.now() - start).toBeLessThan(10_000);
  });

  test('its own export comes back: formulas escaped, blanks kept', async () => {
    const loaded = await loadAssessments({
      rows: [
        { ...row, patient: '=1+1', assessor: "'@x", value: null },
        { ...row, patient: '-2', assessor: '+a', value: null },
      ],
    });
    const csv = loaded.toCsv();
    expect(csv).toContain("'=1+1,''@x,");
    expect(csv).toContain("\n-2,'+a,");
    expect((await loadAssessments({ text: csv })).fingerprint()).toBe(loaded.fingerprint());
  });

  test.skipIf(process.platform === 'win32')('devices, pipes, folders and other computers are no files', async () => {
    execFileSync('mkfifo', [join(folder, 'pipe.csv')]);
    await symlink('/dev/zero', join(folder, 'endless.csv'));
    for (const path of ['pipe.csv', 'endless.csv', '.'].map((name) => join(folder, name))) {
      expect(await codesOf(path)).toEqual(['- file-not-found']);
      expect(await codesOf(path, { layout: {} })).toEqual(['- file-not-found']);
    }
    expect(await codesOf('https://data.invalid/*.csv')).toEqual(['- file-not-found']);
    expect(await codesOf('a\0*')).toEqual(['- file-not-found']);
  });

  test('−0 is 0', async () => {
    const measured = {
      ...row,
      site: 'great toe',
      sign: 'capillary-refill',
      scale: 'refill.seconds.toe',
      value: '-0',
      day: '-0',
    };
    const loaded = await loadAssessments({ rows: [measured] });
    expect([loaded.number[0], loaded.day[0]].map((number) => Object.is(number, 0))).toEqual([true, true]);
  });

  test('a folder whose name looks like a column changes nothing', async () => {
    await mkdir(join(folder, 'c0=P9'));
    const path = await file('c0=P9/x.csv', `${Object.keys(row).join(',')}\n${Object.values(row).join(',')}\n`);
    expect((await loadAssessments(path)).wordAt('patient', 0)).toBe('P1');
  });
});
