import { describe, expect, it } from 'vitest';
import { wilson } from '../../src/agreement/percent-agreement.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { gradesByPeriod } from '../../src/unit-quality/grades-by-period.ts';
import { shareByPeriod } from '../../src/unit-quality/share-by-period.ts';

const header = 'patient,stay,unit,day,period,assessor,limb,site,sign,scale,value,missing';
const A = 'pit.0-4.bands-2-4-6-8.long';
const B = 'pit.0-4.hogan';
const row = (stay: string, period: number, limb: string, scale: string, value: string, day = 0, missing = ''): string =>
  `w${stay},${stay},U1,${day},${period},K1,${limb},shin,pitting-edema,${scale},${value},${missing}`;

const file = [
  header,
  // Period 1, scale A: stay s1 worst 3 (left 1, right 3, later 0); s2 worst 0; s3 there, not assessed.
  row('s1', 1, 'left-leg', A, '1'),
  row('s1', 1, 'right-leg', A, '3'),
  row('s1', 1, 'left-leg', A, '0', 4),
  row('s2', 1, 'left-leg', A, '0'),
  row('s3', 1, 'left-leg', A, '', 0, 'not-assessed'),
  // Period 2, another scale.
  row('s4', 2, 'left-leg', B, '2'),
  row('s5', 2, 'left-leg', B, '1'),
].join('\n');

const options = { sign: 'pitting-edema' } as const;

describe('grades of a unit by period', () => {
  it('counts each stay once with its worst grade; missing is never normal; a new scale is a new segment', async () => {
    const grades = gradesByPeriod(await loadAssessments({ text: file }), options);
    expect(grades.counted).toBe('stays');
    expect(
      grades.segments.map((segment) => segment.periods.map(({ counts, notAssessed }) => [counts, notAssessed])),
    ).toEqual([[[[1, 0, 0, 1, 0], 1]], [[[0, 1, 1, 0, 0], 0]]]);
    expect(grades.table.rows[0]).toMatchObject({ period: '1', 'grade 0': 1, 'grade 3': 1, notAssessed: 1, present: 3 });
  });

  it('takes who was there from the second table, and refuses one that is too small', async () => {
    const assessments = await loadAssessments({ text: file });
    const grades = gradesByPeriod(assessments, { ...options, denominators: [{ period: 1, present: 7 }] });
    expect(grades.segments[0]!.periods[0]!.notAssessed).toBe(5);
    expect(() => gradesByPeriod(assessments, { ...options, denominators: [{ period: 1, present: 2 }] })).toThrow(
      /denominator is 2/,
    );
  });

  it('refuses several units as one series', async () => {
    const two = await loadAssessments({ text: `${file}\n${row('s9', 2, 'left-leg', B, '1').replace('U1', 'U2')}` });
    expect(() => gradesByPeriod(two, options)).toThrow(/several units/);
    expect(gradesByPeriod(two, { ...options, unit: 'U1' }).segments).toHaveLength(2);
  });
});

describe('share at or above a grade', () => {
  it('has its counts, its Wilson interval, and no middle line before eight periods', async () => {
    const share = shareByPeriod(await loadAssessments({ text: file }), { ...options, atLeast: '2' });
    const [first] = share.segments[0]!.periods;
    expect(first).toMatchObject({ count: 1, assessed: 2, due: 3 });
    expect(first!.interval).toMatchObject(wilson(1, 2, 0.95));
    expect(share.segments[0]!.middle).toBeUndefined();
    expect(share.notes.map((note) => note.code)).toContain('too-soon');
  });

  it('draws the median as middle line from eight periods on', async () => {
    const lines = Array.from({ length: 9 }, (_, at) => [
      row(`a${at}`, at + 1, 'left-leg', A, at % 3 === 0 ? '3' : '0'),
      row(`b${at}`, at + 1, 'left-leg', A, at > 6 ? '2' : '0'),
    ]).flat();
    const share = shareByPeriod(await loadAssessments({ text: [header, ...lines].join('\n') }), {
      ...options,
      atLeast: '2',
    });
    // Shares .5 0 0 .5 0 0 .5 .5 .5: the middle one is .5.
    expect(share.segments[0]!.middle).toBe(0.5);
  });

  it('applies the rules to each scale by itself, marks the run, and makes it the sentence', async () => {
    // Three stays a period, `count` of them at grade 3.
    const of = (period: number, count: number, scale: string): string[] =>
      [0, 1, 2].map((stay) => row(`p${period}-${stay}`, period, 'left-leg', scale, stay < count ? '3' : '0'));
    const lines = [
      ...Array.from({ length: 9 }, (_, at) => of(at + 1, at % 2, A)).flat(),
      // One and three of three in turn, then nine periods with none.
      ...Array.from({ length: 24 }, (_, at) => of(at + 10, at >= 15 ? 0 : at % 2 === 0 ? 1 : 3, B)).flat(),
    ];
    const assessments = await loadAssessments({ text: [header, ...lines].join('\n') });
    const share = shareByPeriod(assessments, { ...options, atLeast: '2' });
    expect(
      share.segments.map((segment) => segment.periods.filter((period) => period.signal !== undefined).length),
    ).toEqual([0, 9]);
    expect(share.sentence).toMatch(/^Pitting edema: 9 periods in a row lie below the middle line/);
    expect(share.notes.map((note) => note.code)).not.toContain('neighbors-resemble');
    const shifted = Array.from({ length: 24 }, (_, at) => of(at + 1, at < 12 ? 0 : 2, B)).flat();
    const resembling = await loadAssessments({ text: [header, ...shifted].join('\n') });
    expect(shareByPeriod(resembling, { ...options, atLeast: '2' }).notes.map((note) => note.code)).toContain(
      'neighbors-resemble',
    );
    const frozen = shareByPeriod(assessments, { ...options, atLeast: '2', baselineTo: 21 });
    expect(frozen.segments[1]!.middle).toBeCloseTo(2 / 3, 12);
    expect(() => shareByPeriod(assessments, { ...options, atLeast: '2', baselineTo: 99 })).toThrow(/number 99/);
  });

  it('takes rows of the second table that are of this unit and say how many were there', async () => {
    const assessments = await loadAssessments({ text: file });
    const denominators = [
      { period: 1, unit: 'U2', present: 1 },
      { period: 1, unit: 'U1', present: 9 },
      { period: 2, unit: 'U1' },
    ];
    const { segments } = shareByPeriod(assessments, { ...options, atLeast: '2', denominators });
    expect(segments.map((segment) => segment.periods[0]!.due)).toEqual([9, 2]);
  });

  it('refuses a grade that is not on the scale', async () => {
    const assessments = await loadAssessments({ text: file });
    expect(() => shareByPeriod(assessments, { ...options, atLeast: '7' })).toThrow(/no grade "7"/);
  });
});
