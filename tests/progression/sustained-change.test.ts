import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { kaplanMeier } from '../../src/progression/kaplan-meier.ts';
import { sideRatings } from '../../src/progression/side-ratings.ts';
import { type SustainedChangeRule, sustainedChange } from '../../src/progression/sustained-change.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

const EDEMA = ['pitting-edema', 'pit.0-4.hogan'] as const;
type Line = Parameters<typeof assessmentsOf>[2][number];
const rule: SustainedChangeRule = { sign: 'pitting-edema', grades: 1, consecutive: 2, worse: 'higher' };

/** One leg with the grades given at days 0, 10, 20, …; several readings of one visit as a list. */
function leg(grades: readonly (number | readonly number[])[], patient = 'p1'): Line[] {
  return grades.flatMap((grade, at) =>
    [grade].flat().map((one, reader): Line => [patient, 10 * at, 'AB'[reader]!, 'left-leg', 'pretibial-shin', one]),
  );
}

const courseOf = async (grades: readonly (number | readonly number[])[], more: Partial<SustainedChangeRule> = {}) =>
  sustainedChange(await assessmentsOf(...EDEMA, leg(grades)), { ...rule, ...more }).courses[0];

describe('worse, and still worse next time', () => {
  const cases: [string, readonly (number | readonly number[])[], Partial<SustainedChangeRule>, object][] = [
    [
      'confirmed: dated at the first of two worse visits, between it and the visit before',
      [1, 1, 2, 2],
      {},
      { outcome: 'worse', time: 20, between: { left: 10, right: 20 } },
    ],
    ['back to the baseline before it is confirmed: no event', [1, 2, 1, 2, 1], {}, { outcome: 'none', time: 40 }],
    [
      'worse only at the last visit: not yet, and known to be free only up to the visit before',
      [1, 1, 2],
      {},
      { outcome: 'none', time: 10 },
    ],
    [
      'worse only at the last visit, where the rule lets it count',
      [1, 1, 2],
      { unconfirmedLast: 'counts' },
      { outcome: 'worse', time: 20 },
    ],
    ['two grades asked for', [1, 2, 2, 3, 3], { grades: 2 }, { outcome: 'worse', time: 30 }],
    ['three visits asked for', [1, 2, 2, 1, 2, 2, 2], { consecutive: 3 }, { outcome: 'worse', time: 40 }],
    ['too close to confirm', [1, 2, 2, 2], { minimumGapDays: 15 }, { outcome: 'worse', time: 10 }],
    ['too close to confirm, and nothing after', [1, 2, 2], { minimumGapDays: 15 }, { outcome: 'none', time: 0 }],
    [
      'two baseline visits: the worse of them counts',
      [0, 1, 1, 1],
      { baselineVisits: 2 },
      { outcome: 'none', time: 20 },
    ],
    [
      'one reader alone cannot make an event: the better reading of a visit counts',
      [1, [2, 1], [2, 2], [1, 2]],
      {},
      { outcome: 'none' },
    ],
    ['a pulse is worse when it is lower', [3, 2, 2], { worse: 'lower' }, { outcome: 'worse', time: 10 }],
  ];
  for (const [what, grades, more, expected] of cases)
    it(what, async () => expect(await courseOf(grades, more)).toMatchObject(expected));

  it('a visit without a grade is passed over, or breaks the row', async () => {
    const lines = [
      'patient,day,assessor,limb,site,sign,scale,value,missing',
      ...[
        [0, '1', ''],
        [10, '2', ''],
        [20, '', 'covered'],
        [30, '2', ''],
        [40, '2', ''],
      ].map(
        ([day, value, missing]) =>
          `p1,${day},A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,${value},${missing}`,
      ),
    ];
    const assessments = await loadAssessments({ text: lines.join('\n') });
    expect(sustainedChange(assessments, rule).courses[0]).toMatchObject({ outcome: 'worse', time: 10 });
    expect(sustainedChange(assessments, { ...rule, missingVisit: 'breaks the row' }).courses[0]).toMatchObject({
      outcome: 'worse',
      time: 30,
    });
  });

  it('amputation and death rule the event out; a death before a visit ends there', async () => {
    const lines = [
      'patient,day,assessor,limb,site,sign,scale,value,missing',
      'p1,0,A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,1,',
      'p1,10,A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,2,',
      'p1,20,A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,,part-absent',
      'p2,0,A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,1,',
      'p2,10,A,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,1,',
    ];
    const result = sustainedChange(await loadAssessments({ text: lines.join('\n') }), { ...rule, deaths: { p2: 15 } });
    expect(result.courses.map(({ outcome, time }) => [outcome, time])).toEqual([
      ['amputation', 20],
      ['death', 15],
    ]);
    expect(result.competingTimes.kinds).toEqual(['amputation', 'death']);
  });

  it('says its rule in one sentence and warns of a single baseline', async () => {
    const result = sustainedChange(await assessmentsOf(...EDEMA, [...leg([1, 2, 2]), ...leg([1], 'p2')]), rule);
    expect(result.table.caption).toContain(
      'at least 1 grade higher than the baseline (first visit) on 2 consecutive visits',
    );
    expect(result.excluded).toBe(1);
    expect(result.notes.map((note) => note.code)).toEqual(['dated-at-first', 'one-baseline', 'no-follow-up']);
    expect(kaplanMeier(result.eventTimes).steps[0]).toMatchObject({ time: 10, survival: 0 });
  });

  it('refuses a rule that is none, with every fault', async () => {
    const assessments = await assessmentsOf(...EDEMA, leg([1, 2]));
    expect(() =>
      sustainedChange(assessments, { ...rule, grades: 0, consecutive: 1.5, worse: 'up' as 'higher' }),
    ).toThrow(/3 problems/);
  });
});

describe('left against right', () => {
  it('of a measured sign: numbers as they are, without bounds, repeats and limbs that have no side', async () => {
    const line = (limb: string, value: string, more: object = {}) => ({
      patient: 'p1',
      day: 0,
      assessor: 'A',
      sign: 'capillary-refill',
      scale: 'refill.seconds.toe',
      limb,
      site: 'great-toe',
      value,
      ...more,
    });
    const ratings = sideRatings(
      await loadAssessments({
        rows: [
          line('left-leg', '3.5'),
          line('left-leg', '9', { replicate: 2 }),
          line('right-leg', '2'),
          line('left-leg', '2', { day: 5 }),
          line('right-leg', '>4', { day: 5 }),
          line('right-leg', '3.5', { patient: 'p2' }),
        ],
      }),
      { sign: 'capillary-refill' },
    );
    expect([...ratings.numbers]).toEqual([3.5, 2, 2, Number.NaN, Number.NaN, 3.5]);
    expect(ratings.categories.map(({ value, words }) => [value, words])).toEqual([
      [2, '2'],
      [3.5, '3.5'],
      [4, '4'],
      [9, '9'],
    ]);
    expect([...ratings.codes]).toEqual([1, 0, 0, -1, -1, 1]);
    expect([...ratings.clusterOf]).toEqual([0, 0, 1]);
    expect(ratings.attributes.site).toEqual(['great-toe', 'great-toe', 'great-toe']);
  });

  it('puts the sides of one visit side by side, the patient as cluster', async () => {
    const ratings = sideRatings(
      await assessmentsOf(...EDEMA, [
        ['p1', 0, 'A', 'left-leg', 'pretibial-shin', 1],
        ['p1', 0, 'A', 'right-leg', 'pretibial-shin', 2],
        ['p1', 0, 'B', 'right-leg', 'pretibial-shin', 3],
        ['p2', 0, 'A', 'left-leg', 'pretibial-shin', 0],
        ['p2', 0, 'A', 'right-leg', 'pretibial-shin', 0],
      ]),
      { sign: 'pitting-edema' },
    );
    expect(ratings.assessors).toEqual(['left', 'right']);
    expect([...ratings.codes]).toEqual([1, 2, -1, 3, 0, 0]);
    expect(ratings.clusters).toBe(2);
  });
});
