import { describe, expect, it } from 'vitest';
import { checkSettings, setting } from '../../src/notebook/check-settings.ts';
import { InputError } from '../../src/shared/input-error.ts';

const rules = {
  sign: setting.oneOf(['pulse-grade', 'pulse-detection', 'edema']),
  weights: setting.oneOf(['linear', 'quadratic'], 'quadratic'),
  by: setting.someOf(['site', 'side'], ['site']),
  confidenceLevel: setting.numberFrom(0.5, 0.999, 0.95),
  replicates: setting.wholeNumberFrom(200, 100_000, 2000),
  file: setting.text('assessments.csv'),
  darkPictures: setting.trueOrFalse(false),
};

function problemsOf(written: Record<string, unknown>): readonly string[] {
  try {
    checkSettings(written, rules);
  } catch (error) {
    if (error instanceof InputError) return error.problems.map((problem) => `${problem.code}: ${problem.message}`);
    throw error;
  }
  return [];
}

describe('checkSettings', () => {
  it('gives what was written, and the default of what was left out', () => {
    expect(checkSettings({ sign: 'edema', by: ['site', 'side'], replicates: 500 }, rules)).toEqual({
      sign: 'edema',
      weights: 'quadratic',
      by: ['site', 'side'],
      confidenceLevel: 0.95,
      replicates: 500,
      file: 'assessments.csv',
      darkPictures: false,
    });
  });

  it('says what was written and what may be written', () => {
    expect(problemsOf({ sign: 'pulse' })).toEqual([
      "bad-setting: You wrote 'pulse' for sign; choose one of 'pulse-grade', 'pulse-detection', 'edema'.",
    ]);
    expect(problemsOf({ sign: 'edma' })[0]).toContain("You may mean 'edema'.");
  });

  it('asks for a setting without a default', () => {
    expect(problemsOf({})).toEqual([
      "missing-setting: It is missing; choose one of 'pulse-grade', 'pulse-detection', 'edema'.",
    ]);
  });

  it('names the setting that was meant', () => {
    expect(problemsOf({ sign: 'edema', wieghts: 'linear' })[0]).toMatch(/^unknown-setting: .* you may mean weights\./);
  });

  it('finds every fault at once', () => {
    expect(
      problemsOf({
        sign: 3,
        weights: 'cubic',
        by: 'site',
        confidenceLevel: 95,
        replicates: 10.5,
        file: ' ',
        darkPictures: 'yes',
      }),
    ).toEqual([
      "bad-setting: You wrote 3 for sign; choose one of 'pulse-grade', 'pulse-detection', 'edema'.",
      "bad-setting: You wrote 'cubic' for weights; choose one of 'linear', 'quadratic'.",
      "bad-setting: by is 'site'; write a list of 'site', 'side', such as ['site'].",
      'bad-setting: confidenceLevel is 95; write a number from 0.5 to 0.999.',
      'bad-setting: replicates is 10.5; write a whole number from 200 to 100000.',
      "bad-setting: file is ' '; write a text between quotation marks.",
      "bad-setting: darkPictures is 'yes'; write true or false.",
    ]);
  });

  it('counts the faults in its heading', () => {
    expect(() => checkSettings({ sign: 'x', weights: 'y' }, rules)).toThrow(/^2 settings need a change:\n/);
  });

  it('refuses an empty list and each wrong word of a list', () => {
    expect(problemsOf({ sign: 'edema', by: [] })).toHaveLength(1);
    expect(problemsOf({ sign: 'edema', by: ['site', 'left', 'limb'] })[0]).toMatch(/'left'.*'limb'/);
  });
});

describe('settings of any kind', () => {
  const around: Record<string, unknown> = {};
  around.itself = around;
  let deep: unknown = 1;
  for (let level = 0; level < 100_000; level++) deep = [deep];
  it.each([
    ['that hold themselves', around, 'an object'],
    ['nested without end', deep, '[an object]'],
    ['that JSON does not know', 5n, 'a bigint'],
    ['very long', 'x'.repeat(1000), `'${'x'.repeat(59)}…'`],
    ['that can identify a person', 'Jane Doe', 'something with the form of an identifier'],
  ])('%s are refused in a sentence', (_, value, said) => {
    expect(problemsOf({ sign: 'edema', replicates: value })).toEqual([
      `bad-setting: replicates is ${said}; write a whole number from 200 to 100000.`,
    ]);
  });
});
