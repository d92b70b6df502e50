import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { limbSeriesOf } from '../../src/progression/limb-series.ts';
import { ofOneScale } from '../../src/progression/of-one-scale.ts';
import { sideRatings } from '../../src/progression/side-ratings.ts';
import { trendSeriesOf } from '../../src/progression/trend-series-of.ts';
import { problemsIn } from '../support/problems-in.ts';

type Row = Readonly<Record<string, string | number>>;
const pulse = (patient: string, day: number, assessor: string, value: string, more: Row = {}): Row => ({
  patient,
  day,
  assessor,
  limb: 'left-leg',
  site: 'popliteal',
  sign: 'pulse-grade',
  scale: 'pulse.0-4.normal2',
  value,
  ...more,
});
const toe = (patient: string, day: number, assessor: string, value: string, more: Row = {}): Row =>
  pulse(patient, day, assessor, value, {
    site: 'great-toe',
    sign: 'capillary-refill',
    scale: 'refill.seconds.toe',
    ...more,
  });
const seriesOf = async (rows: readonly Row[]) => {
  const assessments = await loadAssessments({ rows });
  return limbSeriesOf(assessments, assessments.scales[0]!);
};
const inShort = (readings: readonly { day: number; assessor: string; words: string }[]): string[] =>
  readings.map(({ day, assessor, words }) => `${day} ${assessor} ${words}`);

describe('limbSeriesOf', () => {
  it('of grades: places and words, in order of days, of the examination, of the codes of assessors', async () => {
    const rows = [
      pulse('p', 9, 'C', '1'),
      pulse('p', 0, 'C', '2'),
      pulse('p', 0, 'A', '0'),
      pulse('p', 0, 'B', '4'),
      pulse('p', 9, 'B', ''),
      pulse('p', 9, 'A', '1', { reference: 'yes' }),
      pulse('p', 0, 'A', '3', { site: 'femoral' }),
      pulse('p', 0, 'A', '3', { limb: 'right-leg' }),
      pulse('q', 5, 'A', '3'),
    ];
    const all = await seriesOf(rows);
    expect(all.map(({ patient, limb, site }) => [patient, limb, site])).toEqual([
      ['p', 'left-leg', 'popliteal'],
      ['p', 'left-leg', 'femoral'],
      ['p', 'right-leg', 'popliteal'],
      ['q', 'left-leg', 'popliteal'],
    ]);
    const assessments = await loadAssessments({ rows });
    const categories = assessments.scales[0]!.categories!;
    expect(all[0]!.readings).toEqual(
      (
        [
          [0, 'A', 0],
          [0, 'B', 4],
          [0, 'C', 2],
          [9, 'C', 1],
        ] as const
      ).map(([day, assessor, step]) => ({ day, assessor, step, value: step, words: categories[step]!.words })),
    );
    // The rows in another order give the same series of a limb.
    expect((await seriesOf([...rows].reverse())).at(-1)!.readings).toEqual(all[0]!.readings);
  });

  it('takes the order of the examination before the codes, as none where it is not given', async () => {
    const first = await seriesOf([
      pulse('p', 0, 'A', '1', { order: 3 }),
      pulse('p', 0, 'B', '2', { order: 1 }),
      pulse('p', 0, 'C', '3', { order: 2 }),
    ]);
    expect(first[0]!.readings.map(({ assessor }) => assessor)).toEqual(['B', 'C', 'A']);
    const some = await seriesOf([
      pulse('p', 0, 'A', '1', { order: 1 }),
      pulse('p', 0, 'C', '3', { order: '' }),
      pulse('p', 0, 'B', '2', { order: '' }),
    ]);
    expect(some[0]!.readings.map(({ assessor }) => assessor)).toEqual(['B', 'C', 'A']);
  });

  it('keeps two readings of one assessor on a day as they stand in the file', async () => {
    const [one] = await seriesOf([
      pulse('p', 0, 'A', '3', { replicate: 1 }),
      pulse('p', 0, 'A', '1', { replicate: 2 }),
      pulse('p', 0, 'A', '2', { replicate: 3 }),
    ]);
    expect(one!.readings.map(({ step }) => step)).toEqual([3, 1, 2]);
  });

  it('of a measured sign: the number as written, without bounds and empty cells', async () => {
    const [one, ...others] = await seriesOf([
      toe('p', 4, 'A', '2.5'),
      toe('p', 0, 'A', '3'),
      toe('p', 8, 'A', '>4'),
      toe('p', 9, 'A', ''),
    ]);
    expect(others).toEqual([]);
    expect(one!.readings).toEqual([
      { day: 0, assessor: 'A', value: 3, step: Number.NaN, words: '3' },
      { day: 4, assessor: 'A', value: 2.5, step: Number.NaN, words: '2.5' },
    ]);
  });

  it('leaves out the other scales of a file, and names what is not said as empty', async () => {
    const assessments = await loadAssessments({
      rows: [
        pulse('p', 0, 'A', '1'),
        pulse('p', 3, 'A', '1', { scale: 'pulse.0-3.normal2' }),
        { ...pulse('p', 3, '', '1') },
      ],
    });
    const scale = assessments.scales.find(({ id }) => id === 'pulse.0-4.normal2')!;
    expect(inShort(limbSeriesOf(assessments, scale)[0]!.readings)).toHaveLength(2);
    expect(limbSeriesOf(assessments, scale)[0]!.readings[1]!.assessor).toBe('');
    const [midline] = await seriesOf([
      pulse('p', 0, 'A', '1', { sign: 'pitting-edema', scale: 'oed.0-3.words', site: 'sacrum', limb: '' }),
    ]);
    expect([midline!.limb, midline!.site]).toEqual(['', 'sacrum']);
  });
});

describe('trendSeriesOf', () => {
  it('keeps the sites asked for, and pairs the sides within each site', async () => {
    const rows = [
      pulse('p', 0, 'A', '1'),
      pulse('p', 0, 'A', '3', { limb: 'right-leg' }),
      pulse('p', 9, 'A', '2'),
      pulse('p', 9, 'A', '2', { limb: 'right-leg' }),
      pulse('p', 0, 'A', '4', { site: 'femoral' }),
      pulse('p', 0, 'A', '0', { site: 'femoral', limb: 'right-leg' }),
      pulse('p', 0, 'A', '4', { site: 'radial', limb: 'left-arm' }),
      pulse('p', 0, 'A', '3', { site: 'radial', limb: 'right-arm' }),
      pulse('q', 0, 'A', '3', { limb: 'right-leg' }),
    ];
    const assessments = await loadAssessments({ rows });
    const differences = (options: object = {}) =>
      trendSeriesOf(assessments, { sign: 'pulse-grade', of: 'left less right', ...options });
    expect(differences()).toEqual([
      { patient: 'p', limb: '', site: 'popliteal', times: [0, 9], values: [-2, 0] },
      { patient: 'p', limb: '', site: 'femoral', times: [0], values: [4] },
      { patient: 'p', limb: '', site: 'radial', times: [0], values: [1] },
    ]);
    expect(differences({ site: 'femoral' }).map(({ values }) => values)).toEqual([[4]]);
    expect(differences({ site: ['femoral', 'radial'] }).map(({ site }) => site)).toEqual(['femoral', 'radial']);
    expect(trendSeriesOf(assessments, { sign: 'pulse-grade', site: 'popliteal' })).toEqual([
      { patient: 'p', limb: 'left-leg', site: 'popliteal', times: [0, 9], values: [1, 2] },
      { patient: 'p', limb: 'right-leg', site: 'popliteal', times: [0, 9], values: [3, 2] },
      { patient: 'q', limb: 'right-leg', site: 'popliteal', times: [0], values: [3] },
    ]);
    expect(problemsIn(() => differences({ of: 'right' as never }))).toEqual(['unknown-choice options.of']);
  });

  it('is of one sign on one scale', async () => {
    const assessments = await loadAssessments({
      rows: [pulse('p', 0, 'A', '1'), pulse('p', 3, 'A', '1', { scale: 'pulse.0-3.normal2' })],
    });
    const sign = 'pulse-grade';
    expect(problemsIn(() => ofOneScale(assessments, { sign }))).toEqual(['scale-needed options.scale']);
    expect(ofOneScale(assessments, { sign, scale: 'pulse.0-3.normal2' }).length).toBe(1);
    expect(problemsIn(() => ofOneScale(assessments, { sign, site: 'femoral' }))).toEqual([
      'sign-not-present options.sign',
    ]);
    expect(problemsIn(() => ofOneScale(assessments, { sign: 'capillary-refill' }))).toEqual([
      'sign-not-present options.sign',
    ]);
  });
});

describe('sideRatings', () => {
  it('gives a row to every patient, arm or leg, site, day, occasion and assessor', async () => {
    const rows = [
      pulse('p', 0, 'A', '1'),
      pulse('p', 0, 'A', '2', { limb: 'right-leg' }),
      // Another site, another part, another day, another occasion, another assessor, another patient: one side each.
      pulse('p', 0, 'A', '3', { site: 'femoral' }),
      pulse('p', 0, 'A', '4', { site: 'radial', limb: 'right-arm' }),
      pulse('p', 5, 'A', '0', { limb: 'right-leg' }),
      pulse('p', 0, 'A', '3', { occasion: 'evening', limb: 'right-leg' }),
      pulse('p', 0, 'B', '2', { limb: 'right-leg' }),
      pulse('q', 0, 'A', '4'),
      // Not taken: the reference, a repeat, an empty cell beside nothing.
      pulse('q', 0, 'A', '1', { reference: 'yes', limb: 'right-leg' }),
      pulse('q', 0, 'A', '1', { replicate: 2 }),
      pulse('q', 9, 'A', ''),
    ];
    const ratings = sideRatings(await loadAssessments({ rows }), { sign: 'pulse-grade' });
    const cells = Array.from({ length: ratings.targets }, (_, at) => [...ratings.codes.subarray(2 * at, 2 * at + 2)]);
    expect(cells).toEqual([
      [1, 2],
      [3, -1],
      [-1, 4],
      [-1, 0],
      [-1, 3],
      [-1, 2],
      [4, -1],
      [-1, -1],
    ]);
    expect([...ratings.clusterOf]).toEqual([0, 0, 0, 0, 0, 0, 1, 1]);
    expect(ratings.attributes.site).toEqual(['popliteal', 'femoral', 'radial', ...new Array(5).fill('popliteal')]);
    expect([ratings.clusters, ratings.columns, ratings.clustersKnown, ratings.level]).toEqual([2, 2, true, 'ordinal']);
    expect(ratings.subject).toMatchObject({ sign: 'pulse-grade', scale: 'pulse.0-4.normal2' });
    expect(ratings.subject).not.toHaveProperty('unit');
    expect(ratings.notes.map(({ code }) => code)).toEqual(['sides']);
    const one = sideRatings(await loadAssessments({ rows }), { sign: 'pulse-grade', site: 'radial' });
    expect([one.targets, [...one.codes]]).toEqual([1, [-1, 4]]);
  });

  it('says the unit of a measured sign, and refuses readings without sides', async () => {
    const rows = [toe('p', 0, 'A', '3'), toe('p', 0, 'A', '2', { limb: 'right-leg' })];
    const ratings = sideRatings(await loadAssessments({ rows }), { sign: 'capillary-refill' });
    expect(ratings.subject!.unit).toBe('s');
    expect([...ratings.numbers]).toEqual([3, 2]);
    expect(ratings.categories.map(({ value, words, score }) => [value, words, score])).toEqual([
      [2, '2', 2],
      [3, '3', 3],
    ]);
    const sacrum = pulse('p', 0, 'A', '1', { sign: 'pitting-edema', scale: 'oed.0-3.words', site: 'sacrum', limb: '' });
    const midline = await loadAssessments({ rows: [sacrum] });
    expect(problemsIn(() => sideRatings(midline, { sign: 'pitting-edema' }))).toEqual(['no-sides assessments']);
  });
});
