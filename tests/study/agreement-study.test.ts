import { describe, expect, it } from 'vitest';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';
import { studyForAudience } from '../../src/study/study-for-audience.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];

async function assessments() {
  const random = seededRandom(11);
  const lines: Line[] = [];
  for (let patient = 0; patient < 14; patient++)
    for (const limb of ['left-leg', 'right-leg'])
      for (const site of ['popliteal', 'femoral', 'dorsalis-pedis']) {
        const truth = random.below(4);
        for (const assessor of ['A', 'B', 'C'])
          if (random.uniform() < 0.9)
            lines.push([`p${patient}`, 0, assessor, limb, site, Math.max(0, Math.min(4, truth + random.below(3) - 1))]);
      }
  return assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines);
}

const plan = { signs: ['pulse-grade'], by: ['site'], coefficient: 'krippendorff-alpha', seed: 5 } as const;

describe('a study by its plan', () => {
  it('answers the planned questions, sites head to toe, with the coefficient of the ratings', async () => {
    const study = await agreementStudy(await assessments(), plan);
    expect(study.results.map((result) => result.group?.value)).toEqual([
      undefined,
      'femoral',
      'popliteal',
      'dorsalis-pedis',
    ]);
    const direct = krippendorffAlpha(study.ratings('pulse-grade').ofGroup('site', 'popliteal'), { seed: 5 });
    expect(study.results[2]!.primary.toRow()).toEqual(direct.toRow());
    expect(study.table.rows).toHaveLength(4);
    expect(study.by('pulse-grade').rows.map((row) => row.value)).toEqual(['femoral', 'popliteal', 'dorsalis-pedis']);
    expect(study.complete).toBe(true);
    expect(study.notes.map((note) => note.code)).not.toEqual(expect.arrayContaining(['explored']));
    expect(study.table.columns.map((column) => column.key)).not.toContain('asked');
  });

  it('gives the same digits again, and the fingerprint of the data', async () => {
    const [one, two] = [
      await agreementStudy(await assessments(), plan),
      await agreementStudy(await assessments(), plan),
    ];
    expect(one.table.toCsv()).toBe(two.table.toCsv());
    expect(one.fingerprint).toMatch(/^[0-9a-f]{64}$/);
    expect(one.fingerprint).toBe(two.fingerprint);
    expect(one.packageVersion).toMatch(/^\d+\.\d+\.\d+/);
  });

  it('tags what is explored and what was asked for after results, and keeps both', async () => {
    const study = await agreementStudy(await assessments(), {
      ...plan,
      explore: ['side'],
      amendments: [
        {
          date: '2026-09-14',
          reason: 'A referee asked for the nominal coefficient.',
          change: { metric: 'nominal', by: [] },
        },
      ],
    });
    expect(study.results.map((result) => result.asked)).toEqual([
      'planned',
      'planned',
      'planned',
      'planned',
      'explored',
      'explored',
      'amended',
    ]);
    expect(study.results[0]!.primary.statistic).toBe('Krippendorff alpha, ordinal');
    expect(study.results[6]!.primary.statistic).toBe('Krippendorff alpha, nominal');
    expect(study.notes.map((note) => note.code)).toEqual(expect.arrayContaining(['explored', 'amended']));
    expect(study.table.toText()).toContain('A referee asked');
  });

  it('keeps what it has when it is stopped', async () => {
    const stop = new AbortController();
    const study = await agreementStudy(await assessments(), plan, {
      signal: stop.signal,
      progress: (share) => {
        if (share >= 0.5) stop.abort();
      },
    });
    expect(study.results).toHaveLength(2);
    expect(study.complete).toBe(false);
    expect(study.notes.map((note) => note.code)).toContain('stopped');
  });
});

it('refuses a plan with every fault at once, in sentences', async () => {
  try {
    await agreementStudy(await assessments(), {
      signs: ['pulse', 'capillary-refill'],
      by: ['sites' as 'site'],
      coefficient: 'kappa' as 'cohen-kappa',
      confidenceLevel: 95,
      amendments: [{ date: 'May', reason: ' ', change: {} }],
    });
    expect.unreachable();
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).problems.map((problem) => problem.code)).toEqual([
      'unknown-choice',
      'sign-not-present',
      'unknown-choice',
      'unknown-choice',
      'bad-date',
      'no-reason',
      'bad-option',
    ]);
    expect((error as InputError).message).toContain('You wrote "pulse"; choose one of');
  }
});

describe('which coefficient', () => {
  it('Conger for more than two assessors with the weights of the plan, Cohen for two', async () => {
    const three = await agreementStudy(await assessments(), { signs: ['pulse-grade'], weights: 'linear' });
    expect(three.results[0]!.primary.statistic).toBe('Conger kappa, linear weights');
    const two = await agreementStudy(await assessments(), {
      signs: ['pulse-grade'],
      weights: 'linear',
      assessors: ['A', 'C'],
    });
    expect(two.results[0]!.primary.statistic).toBe('Cohen kappa, linear weights');
    expect(two.results[0]!.primary.counts.assessors).toBe(2);
  });

  it('the intraclass correlation and the error of one reading for a measured sign', async () => {
    const random = seededRandom(4);
    const lines = Array.from({ length: 15 }, (_, at): Line[] => {
      const truth = 1 + 3 * random.uniform();
      return ['A', 'B'].map((assessor) => [
        `p${at}`,
        0,
        assessor,
        'left-leg',
        'great-toe',
        (truth + random.uniform()).toFixed(1),
      ]);
    }).flat();
    const study = await agreementStudy(await assessmentsOf('capillary-refill', 'refill.seconds.toe', lines), {
      signs: ['capillary-refill'],
    });
    expect(study.results[0]!.primary.statistic).toMatch(/ntraclass correlation/);
    expect(study.results[0]!.standardErrorOfMeasurement?.value).toBeGreaterThan(0);
    expect(study.table.columns.map((column) => column.key)).not.toContain('exact');
    expect(() => study.specificAgreement('capillary-refill')).toThrow(/measured/);
  });
});

it('refuses a group that nothing records, and does not split a sign that has no such group', async () => {
  await expect(agreementStudy(await assessments(), { ...plan, by: ['site', 'unit', 'period'] })).rejects.toThrow(
    /2 problems/,
  );
  const rows = Array.from({ length: 12 }, (_, at) =>
    ['A', 'B'].flatMap((assessor, reader) => [
      {
        patient: `p${at}`,
        day: 0,
        assessor,
        limb: 'left-leg',
        sign: 'calf-girth',
        scale: 'girth.calf',
        value: (30 + at + 0.3 * reader).toFixed(1),
      },
      {
        patient: `p${at}`,
        day: 0,
        assessor,
        limb: 'left-leg',
        site: 'popliteal',
        sign: 'pulse-grade',
        scale: 'pulse.0-4.normal2',
        value: String(at % 3),
      },
    ]),
  ).flat();
  const both = await agreementStudy(await loadAssessments({ rows }), {
    signs: ['calf-girth', 'pulse-grade'],
    by: ['site'],
  });
  expect(both.results.map(({ sign, group }) => [sign, group?.value])).toEqual([
    ['calf-girth', undefined],
    ['pulse-grade', undefined],
    ['pulse-grade', 'popliteal'],
  ]);
});

describe('what others than its makers may see', () => {
  const rows = Array.from({ length: 9 }, (_, person) =>
    ['radial', ...(person < 3 ? ['femoral'] : [])].flatMap((site) =>
      ['A', 'B'].map((assessor) => ({
        patient: `p${person}`,
        day: 0,
        assessor,
        limb: site === 'radial' ? 'left-arm' : 'left-leg',
        site,
        sign: 'pulse-grade',
        scale: 'pulse.0-4.normal2',
        ...(person === 8 && assessor === 'B'
          ? { missing: 'covered' }
          : { value: String(person === 0 ? 4 : person % 3) }),
      })),
    ),
  ).flat();

  it('leaves out groups of fewer than five people, grades read fewer than five times, and why readings are missing', async () => {
    const study = await agreementStudy(await loadAssessments({ rows }), { signs: ['pulse-grade'], by: ['site'] });
    const wheres = (of: typeof study) => of.results.map(({ group }) => group?.value ?? 'all');
    expect(wheres(study)).toEqual(['all', 'radial', 'femoral']);
    const shown = studyForAudience(study, 'outside');
    // The other group goes too: the people of all less those of the one would be those of the hidden one.
    expect(wheres(shown)).toEqual(['all']);
    const readings = (of: typeof study) =>
      of.specificAgreement('pulse-grade').categories.map(({ estimate }) => estimate.details.readings);
    expect(readings(study)).toEqual([4, 8, 6, 0, 4]);
    // Of every grade that was read, fewer than five pairs agree or differ.
    expect(readings(shown)).toEqual([0]);
    expect(study.notes.some(({ message }) => message.includes('covered'))).toBe(true);
    expect(shown.notes.some(({ message }) => message.includes('covered'))).toBe(false);
    expect(shown.notes.map(({ code }) => code)).toContain('groups-left-out');
    expect(studyForAudience(study, 'own')).toBe(study);
    expect(() => studyForAudience(study, 'all' as 'own')).toThrow(/all/);
  });
});
