import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { falseProgressionRate } from '../../src/progression/false-progression-rate.ts';
import { mannKendallTest } from '../../src/progression/mann-kendall-test.ts';
import { regressionToTheMean } from '../../src/progression/regression-to-the-mean.ts';
import { superiority } from '../../src/progression/superiority.ts';
import { theilSenSlope } from '../../src/progression/theil-sen-slope.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { referenceData } from '../support/optional.ts';
import { type PublishedCase, publishedCases } from '../support/published-cases.ts';

const caseOf = (id: string): PublishedCase => publishedCases('progression', new RegExp(`^${id}$`))[0]!;

describe('Mann–Kendall', () => {
  it('ten values without ties: score, variance, normal and exact p', () => {
    const { data, expected } = caseOf('mk-notie-10');
    const test = mannKendallTest([{ times: data.t, values: data.y }]);
    expect(test.score).toBe(expected.S);
    expect([test.rising, test.falling]).toEqual([expected.nConcordant, expected.nDiscordant]);
    expectNear(test.variance, expected.varS, 1e-9);
    expectNear(test.tau, expected.tau, 1e-9);
    expectNear(test.z, expected.z, 1e-9);
    expectNear(test.pNormal, expected.pNormal, 1e-9);
    expectNear(test.pExact, expected.pExact, 1e-9);
  });

  it('nothing varies: score 0, p 1, and a note', () => {
    const { data } = caseOf('mk-all-tied');
    const test = mannKendallTest([{ times: data.t, values: data.y }]);
    expect([test.score, test.variance, test.z, test.pNormal]).toEqual([0, 0, 0, 1]);
    expect(test.notes.map((note) => note.code)).toEqual(['no-variation']);
  });

  it('ties in time and value: the tie-corrected score of groups (Hollander & Wolfe, example 6.2)', () => {
    const { data, expected } = caseOf('jt-hw-knowledge');
    const groups = Object.values(data.groups) as number[][];
    const test = mannKendallTest([
      { times: groups.flatMap((group, at) => group.map(() => at)), values: groups.flat() },
    ]);
    // J = (S + pairs in different groups) / 2; J and the tie-corrected variance of S / 4.
    expectNear((test.score + 108) / 2, expected.J, 1e-12);
    expectNear(test.variance / 4, expected.varJtie, 1e-9);
  });

  it('blocks add up: score and variance are those of the series one by one', () => {
    const one = { times: [1, 2, 3, 5], values: [0, 1, 1, 2] };
    const two = { times: [1, 4, 6], values: [3, null, 1] };
    const both = mannKendallTest([one, two]);
    const apart = [mannKendallTest([one]), mannKendallTest([two])];
    expect(both.score).toBe(apart[0]!.score + apart[1]!.score);
    expectNear(both.variance, apart[0]!.variance + apart[1]!.variance, 1e-12);
  });

  it('copies of one site are one patient: the covariance makes the score of two copies count as one', () => {
    const series = { times: [1, 2, 3, 4, 5, 6], values: [1, 3, 2, 5, 4, 6] };
    const alone = mannKendallTest([series]);
    const twice = mannKendallTest([series, series], { series: 'same visits' });
    expectNear(twice.variance, 4 * alone.variance, 1e-9);
    expect(mannKendallTest([series, series]).variance).toBeCloseTo(2 * alone.variance, 9);
  });

  it('laws: turning time or values round turns the sign, stretching changes nothing', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 4 }), { minLength: 3, maxLength: 15 }), (values) => {
        const times = values.map((_, at) => at);
        const test = mannKendallTest([{ times, values }]);
        expect(mannKendallTest([{ times, values: values.map((value) => -value) }]).score).toBe(0 - test.score);
        const stretched = mannKendallTest([
          { times: times.map((time) => time ** 3), values: values.map((value) => 2 ** value) },
        ]);
        expect([stretched.score, stretched.variance]).toEqual([test.score, test.variance]);
      }),
    );
  });

  it('refuses series of different visits as the same visits', () => {
    const series = [
      { times: [1, 2], values: [0, 1] },
      { times: [1, 3], values: [0, 1] },
    ];
    expect(() => mannKendallTest(series, { series: 'same visits' })).toThrow(/visits of the first/);
  });
});

// 312 patients, 1,945 irregular visits with an edema grade: the data of R survival 3.5-3, pbcseq, read beside the checkout.
const folder = referenceData();
describe.skipIf(folder === undefined)('blocked over the patients of a trial', () => {
  it('edema grades of 312 patients', () => {
    const [header, ...lines] = readFileSync(`${folder}data/pbcseq_edema.csv`, 'utf8').trim().split('\n');
    const column = (name: string): number => header!.replaceAll('"', '').split(',').indexOf(name);
    const series = new Map<string, { times: number[]; values: number[] }>();
    for (const line of lines) {
      const cells = line.split(',');
      const own = series.get(cells[column('id')]!) ?? { times: [], values: [] };
      own.times.push(Number(cells[column('day')]));
      own.values.push(Number(cells[column('oed')]));
      series.set(cells[column('id')]!, own);
    }
    const test = mannKendallTest([...series.values()]);
    expect([test.rising, test.falling, test.score]).toEqual([1547, 279, 1268]);
    expectNear(test.variance, 6366.66666666667, 1e-9);
    expectNear(test.z, 15.878905299417, 1e-9);
  });
});

describe('Theil–Sen', () => {
  for (const id of ['sen-cloudseeding', 'sen-outlier'])
    it(`${id}: ${caseOf(id).source}`, () => {
      const { data, expected } = caseOf(id);
      const fit = theilSenSlope(data.t, data.y);
      const rounded = theilSenSlope(data.t, data.y, { ranks: 'rounded' });
      expectNear(fit.slope, expected.slope, 1e-10);
      expectNear(fit.intercept, expected.intercept, 1e-10);
      expect(fit.slopes).toBe(expected.nSlopes);
      expectNear(fit.interval.lower, expected.ciInterpolated[0], 1e-10);
      expectNear(fit.interval.upper, expected.ciInterpolated[1], 1e-10);
      expectNear(rounded.interval.lower, expected.ciRounded[0], 1e-10);
      expectNear(rounded.interval.upper, expected.ciRounded[1], 1e-10);
    });

  it('is not defined with one time', () => {
    const { data } = caseOf('sen-too-few');
    const fit = theilSenSlope(data.t, data.y);
    expect(fit.slope).toBeNaN();
    expect(fit.notes.map((note) => note.code)).toEqual(['not-defined']);
  });
});

describe('superiority', () => {
  it('Cliff’s delta with its asymmetric interval: Cliff 1993, doi:10.1037/0033-2909.114.3.494', () => {
    const { data, expected } = caseOf('cliff-effsize');
    const result = superiority(data.x, data.y);
    expectNear(result.delta, expected.delta, 1e-9);
    expectNear(result.probability, expected.psup, 1e-9);
    expectNear(result.standardError ** 2, expected.varUnbiased, 1e-9);
    expectNear(result.interval.lower, expected.ciT[0], 1e-9);
    expectNear(result.interval.upper, expected.ciT[1], 1e-9);
  });

  it('complete separation has no interval, but says how rare it would be', () => {
    const { data, expected } = caseOf('psup-separated');
    const result = superiority(data.y, data.x);
    expect([result.probability, result.delta]).toEqual([expected.psup, 1]);
    expect(result.interval.lower).toBeNaN();
    expect(result.notes[0]!.message).toContain('0.057');
  });

  it('counts patients: two copies of each value under one patient widen nothing and narrow nothing', () => {
    const [a, b] = [
      [3, 1, 4, 2, 5, 3],
      [2, 1, 3, 2, 2, 4],
    ];
    const single = superiority(a, b, {
      patients: [
        [1, 2, 3, 4, 5, 6],
        [1, 2, 3, 4, 5, 6],
      ],
    });
    const copied = superiority([...a, ...a], [...b, ...b], {
      patients: [
        [1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6],
        [1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6],
      ],
    });
    expectNear(copied.delta, single.delta, 1e-12);
    expectNear(copied.standardError, single.standardError, 1e-12);
    expect(copied.counts.patients).toBe(6);
  });

  // By its definition: delta without each patient in turn; t of 4 degrees of freedom at .975 and .95 is 2.776 and 2.132 (any table).
  it('leaves one patient out at a time and puts the limits on the scale of artanh', () => {
    const a = [3, 1, 4, 2, 5, 3];
    const b = [2, 1, 3, 2, 4];
    const patients = [
      [1, 2, 3, 4, 5, 1],
      [1, 2, 3, 4, 5],
    ] as const;
    const deltaOf = (gone: number): number => {
      let score = 0;
      let pairs = 0;
      a.forEach((x, i) => {
        b.forEach((y, j) => {
          if (patients[0][i] === gone || patients[1][j] === gone) return;
          score += Math.sign(x - y);
          pairs++;
        });
      });
      return score / pairs;
    };
    const without = [1, 2, 3, 4, 5].map(deltaOf);
    const mean = without.reduce((sum, one) => sum + one, 0) / 5;
    const error = Math.sqrt((4 / 5) * without.reduce((sum, one) => sum + (one - mean) ** 2, 0));
    const delta = deltaOf(0);
    for (const [level, t] of [
      [0.95, 2.7764451051977987],
      [0.9, 2.13184678632665],
    ] as const) {
      const result = superiority(a, b, { patients: [[...patients[0]], [...patients[1]]], confidenceLevel: level });
      expectNear(result.delta, delta, 1e-12);
      expectNear(result.standardError, error, 1e-12);
      const reach = (t * error) / (1 - delta * delta);
      expectNear(result.interval.lower, Math.tanh(Math.atanh(delta) - reach), 1e-9);
      expectNear(result.interval.upper, Math.tanh(Math.atanh(delta) + reach), 1e-9);
      expect(result.notes.map(({ code }) => code)).toEqual(['patients-as-units']);
    }
    const alone = superiority(a, b, {
      patients: [
        [1, 2, 3, 4, 5, 6],
        [7, 8, 9, 10, 11],
      ],
    });
    expect(alone.interval).toEqual(superiority(a, b).interval);
    expect(() => superiority(a, [])).toThrow(/no values/);
    expect(() => superiority(a, b, { patients: [[1], [1, 2, 3, 4, 5]] })).toThrow(/one patient for each/);
    expect(() => superiority(a, b, { patients: [[1, 2, 3, 4, 5, 6], [1]] })).toThrow(/one patient for each/);
  });
});

describe('what error alone brings', () => {
  it('regression to the mean: Barnett and others 2005, doi:10.1093/ije/dyh299', () => {
    const { data, expected } = caseOf('rtm-expected');
    const input = { mean: data.mean, betweenLimbs: data.sdBetween, error: data.sdWithin, cutOff: data.cutoff };
    const result = regressionToTheMean(input);
    expectNear(result.expectedChange, expected.rtm, 1e-10);
    expectNear(result.expectedFirst, expected.expectedFirst, 1e-10);
    expectNear(result.expectedSecond, expected.expectedSecond, 1e-10);
    expectNear(result.intraclassCorrelation, expected.icc, 1e-10);
    expectNear(
      regressionToTheMean({ ...input, baselineReadings: 2 }).expectedChange,
      expected.rtmMeanOf2Baselines,
      1e-10,
    );
  });

  it('takes no share below 0, although the shares add up', () => {
    const sure = [
      [1, 0],
      [0, 1],
    ];
    expect(() => falseProgressionRate([1.5, -0.5], sure, { grades: 1, consecutive: 1 })).toThrow(/shares/);
  });

  it('stable limbs called worse by a rule, by enumeration', () => {
    const { data, parameters, expected } = caseOf('false-progression-rate');
    // Lower is worse on the source's scale of pulse grades.
    parameters.km.forEach(([grades, consecutive]: [number, number], at: number) => {
      const rule = { grades, consecutive, worse: 'lower' } as const;
      expectNear(falseProgressionRate(data.prior, data.confusion, rule), expected.E[at], 1e-10);
      expectNear(falseProgressionRate(data.prior, data.confusionWorse, rule), expected.E2[at], 1e-10);
    });
    expectPrinted(
      falseProgressionRate(data.prior, data.confusion, { grades: 1, consecutive: 1, worse: 'lower' }),
      '0.203',
    );
    expect(() => falseProgressionRate([0.5, 0.6], data.confusion, { grades: 0, consecutive: 1 })).toThrow(/problems/);
  });
});
