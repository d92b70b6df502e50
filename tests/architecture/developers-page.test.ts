import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import * as library from '../../src/index.ts';

const page = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');

const unlisted = (names: readonly string[], text: string) => names.filter((name) => !text.includes(`\`${name}\``));

describe('DEVELOPERS.md', () => {
  it('says where each function of the library lives', () => {
    const functions = Object.entries(library)
      .filter(([, value]) => typeof value === 'function')
      .map(([name]) => name);
    expect(functions.length).toBeGreaterThan(0);
    expect(unlisted(functions, page)).toEqual([]);
  });

  it('would be found wanting without one', () => {
    expect(unlisted(['percentAgreement', 'kappa'], 'see `percentAgreement` and `cohenKappa`')).toEqual(['kappa']);
  });
});
