import { describe, expect, test } from 'vitest';
import { markovFit, markovLogLikelihood } from '../../src/models/markov-fit.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';
import { normal } from '../../src/shared/distributions.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { referenceData } from '../support/optional.ts';
import { serialFile } from '../support/serial-file.ts';

const folder = referenceData();
const start = [
  [0, 0.25, 0, 0.25],
  [0.166, 0, 0.166, 0.166],
  [0, 0.25, 0, 0.25],
  [0, 0, 0, 0],
];
const allowed = start.map((row) => row.map((rate) => rate > 0));
/** Ratio, lower and upper limit for the three changes, from tests/reference/markov.R. */
const ratiosOfPsor = {
  few: [
    [0.73199916473854, 0.42577551282798, 1.25846311268352],
    [0.45786001466522, 0.26427672768674, 0.79324348709861],
    [1.57571257698258, 0.77764446344336, 3.19280885029012],
  ],
  effusions: [
    [2.3377009052958, 1.09372524177204, 4.9965432943349],
    [1.6811957071129, 0.94995296696555, 2.9753252044081],
    [1.3939877111256, 0.77384458599742, 2.5111007738907],
  ],
} as const;
const oneWay = [0, 1, 2, 3].map((r) => [0, 1, 2, 3].map((s) => s === r + 1));

describe.runIf(folder !== undefined)('markovFit on reference data', () => {
  const cav = () => serialFile(folder ?? '', 'cav.csv', { subject: 'PTNUM', time: 'years', state: 'state' });
  const psor = () => serialFile(folder ?? '', 'psor.csv', { subject: 'ptnum', time: 'months', state: 'state' });

  // Jackson CH. J Stat Softw 2011;38(8), doi:10.18637/jss.v038.i08; data Sharples et al. 2003; R 4.2.2, msm 1.7.
  test('likelihood at fixed intensities, the end an ordinary panel state', () => {
    expectNear(-2 * markovLogLikelihood(cav(), { intensities: start }), 4833.00640639644, 1e-9);
  });

  test('graft vasculopathy: intensities, limits, P(t), sojourns', async () => {
    const fit = await markovFit(cav(), { allowed, exactEnd: 3 });
    expect(fit.converged).toBe(true);
    expectNear(-2 * fit.logLikelihood, 3968.79788120153, 1e-9);
    expectPrinted(-2 * fit.logLikelihood, '3968.798');
    expectPrinted(fit.intensities[0]?.[1]?.value as number, '0.12787');
    expectPrinted(fit.intensities[1]?.[2]?.value as number, '0.3426');
    const q = [
      [-0.170359630169941, 0.127874266308116, 0, 0.0424853638618256],
      [0.225101633188725, -0.607963299590784, 0.34259560205264, 0.0402660643494193],
      [0, 0.1306238840232, -0.437083418188413, 0.306459534165213],
      [0, 0, 0, 0],
    ];
    const lower = [
      [-0.190256369583038, 0.111358376876748, 0, 0.0341038757953115],
      [0.167535622314664, -0.708828409597964, 0.273170355314502, 0.0113278903054142],
      [0, 0.0795161599252792, -0.55288704286505, 0.238213865473287],
    ];
    const upper = [
      [-0.152543663348797, 0.146839676030275, 0, 0.0529267158168535],
      [0.302447590334325, -0.5214511278674, 0.429665021340548, 0.143129558503638],
      [0, 0.214580270140559, -0.345535162960759, 0.394256840986829],
    ];
    // The reference program's own optimizer stops where -2 log L is flat to about 1e-7: 1e-5 of a value, 1e-4 of a limit.
    q.forEach((row, r) => {
      row.forEach((value, s) => {
        expectNear(fit.intensities[r]?.[s]?.value as number, value, 1e-5);
        if (value === 0) return;
        expectNear(fit.intensities[r]?.[s]?.lower as number, lower[r]?.[s] as number, 1e-4);
        expectNear(fit.intensities[r]?.[s]?.upper as number, upper[r]?.[s] as number, 1e-4);
      });
    });
    const p10 = [
      [0.30942502868972, 0.0975028948214376, 0.0878734704778721, 0.50519860601097],
      [0.171637824392672, 0.0655194217441687, 0.0779368541362705, 0.684905899726889],
    ];
    p10.forEach((row, r) => {
      row.forEach((value, s) => {
        expectNear(fit.transitionProbabilities(10)[r]?.[s] as number, value, 1e-6);
      });
    });
    [5.86993525991137, 1.644836128551, 2.28789278747914].forEach((sojourn, r) => {
      expectNear(fit.meanSojourns[r]?.value as number, sojourn, 1e-5);
    });
    [0.330821261017657, 0.128819019421373, 0.274353331103731].forEach((error, r) => {
      expectNear(fit.meanSojourns[r]?.standardError as number, error, 1e-4);
    });
    expectNear(fit.meanSojourns[2]?.lower as number, 1.80868771099793, 1e-4);
    expectNear(fit.meanSojourns[2]?.upper as number, 2.89406146521061, 1e-4);
    expect(fit.meanSojourns[3]?.value).toBe(Number.POSITIVE_INFINITY);
    expect(fit.counts).toEqual({ subjects: 622, visits: 2846, changesSeen: 616 });
  });

  test('psoriatic arthritis: a one-way chain', async () => {
    // Gladman et al. 1995; R 4.2.2, msm 1.7.
    const fit = await markovFit(psor(), { allowed: oneWay });
    expectNear(-2 * fit.logLikelihood, 1246.01528046113, 1e-8);
    [0.0912459267311465, 0.157159727914117, 0.259821341344132].forEach((rate, r) => {
      expectNear(fit.intensities[r]?.[r + 1]?.value as number, rate, 1e-4);
    });
    [10.9593933211558, 6.36295324045402, 3.84879854297844].forEach((sojourn, r) => {
      expectNear(fit.meanSojourns[r]?.value as number, sojourn, 1e-3);
    });
  });

  // tests/reference/markov.R
  test('equal rates in a one-way chain, where Q is defective', () => {
    const rates = oneWay.map((row) => row.map((can) => (can ? 0.1 : 0)));
    expectNear(-2 * markovLogLikelihood(psor(), { intensities: rates }), 1301.772207041, 1e-9);
  });

  test('covariates on intensities', async () => {
    const data = psor();
    const few = data.column('ollwsdrt');
    const effusions = data.column('hieffusn');
    // The reference leaves out rows without both covariates; after a subject's last visit they are not needed.
    const rows = data.subject.flatMap((_, row) =>
      Number.isFinite((few[row] as number) + (effusions[row] as number)) ? [row] : [],
    );
    const kept = (column: readonly number[]): number[] => rows.map((row) => column[row] as number);
    const fit = await markovFit(
      {
        subject: kept(data.subject),
        time: kept(data.time),
        category: kept(data.category),
        covariates: { few: kept(few), effusions: kept(effusions) },
      },
      { allowed: oneWay },
    );
    expectNear(-2 * fit.logLikelihood, 1112.6133033502, 1e-7);
    for (const [name, ratios] of Object.entries(ratiosOfPsor))
      ratios.forEach(([value, lower, upper], r) => {
        const found = fit.intensityRatios[name]?.[r]?.[r + 1];
        expectNear(found?.value as number, value, 2e-3);
        expectNear(found?.lower as number, lower, 2e-3);
        expectNear(found?.upper as number, upper, 2e-3);
      });
  });

  test('censored codes with an exact end', () => {
    const data = cav();
    const category = data.category.map((state, row) =>
      state !== 3 && data.subject[row] !== data.subject[row + 1] ? 99 : state,
    );
    expectNear(
      -2 *
        markovLogLikelihood(
          { ...data, category },
          { intensities: start, exactEnd: 3, censored: [{ code: 99, states: [0, 1, 2] }] },
        ),
      4442.3547701016,
      1e-9,
    );
  });
});

describe('markovFit', () => {
  test('the example has its closed form', async () => {
    const fit = await markovFit(
      { subject: [1, 1, 1], time: [0, 1, 3], category: [0, 0, 1] },
      {
        allowed: [
          [false, true],
          [false, false],
        ],
      },
    );
    expectNear(fit.intensities[0]?.[1]?.value as number, Math.log(3) / 2, 1e-7);
    expectNear(
      markovLogLikelihood(
        { subject: [1, 1], time: [0, 2], category: [0, 1] },
        {
          intensities: [
            [0, 0.5],
            [0, 0],
          ],
        },
      ),
      Math.log(1 - Math.exp(-1)),
      1e-14,
    );
  });

  test('P(t) carries limits: for one change, those of 1 − e⁻ᑫᵗ', async () => {
    const subject = Array.from({ length: 80 }, (_, row) => Math.floor(row / 2));
    const fit = await markovFit(
      {
        subject,
        time: subject.map((_, row) => row % 2),
        category: subject.map((who, row) => Number(row % 2 === 1 && who % 4 === 0)),
      },
      {
        allowed: [
          [false, true],
          [false, false],
        ],
      },
    );
    const rate = fit.intensities[0]?.[1];
    // −q on the diagonal, its limits those of q turned round; the mean sojourn is 1/q, error by the delta method.
    expect(fit.intensities[0]?.[0]).toEqual({
      value: -(rate?.value as number),
      standardError: expect.closeTo(rate?.standardError as number, 12),
      lower: expect.closeTo(-(rate?.upper as number), 12),
      upper: expect.closeTo(-(rate?.lower as number), 12),
    });
    const sojourn = fit.meanSojourns[0];
    expectNear(sojourn?.value as number, 1 / Math.log(4 / 3), 1e-6);
    expectNear(sojourn?.standardError as number, (rate?.standardError as number) / Math.log(4 / 3) ** 2, 1e-6);
    expectNear(sojourn?.lower as number, 1 / (rate?.upper as number), 1e-12);
    expectNear(sojourn?.upper as number, 1 / (rate?.lower as number), 1e-12);
    // q = −ln(1 − p): error √(p/((1 − p)n)) by the delta method, limits on the logarithmic scale.
    const error = Math.sqrt(0.25 / (0.75 * 40));
    expectNear(rate?.standardError as number, error, 1e-6);
    expectNear(rate?.upper as number, Math.log(4 / 3) * Math.exp((1.959963984540054 * error) / Math.log(4 / 3)), 1e-5);
    // 10 of 40 changed in a unit of time: 1 − e⁻ᑫ = 1/4, with the binomial standard error √(¼ · ¾ / 40).
    const after = fit.transitionEstimates(1)[0]?.[1];
    expectNear(after?.value as number, 0.25, 1e-7);
    expectNear(after?.standardError as number, Math.sqrt(0.1875 / 40), 1e-6);
    const later = fit.transitionEstimates(3)[0]?.[1];
    expectNear(later?.standardError as number, 3 * 0.75 ** 3 * (rate?.standardError as number), 1e-6);
    expect(fit.transitionEstimates(3)[1]?.[1]).toEqual({
      value: 1,
      standardError: Number.NaN,
      lower: Number.NaN,
      upper: Number.NaN,
    });
  });

  test('an exact end contributes a density, an ordinary one a probability', () => {
    const data = { subject: [1, 1], time: [0, 2], category: [0, 1] };
    const intensities = [
      [0, 0.5],
      [0, 0],
    ];
    expectNear(markovLogLikelihood(data, { intensities, exactEnd: 1 }), Math.log(0.5) - 1, 1e-14);
  });

  test('subjects may enter late and visits be uneven: times count from the first visit only', () => {
    const intensities = [
      [0, 0.3, 0.1],
      [0.2, 0, 0.4],
      [0, 0, 0],
    ];
    const early = { subject: [1, 1, 1, 2, 2], time: [0, 0.7, 3.1, 0, 2], category: [0, 1, 2, 1, 0] };
    const late = { ...early, time: [100, 100.7, 103.1, 7, 9] };
    expectNear(markovLogLikelihood(late, { intensities }), markovLogLikelihood(early, { intensities }), 1e-10);
  });

  test('recovers the rates it was simulated from', async () => {
    const intensities = [
      [0, 0.5, 0],
      [0.2, 0, 0.4],
      [0, 0, 0],
    ];
    const subjects = 1500;
    const schedule = {
      subject: Array.from({ length: subjects * 6 }, (_, row) => Math.floor(row / 6)),
      time: Array.from({ length: subjects * 6 }, (_, row) => (row % 6) * 0.8),
    };
    const identity = [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ];
    const data = simulateHiddenMarkov(
      { intensities, initial: [0.7, 0.3, 0], readings: [identity], exactEnd: { category: 2, state: 2 } },
      schedule,
      { seed: 4 },
    );
    const fit = await markovFit(data, {
      allowed: intensities.map((row) => row.map((rate) => rate > 0)),
      exactEnd: 2,
    });
    expect(fit.converged).toBe(true);
    // Within 4 standard errors, which a right program leaves once in 16,000 times.
    for (const [r, s] of [
      [0, 1],
      [1, 0],
      [1, 2],
    ] as const) {
      const found = fit.intensities[r]?.[s];
      const truth = intensities[r]?.[s] as number;
      expect(Math.abs(Math.log((found?.value as number) / truth))).toBeLessThan(
        (4 * (found?.standardError as number)) / (found?.value as number),
      );
      expect((found?.standardError as number) / truth).toBeLessThan(0.1);
    }
  });

  test('says which change the readings do not need', async () => {
    const subject = Array.from({ length: 200 }, (_, row) => Math.floor(row / 2));
    const fit = await markovFit(
      {
        subject,
        time: subject.map((_, row) => row % 2),
        category: subject.map((who, row) => (row % 2 === 1 && who % 3 === 0 ? 1 : 0)),
      },
      {
        allowed: [
          [false, true, false],
          [false, false, true],
          [false, false, false],
        ],
      },
    );
    expect(fit.converged).toBe(true);
    expect(fit.notes.map(({ code }) => code)).toContain('estimate-at-zero');
    expect(fit.notes[0]?.message).toContain('from state 1 to state 2');
    expect(fit.intensities[1]?.[2]?.lower).toBeNaN();
    expect(fit.intensities[0]?.[1]?.lower).toBeGreaterThan(0);
  });

  test('refuses what it cannot use, and says how to mend it', async () => {
    const twoWay = [
      [false, true],
      [false, false],
    ];
    await expect(markovFit({ subject: [1, 1], time: [0, 1], category: [1, 0] }, { allowed: twoWay })).rejects.toThrow(
      'rule out',
    );
    await expect(
      markovFit(
        { subject: [1, 1], time: [0, 1], category: [7, 1] },
        { allowed: twoWay, censored: [{ code: 7, states: [0, 1] }] },
      ),
    ).rejects.toThrow('first known state');
    await expect(
      markovFit({ subject: [1], time: [0], category: [0] }, { allowed: twoWay, exactEnd: 0 }),
    ).rejects.toThrow('a state that can be entered and never left');
    await expect(
      markovFit(
        { subject: [1], time: [0], category: [0] },
        {
          allowed: [
            [false, false],
            [false, false],
          ],
        },
      ),
    ).rejects.toThrow('No change of state is allowed');
    await expect(
      markovFit({ subject: [1, 1], time: [0, 1], category: [0, 1] }, { allowed: twoWay, confidenceLevel: 95 }),
    ).rejects.toThrow('fraction');
  });

  test('a signal stops it and what is there is kept', async () => {
    const stop = new AbortController();
    stop.abort();
    const fit = await markovFit(
      { subject: [1, 1, 2, 2], time: [0, 1, 0, 1], category: [0, 1, 0, 0] },
      {
        allowed: [
          [false, true],
          [false, false],
        ],
        signal: stop.signal,
      },
    );
    expect(fit.converged).toBe(false);
    expect(fit.how).toContain('Stopped on request');
  });

  test('the same call gives the same digits, and progress is heard', async () => {
    const data = { subject: [1, 1, 2, 2, 3, 3], time: [0, 1, 0, 1.5, 0, 2], category: [0, 1, 0, 0, 1, 0] };
    const shares: number[] = [];
    const options = {
      allowed: [
        [false, true],
        [true, false],
      ],
      progress: (share: number) => shares.push(share),
    };
    const [one, two] = [await markovFit(data, options), await markovFit(data, options)];
    expect(one.intensities).toEqual(two.intensities);
    expect(shares.at(-1)).toBe(1);
  });
});

describe('two states seen at equal gaps have their closed form', () => {
  /** Pairs of visits one time apart: `counts[r][s]` subjects go from r to s. */
  const columnsOf = (groups: readonly (readonly [number[][], number])[]) => {
    const columns = { subject: [] as number[], time: [] as number[], category: [] as number[], dose: [] as number[] };
    let subject = 0;
    for (const [counts, dose] of groups)
      counts.forEach((row, r) => {
        row.forEach((count, s) => {
          for (let i = 0; i < count; i++, subject++) {
            columns.subject.push(subject, subject);
            columns.time.push(subject % 4, (subject % 4) + 1);
            columns.category.push(r, s);
            columns.dose.push(dose, dose);
          }
        });
      });
    return columns;
  };
  const both = [
    [false, true],
    [true, false],
  ];
  // P(1) has p = 1 − P₀₀ and r = 1 − P₁₁ with λ = −ln(1 − p − r), q₀₁ = λp/(p + r), q₁₀ = λr/(p + r).
  const closed = (counts: number[][]): { up: number; down: number; logLikelihood: number } => {
    const [[a, b], [c, d]] = counts as [[number, number], [number, number]];
    const [p, r] = [b / (a + b), c / (c + d)];
    const lambda = -Math.log(1 - p - r);
    return {
      up: (lambda * p) / (p + r),
      down: (lambda * r) / (p + r),
      logLikelihood: a * Math.log(1 - p) + b * Math.log(p) + c * Math.log(r) + d * Math.log(1 - r),
    };
  };
  const first = [
    [40, 12],
    [7, 30],
  ];
  const second = [
    [25, 20],
    [12, 33],
  ];

  test('estimates, likelihood, errors and counts', async () => {
    const { dose: _, ...columns } = columnsOf([[first, 0]]);
    const fit = await markovFit(columns, { allowed: both, confidenceLevel: 0.9 });
    const { up, down, logLikelihood } = closed(first);
    expect(fit.converged).toBe(true);
    expectNear(fit.logLikelihood, logLikelihood, 1e-10);
    expectNear(fit.intensities[0]?.[1]?.value as number, up, 1e-7);
    expectNear(fit.intensities[1]?.[0]?.value as number, down, 1e-7);
    expectNear(fit.intensities[0]?.[0]?.value as number, -up, 1e-7);
    expectNear(fit.meanSojourns[1]?.value as number, 1 / down, 1e-6);
    expect(fit.counts).toEqual({ subjects: 89, visits: 178, changesSeen: 19 });
    expect(fit.confidenceLevel).toBe(0.9);
    expectNear(
      markovLogLikelihood(columns, {
        intensities: [
          [0, up],
          [down, 0],
        ],
      }),
      logLikelihood,
      1e-12,
    );
    // The variance of P₀₁ is binomial, p(1 − p)/n, whatever the chain is made of.
    const estimate = fit.transitionEstimates(1)[0]?.[1];
    expectNear(estimate?.value as number, 12 / 52, 1e-7);
    expectNear(estimate?.standardError as number, Math.sqrt(((12 / 52) * (40 / 52)) / 52), 1e-6);
    const reach = normal.quantile(0.95) / Math.sqrt((52 * 12 * 40) / 52 ** 2);
    expectNear(
      Math.log((estimate?.upper as number) / (1 - (estimate?.upper as number))),
      Math.log(12 / 40) + reach,
      1e-5,
    );
    expectNear(
      Math.log((estimate?.lower as number) / (1 - (estimate?.lower as number))),
      Math.log(12 / 40) - reach,
      1e-5,
    );
    expect(fit.assumed.join()).not.toContain('covariate');
    expect(fit.assumed.join()).not.toContain('end is exact');
  });

  test('a covariate with two values is two chains', async () => {
    const { dose, ...columns } = columnsOf([
      [first, 0],
      [second, 1],
    ]);
    const fit = await markovFit({ ...columns, covariates: { dose } }, { allowed: both });
    const [zero, one] = [closed(first), closed(second)];
    expectNear(fit.logLikelihood, zero.logLikelihood + one.logLikelihood, 1e-9);
    expectNear(fit.intensityRatios.dose?.[0]?.[1]?.value as number, one.up / zero.up, 1e-6);
    expectNear(fit.intensityRatios.dose?.[1]?.[0]?.value as number, one.down / zero.down, 1e-6);
    expectNear(fit.intensitiesAt({ dose: 1 })[0]?.[1] as number, one.up, 1e-6);
    expect(fit.assumed.join()).toContain('covariate');
    // From stated intensities the same.
    const stated = await markovFit(
      { ...columns, covariates: { dose } },
      {
        allowed: both,
        start: [
          [0, 2],
          [2, 0],
        ],
        starts: 1,
      },
    );
    expectNear(stated.logLikelihood, fit.logLikelihood, 1e-9);
    expect(stated.starts).toHaveLength(1);
  });

  test('a first reading that leaves the state open is refused, with its row', async () => {
    const rows = { subject: [1, 1, 2, 2, 3, 3], time: [0, 1, 0, 1, 0, 1], category: [0, 1, 9, 1, 8, 0] };
    const options = {
      allowed: both,
      censored: [
        { code: 9, states: [0, 1] },
        { code: 8, states: [1] },
      ],
    };
    const error = await markovFit(rows, options).catch((thrown: InputError) => thrown);
    expect((error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`)).toEqual([
      'unknown-first-state category.2',
    ]);
    // A code for one state is that state.
    const part = { subject: [3, 3], time: [0, 1], category: [8, 0] };
    expectNear(
      markovLogLikelihood(part, {
        intensities: [
          [0, 0.5],
          [0.3, 0],
        ],
        censored: options.censored,
      }),
      Math.log((0.3 / 0.8) * (1 - Math.exp(-0.8))),
      1e-12,
    );
  });
});
