import { expect, it } from 'vitest';
import { ethicsPage } from '../../src/planning/ethics-page.ts';
import { plan } from './plan.ts';

it('says how often, how long and what happens when something is found, and leaves open what a person must write', () => {
  const page = ethicsPage(plan);
  expect(page).toMatch(/6 people \(7 invited\), after a pilot of 2/);
  expect(page).toMatch(
    /examined 3 times on one afternoon, with 10 minutes of rest between examinations: 44 minutes in all/,
  );
  expect(page).toMatch(
    /## If something is found[\s\S]*local escalation at once[\s\S]*looked for again by \[to fill in\]/,
  );
  expect(page).toContain('seed 4');
  expect(page.match(/\[to fill in\]/g)!.length).toBeGreaterThan(8);
});
