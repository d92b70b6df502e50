import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { kaplanMeier } from '../../src/progression/kaplan-meier.ts';
import { sideRatings } from '../../src/progression/side-ratings.ts';
import { type SustainedChangeRule, sustainedChange } from '../../src/progression/sustained-change.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { problemsIn } from '../support/problems-in.ts';

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

/** Rows of the shin, "patient day value" or "patient day missing reason", with more columns where needed. */
const shins = (rows: readonly (readonly [string, number, number | string, object?])[]) =>
  loadAssessments({
    rows: rows.map(([patient, day, value, more]) => ({
      patient,
      day,
      assessor: 'A',
      limb: 'left-leg',
      site: 'pretibial-shin',
      sign: 'pitting-edema',
      scale: 'pit.0-4.hogan',
      value: typeof value === 'number' ? String(value) : '',
      missing: typeof value === 'number' ? '' : value,
      ...more,
    })),
  });

describe('what it gives back', () => {
  const rows = [
    // Worse on days 17 and 24, seven days after two baseline visits on days 3 and 10; free on day 10.
    ...[
      [3, 1],
      [10, 0],
      [17, 2],
      [24, 3],
    ].map(([day, value]) => ['worse', day!, value!] as const),
    // Free throughout, to day 40, with one visit not read.
    ['free', 0, 1],
    ['free', 10, 1],
    ['free', 20, 'covered'],
    ['free', 40, 1],
    // Dies on day 30, before anything was confirmed.
    ['dead', 0, 1],
    ['dead', 5, 1],
    ['dead', 25, 2],
    ['dead', 45, 3],
    // Loses the part on day 21.
    ['lost', 1, 2],
    ['lost', 2, 0],
    ['lost', 21, 'part-absent'],
    // One visit after the baseline is needed.
    ['new', 0, 1],
    ['new', 9, 1],
  ] as const;

  it('every course, its columns for each curve, the table and the notes', async () => {
    const result = sustainedChange(await shins(rows), { ...rule, baselineVisits: 2, deaths: { dead: 30 } });
    const place = { limb: 'left-leg', site: 'pretibial-shin' };
    expect(result.courses).toEqual([
      { patient: 'worse', ...place, visits: 4, time: 7, outcome: 'worse', between: { left: 0, right: 7 } },
      { patient: 'free', ...place, visits: 3, time: 30, outcome: 'none', between: undefined },
      { patient: 'dead', ...place, visits: 4, time: 25, outcome: 'death', between: undefined },
      { patient: 'lost', ...place, visits: 2, time: 19, outcome: 'amputation', between: undefined },
    ]);
    expect(result.excluded).toBe(1);
    expect(result.eventTimes).toEqual({
      times: [7, 30, 25, 19],
      events: [true, false, false, false],
      patients: ['worse', 'free', 'dead', 'lost'],
    });
    expect(result.competingTimes).toEqual({
      times: [7, 30, 25, 19],
      kinds: ['worse', null, 'death', 'amputation'],
    });
    expect(result.intervals).toEqual({ left: [0, 30, 25, 19], right: [7, null, null, null] });
    expect(result.table.rows).toEqual([
      { limbs: 4, patients: 4, worse: 1, amputation: 1, death: 1, none: 1, visits: (4 + 3 + 4 + 2) / 4 },
    ]);
    expect(result.notes.map(({ code }) => code)).toEqual(['dated-at-first', 'no-follow-up']);
  });

  it('says every choice of its rule', async () => {
    const of = (more: Partial<SustainedChangeRule>): Promise<string> =>
      shins([['p1', 0, 1]]).then((assessments) => sustainedChange(assessments, { ...rule, ...more }).sentence);
    expect(await of({})).toBe(
      'Worse means at least 1 grade higher than the baseline (first visit) on 2 consecutive visits; a last visit that nobody confirmed does not count yet; a visit without a grade is passed over.',
    );
    expect(
      await of({
        grades: 2,
        consecutive: 3,
        worse: 'lower',
        minimumGapDays: 1,
        baselineVisits: 2,
        unconfirmedLast: 'counts',
        missingVisit: 'breaks the row',
      }),
    ).toBe(
      'Worse means at least 2 grades lower than the baseline (worse of the first 2 visits) on 3 consecutive visits at least 1 days apart; a last visit that nobody confirmed counts; a visit without a grade breaks the row.',
    );
  });

  it('nobody followed is said, not counted as free', async () => {
    const result = sustainedChange(await shins([['p1', 0, 1]]), rule);
    expect(result.courses).toEqual([]);
    expect(result.notes.map(({ code }) => code)).toEqual([
      'dated-at-first',
      'one-baseline',
      'no-follow-up',
      'nothing-followed',
    ]);
    expect(result.table.rows[0]).toMatchObject({ limbs: 0, patients: 0, visits: Number.NaN });
  });
});

describe('where one thing meets another', () => {
  const first = async (
    rows: Parameters<typeof shins>[0],
    more: Partial<SustainedChangeRule> = {},
  ): Promise<readonly [string, number] | undefined> => {
    const [course] = sustainedChange(await shins(rows), { ...rule, ...more }).courses;
    return course && [course.outcome, course.time];
  };

  it('a visit exactly as far off as asked for confirms', async () => {
    const rows = [
      ['p', 0, 1],
      ['p', 10, 2],
      ['p', 25, 2],
      ['p', 50, 2],
    ] as const;
    expect(await first(rows, { minimumGapDays: 15 })).toEqual(['worse', 10]);
    // The one too near is passed over, the next is measured from the first again.
    expect(await first(rows, { minimumGapDays: 16 })).toEqual(['worse', 10]);
    expect(await first(rows, { minimumGapDays: 16, consecutive: 3 })).toEqual(['none', 0]);
    expect(await first(rows, { minimumGapDays: 15, consecutive: 3 })).toEqual(['worse', 10]);
  });

  it('a visit on the day of death still counts, one after it does not', async () => {
    const rows = [
      ['p', 0, 1],
      ['p', 10, 2],
      ['p', 20, 2],
    ] as const;
    expect(await first(rows, { deaths: { p: 20 } })).toEqual(['worse', 10]);
    expect(await first(rows, { deaths: { p: 19 } })).toEqual(['death', 19]);
    expect(await first(rows, { deaths: { p: 19 }, unconfirmedLast: 'counts' })).toEqual(['worse', 10]);
    expect(await first(rows, { deaths: { other: 5 } })).toEqual(['worse', 10]);
  });

  it('an amputation after one worse visit is an amputation, unless the last visit counts', async () => {
    const rows = [
      ['p', 0, 1],
      ['p', 10, 2],
      ['p', 20, 'part-absent'],
    ] as const;
    expect(await first(rows)).toEqual(['amputation', 20]);
    expect(await first(rows, { unconfirmedLast: 'counts' })).toEqual(['worse', 10]);
    const free = [
      ['p', 0, 1],
      ['p', 10, 1],
      ['p', 20, 'part-absent'],
    ] as const;
    expect(await first(free, { unconfirmedLast: 'counts' })).toEqual(['amputation', 20]);
    expect(await first(free.slice(0, 2), { unconfirmedLast: 'counts' })).toEqual(['none', 10]);
  });

  it('an amputation after the baseline alone is followed, one before it is not', async () => {
    const after = [
      ['p', 4, 1],
      ['p', 9, 'part-absent'],
    ] as const;
    expect(await first(after)).toEqual(['amputation', 5]);
    expect(await first(after, { baselineVisits: 3 })).toEqual(['amputation', 5]);
    expect(
      await first([
        ['p', 4, 'part-absent'],
        ['p', 9, 1],
      ]),
    ).toBeUndefined();
    expect(
      await first([
        ['p', 4, 1],
        ['p', 9, 'covered'],
        ['p', 12, 'part-absent'],
      ]),
    ).toEqual(['amputation', 8]);
    expect(
      await first([
        ['p', 4, 1],
        ['p', 9, 'covered'],
      ]),
    ).toBeUndefined();
  });

  it('a gap on a day with a grade is no visit without one, and one of the reference is none at all', async () => {
    const rows = (more: object, day = 20) =>
      [
        ['p', 0, 1],
        ['p', 10, 2],
        ['p', day, 'covered', { assessor: 'B', ...more }],
        ['p', 30, 2],
      ] as const;
    const breaks = { missingVisit: 'breaks the row' } as const;
    expect(await first(rows({}), breaks)).toEqual(['none', 0]);
    expect(await first(rows({}, 10), breaks)).toEqual(['worse', 10]);
    expect(await first(rows({ reference: 'yes' }), breaks)).toEqual(['worse', 10]);
    // Gaps of another limb or site are not those of this one.
    expect(await first(rows({ limb: 'right-leg' }), breaks)).toEqual(['worse', 10]);
    expect(await first(rows({ patient: 'q' }), breaks)).toEqual(['worse', 10]);
  });

  it('the worse of two baselines is the lower one where lower is worse, and the event must come after both', async () => {
    const rows = [
      ['p', 0, 2],
      ['p', 5, 3],
      ['p', 10, 1],
      ['p', 15, 1],
      ['p', 20, 2],
    ] as const;
    expect(await first(rows, { worse: 'lower', baselineVisits: 2 })).toEqual(['worse', 5]);
    expect(await first(rows, { worse: 'lower', baselineVisits: 2, grades: 2 })).toEqual(['none', 15]);
    expect(await first(rows, { worse: 'lower', baselineVisits: 1, grades: 2 })).toEqual(['none', 20]);
  });

  it('rows may stand in any order', async () => {
    const rows = [
      ['p', 30, 2],
      ['p', 20, 'covered'],
      ['p', 0, 1],
      ['p', 40, 2],
      ['p', 10, 2],
    ] as const;
    expect(await first(rows)).toEqual(['worse', 10]);
    expect(await first(rows, { missingVisit: 'breaks the row' })).toEqual(['worse', 30]);
  });

  it('an event is free up to the last visit that was not worse', async () => {
    const [course] = sustainedChange(
      await shins([
        ['p', 2, 1],
        ['p', 10, 2],
        ['p', 20, 1],
        ['p', 30, 'covered'],
        ['p', 40, 2],
        ['p', 50, 2],
      ]),
      rule,
    ).courses;
    expect(course).toMatchObject({ time: 38, between: { left: 18, right: 38 }, visits: 5 });
  });
});

it('refuses what is no rule, and a sign that is not there, on two scales or measured', async () => {
  const assessments = await shins([
    ['p', 0, 1],
    ['p', 9, 2],
  ]);
  expect(
    problemsIn(() =>
      sustainedChange(assessments, {
        ...rule,
        grades: 0,
        consecutive: 1.5,
        baselineVisits: 0,
        minimumGapDays: -1,
        worse: 'up' as 'higher',
      }),
    ),
  ).toEqual([
    'bad-option rule.grades',
    'bad-option rule.consecutive',
    'bad-option rule.baselineVisits',
    'bad-option rule.minimumGapDays',
    'bad-option rule.worse',
  ]);
  expect(problemsIn(() => sustainedChange(assessments, { ...rule, minimumGapDays: 0.5 }))).toEqual([
    'bad-option rule.minimumGapDays',
  ]);
  expect(sustainedChange(assessments, { ...rule, grades: 1, consecutive: 1, minimumGapDays: 0 }).courses).toHaveLength(
    1,
  );
  expect(problemsIn(() => sustainedChange(assessments, { ...rule, sign: 'pulse-grade' }))).toEqual([
    'sign-not-present rule.sign',
  ]);
  expect(problemsIn(() => sustainedChange(assessments, { ...rule, scale: 'oed.0-3.words' }))).toEqual([
    'sign-not-present rule.sign',
  ]);
  const two = await shins([
    ['p', 0, 1],
    ['p', 9, 2, { scale: 'oed.0-3.words' }],
    ['p', 19, 3],
  ]);
  expect(problemsIn(() => sustainedChange(two, rule))).toEqual(['scale-needed rule.scale']);
  expect(sustainedChange(two, { ...rule, scale: 'pit.0-4.hogan' }).courses).toHaveLength(1);
  const seconds = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
    ['p', 0, 'A', 'left-leg', 'great-toe', 2],
  ]);
  expect(problemsIn(() => sustainedChange(seconds, { ...rule, sign: 'capillary-refill' }))).toEqual([
    'not-graded rule.sign',
  ]);
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
