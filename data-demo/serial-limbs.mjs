import { chance } from './chance.mjs';
import { csvText, truthText } from './csv.mjs';
import { ARTERIES, EXAMINERS, gradeAt, hoganGrade, readPitDepth, readPulse, readRefill } from './examiners.mjs';

const COLUMNS = [
  'patient',
  'day',
  'occasion',
  'assessor',
  'replicate',
  'limb',
  'site',
  'sign',
  'scale',
  'value',
  'missing',
  'method',
];
const PATIENTS = 36;
const FOOT_PULSES = ARTERIES.filter(({ site }) => site === 'posterior-tibial' || site === 'dorsalis-pedis');
/** What a leg does not do alike on two days, in grades and seconds; the agreement study, held on one morning, cannot see it. */
const DAY_TO_DAY = 0.12;

/**
 * A cohort followed up at irregular visits. Most legs stay as they are; some worsen or improve for good
 * between two visits, and which, from which day, and by how much is written into the truth.
 */
export function serialLimbsFiles(seed) {
  const random = chance(seed);
  const rows = [];
  const legs = [];
  const examiners = EXAMINERS.slice(0, 3);
  const codes = Array.from({ length: PATIENTS }, (_, i) => `C${String(i + 1).padStart(2, '0')}`);
  const fates = new Map();
  const ordered = random.shuffled(codes.flatMap((code) => ['left-leg', 'right-leg'].map((leg) => `${code} ${leg}`)));
  for (const key of ordered.slice(0, 10)) fates.set(key, 'worsens');
  for (const key of ordered.slice(10, 14)) fates.set(key, 'improves');

  for (const patient of codes) {
    const days = visitDays(random);
    const states = ['left-leg', 'right-leg'].map((limb) =>
      legState(random, patient, limb, fates.get(`${patient} ${limb}`), days),
    );
    legs.push(...states.map(forTruth));
    days.forEach((day, at) => {
      const seenBy = random.shuffled(examiners).slice(0, random.happens(0.25) ? 2 : 1);
      const occasional = states.map(() => random.normal(0, DAY_TO_DAY));
      for (const examiner of seenBy) {
        states.forEach((state, side) => {
          const common = { patient, day, occasion: at + 1, assessor: examiner.code, replicate: 1, limb: state.limb };
          rows.push(...readLeg(random, state, day, occasional[side], examiner).map((row) => ({ ...common, ...row })));
        });
      }
    });
  }
  const truth = {
    about: 'What is true in serial-limbs.csv; invented by data-demo/make-demo-data.mjs.',
    seed,
    examiners,
    dayToDay: DAY_TO_DAY,
    legs,
  };
  return { 'serial-limbs.csv': csvText(COLUMNS, rows), 'serial-limbs.truth.json': truthText(truth) };
}

function visitDays(random) {
  const days = [0];
  const visits = 4 + random.below(4);
  while (days.length < visits) days.push(days.at(-1) + 14 + random.below(100));
  return days;
}

function legState(random, patient, limb, fate, days) {
  const turn = fate === undefined ? undefined : 1 + random.below(days.length - 2);
  const changeDay = turn === undefined ? undefined : days[turn] + Math.floor((days[turn + 1] - days[turn]) / 2);
  const start =
    fate === 'improves' ? random.between(0.2, 0.7) : fate === 'worsens' ? 2 : random.pick([2, 2, 2, 1, 0.9, 0.2]);
  const by = fate === 'worsens' ? -random.between(1.3, 2) : fate === 'improves' ? random.between(1.2, 1.7) : 0;
  const depth = random.happens(0.35) ? random.between(1.5, 6.5) : 0;
  return {
    patient,
    limb,
    fate: fate ?? 'stable',
    changeDay,
    by: Math.round(by * 100) / 100,
    pulses: FOOT_PULSES.map(({ site, error }) => ({ site, error, start: start + random.normal(0, 0.2) })),
    seconds: Math.max(1, 3.4 - 0.6 * start + random.normal(0, 0.25)),
    depth,
  };
}

function isChanged(state, day) {
  return state.changeDay !== undefined && day >= state.changeDay;
}

function readLeg(random, state, day, occasional, examiner) {
  const by = isChanged(state, day) ? state.by : 0;
  const pulses = state.pulses.map(({ site, error, start }) => {
    const common = { site, sign: 'pulse-grade', scale: 'pulse.0-4.normal2', method: 'palpation' };
    if (random.happens(0.015)) return { ...common, missing: random.pick(['not-assessed', 'covered', 'unsure']) };
    return { ...common, value: readPulse(random, start + by + occasional, examiner, error) };
  });
  const seconds = readRefill(random, Math.max(0.8, state.seconds - 0.9 * by - occasional), examiner);
  const depth = readPitDepth(random, state.depth, examiner);
  return [
    ...pulses,
    {
      site: 'great-toe',
      sign: 'capillary-refill',
      scale: 'refill.seconds.toe',
      value: seconds.toFixed(1),
      method: 'stopwatch',
    },
    {
      site: 'pretibial-shin',
      sign: 'pitting-edema',
      scale: 'pit.0-4.hogan',
      value: hoganGrade(depth),
      method: 'palpation',
    },
  ];
}

function forTruth({ patient, limb, fate, changeDay, by, pulses, depth }) {
  const grades = Object.fromEntries(
    pulses.map(({ site, start }) => [site, [gradeAt(start), gradeAt(start + (changeDay === undefined ? 0 : by))]]),
  );
  return {
    patient,
    limb,
    fate,
    ...(changeDay === undefined ? {} : { changeDay, by }),
    gradesBeforeAndAfter: grades,
    edemaGrade: hoganGrade(depth),
  };
}
