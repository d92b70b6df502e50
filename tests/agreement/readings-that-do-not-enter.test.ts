import { describe, expect, it } from 'vitest';
import { bhapkarTest } from '../../src/agreement/bhapkar-test.ts';
import { bowkerTest } from '../../src/agreement/bowker-test.ts';
import { brennanPrediger } from '../../src/agreement/brennan-prediger.ts';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { concordanceCorrelation } from '../../src/agreement/concordance-correlation.ts';
import { congerKappa } from '../../src/agreement/conger-kappa.ts';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { fleissKappa } from '../../src/agreement/fleiss-kappa.ts';
import { fleissKappaByCategory } from '../../src/agreement/fleiss-kappa-by-category.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { intraclassCorrelationTest } from '../../src/agreement/intraclass-correlation-test.ts';
import { kappaGoodnessOfFitInterval } from '../../src/agreement/kappa-goodness-of-fit-interval.ts';
import { kendallTau } from '../../src/agreement/kendall-tau.ts';
import { kendallW } from '../../src/agreement/kendall-w.ts';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { lightKappa } from '../../src/agreement/light-kappa.ts';
import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { marginalShift } from '../../src/agreement/marginal-shift.ts';
import { mcnemarTest } from '../../src/agreement/mcnemar-test.ts';
import { pairwiseAgreement } from '../../src/agreement/pairwise-agreement.ts';
import { percentAgreement } from '../../src/agreement/percent-agreement.ts';
import { reproducibility } from '../../src/agreement/reproducibility.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import { smallestDetectableChange } from '../../src/agreement/smallest-detectable-change.ts';
import { specificAgreement } from '../../src/agreement/specific-agreement.ts';
import { standardErrorOfMeasurement } from '../../src/agreement/standard-error-of-measurement.ts';
import { stuartMaxwellTest } from '../../src/agreement/stuart-maxwell-test.ts';
import { varianceComponents } from '../../src/agreement/variance-components.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

type Rows = readonly (readonly (number | null)[])[];

/** A result as plain data: numbers to nine digits, without the number of what was excluded and what speaks of all readings there are. */
function shown(result: unknown): unknown {
  const text = JSON.stringify(result, (key, value: unknown) => {
    if (key === 'excluded' || key === 'largestShare') return undefined;
    if (key === 'notes') return (value as { code: string }[]).filter(({ code }) => code !== 'few-minority-patients');
    if (typeof value !== 'number' || Number.isInteger(value)) return value;
    return Number.isFinite(value) ? Number(value.toPrecision(9)) : String(value);
  });
  return JSON.parse(text);
}

const CATEGORIES = [0, 1, 2, 3];
const robust = { interval: 'cluster-robust' } as const;

describe('targets that one of two assessors did not read', () => {
  const rows: Rows = [
    [0, 0],
    [0, 1],
    [1, 1],
    [1, 2],
    [2, 2],
    [2, 1],
    [2, 2],
    [0, 0],
    [1, 1],
    [0, 2],
    [1, 0],
    [2, 2],
  ];
  const patients = ['a', 'a', 'b', 'c', 'c', 'd', 'e', 'f', 'f', 'g', 'h', 'h'];
  // Of a patient who is there and of one who is not, at every place; the grade 3 was read in them alone.
  const gaps: Rows = [
    [3, null],
    [null, 3],
    [null, null],
    [null, 0],
    [1, null],
  ];
  const of = (known: boolean, withGaps: boolean): Ratings => {
    const all = withGaps ? [gaps[0]!, ...rows.slice(0, 5), ...gaps.slice(1, 4), ...rows.slice(5), gaps[4]!] : rows;
    const who = withGaps ? ['y', ...patients.slice(0, 5), 'c', 'z', 'z', ...patients.slice(5), 'h'] : patients;
    return ratingsOf(all, { categories: CATEGORIES, ...(known ? { clusters: who } : {}) });
  };
  const calls: Readonly<Record<string, (ratings: Ratings) => unknown>> = {
    cohenKappa: (ratings) => cohenKappa(ratings, robust),
    'cohenKappa, quadratic': (ratings) => cohenKappa(ratings, { weights: 'quadratic', interval: 'asymptotic' }),
    scottPi: (ratings) => scottPi(ratings, robust),
    mcnemarTest: (ratings) => mcnemarTest(ratings, { category: 1, ...robust }),
    'mcnemarTest, exact': (ratings) => mcnemarTest(ratings, { category: 2, method: 'exact', ...robust }),
    bowkerTest: (ratings) => bowkerTest(ratings, robust),
    stuartMaxwellTest: (ratings) => stuartMaxwellTest(ratings, robust),
    bhapkarTest: (ratings) => bhapkarTest(ratings, robust),
    marginalShift: (ratings) => marginalShift(ratings, robust),
    kappaGoodnessOfFitInterval: (ratings) => kappaGoodnessOfFitInterval(ratings, { category: 1 }),
    kendallTau: (ratings) => kendallTau(ratings),
    kendallW: (ratings) => kendallW(ratings),
    concordanceCorrelation: (ratings) => concordanceCorrelation(ratings, robust),
    'concordanceCorrelation, asymptotic': (ratings) => concordanceCorrelation(ratings, { interval: 'asymptotic' }),
    limitsOfAgreement: (ratings) => limitsOfAgreement(ratings, robust),
    'limitsOfAgreement, restricted': (ratings) =>
      limitsOfAgreement(ratings, { components: 'restricted likelihood', ...robust }),
    crossTable: (ratings) => crossTable(ratings),
    pairwiseAgreement: (ratings) => pairwiseAgreement(ratings),
  };
  for (const [name, call] of Object.entries(calls))
    for (const known of [true, false])
      it(`change nothing in ${name}${known ? '' : ', patients not given'}`, () => {
        const found = call(of(known, true));
        expect(shown(found)).toEqual(shown(call(of(known, false))));
        const text = JSON.stringify(found);
        if (name !== 'pairwiseAgreement') expect(text).toContain('"excluded":5');
      });
});

describe('targets that nobody read', () => {
  const rows: Rows = [
    [0, 0, 1],
    [1, 1, null],
    [2, 2, 2],
    [2, 1, 2],
    [null, 0, 0],
    [1, 1, 1],
    [2, null, null],
    [0, 0, 0],
    [1, 2, 1],
    [0, 1, 0],
  ];
  const patients = ['a', 'a', 'b', 'b', 'c', 'd', 'd', 'e', 'f', 'g'];
  const nobody = [null, null, null];
  const of = (known: boolean, more: boolean, complete: boolean): Ratings => {
    const kept = rows
      .map((row, at) => ({ row, who: patients[at]! }))
      .filter(({ row }) => !complete || !row.includes(null));
    const all = more
      ? [
          { row: nobody, who: 'x' },
          ...kept.slice(0, 3),
          { row: nobody, who: 'a' },
          ...kept.slice(3),
          { row: nobody, who: 'z' },
        ]
      : kept;
    return ratingsOf(
      all.map(({ row }) => row),
      { categories: CATEGORIES, ...(known ? { clusters: all.map(({ who }) => who) } : {}) },
    );
  };
  const agreement = { model: 'two-way', definition: 'agreement', unit: 'single' } as const;
  const asked: Readonly<Record<string, (ratings: Ratings) => unknown>> = {
    percentAgreement: (ratings) => percentAgreement(ratings, robust),
    'percentAgreement, asymptotic': (ratings) => percentAgreement(ratings, { interval: 'asymptotic' }),
    specificAgreement: (ratings) => specificAgreement(ratings, robust),
    congerKappa: (ratings) => congerKappa(ratings, robust),
    'congerKappa, asymptotic': (ratings) => congerKappa(ratings, { interval: 'asymptotic', weights: 'linear' }),
    fleissKappa: (ratings) => fleissKappa(ratings, robust),
    fleissKappaByCategory: (ratings) => fleissKappaByCategory(ratings, robust),
    gwetAgreement: (ratings) => gwetAgreement(ratings, { interval: 'asymptotic' }),
    brennanPrediger: (ratings) => brennanPrediger(ratings, robust),
    lightKappa: (ratings) => lightKappa(ratings, robust),
    krippendorffAlpha: (ratings) => krippendorffAlpha(ratings, { metric: 'ordinal', ...robust }),
    'krippendorffAlpha, interval': (ratings) =>
      krippendorffAlpha(ratings, { metric: 'interval', interval: 'asymptotic' }),
    kendallW: (ratings) => kendallW(ratings),
    intraclassCorrelation: (ratings) => intraclassCorrelation(ratings, { ...agreement, ...robust }),
    'intraclassCorrelation, one-way': (ratings) =>
      intraclassCorrelation(ratings, { model: 'one-way', unit: 'average', interval: 'asymptotic' }),
    varianceComponents: (ratings) => varianceComponents(ratings, robust),
    'varianceComponents, one-way restricted': (ratings) =>
      varianceComponents(ratings, { model: 'one-way', method: 'restricted likelihood', ...robust }),
    standardErrorOfMeasurement: (ratings) => standardErrorOfMeasurement(ratings, { interval: 'asymptotic' }),
    'standardErrorOfMeasurement, consistency': (ratings) =>
      standardErrorOfMeasurement(ratings, { definition: 'consistency', ...robust }),
    smallestDetectableChange: (ratings) => smallestDetectableChange(ratings, robust),
    reproducibility: (ratings) => reproducibility(ratings, robust),
    concordanceCorrelation: (ratings) => concordanceCorrelation(ratings, robust),
    pairwiseAgreement: (ratings) => pairwiseAgreement(ratings),
  };
  const wholeOnly: typeof asked = {
    'intraclassCorrelation, F interval': (ratings) =>
      intraclassCorrelation(ratings, { ...agreement, interval: 'asymptotic' }),
    intraclassCorrelationTest: (ratings) => intraclassCorrelationTest(ratings, { ...agreement, nullValue: 0.2 }),
    'varianceComponents, asymptotic': (ratings) => varianceComponents(ratings, { interval: 'asymptotic' }),
    'standardErrorOfMeasurement, consistency, asymptotic': (ratings) =>
      standardErrorOfMeasurement(ratings, { definition: 'consistency', interval: 'asymptotic' }),
  };
  for (const complete of [false, true])
    for (const [name, call] of Object.entries(complete ? { ...asked, ...wholeOnly } : asked))
      it(`change nothing in ${name}${complete ? ', else complete' : ''}`, () => {
        for (const known of [true, false])
          expect(shown(call(of(known, true, complete)))).toEqual(shown(call(of(known, false, complete))));
      });

  // The order of the targets and what patients are called decide nothing either.
  for (const [name, call] of Object.entries(asked))
    it(`nor the order of the targets in ${name}`, () => {
      const turned = ratingsOf([...rows].reverse(), { categories: CATEGORIES, clusters: [...patients].reverse() });
      expect(shown(call(turned))).toEqual(shown(call(of(true, false, false))));
    });
});
