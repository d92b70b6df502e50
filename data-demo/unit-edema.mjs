import { chance } from './chance.mjs';
import { csvText, truthText } from './csv.mjs';
import { bandsGrade, hoganGrade } from './examiners.mjs';

const COLUMNS = [
  'patient',
  'stay',
  'unit',
  'day',
  'period',
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
  'heldSeconds',
];
const UNIT = 'U1';
const PERIODS = 18;
const DAYS_IN_PERIOD = 28;
const SCALE_CHANGES_IN = 10;
const NEW_ASSESSORS_FROM = 15;
const THIN_PERIODS = new Set([6, 16]);
/** Rounds are due on the day of arrival and then twice a week. */
const ROUND_DAYS = [0, 3];

/** The ward's assessors: the first and the last period each works in, and how many mm deeper each reads. */
const ASSESSORS = [
  { code: 'K01', from: 1, to: 14, deeperByMm: 0 },
  { code: 'K02', from: 1, to: 18, deeperByMm: 0.1 },
  { code: 'K03', from: 1, to: 18, deeperByMm: -0.1 },
  { code: 'K04', from: 1, to: 14, deeperByMm: 0.1 },
  { code: 'K05', from: 1, to: 14, deeperByMm: -0.1 },
  { code: 'K06', from: NEW_ASSESSORS_FROM, to: 18, deeperByMm: 1.7 },
  { code: 'K07', from: NEW_ASSESSORS_FROM, to: 18, deeperByMm: 1.4 },
  { code: 'K08', from: NEW_ASSESSORS_FROM, to: 18, deeperByMm: 1.6 },
];

/**
 * A ward over eighteen periods of four weeks. The legs of those who arrive do not change over the
 * periods; the scale (from period 10) and the people who read (from period 15) do.
 */
export function unitEdemaFiles(seed) {
  const random = chance(seed);
  const stays = makeStays(random, chance(seed + 1));
  const rows = [];
  const denominators = Array.from({ length: PERIODS }, (_, i) => ({
    unit: UNIT,
    period: i + 1,
    patientDays: 0,
    stays: 0,
    assessmentsDue: 0,
  }));
  const pitted = Array(PERIODS).fill(0);

  for (const [place, stay] of stays.entries()) {
    const isPassedOver = place % 4 === 1;
    const lastDay = Math.min(stay.arrival + stay.length, PERIODS * DAYS_IN_PERIOD) - 1;
    const perPeriod = new Map();
    let occasion = 0;
    for (let clock = stay.arrival; clock <= lastDay; clock++) {
      const period = Math.floor(clock / DAYS_IN_PERIOD) + 1;
      const denominator = denominators[period - 1];
      denominator.patientDays += 1;
      const legs = depthsOn(stay, clock - stay.arrival);
      const worst = Object.values(legs).some((depth) => depth >= 2.5);
      perPeriod.set(period, (perPeriod.get(period) ?? false) || worst);
      if (!ROUND_DAYS.includes((clock - stay.arrival) % 7)) continue;
      occasion += 1;
      denominator.assessmentsDue += 2;
      if (THIN_PERIODS.has(period) && isPassedOver) continue;
      rows.push(...round(random, stay, clock, period, occasion, legs));
    }
    for (const [period, isPitted] of perPeriod) {
      denominators[period - 1].stays += 1;
      if (isPitted) pitted[period - 1] += 1;
    }
  }

  const truth = {
    about: 'What is true in unit-edema.csv; invented by data-demo/make-demo-data.mjs.',
    seed,
    story:
      'The legs of those who arrive are alike over all periods. Two things change: the scale, and later the people who read.',
    scaleChangesInPeriod: SCALE_CHANGES_IN,
    newAssessorsFromPeriod: NEW_ASSESSORS_FROM,
    periodsWithFewAssessments: [...THIN_PERIODS],
    assessors: ASSESSORS,
    truePeriods: denominators.map(({ period, stays: present }, i) => ({
      period,
      stays: present,
      staysWithPitOf2point5mmOrMore: pitted[i],
    })),
    stays: stays.map(({ patient, stay, arrival, length, depth, newFromDay }) => ({
      patient,
      stay,
      arrival,
      length,
      depth,
      ...(newFromDay === undefined ? {} : { newFromDay }),
    })),
  };
  return {
    'unit-edema.csv': csvText(COLUMNS, rows),
    'unit-denominators.csv': csvText(['unit', 'period', 'patientDays', 'stays', 'assessmentsDue'], denominators),
    'unit-edema.truth.json': truthText(truth),
  };
}

/** Codes are drawn by lot, by a chance of their own: a code in order of arrival would tell when somebody came. */
function makeStays(random, lot) {
  const numbers = Array.from({ length: 500 }, (_, at) => String(at + 1).padStart(3, '0'));
  const patientNumbers = lot.shuffled(numbers);
  const stayNumbers = lot.shuffled(numbers);
  const stays = [];
  const mix = caseMix(random);
  let patients = 0;
  for (let arrival = 0; arrival < PERIODS * DAYS_IN_PERIOD; arrival++) {
    if (!random.happens(0.58)) continue;
    const back = random.happens(0.08) ? random.pick(endedBefore(stays, arrival - 14)) : undefined;
    const firstArrival = back === undefined ? arrival : back.firstArrival;
    if (back === undefined) patients += 1;
    const patient = back?.patient ?? `W${patientNumbers[patients]}`;
    const base = mix();
    const newFromDay = base === 0 && random.happens(0.12) ? 2 + random.below(9) : undefined;
    const newDepth = newFromDay === undefined ? 0 : random.between(2, 4.5);
    const leg = (depth) => (depth === 0 ? 0 : Math.round(Math.max(0.6, depth + random.normal(0, 0.5)) * 10) / 10);
    const depth = { 'left-leg': leg(base + newDepth), 'right-leg': leg(base + newDepth) };
    stays.push({
      patient,
      stay: `S${stayNumbers[stays.length]}`,
      firstArrival,
      arrival,
      length: 2 + Math.min(random.below(26), random.below(26)) + (random.happens(0.07) ? 40 : 0),
      depth,
      newFromDay,
    });
  }
  return stays;
}

/**
 * The depth of the pit on arrival, in mm: none in four of ten, then from 0.8 mm up. Every ten arrivals
 * in a row span the whole range, so that the mix of people is alike in all periods.
 */
function caseMix(random) {
  let tenths = [];
  return () => {
    if (tenths.length === 0) tenths = random.shuffled([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
    const rank = tenths.pop() + random.uniform();
    if (rank < 4) return 0;
    const share = (rank - 4) / 6;
    return 0.8 + 3 * share + 4.4 * share * share * share;
  };
}

/** The last stay of each patient, where it ended before the day: those who may come back. */
function endedBefore(stays, day) {
  const last = new Map(stays.map((stay) => [stay.patient, stay]));
  return [...last.values()].filter(({ arrival, length }) => arrival + length < day);
}

function depthsOn(stay, dayOfStay) {
  const isThere = stay.newFromDay === undefined || dayOfStay >= stay.newFromDay;
  return isThere ? stay.depth : { 'left-leg': 0, 'right-leg': 0 };
}

/** One round at the bedside: both legs by one assessor, or a reason why not, or (sometimes) nothing written at all. */
function round(random, stay, clock, period, occasion, legs) {
  const thin = THIN_PERIODS.has(period);
  if (random.happens(thin ? 0.1 : 0.03)) return [];
  const assessor = random.pick(ASSESSORS.filter(({ from, to }) => from <= period && period <= to));
  const reason = random.happens(thin ? 0.13 : 0.04)
    ? random.pick(['not-assessed', 'not-assessed', 'out-of-time', 'refused'])
    : undefined;
  return Object.entries(legs).map(([limb, depth]) => {
    const missing = reason ?? (random.happens(0.012) ? 'covered' : undefined);
    const common = {
      patient: stay.patient,
      stay: stay.stay,
      unit: UNIT,
      day: clock - stay.firstArrival,
      period,
      occasion: `${stay.stay}-${occasion}`,
      assessor: assessor.code,
      replicate: 1,
      limb,
      site: 'pretibial-shin',
      sign: 'pitting-edema',
      scale: period < SCALE_CHANGES_IN ? 'pit.0-4.bands-2-4-6-8.long' : 'pit.0-4.hogan',
      method: 'palpation',
    };
    if (missing !== undefined) return { ...common, missing };
    const gradeOf = period < SCALE_CHANGES_IN ? bandsGrade : hoganGrade;
    const read = depth === 0 ? 0 : Math.max(0, depth + assessor.deeperByMm + random.normal(0, 0.6));
    return {
      ...common,
      value: written(gradeOf(depth === 0 && random.happens(0.03) ? 1 : read), assessor.code),
      heldSeconds: 5,
    };
  });
}

/** One assessor writes grades with a plus sign, as many charts do. */
function written(grade, code) {
  return code === 'K03' && grade > 0 ? `${grade}+` : grade;
}
