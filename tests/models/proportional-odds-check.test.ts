import { describe, expect, it } from 'vitest';
import { proportionalOddsCheck } from '../../src/models/proportional-odds-check.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';
import { wine } from '../support/wine.ts';

const problem = { response: wine.response, effects: { warm: wine.warm, contact: wine.contact } };

describe('the check of proportional odds', () => {
  it('is the published likelihood ratio for contact with the skins', () => {
    const { single, together, notes } = proportionalOddsCheck(problem);
    const contact = single[1];
    expect(contact?.names).toEqual(['contact']);
    expectNear(contact?.commonLogLikelihood as number, -86.4919233656491, 1e-12);
    expectNear(contact?.varyingLogLikelihood as number, -86.2085532314582, 1e-11);
    expectNear(contact?.statistic as number, 0.566740268381864, 1e-8);
    expect(contact?.degreesOfFreedom).toBe(3);
    expectNear(contact?.pValue as number, 0.904002389824213, 1e-8);
    // Nobody rated a warm bottle 1 or a cold one 5: temperature by threshold has no maximum.
    expect(single[0]?.statistic).toBeNaN();
    expect(together?.pValue).toBeNaN();
    expect(notes.map(({ code }) => code)).toEqual(['not-testable', 'not-testable', 'rows-independent']);
  });

  it('takes random effects along', () => {
    const { data } = readReference<ReferenceFits>('mixed-ordinal-models.json');
    const { single, notes } = proportionalOddsCheck({
      response: data.grade,
      effects: { warm: data.warm },
      random: [{ name: 'patient', groups: data.patient }],
    });
    expect(single[0]?.statistic).toBeGreaterThan(0);
    expect(single[0]?.varying[0]?.values).toHaveLength(3);
    expect(single[0]?.degreesOfFreedom).toBe(2);
    expect(notes).toEqual([]);
  });

  it('finds an effect that does differ, and has nothing to check with two grades', () => {
    const response = Array.from({ length: 600 }, (_, row) => [0, 0, 1, 2, 2, 2, 0, 1, 1, 1, 1, 2][row % 12] as number);
    const late = response.map((_, row) => (row % 12 < 6 ? 0 : 1));
    expect(proportionalOddsCheck({ response, effects: { late } }).single[0]?.pValue).toBeLessThan(1e-6);
    const two = proportionalOddsCheck({ response: response.map((grade) => Math.min(grade, 1)), effects: { late } });
    expect(two.single[0]).toMatchObject({ degreesOfFreedom: 0, pValue: Number.NaN });
    expect(() => proportionalOddsCheck({ response })).toThrowError(/no column/);
  });
});
