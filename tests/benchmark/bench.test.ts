import { expect, test } from 'vitest';
import { available } from '../support/optional.js';
import { INSTALL, measure, referencePrograms, sameness } from './measure.mjs';
import { growthLines, tableLines } from './report.mjs';
import { worksOf } from './works.mjs';

// What the harness compares before it compares times: each piece of work on small invented data, ours against the reference
// program that is named beside it in works.mjs. measure() throws where an answer differs. Times are printed and never judged.

const programs = referencePrograms();
const needed = new Set(worksOf(true).flatMap(({ theirs }) => theirs.flatMap(({ needs }) => needs ?? [])));
const here = new Set([...Object.keys(programs.R ?? {}), ...Object.keys(programs.pythonPackages)]);
for (const name of needed) available(`the reference program ${name}`, here.has(name), `It comes with: sudo ${INSTALL}`);

// The kernel has tests of its own, and importing gives no number.
const works = worksOf(true).filter(({ name }) => !name.startsWith('start-'));

test.for(works.map((work) => [work.name, work] as const))('%s: the same numbers as the reference', async ([, work]) => {
  const [result] = await measure([work], () => {});
  // Left out where the data come from a program that is not here.
  if (result === undefined) return;
  const numbers = Object.values(result.ours[0]?.numbers ?? {});
  expect(numbers.length).toBeGreaterThan(0);
  expect(numbers.every((value) => Number.isFinite(value))).toBe(true);
  result.theirs.forEach((theirs, at) => {
    const isSame = Object.keys(work.same).some((kind) =>
      Object.keys(theirs.numbers).some((name) => name === kind || name.startsWith(`${kind} `)),
    );
    expect(result.sameness[at] !== undefined).toBe(isSame);
  });
  expect(tableLines([result])).toHaveLength(2 + result.ours.length + work.theirs.length);
});

const form = { who: 'another program', program: 'R', piece: 'any', settings: { replicates: 900 } } as const;
const compare = (kind: string, tolerance: number | 'maximum' | 'replicates', mine: number, other: number) =>
  sameness(
    { name: 'work', same: { [kind]: tolerance } },
    { numbers: { [kind]: mine } },
    { form, numbers: { [kind]: other, error: 0.1 } },
  );

test.for([
  ['kappa', 1e-12, 0.5, 0.5 + 2e-12],
  ['kappa', 1e-12, Number.NaN, 0.5],
  // A lower likelihood is no maximum.
  ['criterion', 'maximum', 10.001, 10],
  ['logLikelihood', 'maximum', -10.001, -10],
  // Half a standard error at 900 replicates.
  ['lower', 'replicates', 0.4, 0.451],
] as const)('%s (%s) of %d against %d is another answer', ([kind, tolerance, mine, other]) => {
  expect(() => compare(kind, tolerance, mine, other)).toThrow(
    `work: ${kind} is ${mine} by ours and ${other} by another program.`,
  );
});

test('a likelihood that is higher, and limits within the chance of drawing, are the same answer', () => {
  expect(compare('criterion', 'maximum', 9, 10)).toBe('criterion 10 (ours −1e+0)');
  expect(compare('logLikelihood', 'maximum', -9, -10)).toBe('logLikelihood -10 (ours +1e+0)');
  expect(compare('lower', 'replicates', 0.4, 0.449)).toBe('lower 0.44900 (ours −5e-2)');
});

test('a slope of the logarithms', () => {
  const line = growthLines([{ what: 'work', unit: 'rows', sizes: [1, 2, 4], seconds: [0.5, 1, 2], slope: 1 }]).at(-1);
  expect(line).toBe('| work | rows | 1 in 500 ms | 4 in 2.00 s | 1.00 |');
});
