import { expect, test } from 'vitest';
import { scaleOf, signOf } from '../../src/signs/codebook.ts';
import { indexBand } from '../../src/signs/pressure.ts';

// What the 70 entries of the collected facts of the examination say: scale, unit and range, or number of categories.
const facts: readonly (readonly [scale: string, unitAndRange: readonly [string, number, number] | number])[] = [
  ['pulse.0-3.normal2', 4],
  ['pulse.0-4.normal2', 5],
  ['pulse.0-4.normal3', 5],
  ['pulse.binary', 2],
  ['pulse.detection4', 4],
  ['pit.0-4.bands-2-4-6-8.long', 5],
  ['pit.0-4.hogan', 5],
  ['pit.0-4.depth-only', 5],
  ['oed.0-3.words', 4],
  ['oed.extent', 5],
  ['pit.depth', ['mm', 0, 30]],
  ['pit.recovery', ['s', 0, 600]],
  ['refill.seconds.finger', ['s', 0, 20]],
  ['refill.prolonged', 2],
  ['skin.mottling.0-5', 6],
  ['skin.temperature.measured', ['Cel', 10, 42]],
  ['skin.temperature.felt', 4],
  ['skin.temperature.sides', 3],
  ['skin.color', 7],
  ['hair.0-2', 3],
  ['skin.shiny', 2],
  ['nail.thickening', 2],
  ['ulcer.present', 2],
  ['ulcer.pattern', 5],
  ['ulcer.edge.kinds', 6],
  ['ulcer.area', ['cm2', 0, 500]],
  ['veins.varicose', 2],
  ['ceap.c.2020', 11],
  ['girth.ankle', ['cm', 12, 60]],
  ['girth.calf', ['cm', 18, 80]],
  ['girth.thigh', ['cm', 25, 110]],
  ['girth.upper-arm', ['cm', 12, 70]],
  ['girth.forearm', ['cm', 10, 55]],
  ['girth.figure-of-eight-ankle', ['cm', 35, 80]],
  ['girth.difference', ['cm', -40, 40]],
  ['limb.volume', ['mL', 500, 30000]],
  ['allen.seconds', ['s', 0, 60]],
  ['allen.words', 3],
  ['buerger.angle', ['deg', 0, 90]],
  ['leg-raised.pallor.0-4', 5],
  ['rubor.dependent', 2],
  ['color-return.seconds', ['s', 0, 180]],
  ['venous-filling.seconds', ['s', 0, 180]],
  ['bruit.heard', 2],
  ['node.kinds', 3],
  ['node.kinds', 3],
  ['node.size', ['mm', 0, 80]],
  ['doppler.direction', 4],
  ['doppler.phasicity', 2],
  ['doppler.resistance', 3],
  ['doppler.venous', 5],
  ['pressure.brachial', ['mm[Hg]', 50, 280]],
  ['pressure.ankle', ['mm[Hg]', 0, 300]],
  ['pressure.toe', ['mm[Hg]', 0, 250]],
  ['abi.ratio', ['{ratio}', 0, 2.5]],
  ['abi.band.acc-aha-2024', 4],
  ['tbi.ratio', ['{ratio}', 0, 1.6]],
  ['touch.0-2', 3],
  ['monofilament.10', ['{count}', 0, 10]],
  ['power.0-5', 6],
  ['pain.0-10', 11],
  ['six-p.pallor', 2],
  ['six-p.pulselessness', 2],
  ['six-p.paresthesia', 2],
  ['six-p.paralysis', 2],
  ['six-p.poikilothermia', 2],
  ['ischemia.acute.1997', 4],
  ['ischemia.chronic.0-6', 7],
  ['ischemia.chronic.fontaine', 5],
  ['wifi.ischemia.0-3', 4],
];

test('the codebook holds the whole examination', () => {
  expect(facts).toHaveLength(70);
});

test.each(facts)('%s', (id, expected) => {
  const scale = scaleOf(id);
  expect(signOf(scale.sign).scales).toContain(scale);
  if (typeof expected === 'number') expect(scale.categories).toHaveLength(expected);
  else expect([scale.unit, scale.range?.lowest, scale.range?.highest]).toEqual(expected);
});

test.each([
  'pulse-rate',
  'pulse-rhythm',
  'pulse-equality',
  'non-pitting-edema',
  'girth-by-eye',
  'skin-cool-level',
  'skin-color-equality',
  'leg-raised',
  'leg-lowered',
  'arm-lump',
])('what is charted at the bedside has its place: %s', (id) => {
  expect(signOf(id).words).not.toBe('');
});

test('nurses find: arm sites for color, armpit nodes, bruit behind the knee, patchy hair, even edges, brisk refill', () => {
  expect(signOf('skin-color').sites).toContain('forearm');
  expect(signOf('node').sites).toContain('armpit');
  expect(signOf('bruit').sites).toEqual(['iliac', 'femoral', 'popliteal']);
  expect(scaleOf('hair.kinds').categories?.map(({ value }) => value)).toContain('patchy');
  expect(scaleOf('ulcer.edge.even').categories?.map(({ value }) => value)).toEqual(['even', 'irregular']);
  expect(scaleOf('refill.words').categories?.map(({ value }) => value)).toEqual(['brisk', 'sluggish']);
});

test('signs that compare the sides take no side', () => {
  for (const id of ['pulse-equality', 'girth-by-eye', 'skin-temperature-difference', 'girth-difference'])
    expect([signOf(id).isPaired, signOf(id).limbs]).toEqual([true, []]);
});

// ACC/AHA 2016 and 2024 against older statements: 1.00 is normal in one and borderline in the other.
test.each([
  [0.9, 'abnormal', 'abnormal'],
  [0.904, 'abnormal', 'abnormal'], // rounded to 0.90 first
  [0.905, 'borderline', 'borderline'],
  [0.99, 'borderline', 'borderline'],
  [1, 'normal', 'borderline'],
  [1.01, 'normal', 'normal'],
  [1.4, 'normal', 'normal'],
  [1.404, 'normal', 'normal'],
  [1.41, 'non-compressible', 'non-compressible'],
])('an index of %d is %s by the editions of 2016 and 2024, %s by older ones', (index, now, before) => {
  expect(indexBand(index, 'abi.band.acc-aha-2024')).toBe(now);
  expect(indexBand(index, 'abi.band.older')).toBe(before);
});

test('no band without an index or an edition', () => {
  expect(indexBand(Number.NaN, 'abi.band.older')).toBeUndefined();
  expect(indexBand(1, 'abi.band.1990')).toBeUndefined();
});
