import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { type ComparedGroup, compareAgreement, splitRatings } from '../../src/agreement/compare-agreement.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
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
  expect(undefinedOne.homogeneity.statistic).toBeNaN();
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

refuses([
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
