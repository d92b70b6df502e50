import { inspect } from 'node:util';
import { describe, expect, it } from 'vitest';
import { Estimate } from '../../src/shared/estimate.ts';
import { InputError, refuse } from '../../src/shared/input-error.ts';
import { caution } from '../../src/shared/note.ts';
import { checkChoice, checkIntervalOptions } from '../../src/shared/options.ts';
import { formatCount, formatNumber, Table } from '../../src/shared/table.ts';
import { TestResult } from '../../src/shared/test-result.ts';

const interval = { lower: 0.21, upper: 0.456, level: 0.95, method: 'patient jackknife' };
const counts = { targets: 1200, clusters: 40, assessors: 3, ratings: 3600, excluded: 2 };

describe('an estimate', () => {
  const estimate = new Estimate({
    statistic: 'Cohen kappa',
    value: 0.333,
    standardError: 0.06,
    interval,
    counts,
    options: {},
    notes: [caution('few-patients', 'Few people.')],
  });

  it('prints as one line with interval, counts, method and notes', () => {
    expect(inspect(estimate)).toBe(
      'Cohen kappa 0.33, 95 % interval 0.21 to 0.46 (patient jackknife; 1,200 targets, 40 patients, 3 assessors) [Few people.]',
    );
  });

  it('becomes a row with every digit', () => {
    expect(estimate.toRow()).toMatchObject({
      value: 0.333,
      lower: 0.21,
      upper: 0.456,
      targets: 1200,
      notes: 'Few people.',
    });
  });

  it('cannot be changed, and says when there is no interval', () => {
    expect(Object.isFrozen(estimate)).toBe(true);
    const none = new Estimate({
      ...estimate,
      value: Number.NaN,
      interval: { ...interval, lower: Number.NaN, upper: Number.NaN },
    });
    expect(String(none)).toContain('not defined, interval not defined');
  });
});

it('a test result says the effect with its interval first, and a small p as small', () => {
  const test = new TestResult({
    test: 'log-rank test',
    effect: { name: 'hazard ratio', value: 0.21, interval },
    statistic: { name: 'chi-square', value: 16.79 },
    degreesOfFreedom: 1,
    pValue: 0.00004,
    counts,
    options: {},
  });
  expect(inspect(test)).toBe(
    'log-rank test: hazard ratio 0.21, 95 % interval 0.21 to 0.46; chi-square 16.79, p below 0.001',
  );
});

describe('a table', () => {
  const table = new Table(
    'How many?',
    [
      { key: 'what', label: 'what', kind: 'text' },
      { key: 'share', label: 'share', kind: 'percent' },
      { key: 'value', label: 'value', kind: 'number', decimals: 1 },
      { key: 'n', label: 'n', kind: 'count' },
    ],
    [
      { what: '=cmd, "x"', share: 0.256, value: -0.04, n: 1234567 },
      { what: 'none', share: Number.NaN, value: null, n: 0 },
    ],
    [caution('care', 'Read with care.')],
  );

  it('prints aligned, rounded, with an undefined value in words and its cautions below', () => {
    expect(table.toText().split('\n')).toEqual([
      'How many?',
      '',
      'what              share   value           n',
      '=cmd, "x"          26 %     0.0   1,234,567',
      'none        not defined                   0',
      'Caution: Read with care.',
    ]);
  });

  it('writes CSV with every digit, quotes what needs it, and runs no formula', () => {
    expect(table.toCsv()).toBe('what,share,value,n\n"\'=cmd, ""x""",0.256,-0.04,1234567\nnone,,,0\n');
  });
});

it('numbers have true minus signs, thousands and words for what is no number', () => {
  expect(formatNumber(-1.005, 1)).toBe('−1.0');
  expect(formatNumber(-0.001)).toBe('0.00');
  expect(formatNumber(Number.NEGATIVE_INFINITY)).toBe('−∞');
  expect(formatCount(1234567)).toBe('1,234,567');
});

describe('an input error', () => {
  it('names place, expectation and mending, and shows twenty problems but keeps all', () => {
    const problems = Array.from({ length: 23 }, (_, at) => ({
      code: 'off-scale',
      message: 'Grade 5 is not on the scale.',
      row: at + 2,
      column: 'value',
      expected: '0 to 4',
      mend: 'look at the sheet.',
    }));
    const error = new InputError(problems);
    expect(error.problems).toHaveLength(23);
    expect(error.message).toContain('23 problems');
    expect(error.message).toContain(
      'row 2, column "value": Grade 5 is not on the scale. Expected 0 to 4. To mend it: look at the sheet.',
    );
    expect(error.message).toContain('and 3 more');
    expect(refuse('bad', ['options', 'seed'], 'It is wrong.').message).toContain('options.seed: It is wrong.');
  });
});

describe('options', () => {
  it('have their defaults, and are refused all at once', () => {
    expect(checkIntervalOptions({})).toEqual({
      confidenceLevel: 0.95,
      interval: undefined,
      replicates: 2000,
      seed: 20260301,
    });
    try {
      checkIntervalOptions({ confidenceLevel: 95, replicates: 10, seed: 0.5, interval: 'exact' as 'bootstrap' });
      expect.unreachable();
    } catch (error) {
      expect((error as InputError).problems.map((problem) => problem.path?.at(-1))).toEqual([
        'confidenceLevel',
        'interval',
        'replicates',
        'seed',
      ]);
    }
  });

  it('print the words that are allowed', () => {
    expect(checkChoice('weights', 'linear', ['identity', 'linear'])).toBe('linear');
    expect(() => checkChoice('weights', 'square', ['identity', 'linear'])).toThrow(
      'You wrote "square" for weights; choose one of identity, linear.',
    );
  });
});
