import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

const GRADE = ['pulse-grade', 'pulse.0-4.normal2'] as const;

describe('which readings are of the same finding', () => {
  it('same patient, limb, site and day; the patient is the cluster; columns in order of the codes, targets of the grades', async () => {
    const ratings = ratingsFrom(
      await assessmentsOf(...GRADE, [
        ['p1', 0, 'B', 'left-leg', 'popliteal', 1],
        ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
        ['p1', 0, 'A', 'right-leg', 'popliteal', 2],
        ['p1', 7, 'A', 'left-leg', 'popliteal', 3],
        ['p2', 0, 'B', 'left-leg', 'femoral', 0],
      ]),
      { sign: 'pulse-grade' },
    );
    expect(ratings.assessors).toEqual(['A', 'B']);
    expect(ratings.targets).toBe(4);
    expect([...ratings.codes]).toEqual([2, -1, 2, 1, 3, -1, -1, 0]);
    expect(ratings.clusters).toBe(2);
    expect(ratings.attributes.site).toEqual(['popliteal', 'popliteal', 'popliteal', 'femoral']);
    expect(ratings.attributes.side).toEqual(['right', 'left', 'left', 'left']);
    expect(ratings.level).toBe('ordinal');
  });

  it('readings some days apart, when a window is asked for', async () => {
    const assessments = await assessmentsOf(...GRADE, [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
      ['p1', 1, 'B', 'left-leg', 'popliteal', 1],
      ['p1', 5, 'B', 'left-leg', 'popliteal', 3],
    ]);
    const wide = ratingsFrom(assessments, { sign: 'pulse-grade', window: { days: 2 } });
    expect([...wide.codes]).toEqual([-1, 3, 2, 1]);
    expect(ratingsFrom(assessments, { sign: 'pulse-grade', window: 'day' }).targets).toBe(3);
  });

  it('keeps a second reading of the same assessor beside the matrix', async () => {
    const ratings = ratingsFrom(
      await assessmentsOf(...GRADE, [
        ['p1', 0, 'A', 'left-leg', 'popliteal', 3, 2],
        ['p1', 0, 'A', 'left-leg', 'popliteal', 2, 1],
        ['p1', 0, 'B', 'left-leg', 'popliteal', 1],
      ]),
      { sign: 'pulse-grade' },
    );
    expect([...ratings.codes]).toEqual([2, 1]);
    expect(ratings.repeats).toEqual([{ target: 0, assessor: 0, replicate: 2, code: 3, number: 3 }]);
    const within = ratings.withinAssessors();
    expect([...within.codes]).toEqual([2, 3]);
    expect(within.assessors).toEqual(['first', 'again']);
    expect(within.attributes.reader).toEqual(['A']);
    expect([ratings.readers, within.readers]).toEqual([2, 1]);
  });

  it('refuses the same assessor twice on one finding with the same replicate number', async () => {
    const assessments = await assessmentsOf(...GRADE, [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 3],
      ['p1', 1, 'A', 'left-leg', 'popliteal', 2],
    ]);
    expect(() => ratingsFrom(assessments, { sign: 'pulse-grade', window: { days: 2 } })).toThrow(
      /same replicate number/,
    );
  });
});

describe('what does not enter', () => {
  const header = 'patient,day,assessor,reference,limb,site,sign,scale,value,missing';
  it('missing readings are gaps with their reasons counted; reference readings are not an assessor', async () => {
    const assessments = await loadAssessments({
      text: [
        header,
        'p1,0,A,no,left-leg,popliteal,pulse-grade,pulse.0-4.normal2,2,',
        'p1,0,B,no,left-leg,popliteal,pulse-grade,pulse.0-4.normal2,,covered',
        'p1,0,R,yes,left-leg,popliteal,pulse-grade,pulse.0-4.normal2,3,',
      ].join('\n'),
    });
    const ratings = ratingsFrom(assessments, { sign: 'pulse-grade' });
    expect(ratings.assessors).toEqual(['A', 'B']);
    expect([...ratings.codes]).toEqual([2, -1]);
    expect(ratings.notes.map((note) => note.message).join(' ')).toMatch(/covered 1\..*1 reference readings/);
  });

  it('a bound such as <2 counts as a gap, not as 2', async () => {
    const assessments = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
      ['p1', 0, 'A', 'left-leg', 'great-toe', '<2'],
      ['p1', 0, 'B', 'left-leg', 'great-toe', '2.4'],
    ]);
    const ratings = ratingsFrom(assessments, { sign: 'capillary-refill' });
    expect(ratings.readings).toBe(1);
    expect(ratings.notes.map((note) => note.code)).toContain('bounds-left-out');
  });
});

describe('refusals', () => {
  it('does not pool two scales, and offers the safe way', async () => {
    const lines = [
      'patient,day,assessor,limb,site,sign,scale,value',
      'p1,0,A,left-leg,popliteal,pulse-grade,pulse.0-4.normal2,2',
      'p1,0,B,left-leg,popliteal,pulse-grade,pulse.0-4.normal3,3',
    ];
    const assessments = await loadAssessments({ text: lines.join('\n') });
    expect(() => ratingsFrom(assessments, { sign: 'pulse-grade' })).toThrow(/not pooled[\s\S]*pulse\.binary/);
    expect(ratingsFrom(assessments, { sign: 'pulse-grade', scale: 'pulse.0-4.normal3' }).readings).toBe(1);
    expect(() => ratingsFrom(assessments, { sign: 'pulse-grade', scale: 'pulse.0-3.normal2' })).toThrow(InputError);
    expect(() => ratingsFrom(assessments, { sign: 'capillary-refill' })).toThrow(/no assessments of capillary refill/);
  });
});
