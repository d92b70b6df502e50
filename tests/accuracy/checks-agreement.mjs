// Checks of src/agreement on grades: what ours gives on each data set, and which reference is asked for the same.
import { countTable, gradedStudy, normalNumbers, patternsOfTable, random } from './data.mjs';

const PYTHON = 'agreement.py';
const names = (size) => Array.from({ length: size }, (_, k) => k);

/** Distinct rows of a study, with their number in all and for each patient. */
function patternsOf({ rows, clusters }) {
  const at = new Map();
  const distinct = [];
  const perPatient = new Map();
  rows.forEach((row, target) => {
    const key = row.join();
    if (!at.has(key)) {
      at.set(key, distinct.length);
      distinct.push(row);
    }
    const patient = clusters[target];
    if (!perPatient.has(patient)) perPatient.set(patient, []);
    perPatient.get(patient).push(at.get(key));
  });
  const counts = distinct.map(() => 0);
  const byPatient = [...perPatient.values()].map((own) => {
    const one = distinct.map(() => 0);
    for (const pattern of own) {
      one[pattern]++;
      counts[pattern]++;
    }
    return one;
  });
  return { rows: distinct, counts, clusters: byPatient };
}

const figures = (estimate) => ({
  value: estimate.value,
  standardError: estimate.standardError,
  lower: estimate.interval.lower,
  upper: estimate.interval.upper,
  ...estimate.details,
});

export function agreementChecks(library) {
  const checks = [];
  const add = (statistic, words, call, input, ours, extra = {}) =>
    checks.push({ statistic, words, file: PYTHON, call, input, ours, ...extra });

  const named = {
    cohenKappa: ['cohen', (r, o) => library.cohenKappa(r, o)],
    scottPi: ['scott', (r, o) => library.scottPi(r, o)],
    fleissKappa: ['fleiss', (r, o) => library.fleissKappa(r, o)],
    congerKappa: ['conger', (r, o) => library.congerKappa(r, o)],
    lightKappa: ['light', (r, o) => library.lightKappa(r, o)],
    brennanPrediger: ['brennan', (r, o) => library.brennanPrediger(r, o)],
    gwetAgreement: ['gwet', (r, o) => library.gwetAgreement(r, o)],
  };
  /** Statistic, name and form in the reference, ours with its options. */
  const forms = Object.entries(named).flatMap(([statistic, [name, make]]) =>
    ['identity', 'linear', 'quadratic', 'ordinal', 'radical'].map((weights) => ({
      statistic,
      words: `${weights} weights`,
      input: { name, weights },
      make: (ratings, options) => make(ratings, { ...options, weights }),
    })),
  );
  forms.push(
    ...['nominal', 'ordinal', 'interval', 'ratio'].map((metric) => ({
      statistic: 'krippendorffAlpha',
      words: `${metric} metric`,
      input: { name: 'alpha', metric },
      make: (ratings, options) => library.krippendorffAlpha(ratings, { ...options, metric }),
    })),
    ...[0, 1].map((within) => ({
      statistic: 'percentAgreement',
      words: `within ${within} grades`,
      input: { name: 'percent', within },
      make: (ratings, options) => library.percentAgreement(ratings, { ...options, within }),
    })),
    ...[0, 1].map((category) => ({
      statistic: 'specificAgreement',
      words: `grade ${category}`,
      input: { name: 'specific', category },
      make: (ratings, options) => library.specificAgreement(ratings, options).categories[category].estimate,
    })),
    {
      statistic: 'fleissKappa',
      words: 'pair-weighted',
      input: { name: 'fleiss', counting: 'pair-weighted' },
      make: (ratings, options) => library.fleissKappa(ratings, { ...options, counting: 'pair-weighted' }),
    },
    {
      statistic: 'lightKappa',
      words: 'listwise',
      input: { name: 'light', missing: 'listwise' },
      make: (ratings, options) => library.lightKappa(ratings, { ...options, missing: 'listwise' }),
    },
  );
  const twoOnly = new Set(['cohenKappa', 'scottPi', 'marginalShift']);
  forms.push(
    {
      statistic: 'marginalShift',
      words: 'mean difference',
      input: { name: 'shift' },
      make: (ratings, options) => library.marginalShift(ratings, options).difference,
    },
    {
      statistic: 'marginalShift',
      words: 'share of grade 1',
      input: { name: 'shift', category: 1 },
      make: (ratings, options) => library.marginalShift(ratings, options).shares.categories[1].estimate,
    },
  );

  // Tables of two assessors: random ones, textbook ones, and counts that are hard on sums.
  const tables = [
    // Cohen 1960; Fleiss, Cohen, Everitt 1969; Feinstein and Cicchetti 1990: the tables in tests/reference/agreement-cases.json.
    [
      'two yes-or-no readings',
      [
        [40, 9],
        [6, 45],
      ],
    ],
    [
      'Fleiss, Cohen and Everitt 1969',
      [
        [53, 5, 2],
        [11, 14, 5],
        [1, 6, 3],
      ],
    ],
    [
      'high prevalence (Feinstein and Cicchetti 1990)',
      [
        [80, 10],
        [5, 5],
      ],
    ],
    [
      'nearly all of one grade',
      [
        [1e5, 1, 0],
        [0, 1, 1],
        [1, 0, 1],
      ],
    ],
    [
      'a count of a million beside ones',
      [
        [1, 2, 1],
        [1, 1e6, 1],
        [2, 1, 1],
      ],
    ],
    [
      'near-perfect agreement of 90,000',
      [
        [3e4, 1, 0],
        [0, 3e4, 0],
        [0, 0, 3e4],
      ],
    ],
    [
      'agreement near chance',
      [
        [2500, 2501, 2499],
        [2500, 2500, 2500],
        [2500, 2500, 2501],
      ],
    ],
    ...[11, 12, 13, 14].map((seed) => [`random table, seed ${seed}`, countTable(seed, 2 + (seed % 4))]),
    ...[21, 22].map((seed) => [
      `rare grades, seed ${seed}`,
      countTable(seed, 5, { diagonal: 3, off: 3, empty: 0.6 }).map((row, i) =>
        row.map((count, j) => (i === 0 && j === 0 ? 400 : count)),
      ),
    ]),
  ];
  for (const [words, table] of tables) {
    const patterns = patternsOfTable(table);
    const size = table.length;
    let ratings;
    const made = () => (ratings ??= library.ratingsOfTable(table, { categories: names(size) }));
    const random = words.startsWith('random') || words.startsWith('rare');
    const million = words.includes('million');
    for (const form of forms) {
      if (
        million &&
        !['identity weights', 'quadratic weights', 'nominal metric', 'within 0 grades'].includes(form.words)
      )
        continue;
      if (random && ['ordinal weights', 'radical weights', 'linear weights'].includes(form.words)) continue;
      if (
        size === 2 &&
        ![
          'identity weights',
          'nominal metric',
          'within 0 grades',
          'grade 0',
          'grade 1',
          'mean difference',
          'share of grade 1',
        ].includes(form.words)
      )
        continue;
      add(
        form.statistic,
        `${words}, ${form.words}`,
        'coefficient',
        { ...form.input, ...patterns, categories: size, interval: 'asymptotic' },
        () => figures(form.make(made(), { interval: 'asymptotic' })),
      );
    }
    add('fleissKappaByCategory', words, 'fleiss_null', { ...patterns, categories: size }, () => ({
      nullStandardError: library.fleissKappa(made(), { interval: 'asymptotic' }).details.nullStandardError,
      ...Object.fromEntries(
        library
          .fleissKappaByCategory(made(), { interval: 'asymptotic' })
          .categories.map(({ estimate }, k) => [`category ${k}`, estimate.value]),
      ),
    }));
    testsOfBias(words, made, patterns, size);
    if (size === 2)
      add(
        'kappaGoodnessOfFitInterval',
        words,
        'goodness_of_fit',
        { counts: [table[1][1], table[0][1] + table[1][0], table[0][0]] },
        () => figures(library.kappaGoodnessOfFitInterval(made())),
      );
  }

  /** McNemar, Bowker, Stuart–Maxwell and Bhapkar; `clusters` as in `patternsOf`, else every target by itself. */
  function testsOfBias(words, made, { rows, counts, clusters }, size, clustered = false) {
    const pairs = [];
    for (let j = 1; j < size; j++) for (let i = 0; i < j; i++) pairs.push([i, j]);
    const symmetric = ([a, b]) =>
      a === null || b === null
        ? undefined
        : pairs.map(([i, j]) => Number(a === i && b === j) - Number(a === j && b === i));
    const margin = ([a, b]) =>
      a === null || b === null ? undefined : names(size).map((k) => Number(b === k) - Number(a === k));
    const units = clusters ?? counts.map((count, at) => counts.map((_, other) => (other === at ? count : 0)));
    const vectorsOf = (vector) => {
      const own = rows.map(vector);
      const unitVectors = [];
      const unitCounts = [];
      const targets = [];
      units.forEach((unit, at) => {
        const alone = clusters === undefined;
        const sum = new Array(vector([0, 0]).length).fill(0);
        let read = 0;
        unit.forEach((count, pattern) => {
          if (own[pattern] === undefined || count === 0) return;
          read += alone ? 1 : count;
          own[pattern].forEach((d, i) => {
            sum[i] += (alone ? 1 : count) * d;
          });
        });
        if (read === 0) return;
        unitVectors.push(sum);
        unitCounts.push(alone ? counts[at] : 1);
        targets.push(read);
      });
      return { vectors: unitVectors, counts: unitCounts, targets, clustered };
    };
    const result = (test) => ({
      statistic: test.statistic.value,
      degreesOfFreedom: test.degreesOfFreedom,
      pValue: test.pValue,
      ...test.details,
    });
    const options = { interval: clusters === undefined ? 'asymptotic' : 'cluster-robust' };
    add('bowkerTest', words, 'symmetry', { test: 'bowker', ...vectorsOf(symmetric) }, () =>
      result(library.bowkerTest(made(), options)),
    );
    add('stuartMaxwellTest', words, 'symmetry', { test: 'stuart-maxwell', ...vectorsOf(margin) }, () =>
      result(library.stuartMaxwellTest(made(), options)),
    );
    add('bhapkarTest', words, 'symmetry', { test: 'bhapkar', ...vectorsOf(margin) }, () =>
      result(library.bhapkarTest(made(), options)),
    );
    const shift = vectorsOf(([a, b]) => (a === null || b === null ? undefined : [Number(b === 1) - Number(a === 1)]));
    const differences = shift.vectors.flatMap(([d], at) => new Array(d === 0 ? 0 : shift.counts[at]).fill(d));
    if (differences.length > 0)
      add('mcnemarTest', words, 'mcnemar', { differences }, () =>
        Object.fromEntries(
          ['asymptotic', 'continuity-corrected', 'exact', 'mid-p'].flatMap((method) => {
            const test = library.mcnemarTest(made(), { ...options, method, category: 1 });
            return [
              [`${method} statistic`, test.statistic.value],
              [`${method} p`, test.pValue],
            ];
          }),
        ),
      );
  }

  // Studies of several assessors with gaps, ties and rare grades; patients as clusters.
  const studies = [
    ['4 assessors, gaps', { targets: 60, assessors: 4, grades: 4, gaps: 0.15 }, 31],
    ['3 assessors, gaps, rare grades', { targets: 90, assessors: 3, grades: 5, gaps: 0.2, rare: true }, 32],
    ['5 assessors, complete', { targets: 45, assessors: 5, grades: 3 }, 33],
    ['3 assessors, nearly alike', { targets: 60, assessors: 3, grades: 4, noise: 0.05 }, 34],
    ['2 assessors, gaps', { targets: 80, assessors: 2, grades: 4, gaps: 0.1 }, 35],
    ['2 assessors, rare grades', { targets: 120, assessors: 2, grades: 5, rare: true }, 36],
    ['2 assessors, complete', { targets: 60, assessors: 2, grades: 4, perPatient: 4 }, 37],
  ];
  for (const [words, shape, seed] of studies) {
    const study = gradedStudy(seed, shape);
    const patterns = patternsOf(study);
    const { grades: size, assessors } = shape;
    const made = () => library.ratingsOf(study.rows, { categories: names(size), clusters: study.clusters });
    const alone = () => library.ratingsOf(study.rows, { categories: names(size) });
    for (const form of forms) {
      if (seed > 32 && ['ordinal weights', 'radical weights', 'linear weights'].includes(form.words)) continue;
      if (assessors > 2 && twoOnly.has(form.statistic)) continue;
      for (const interval of ['cluster-robust', 'asymptotic']) {
        const { clusters, ...whole } = patterns;
        add(
          form.statistic,
          `${words} (seed ${seed}), ${form.words}, ${interval}`,
          'coefficient',
          { ...form.input, ...(interval === 'asymptotic' ? whole : patterns), categories: size, interval },
          () => figures(form.make(interval === 'asymptotic' ? alone() : made(), { interval })),
        );
      }
    }
    if (assessors === 2) testsOfBias(`${words} (seed ${seed}), patients`, made, patterns, size, true);
    else if (shape.gaps === undefined || shape.gaps === 0) {
      const { clusters, ...whole } = patterns;
      add('fleissKappaByCategory', `${words} (seed ${seed})`, 'fleiss_null', { ...whole, categories: size }, () => ({
        nullStandardError: library.fleissKappa(alone(), { interval: 'asymptotic' }).details.nullStandardError,
        ...Object.fromEntries(
          library
            .fleissKappaByCategory(alone(), { interval: 'asymptotic' })
            .categories.map(({ estimate }, k) => [`category ${k}`, estimate.value]),
        ),
      }));
    }
    if (assessors > 2)
      add(
        'pairwiseAgreement',
        `${words} (seed ${seed}), first and last, quadratic`,
        'coefficient',
        (() => {
          const rows = study.rows.map((row) => [row[0], row[assessors - 1]]);
          return {
            name: 'cohen',
            weights: 'quadratic',
            ...patternsOf({ rows, clusters: study.clusters }),
            categories: size,
            interval: 'cluster-robust',
          };
        })(),
        () =>
          figures(
            library
              .pairwiseAgreement(made(), {
                coefficient: 'cohen-kappa',
                weights: 'quadratic',
                interval: 'cluster-robust',
              })
              .of('1', String(assessors)),
          ),
      );
    if (assessors > 2 && size === 4)
      add(
        'latentClassErrorRates',
        `${words} (seed ${seed}), the maximum from the shares of readings`,
        'latent_classes',
        { rows: study.rows, categories: size },
        async () => {
          const fit = await library.latentClassErrorRates(made(), { starts: 0, replicates: 0 });
          return {
            logLikelihood: fit.logLikelihood,
            ...Object.fromEntries(fit.prevalence.map(({ value }, g) => [`share ${g}`, value])),
            'error 0 0 0': fit.errorRates[0][0][0].value,
          };
        },
      );
  }

  // Two groups of patients, compared.
  for (const seed of [41, 42, 43]) {
    const [one, other] = [seed, seed + 100].map((own) =>
      gradedStudy(own, { targets: 60, assessors: 2, grades: 4, noise: own > 100 ? 1 : 0.4 }),
    );
    const input = {
      groups: [one, other].map((study) => {
        const { clusters, ...whole } = patternsOf(study);
        return { name: 'cohen', weights: 'linear', ...whole, categories: 4, interval: 'asymptotic' };
      }),
    };
    add('compareAgreement', `linear kappa of two wards (seed ${seed})`, 'compare', input, () => {
      const { contrasts } = library.compareAgreement(
        [one, other].map((study, at) => ({
          label: String(at),
          ratings: library.ratingsOf(study.rows, { categories: names(4) }),
        })),
        { coefficient: 'cohen-kappa', weights: 'linear', interval: 'asymptotic' },
      );
      const { result } = contrasts[0];
      return {
        difference: result.effect.value,
        standardError: Math.abs(result.effect.value / result.statistic.value),
        pValue: result.pValue,
        statistic: result.statistic.value,
      };
    });
  }

  for (const seed of [51, 52, 53]) {
    const uniform = random(seed);
    const p = normalNumbers(seed, 12).map((z, at) => (at % 4 === 0 ? Math.exp(-Math.abs(z) * 40) : uniform()));
    add('adjustForMultiplicity', `twelve p-values down to e^-80 (seed ${seed})`, 'adjust', { p }, () =>
      Object.fromEntries(
        ['holm', 'benjamini-hochberg'].flatMap((method) =>
          library.adjustForMultiplicity(p, { method }).map((value, at) => [`${method} ${at}`, value]),
        ),
      ),
    );
  }
  return checks;
}
