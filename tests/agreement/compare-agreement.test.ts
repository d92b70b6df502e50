import { describe, expect, it } from 'vitest';
import { adjustForMultiplicity } from '../../src/agreement/adjust-for-multiplicity.ts';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { type ComparedGroup, compareAgreement, splitRatings } from '../../src/agreement/compare-agreement.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { chiSquare, normal, studentT } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  it('two groups of other patients: z and the test of homogeneity (tables of Landis and Koch 1977)', () => {
    const [one] = publishedCases('agreement', /^compare-independent-ms$/);
    const { data, expected, tolerance } = one!;
    const [first, second] = (data.tables as number[][][]).map((table) =>
      ratingsOfTable(table, { categories: ['certain', 'probable', 'possible', 'doubtful'] }),
    );
    const { groups, contrasts, pooled, homogeneity } = compareAgreement([
      { label: 'first', ratings: first! },
      { label: 'second', ratings: second! },
    ]);
    expectNear(groups[0]!.estimate.value, expected.kappa1, tolerance);
    expectNear(groups[1]!.estimate.value, expected.kappa2, tolerance);
    expectNear(groups[0]!.estimate.standardError, expected.se1, tolerance);
    expectNear(groups[1]!.estimate.standardError, expected.se2, tolerance);
    const { result } = contrasts[0]!;
    expectNear(result.statistic.value, expected.z, tolerance);
    expectNear(result.pValue, expected.p, tolerance);
    expectNear(pooled.value, expected.pooled, tolerance);
    expectNear(pooled.standardError, expected.sePooled, tolerance);
    expectNear(homogeneity.statistic, expected.chi2, tolerance);
    expect(homogeneity.degreesOfFreedom).toBe(expected.df);
    expectNear(homogeneity.pValue, expected.p, tolerance);
    expect(result.effect.interval.lower).toBeLessThan(0);
    expect(result.effect.interval.upper).toBeGreaterThan(0);
  });

  it('two kappas of the same women, two readings each by two assessors (cervical ectopy data)', () => {
    const [one] = publishedCases('agreement', /^compare-dependent-cervical$/);
    const { expected, tolerance } = one!;
    // Each woman is a patient: the linearization over patients has the factor K/(K − 1).
    const ratings = ratingsOf(one!.data.subjectsByRaters, {
      clusters: one!.data.subjectsByRaters.map((_: number[], at: number) => at),
    });
    const { groups, covariance, contrasts } = compareAgreement(
      [
        { label: 'first', ratings, assessors: ['1', '2'] },
        { label: 'second', ratings, assessors: ['3', '4'] },
      ],
      { weights: 'quadratic', interval: 'asymptotic' },
    );
    expectNear(groups[0]!.estimate.value, expected.kappa1, tolerance);
    expectNear(groups[1]!.estimate.value, expected.kappa2, tolerance);
    expectNear(Math.sqrt(covariance[0]![0]!), expected.se1, tolerance);
    expectNear(Math.sqrt(covariance[1]![1]!), expected.se2, tolerance);
    expectNear(covariance[0]![1]!, expected.cov, tolerance);
    expectNear(contrasts[0]!.result.statistic.value, expected.z, tolerance);
    expectNear(contrasts[0]!.result.pValue, expected.p, tolerance);
  });

  for (const one of publishedCases('agreement', /^landis-koch-1977-hierarchical/))
    it(`${one.id}: four sets of weights on one table, doi:10.2307/2529310`, () => {
      const { expected, parameters, tolerance } = one;
      const ratings = ratingsOfCase(one);
      const { groups, covariance, contrasts } = compareAgreement(
        parameters.weightSets.map((weights: number[][], at: number) => ({ label: `set ${at + 1}`, ratings, weights })),
        { contrasts: 'successive' },
      );
      expectAllNear(
        groups.map(({ estimate }) => estimate.value),
        expected.kappas,
        tolerance,
      );
      covariance.forEach((row, at) => {
        expectAllNear(row, expected.cov[at], tolerance);
      });
      expectAllNear(
        contrasts.map(({ result }) => result.statistic.value ** 2),
        expected.Qsuccessive,
        tolerance,
      );
      if (one.id.endsWith('wpg'))
        ['6.20', '4.38', '10.96'].forEach((printed, at) => {
          expectPrinted(contrasts[at]!.result.statistic.value ** 2, printed);
        });
    });
});

const random = seededRandom(21);
const grades = Array.from({ length: 120 }, (_, target) => {
  const truth = random.below(4);
  return [0, 1, 2].map(() => (random.uniform() < (target % 2 === 0 ? 0.9 : 0.6) ? truth : random.below(4)));
});
const plain = ratingsOf(grades, { categories: [0, 1, 2, 3], clusters: grades.map((_, at) => Math.floor(at / 6)) });
const { subject: _none, ...rest } = plain;
const ratings = new Ratings({
  ...rest,
  attributes: { side: grades.map((_, at) => (at % 2 === 0 ? 'left' : 'right')) },
});

describe('patients', () => {
  it('of one coefficient leave its error as the patient jackknife has it', () => {
    const { covariance } = compareAgreement(splitRatings(ratings, 'side'), { coefficient: 'gwet-agreement' });
    const left = gwetAgreement(ratings.ofGroup('side', 'left'), { interval: 'cluster-robust' });
    expect(Math.sqrt(covariance[0]![0]!)).toBeCloseTo(left.standardError, 12);
  });

  it('shared by both groups give the jackknife error of the difference (second way: leave a patient out of both)', () => {
    const { contrasts } = compareAgreement(splitRatings(ratings, 'side'), { coefficient: 'fleiss-kappa' });
    const difference = (without: number): number => {
      const rest = ratings.ofTargets((target) => ratings.clusterOf[target] !== without);
      const [left, right] = compareAgreement(splitRatings(rest, 'side'), { coefficient: 'fleiss-kappa' }).groups;
      return left!.estimate.value - right!.estimate.value;
    };
    const values = Array.from({ length: 20 }, (_, patient) => difference(patient));
    const mean = values.reduce((sum, value) => sum + value, 0) / 20;
    const variance = (19 / 20) * values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    const { result } = contrasts[0]!;
    expect(result.details.standardError).toBeCloseTo(Math.sqrt(variance), 12);
    expect(result.effect.value).toBeGreaterThan(0);
    expect(result.effect.interval.lower).toBeGreaterThan(0);
    expect(result.pValue).toBeLessThan(0.05);
    expect(result.degreesOfFreedom).toBeLessThanOrEqual(19);
  });

  it('of two other groups are independent', () => {
    const first = ratings.ofTargets((target) => ratings.clusterOf[target]! < 10);
    const second = ratings.ofTargets((target) => ratings.clusterOf[target]! >= 10);
    const groups = [
      { label: 'first', ratings: first },
      { label: 'second', ratings: second },
    ];
    const { covariance } = compareAgreement(groups);
    expect(covariance[0]![1]).toBe(0);
    const numbered = groups.map((group) => ({ ...group, patientOf: (at: number) => group.ratings.clusterOf[at]! }));
    expect(compareAgreement(numbered).covariance[0]![1]).not.toBe(0);
  });

  it('of several coefficients of the same readings are the same patients', () => {
    const { covariance, contrasts } = compareAgreement(
      [
        { label: 'weighted', ratings, weights: 'quadratic' },
        { label: 'unweighted', ratings },
        { label: 'percent', ratings, coefficient: 'percent-agreement' },
      ],
      { coefficient: 'conger-kappa', contrasts: 'against-first' },
    );
    expect(covariance[0]![1]).toBeGreaterThan(0);
    expect(contrasts.map(({ label }) => label)).toEqual(['weighted minus unweighted', 'weighted minus percent']);
  });
});

describe('contrasts', () => {
  const three = [0, 1, 2].map((third) => ({
    label: `third ${third}`,
    ratings,
    targets: (target: number) => target % 3 === third,
  }));

  it('stand for every pair, adjusted by Holm', () => {
    const { contrasts, notes } = compareAgreement(three);
    expect(contrasts.map(({ weights }) => weights)).toEqual([
      [1, -1, 0],
      [1, 0, -1],
      [0, 1, -1],
    ]);
    const smallest = Math.min(...contrasts.map(({ result }) => result.pValue));
    expect(Math.min(...contrasts.map(({ adjustedP }) => adjustedP))).toBeCloseTo(Math.min(1, 3 * smallest), 12);
    expect(notes.map((note) => note.code)).toContain('adjusted');
  });

  it('can be of one’s own', () => {
    const { contrasts } = compareAgreement(three, { contrasts: [[1, -0.5, -0.5]] });
    expect(contrasts[0]!.label).toBe('third 0 minus 0.5 × third 1 + 0.5 × third 2');
  });

  it('read as a table, difference before p', () => {
    const { table } = compareAgreement(splitRatings(ratings, 'side'));
    expect(table.columns.map((column) => column.key)).toEqual([
      'contrast',
      'value',
      'lower',
      'upper',
      'pValue',
      'adjustedP',
    ]);
    expect(table.rows[0]!.contrast).toBe('left minus right');
  });
});

it('is not defined where a coefficient is not, or where both groups are the same', () => {
  const alike = ratingsOf(
    [
      [1, 1],
      [1, 1],
    ],
    { categories: [0, 1] },
  );
  const some = ratingsOfTable(
    [
      [5, 2],
      [1, 6],
    ],
    { categories: [0, 1] },
  );
  const undefinedOne = compareAgreement([
    { label: 'alike', ratings: alike },
    { label: 'some', ratings: some },
  ]);
  expect(undefinedOne.contrasts[0]!.result.effect.value).toBeNaN();
  expect(undefinedOne.homogeneity).toEqual({ statistic: Number.NaN, degreesOfFreedom: 1, pValue: Number.NaN });
  expect(undefinedOne.pooled).toEqual({ value: Number.NaN, standardError: Number.NaN });
  expect(undefinedOne.notes.map((note) => note.code)).toContain('not-defined');
  const same = compareAgreement([
    { label: 'once', ratings: some },
    { label: 'again', ratings: some },
  ]);
  expect(same.contrasts[0]!.result.effect.value).toBe(0);
  expect(same.contrasts[0]!.result.pValue).toBeNaN();
  expect(same.homogeneity.statistic).toBeNaN();
});

it('takes Cohen’s kappa for two assessors and Conger’s for more', () => {
  expect(compareAgreement(splitRatings(ratings, 'side')).groups[0]!.estimate.statistic).toBe('Conger kappa');
  const two = compareAgreement([
    { label: '1 and 2', ratings, assessors: ['1', '2'] },
    { label: '1 and 3', ratings, assessors: ['1', '3'] },
  ]);
  expect(two.groups[0]!.estimate.value).toBeCloseTo(cohenKappa(ratings.ofAssessors('1', '2')).value, 12);
});

describe('measured signs', () => {
  const lengths = ratingsOf(
    grades.map((row, at) => row.map((grade, assessor) => (at === 7 && assessor === 1 ? null : 20 + grade + at / 100))),
    { level: 'ratio', clusters: grades.map((_, at) => Math.floor(at / 6)) },
  );
  const groups = (of: Ratings): ComparedGroup[] =>
    [0, 1].map((half) => ({ label: `half ${half}`, ratings: of, targets: (target: number) => target % 2 === half }));

  for (const [what, of] of [
    ['complete', lengths.ofTargets((target) => target !== 7)],
    ['with a gap', lengths],
  ] as const)
    it(`compare intraclass correlations, ${what}`, () => {
      const { groups: found, covariance, contrasts } = compareAgreement(groups(of));
      const gapAt = what === 'complete' ? 0 : 1;
      const half = of.ofTargets((target) => target % 2 === gapAt);
      const own = intraclassCorrelation(half, {
        model: 'two-way',
        definition: 'agreement',
        unit: 'single',
        interval: 'cluster-robust',
      });
      expect(found[gapAt]!.estimate.value).toBeCloseTo(own.value, 10);
      expect(Math.sqrt(covariance[gapAt]![gapAt]!)).toBeCloseTo(own.standardError, 6);
      expect(contrasts[0]!.result.pValue).toBeGreaterThan(0);
    });
});

describe('every figure, written out', () => {
  const groups: ComparedGroup[] = [0, 1, 2].map((third) => ({
    label: `third ${third}`,
    ratings,
    targets: (target: number) => target % 3 === third,
  }));
  const options = { coefficient: 'gwet-agreement', confidenceLevel: 0.9 } as const;
  const coefficientOf = (third: number, without = -1): number =>
    gwetAgreement(
      ratings.ofTargets((at) => at % 3 === third && ratings.clusterOf[at] !== without),
      {
        interval: 'cluster-robust',
      },
    ).value;
  const values = [0, 1, 2].map((third) => coefficientOf(third));
  // √((K − 1)/K) (θ without patient k − their mean), 20 patients.
  const influences = [0, 1, 2].map((third) => {
    const each = Array.from({ length: 20 }, (_, patient) => coefficientOf(third, patient));
    const mean = each.reduce((sum, x) => sum + x, 0) / 20;
    return each.map((x) => Math.sqrt(19 / 20) * (x - mean));
  });
  const covariance = influences.map((a) => influences.map((b) => a.reduce((sum, x, at) => sum + x * b[at]!, 0)));

  it('covariance, contrasts with t and Satterthwaite’s degrees of freedom', () => {
    const weights = [1, -0.25, -0.75];
    const made = compareAgreement(groups, { ...options, contrasts: [weights] });
    made.covariance.forEach((row, g) => {
      expectAllNear(row, covariance[g]!, 1e-12);
    });
    const { result, label } = made.contrasts[0]!;
    expect(label).toBe('third 0 minus 0.25 × third 1 + 0.75 × third 2');
    const shares = influences[0]!.map((_, at) => weights.reduce((sum, w, g) => sum + w * influences[g]![at]!, 0));
    const second = shares.reduce((sum, x) => sum + x ** 2, 0);
    const kurtosis = (20 * shares.reduce((sum, x) => sum + x ** 4, 0)) / second ** 2;
    const degrees = Math.min(19, (2 * 19) / (kurtosis - 1));
    const difference = weights.reduce((sum, w, g) => sum + w * values[g]!, 0);
    const error = Math.sqrt(second);
    expectNear(result.effect.value, difference, 1e-12);
    expectNear(result.details.standardError!, error, 1e-12);
    expectNear(result.degreesOfFreedom, degrees, 1e-9);
    expectNear(result.statistic.value, difference / error, 1e-9);
    expectNear(result.pValue, 2 * studentT.upper(Math.abs(difference) / error, degrees), 1e-9);
    const reach = studentT.quantile(0.95, degrees) * error;
    expectNear(result.effect.interval.lower, difference - reach, 1e-9);
    expectNear(result.effect.interval.upper, difference + reach, 1e-9);
    expect(result.effect.interval).toMatchObject({
      level: 0.9,
      method: `patient jackknife, t with ${degrees.toFixed(1)} degrees of freedom`,
    });
    expect(result.statistic.name).toBe('t');
    expect(result.options).toEqual({ weights, interval: 'cluster-robust', confidenceLevel: 0.9 });
    expect(result.counts).toEqual({ targets: 120, clusters: 60, assessors: 3, ratings: 360, excluded: 0 });
    expect(result.notes).toEqual([]);
    expect(made.notes).toEqual([]);
    expect(made.contrasts[0]!.adjustedP).toBe(result.pValue);
  });

  it('homogeneity and what is common, by the inverse of the covariance', () => {
    const { homogeneity, pooled } = compareAgreement(groups, options);
    // V⁻¹(θ − θ̃) and 1ᵀV⁻¹ by solving with V.
    const inverse = invert(covariance);
    const ones = inverse.map((row) => row.reduce((sum, x) => sum + x, 0));
    const weight = ones.reduce((sum, x) => sum + x, 0);
    const common = ones.reduce((sum, x, g) => sum + x * values[g]!, 0) / weight;
    let statistic = 0;
    inverse.forEach((row, g) => {
      row.forEach((x, h) => {
        statistic += (values[g]! - common) * x * (values[h]! - common);
      });
    });
    expectNear(pooled.value, common, 1e-9);
    expectNear(pooled.standardError, Math.sqrt(1 / weight), 1e-9);
    expectNear(homogeneity.statistic, statistic, 1e-9);
    expect(homogeneity.degreesOfFreedom).toBe(2);
    expectNear(homogeneity.pValue, chiSquare.upper(statistic, 2), 1e-9);
  });

  it('asymptotic: normal, over patients where they are known, else over targets', () => {
    const made = compareAgreement(groups, { ...options, interval: 'asymptotic', contrasts: 'successive' });
    const { result } = made.contrasts[1]!;
    expect(made.contrasts.map(({ label }) => label)).toEqual(['third 0 minus third 1', 'third 1 minus third 2']);
    const variance = made.covariance[1]![1]! + made.covariance[2]![2]! - 2 * made.covariance[1]![2]!;
    const difference = values[1]! - values[2]!;
    expectNear(result.effect.value, difference, 1e-12);
    expectNear(result.details.standardError!, Math.sqrt(variance), 1e-12);
    expectNear(result.effect.interval.upper, difference + 1.6448536269514722 * Math.sqrt(variance), 1e-9);
    expectNear(result.effect.interval.lower, difference - 1.6448536269514722 * Math.sqrt(variance), 1e-9);
    expectNear(result.pValue, 2 * normal.upper(Math.abs(difference) / Math.sqrt(variance)), 1e-9);
    expect(result.statistic.name).toBe('z');
    expect(result.degreesOfFreedom).toBe(Number.POSITIVE_INFINITY);
    expect(result.effect.interval.method).toBe('asymptotic, patients as independent');
    // The diagonal is the linearized error over patients, which the estimate carries along.
    made.groups.forEach(({ estimate }, g) => {
      expectNear(Math.sqrt(made.covariance[g]![g]!), estimate.details.linearizedStandardError!, 1e-12);
      expect(estimate.options.interval).toBe('cluster-robust');
    });
    const unknown = ratingsOf(grades, { categories: [0, 1, 2, 3] });
    const alone = compareAgreement(
      groups.map((group) => ({ ...group, ratings: unknown })),
      options,
    );
    expect(alone.contrasts[0]!.result.effect.interval.method).toBe('asymptotic, targets taken as independent');
    alone.groups.forEach(({ estimate }, g) => {
      expectNear(Math.sqrt(alone.covariance[g]![g]!), estimate.standardError, 1e-12);
      expect(estimate.options.interval).toBe('asymptotic');
    });
    expect(alone.notes.map(({ code }) => code)).toEqual(['adjusted', 'patients-not-given']);
  });

  it('every way to contrast, and every way to adjust', () => {
    const labels = (contrasts: 'pairs' | 'successive' | 'against-first'): string[] =>
      compareAgreement(groups, { ...options, contrasts }).contrasts.map(({ label }) => label);
    expect(labels('pairs')).toEqual(['third 0 minus third 1', 'third 0 minus third 2', 'third 1 minus third 2']);
    expect(labels('successive')).toEqual(['third 0 minus third 1', 'third 1 minus third 2']);
    expect(labels('against-first')).toEqual(['third 0 minus third 1', 'third 0 minus third 2']);
    for (const adjustment of ['holm', 'benjamini-hochberg'] as const) {
      const { contrasts, table } = compareAgreement(groups, { ...options, adjustment });
      const adjusted = adjustForMultiplicity(
        contrasts.map(({ result }) => result.pValue),
        { method: adjustment },
      );
      expect(contrasts.map(({ adjustedP }) => adjustedP)).toEqual(adjusted);
      expect(table.rows).toEqual(
        contrasts.map(({ label, result, adjustedP }) => ({
          contrast: label,
          value: result.effect.value,
          lower: result.effect.interval.lower,
          upper: result.effect.interval.upper,
          pValue: result.pValue,
          adjustedP,
        })),
      );
    }
  });

  it('a group’s own choice comes before that of all', () => {
    const made = compareAgreement(
      [
        { label: 'own', ratings, coefficient: 'percent-agreement', within: 1 },
        { label: 'all', ratings },
        { label: 'weights', ratings, coefficient: 'fleiss-kappa', weights: 'linear' },
        { label: 'metric', ratings, coefficient: 'krippendorff-alpha', metric: 'interval' },
        { label: 'all metric', ratings, coefficient: 'krippendorff-alpha' },
        { label: 'all within', ratings, coefficient: 'percent-agreement' },
      ],
      { coefficient: 'gwet-agreement', weights: 'quadratic', metric: 'nominal', within: 2, contrasts: 'successive' },
    );
    expect(made.groups.map(({ estimate }) => estimate.statistic)).toEqual([
      'percent agreement within 1 grade',
      'Gwet second coefficient, quadratic weights',
      'Fleiss kappa, linear weights',
      'Krippendorff alpha, interval',
      'Krippendorff alpha, nominal',
      'percent agreement within 2 grades',
    ]);
    // The sums behind the covariance are of the same choice.
    made.groups.forEach(({ estimate }, g) => {
      expectNear(Math.sqrt(made.covariance[g]![g]!), estimate.standardError, 1e-12);
    });
  });

  it('says when a group has fewer than twelve patients, with the jackknife alone', () => {
    const codes = (patients: number, interval: 'cluster-robust' | 'asymptotic'): string[] =>
      compareAgreement(
        [
          { label: 'few', ratings, targets: (at) => ratings.clusterOf[at]! < patients },
          { label: 'all', ratings },
        ],
        { ...options, interval },
      ).notes.map(({ code }) => code);
    expect(codes(11, 'cluster-robust')).toEqual(['few-patients']);
    expect(codes(12, 'cluster-robust')).toEqual([]);
    expect(codes(11, 'asymptotic')).toEqual([]);
  });

  /** So many targets of ten on which the two assessors agree, patient by patient. */
  const shares = (label: string, agreeing: readonly number[]): ComparedGroup => ({
    label,
    coefficient: 'percent-agreement',
    ratings: ratingsOf(
      agreeing.flatMap((count) => Array.from({ length: 10 }, (_, at) => [0, at < count ? 0 : 1])),
      { categories: [0, 1], clusters: agreeing.flatMap((_, patient) => new Array<number>(10).fill(patient)) },
    ),
  });

  it('degrees of freedom by hand: one of six patients apart in either group', () => {
    const { contrasts } = compareAgreement([shares('a', [5, 5, 5, 5, 5, 9]), shares('b', [8, 8, 8, 8, 8, 4])]);
    // Influences in proportion to 5 and five times −1 in each: kurtosis 12 · 2(625 + 5)/(2 · 30)² = 4.2, of 12 − 2 degrees: 20/3.2.
    expectNear(contrasts[0]!.result.degreesOfFreedom, 20 / 3.2, 1e-9);
    const alone = compareAgreement([shares('a', [5, 5, 7, 7]), shares('b', [8, 8, 4, 4])]);
    // Kurtosis 1: as many as there are, 8 − 2.
    expectNear(alone.contrasts[0]!.result.degreesOfFreedom, 6, 1e-9);
    // A group that is not contrasted takes no degree.
    const third = compareAgreement([shares('a', [5, 5, 7, 7]), shares('b', [8, 8, 4, 4]), shares('c', [1, 2, 3])], {
      contrasts: [[1, -1, 0]],
    });
    expectNear(third.contrasts[0]!.result.degreesOfFreedom, 6, 1e-9);
  });

  it('patients known in one group alone are not known', () => {
    const unknown = ratingsOf(grades, { categories: [0, 1, 2, 3] });
    const mixed = compareAgreement([
      { label: 'known', ratings },
      { label: 'unknown', ratings: unknown },
    ]);
    expect(mixed.contrasts[0]!.result.effect.interval.method).toBe('asymptotic, targets taken as independent');
    expect(mixed.notes.map(({ code }) => code)).toEqual(['patients-not-given']);
    const asked = (): unknown =>
      compareAgreement(
        [
          { label: 'known', ratings },
          { label: 'unknown', ratings: unknown },
        ],
        { interval: 'cluster-robust' },
      );
    expect(asked).toThrow(/not known in every group/);
  });

  it('degrees of freedom never fall below 1, though four of five groups do not vary', () => {
    const alike = ['a', 'b', 'c', 'd'].map((label) => shares(label, [6, 6, 6, 6, 6]));
    // 5 − 5 leaves 1, and the kurtosis of one apart among five is 3.25.
    const { contrasts } = compareAgreement([shares('varies', [5, 5, 5, 5, 9]), ...alike], {
      contrasts: [[1, -0.25, -0.25, -0.25, -0.25]],
    });
    expect(contrasts[0]!.result.degreesOfFreedom).toBe(1);
  });
});

/** The inverse of a small matrix by Gauss and Jordan. */
function invert(matrix: readonly (readonly number[])[]): number[][] {
  const size = matrix.length;
  const rows = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let column = 0; column < size; column++) {
    const pivot = rows[column]!.map((x) => x / rows[column]![column]!);
    rows.forEach((row, at) => {
      rows[at] = at === column ? pivot : row.map((x, j) => x - row[column]! * pivot[j]!);
    });
  }
  return rows.map((row) => row.slice(size));
}

refuses([
  [
    'a contrast of too few weights',
    () => compareAgreement(splitRatings(ratings, 'side'), { contrasts: [[0]] }),
    'bad-contrast',
  ],
  [
    'a contrast of nothing',
    () => compareAgreement(splitRatings(ratings, 'side'), { contrasts: [[0, 0]] }),
    'bad-contrast',
  ],
  [
    'a contrast that is not a number',
    () => compareAgreement(splitRatings(ratings, 'side'), { contrasts: [[Number.NaN, 1]] }),
    'bad-contrast',
  ],
  [
    'unknown contrasts',
    () => compareAgreement(splitRatings(ratings, 'side'), { contrasts: 'all' as 'pairs' }),
    'unknown-choice',
  ],
  [
    'an unknown interval',
    () => compareAgreement(splitRatings(ratings, 'side'), { interval: 'bootstrap' as 'asymptotic' }),
    'unknown-choice',
  ],
  ['a level of 95', () => compareAgreement(splitRatings(ratings, 'side'), { confidenceLevel: 95 }), 'bad-option'],
  [
    'an unknown adjustment',
    () => compareAgreement(splitRatings(ratings, 'side'), { adjustment: 'sidak' as 'holm' }),
    'unknown-choice',
  ],
  ['no groups', () => compareAgreement([]), 'too-few-groups'],
  ['one group', () => compareAgreement([{ label: 'a', ratings }]), 'too-few-groups'],
  [
    'the jackknife without patients',
    () =>
      compareAgreement(
        grades.slice(0, 2).map((_, at) => ({ label: `${at}`, ratings: ratingsOf(grades) })),
        { interval: 'cluster-robust' },
      ),
    'patients-needed',
  ],
  [
    'a contrast that does not sum to 0',
    () => compareAgreement(splitRatings(ratings, 'side'), { contrasts: [[1, 1]] }),
    'bad-contrast',
  ],
  ['an attribute that is not there', () => splitRatings(ratings, 'ward'), 'unknown-attribute'],
  [
    'an unknown coefficient',
    () => compareAgreement(splitRatings(ratings, 'side'), { coefficient: 'kappa' as 'cohen-kappa' }),
    'unknown-choice',
  ],
  [
    'Cohen’s kappa of three assessors',
    () => compareAgreement(splitRatings(ratings, 'side'), { coefficient: 'cohen-kappa' }),
    'two-assessors-needed',
  ],
]);
