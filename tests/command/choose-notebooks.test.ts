import { beforeAll, describe, expect, it } from 'vitest';
import type { Assessments } from '../../src/assessments/assessments.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { fitNotebook } from '../../src/command/choose-notebooks.ts';
import { madeDemoData, textOf } from '../data-demo/demo-data.ts';

const files = madeDemoData();
const load = (name: string) => loadAssessments({ text: textOf(files, name) });

let study: Assessments;
let serial: Assessments;
let unit: Assessments;
let session: Assessments;
beforeAll(async () => {
  study = await load('agreement-study.csv');
  serial = await load('serial-limbs.csv');
  unit = await load('unit-edema.csv');
  session = await load('class-session.csv');
});

describe('the notebook on agreement', () => {
  const name = 'agreement-of-pulse-grades';

  it('takes a study, names the pair with most readings in common, and leaves later visits out', () => {
    expect(fitNotebook(name, { assessments: study }, {})).toEqual({
      settings: {
        file: 'assessments.csv',
        plan: 'none',
        reportFolder: 'agreement-report',
        laterVisits: 'assessments.csv',
        sign: 'pulse-grade',
        firstAssessor: 'N11',
        secondAssessor: 'N37',
      },
      without: ['invented-data-only', 'needs-later-visits'],
    });
  });

  it('takes later visits, and keeps what a person has set', () => {
    expect(
      fitNotebook(name, { assessments: study, later: serial }, { weights: 'linear', firstAssessor: 'N24' }),
    ).toMatchObject({
      settings: { laterVisits: 'later-visits.csv', weights: 'linear', firstAssessor: 'N24' },
      without: ['invented-data-only'],
    });
  });

  it('leaves repeats out where there are none', () => {
    const once = study.rowsAt(Int32Array.from([...study.replicate.keys()].filter((row) => study.replicate[row] !== 2)));
    expect(fitNotebook(name, { assessments: once }, {})).toMatchObject({
      without: expect.arrayContaining(['needs-repeat-readings']),
    });
  });

  it('does not take one assessor, another sign, or two scales at once, and says so', () => {
    expect(fitNotebook(name, { assessments: study.where({ assessor: 'N11' }) }, {})).toMatch(/needs two assessors/);
    expect(fitNotebook(name, { assessments: study.where({ sign: 'capillary-refill' }) }, {})).toMatch(/holds neither/);
    expect(fitNotebook(name, { assessments: unit }, {})).toMatch(/recorded on 2 scales/);
  });

  it('does not name the learners of a class unless it is told to run', () => {
    expect(fitNotebook(name, { assessments: session }, {})).toMatch(/looks like a class/);
    expect(fitNotebook(name, { assessments: session }, { weights: 'linear' })).toMatchObject({
      settings: { weights: 'linear' },
    });
  });
});

describe('the notebook on change', () => {
  const name = 'has-it-really-changed';

  it('needs limbs seen again, and the day of the last planned visit', () => {
    expect(fitNotebook(name, { assessments: study }, {})).toMatch(/read on two days or more/);
    expect(fitNotebook(name, { assessments: study, later: serial }, {})).toMatch(/lastVisitFrom/);
    expect(fitNotebook(name, { assessments: study, later: serial }, { lastVisitFrom: 240 })).toMatchObject({
      settings: { study: 'assessments.csv', laterVisits: 'later-visits.csv', worse: 'lower', lastVisitFrom: 240 },
      without: ['invented-data-only'],
    });
  });
});

describe('the notebook of a unit', () => {
  const name = 'edema-trend-of-a-unit';
  const own = { action: 'a', owner: 'b', by: 'c' };

  it('needs periods, the small table, and what only a person can say', () => {
    expect(fitNotebook(name, { assessments: study }, own)).toMatch(/No period is recorded/);
    expect(fitNotebook(name, { assessments: unit }, { action: 'a' })).toMatch(/smallTable.*"owner", "by"/s);
    expect(fitNotebook(name, { assessments: unit, smallTable: 't.csv' }, own)).toMatchObject({
      settings: { smallTable: 't.csv', begunInPeriod: 0, begun: 'nothing', action: 'a' },
    });
  });
});

describe('the notebook of a class', () => {
  const name = 'variability-between-assessors';

  it('needs a class with two experts', () => {
    expect(fitNotebook(name, { assessments: study }, {})).toMatch(/two experts.*there are 0/);
    expect(fitNotebook(name, { assessments: session }, {})).toEqual({
      settings: { file: 'assessments.csv', sign: 'pulse-grade', inOwnShape: false, firstRound: '1', secondRound: '2' },
      without: ['invented-data-only', 'needs-seconds'],
    });
  });

  it('does without a second round', () => {
    expect(fitNotebook(name, { assessments: session.where({ round: '2' }) }, {})).toMatchObject({
      settings: { firstRound: '2' },
      without: expect.arrayContaining(['needs-second-round']),
    });
  });
});

it('takes a person’s own notebook as it is', () => {
  expect(fitNotebook('my-own', { assessments: study }, { seed: 1 })).toEqual({
    settings: { seed: 1 },
    without: ['invented-data-only'],
  });
});
