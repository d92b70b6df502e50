// Coverage of the intervals of what the models estimate, on data drawn from the model itself.
import { fromSource } from './from-source.mjs';

const { seededRandom } = await fromSource('shared/random.ts');
const { normal } = await fromSource('shared/distributions.ts');
const { linearMixedModel } = await fromSource('models/linear-mixed-model.ts');
const { linearMixedProfile } = await fromSource('models/linear-mixed-profile.ts');
const { cumulativeLinkMixedModel } = await fromSource('models/cumulative-link-mixed-model.ts');
const { logisticGee } = await fromSource('models/logistic-gee.ts');
const { markovFit } = await fromSource('models/markov-fit.ts');
const { hiddenMarkovFit } = await fromSource('models/hidden-markov-fit.ts');
const { simulateHiddenMarkov } = await fromSource('models/simulate-hidden-markov.ts');
const { coxRegression } = await fromSource('progression/cox-regression.ts');
const { kaplanMeier } = await fromSource('progression/kaplan-meier.ts');

const SEED = 20261127;
const Z = normal.quantile(0.975);
const wald = ({ value, standardError }) => ({ lower: value - Z * standardError, upper: value + Z * standardError });

/** Patients with two limbs of three sites: a patient's and a limb's own part, an effect of the visit, an effect of a treatment of patients. */
function limbsOf(random, patients, visits = 2) {
  const rows = { patient: [], limb: [], treated: [], later: [], linear: [] };
  for (let patient = 0; patient < patients; patient++) {
    const own = random.normal();
    for (let limb = 0; limb < 2; limb++) {
      const ofLimb = 0.7 * random.normal();
      for (let visit = 0; visit < visits; visit++)
        for (let site = 0; site < 3; site++) {
          rows.patient.push(patient);
          rows.limb.push(2 * patient + limb);
          rows.treated.push(patient % 2);
          rows.later.push(visit);
          rows.linear.push(own + ofLimb + 0.5 * (patient % 2) + 0.4 * visit);
        }
    }
  }
  return rows;
}

const logistic = (random) => {
  const u = random.uniform();
  return Math.log(u / (1 - u));
};
const nested = (rows) => [
  { name: 'patient', groups: rows.patient },
  { name: 'limb', groups: rows.limb },
];
const named = (list, name) => list.find((one) => one.name === name);

/** Each model: one study's intervals by what they are about, and the truth. */
const MODELS = {
  'linear mixed': {
    truth: {
      'treatment of patients': 0.5,
      'later visit': 0.4,
      'spread between patients, profile': 1,
      'spread between limbs, profile': 0.7,
    },
    async intervals(random, patients) {
      const rows = limbsOf(random, patients);
      const problem = {
        response: rows.linear.map((mean) => mean + 0.6 * random.normal()),
        fixed: { treated: rows.treated, later: rows.later },
        random: nested(rows),
      };
      const { fixed } = linearMixedModel(problem);
      const { intervals } = await linearMixedProfile(problem);
      return [
        named(fixed, 'treated').interval,
        named(fixed, 'later').interval,
        named(intervals, 'deviation.patient').interval,
        named(intervals, 'deviation.limb').interval,
      ];
    },
    patients: [12, 30, 60],
  },
  'cumulative-link mixed': {
    truth: {
      'treatment of patients, ± 1.96 standard errors': 0.5,
      'later visit, ± 1.96 standard errors': 0.4,
    },
    intervals(random, patients) {
      const rows = limbsOf(random, patients);
      const { effects } = cumulativeLinkMixedModel({
        response: rows.linear.map((mean) => {
          const reading = mean + logistic(random);
          return [-1, 0.5, 2].filter((cut) => reading > cut).length;
        }),
        effects: { treated: rows.treated, later: rows.later },
        random: nested(rows),
      });
      return [wald(named(effects, 'treated')), wald(named(effects, 'later'))];
    },
    patients: [30, 60],
  },
  'logistic, marginal': {
    // What the marginal effects are is taken from the estimates of one very large study.
    truth: async () => {
      const { effects } = logisticGee(logisticRows(seededRandom(SEED, -1), 30_000));
      return {
        'treatment of patients': named(effects, 'treated').value,
        'later visit': named(effects, 'later').value,
      };
    },
    intervals(random, patients) {
      const { effects } = logisticGee(logisticRows(random, patients));
      return [named(effects, 'treated').interval, named(effects, 'later').interval];
    },
    patients: [12, 30, 60],
  },
  'Markov chain': {
    truth: { 'rate of worsening': 0.3, 'rate of improving': 0.15 },
    async intervals(random, patients) {
      const { intensities } = await markovFit(seriesOf(random, patients, CHAIN), { allowed: BOTH_WAYS });
      return [intensities[0][1], intensities[1][0]];
    },
    patients: [30, 60, 150],
  },
  'hidden Markov chain': {
    truth: {
      'rate of worsening': 0.3,
      'rate of improving': 0.15,
      'misread when well': 0.1,
      'misread when worse': 0.15,
    },
    async intervals(random, patients) {
      const { intensities, matrices } = await hiddenMarkovFit(seriesOf(random, patients, HIDDEN), {
        allowed: BOTH_WAYS,
        misreadings: BOTH_WAYS,
        initial: HIDDEN.initial,
        starts: 1,
      });
      return [intensities[0][1], intensities[1][0], matrices[0][0][1], matrices[0][1][0]];
    },
    patients: [60, 150],
  },
  'Cox regression': {
    truth: { 'hazard ratio of a treatment of patients': Math.exp(0.5) },
    intervals(random, patients) {
      const { data, treated } = survivalOf(random, patients);
      return [coxRegression(data, { treated }).effects[0].interval];
    },
    patients: [20, 30, 60],
  },
  'Kaplan–Meier': {
    truth: { 'share without the event after a year': Math.exp(-0.5) },
    intervals(random, patients) {
      const { data } = survivalOf(random, patients, 0);
      return [kaplanMeier(data).steps.findLast(({ time }) => time <= 1)?.interval ?? { lower: NaN, upper: NaN }];
    },
    patients: [20, 30, 60],
  },
};

const BOTH_WAYS = [
  [false, true],
  [true, false],
];
const CHAIN = {
  intensities: [
    [0, 0.3],
    [0.15, 0],
  ],
  initial: [0.7, 0.3],
  readings: [
    [
      [1, 0],
      [0, 1],
    ],
  ],
};
const HIDDEN = {
  ...CHAIN,
  readings: [
    [
      [0.9, 0.1],
      [0.15, 0.85],
    ],
  ],
};

/** Eight visits of each patient, half a unit of time apart on average. */
function seriesOf(random, patients, model) {
  const subject = [];
  const time = [];
  for (let patient = 0; patient < patients; patient++) {
    let at = 0;
    for (let visit = 0; visit < 8; visit++) {
      subject.push(patient);
      time.push(at);
      at += 0.2 + 0.6 * random.uniform();
    }
  }
  return simulateHiddenMarkov(model, { subject, time }, { seed: random.below(2 ** 31 - 1) });
}

/** A patient's own part makes its rows alike; treatment and visit as elsewhere. */
function logisticRows(random, patients) {
  const rows = limbsOf(random, patients, 2);
  return {
    response: rows.linear.map((mean) => Number(mean - 0.5 + logistic(random) > 0)),
    effects: { treated: rows.treated, later: rows.later },
    clusters: rows.patient,
  };
}

/**
 * Two limbs of a patient whose times share a positive stable part with index .7: marginally the hazards stay proportional, with the ratio e^.5 for a
 * treatment of patients (Hougaard P. Biometrika 1986;73:387–396, from memory), or with the hazard .5 a year where there is none.
 */
function survivalOf(random, patients, effect = 0.5) {
  const data = { times: [], events: [], patients: [] };
  const treated = [];
  const alpha = 0.7;
  for (let patient = 0; patient < patients; patient++) {
    const angle = Math.PI * random.uniform();
    const exponential = -Math.log(1 - random.uniform());
    const shared =
      (Math.sin(alpha * angle) / Math.sin(angle) ** (1 / alpha)) *
      (Math.sin((1 - alpha) * angle) / exponential) ** ((1 - alpha) / alpha);
    for (let limb = 0; limb < 2; limb++) {
      // P(T > t | shared) = exp(−shared (h t)^(1/α)), so that P(T > t) = exp(−h t).
      const hazard = 0.5 * Math.exp(effect * (patient % 2));
      const time = (-Math.log(1 - random.uniform()) / shared) ** alpha / hazard;
      const end = 1 + 2 * random.uniform();
      data.times.push(Math.min(time, end));
      data.events.push(time <= end);
      data.patients.push(patient);
      treated.push(patient % 2);
    }
  }
  return { data, treated };
}

export const cells = Object.entries(MODELS).flatMap(([model, { patients }]) =>
  patients.map((count) => ({ model, patients: count })),
);
export const studies = 4000;

export async function run(cell, count) {
  const { truth, intervals } = MODELS[cell.model];
  const true_ = typeof truth === 'function' ? await truth() : truth;
  const found = Object.entries(true_).map(([about, value]) => ({
    about,
    value,
    held: 0,
    below: 0,
    above: 0,
    without: 0,
  }));
  for (let study = 0; study < count; study++) {
    const random = seededRandom(SEED + 1_000_000 * (1 + cells.indexOf(cell)), study);
    const made = await intervals(random, cell.patients);
    found.forEach((one, at) => {
      const { lower, upper } = made[at];
      if (Number.isNaN(lower) || Number.isNaN(upper)) one.without++;
      else if (upper < one.value) one.below++;
      else if (lower > one.value) one.above++;
      else one.held++;
    });
  }
  return { ...cell, studies: count, found };
}
