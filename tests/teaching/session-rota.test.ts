import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { papersPage } from '../../src/reports/papers-page.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { codebook } from '../../src/signs/codebook.ts';
import { sessionPapers } from '../../src/teaching/session-papers.ts';
import { sessionRota } from '../../src/teaching/session-rota.ts';

describe('a rota', () => {
  it('for twelve and six volunteers caps how often a place is felt, and changes the first side', () => {
    const rota = sessionRota({ learners: 12, volunteers: 6 });
    expect(rota.slots).toBe(3);
    expect(rota.repeats).toBe(8);
    expect(rota.limbsPerLearner).toBe(24);
    expect(rota.minutes).toBe(36);
    const own = rota.visits.filter(({ learner }) => learner === 'L01').map(({ firstSide }) => firstSide);
    expect(own).toEqual([own[0], own[0] === 'left' ? 'right' : 'left', own[0]]);
    expect(rota.table.rows).toHaveLength(12);
  });

  it('whatever the numbers: nobody twice at a volunteer, no more than the cap, everybody linked, or refused', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 3, max: 30 }),
        fc.integer({ min: 1, max: 10 }),
        fc.integer({ min: 3, max: 16 }),
        (learners, volunteers, mostRepeats) => {
          try {
            const rota = sessionRota({ learners, volunteers, mostRepeats });
            const seen = new Set(rota.visits.map(({ learner, volunteer }) => `${learner}/${volunteer}`));
            expect(seen.size).toBe(rota.visits.length);
            const places = new Set(rota.visits.map(({ learner, slot }) => `${learner}/${slot}`));
            expect(places.size).toBe(rota.visits.length);
            expect(rota.repeats).toBeLessThanOrEqual(mostRepeats);
          } catch (error) {
            expect(error).toBeInstanceOf(InputError);
            expect((error as InputError).problems[0]!.code).toMatch(/^(too-many-repeats|unconnected)$/);
          }
        },
      ),
    );
  });

  it('draws the codes with its seed and refuses what cannot be', () => {
    const draw = (seed: number) => sessionRota({ learners: 12, volunteers: 6, seed }).codes.join();
    expect(draw(1)).toBe(draw(1));
    expect(draw(1)).not.toBe(draw(2));
    expect(() => sessionRota({ learners: 2.5, volunteers: 0 })).toThrow(/2 problems/);
    expect(() => sessionRota({ learners: 30, volunteers: 2 })).toThrow(/invite more volunteers/);
    expect(() => sessionRota({ learners: 6, volunteers: 6, limbsPerVolunteer: 2, mostRepeats: 4 })).toThrow(
      /with fewer than 2 others/,
    );
  });
});

describe('papers', () => {
  const papers = sessionPapers(sessionRota({ learners: 12, volunteers: 6 }), ['wrist pulse (radial), right and left']);

  it('are a slip a code in drawn order, consent, skin check and card a volunteer, and what to do when no pulse is felt', () => {
    const count = (kind: string) => papers.filter((paper) => paper.kind === kind).length;
    expect(['code slip', 'consent', 'skin check', 'station card', 'technique', 'pulse not felt'].map(count)).toEqual([
      12, 6, 6, 6, 1, 1,
    ]);
    expect(papers.slice(0, 12).map(({ heading }) => heading)).not.toEqual(
      Array.from({ length: 12 }, (_, at) => `L${String(at + 1).padStart(2, '0')}`),
    );
    expect(papers.at(-1)!.lines.join(' ')).toContain('Doppler');
  });

  it('print from one page that needs nothing outside itself', () => {
    const page = papersPage(papers);
    expect(page.match(/class="sheet"/g)).toHaveLength(20);
    expect(page).not.toMatch(/<script|http/);
  });

  it('ask for the steps of technique in the words of signs that a file can hold, yes being the usual', () => {
    const steps = codebook.filter(({ id }) => id.startsWith('technique-'));
    expect(papers.find(({ kind }) => kind === 'technique')?.lines).toEqual(
      steps.map(({ words }) => `${words}: yes / no`),
    );
    expect(steps).toHaveLength(8);
    for (const { scales } of steps)
      expect(scales[0]).toMatchObject({ direction: 'lower-is-worse', normal: { categories: ['1'] } });
  });
});
