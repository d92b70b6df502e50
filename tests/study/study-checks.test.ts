import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { signOf } from '../../src/signs/codebook.ts';
import { publishedAgreement } from '../../src/signs/published-agreement.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';
import { besidePublished, identicalColumns, orderEffect } from '../../src/study/study-checks.ts';

describe('identical readings', () => {
  const varied = Array.from({ length: 30 }, (_, at) => at % 4);
  it('are asked about when two assessors never differ on findings that vary', () => {
    const rows = varied.map((grade, at) => [grade, grade, at === 3 ? (grade + 1) % 4 : grade]);
    const [note] = identicalColumns(ratingsOf(rows));
    expect(note!.code).toBe('identical-columns');
    expect(note!.message).toMatch(/^Two assessors/);
  });

  it('mean nothing where all findings are of one grade, or few are shared', () => {
    expect(
      identicalColumns(
        ratingsOf(
          varied.map(() => [2, 2]),
          { categories: [0, 1, 2] },
        ),
      ),
    ).toEqual([]);
    expect(identicalColumns(ratingsOf(varied.slice(0, 10).map((grade) => [grade, grade])))).toEqual([]);
  });
});

/** Thirty legs read twice, in an order; the second reading is higher by `shift` on every leg but each third. */
async function ordered(shift: number) {
  const lines = Array.from({ length: 30 }, (_, at) => {
    const grade = at % 3;
    const second = at % 3 === 0 ? grade : grade + shift;
    const [first, last] = at % 2 === 0 ? ['A', 'B'] : ['B', 'A'];
    return [
      `p${at},0,1,${first},1,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,${grade}`,
      `p${at},0,1,${last},2,left-leg,pretibial-shin,pitting-edema,pit.0-4.hogan,${second}`,
    ];
  }).flat();
  return loadAssessments({
    text: ['patient,day,occasion,assessor,order,limb,site,sign,scale,value', ...lines].join('\n'),
  });
}

describe('order of examination', () => {
  it('is said when the last reading lies above the first, whoever gave it', async () => {
    const assessments = await ordered(1);
    const [note] = orderEffect(assessments, ratingsFrom(assessments, { sign: 'pitting-edema' }));
    expect(note!.code).toBe('order-effect');
    expect(note!.message).toMatch(/0\.67 grades above the first/);
  });

  it('is not said when nothing differs', async () => {
    const assessments = await ordered(0);
    expect(orderEffect(assessments, ratingsFrom(assessments, { sign: 'pitting-edema' }))).toEqual([]);
  });
});

describe('beside what was published', () => {
  it('every entry is of a sign of the codebook and names its source', () => {
    for (const entry of publishedAgreement) {
      expect(signOf(entry.sign).id).toBe(entry.sign);
      expect(entry.source.length).toBeGreaterThan(10);
    }
  });

  it('a near-perfect kappa of pulse grades is unlike anything published; a middling one has its background', () => {
    const perfect = cohenKappa(ratingsOf(Array.from({ length: 40 }, (_, at) => [at % 3, at === 7 ? 0 : at % 3])));
    expect(perfect.value).toBeGreaterThan(0.9);
    expect(besidePublished('pulse-grade', perfect, 'kappa').map((note) => note.code)).toEqual(['outside-published']);
    const middling = cohenKappa(ratingsOf(Array.from({ length: 40 }, (_, at) => [at % 3, at % 4 === 0 ? 0 : at % 3])));
    expect(besidePublished('pulse-grade', middling, 'kappa').map((note) => note.code)).toEqual(['published']);
    expect(besidePublished('hair', middling, 'kappa')).toEqual([]);
  });
});

it('the study carries the checks and the table of pairs', async () => {
  const study = await agreementStudy(await ordered(1), { signs: ['pitting-edema'] });
  expect(study.notes.map((note) => note.code)).toEqual(expect.arrayContaining(['order-effect', 'published']));
  const [pair] = study.pairs('pitting-edema').rows;
  expect(pair).toMatchObject({ pair: 'A and B', targets: 30, clusters: 30 });
});
