import { chance } from './chance.mjs';
import { csvText, truthText } from './csv.mjs';
import { ARTERIES, EXAMINERS, gradeAt, hoganGrade, readPitDepth, readPulse, readRefill } from './examiners.mjs';

const COLUMNS = [
  'patient',
  'day',
  'occasion',
  'assessor',
  'replicate',
  'order',
  'blinded',
  'limb',
  'site',
  'sign',
  'scale',
  'value',
  'comparator',
  'missing',
  'method',
];

const FOOT = new Set(['posterior-tibial', 'dorsalis-pedis', 'great-toe']);
const PATIENTS = 40;
const AMPUTATION = { patient: 'P23', limb: 'left-leg' };
const DRESSING = { patient: 'P08', limb: 'right-leg' };
/** Two people in whom every pulse is strong. */
const BOUNDING = new Set(['P05', 'P31']);
/** People whose ulnar pulse is weak on one side, as is common. */
const WEAK_ULNAR = new Map([
  ['P03', 'left'],
  ['P12', 'right'],
  ['P17', 'left'],
  ['P20', 'right'],
  ['P29', 'right'],
  ['P38', 'left'],
]);
const REPEATER = 'N11';

/**
 * The agreement study: forty patients, four examiners, all on one morning each. Each finding has a
 * true position on its scale; a reading is that position plus the examiner's tendency and chance.
 */
export function agreementStudyFiles(seed) {
  const random = chance(seed);
  const codes = Array.from({ length: PATIENTS }, (_, i) => `P${String(i + 1).padStart(2, '0')}`);
  const diseased = new Map(diseases(random, codes).map((entry) => [entry.patient, entry]));
  const repeated = new Set(random.shuffled(codes).slice(0, 14));
  const seenByFourth = new Set(random.shuffled(codes).slice(0, 24));
  const missedBySecond = new Set(random.shuffled(codes).slice(0, 3));
  const shortOfTime = new Set(random.shuffled(codes.filter((code) => !repeated.has(code))).slice(0, 2));
  const rows = [];
  const targets = [];

  for (const patient of codes) {
    const findings = trueFindings(random, patient, diseased.get(patient));
    for (const { limb, site, sign, trueValue } of findings) targets.push({ patient, limb, site, sign, trueValue });
    const visits = random
      .shuffled(EXAMINERS)
      .filter(({ code }) => code !== 'N52' || seenByFourth.has(patient))
      .filter(({ code }) => code !== 'N24' || !missedBySecond.has(patient))
      .map((examiner) => ({ examiner, replicate: 1 }));
    if (repeated.has(patient)) {
      const examiner = EXAMINERS.find(({ code }) => code === REPEATER);
      visits.push({ examiner, replicate: 2 });
    }
    visits.forEach(({ examiner, replicate }, place) => {
      const outOfTime = shortOfTime.has(patient) && place === visits.length - 1;
      for (const finding of findings) {
        const common = {
          patient,
          day: 0,
          occasion: 1,
          assessor: examiner.code,
          replicate,
          order: place + 1,
          blinded: 'yes',
          limb: finding.limb,
          site: finding.site,
        };
        const missing = whyMissing(random, finding, outOfTime);
        rows.push(...readings(random, finding, examiner, missing).map((reading) => ({ ...common, ...reading })));
      }
    });
  }

  const truth = {
    about: 'What is true in agreement-study.csv; invented by data-demo/make-demo-data.mjs.',
    seed,
    examiners: EXAMINERS,
    arteries: ARTERIES,
    gradesHigh: 'N37',
    repeats: { assessor: REPEATER, patients: [...repeated].sort() },
    seenByFourthExaminer: [...seenByFourth].sort(),
    missedBySecondExaminer: [...missedBySecond].sort(),
    shortOfTime: [...shortOfTime].sort(),
    boundingPulses: [...BOUNDING],
    weakUlnar: [...WEAK_ULNAR].map(([patient, side]) => ({ patient, limb: `${side}-arm` })),
    partAbsent: AMPUTATION,
    covered: DRESSING,
    disease: [...diseased.values()],
    targets,
  };
  return { 'agreement-study.csv': csvText(COLUMNS, rows), 'agreement-study.truth.json': truthText(truth) };
}

/** Who has narrowed arteries, from which level down, on which legs, and by how many grades the pulses below are weaker. */
function diseases(random, codes) {
  const levels = ['femoral', 'femoral', 'femoral', ...Array(6).fill('popliteal'), ...Array(6).fill('posterior-tibial')];
  const patients = random.shuffled(codes).slice(0, levels.length);
  return patients.map((patient, i) => ({
    patient,
    from: levels[i],
    legs: random.pick([['left-leg'], ['right-leg'], ['left-leg', 'right-leg'], ['left-leg', 'right-leg']]),
    weakerBy: Math.round(random.between(1.1, 2.3) * 100) / 100,
  }));
}

function trueFindings(random, patient, disease) {
  const bounding = BOUNDING.has(patient) ? 0.9 : 0;
  const person = random.normal(0, 0.13);
  const pitting = random.happens(0.4) ? random.between(1.5, 7) : 0;
  const findings = [];
  for (const side of ['left', 'right']) {
    const leg = `${side}-leg`;
    const start = disease?.legs.includes(leg)
      ? ARTERIES.findIndex(({ site }) => site === disease.from)
      : ARTERIES.length;
    ARTERIES.forEach(({ site, limb, error }, at) => {
      const own = random.normal(0, limb === 'arm' ? 0.09 : 0.24);
      const narrowed = limb === 'leg' && at >= start ? disease.weakerBy : 0;
      const small = site === 'ulnar' && WEAK_ULNAR.get(patient) === side ? 1 : 0;
      const position = 2 + person + own + bounding - narrowed - small;
      findings.push({
        patient,
        limb: limb === 'arm' ? `${side}-arm` : leg,
        site,
        sign: 'pulse-grade',
        position,
        error,
        trueValue: gradeAt(position),
      });
    });
    for (const [limb, site, usual] of [
      [`${side}-arm`, 'index-finger', 1.6],
      [leg, 'great-toe', 2.1],
    ]) {
      const slower = site === 'great-toe' && start < ARTERIES.length ? random.between(0.8, 2.6) : 0;
      const seconds = Math.max(0.7, usual + slower + random.normal(0, 0.4));
      findings.push({
        patient,
        limb,
        site,
        sign: 'capillary-refill',
        seconds,
        trueValue: Math.round(seconds * 100) / 100,
      });
    }
    const depth = pitting === 0 ? 0 : Math.max(0, pitting + random.normal(0, 0.5));
    findings.push({
      patient,
      limb: leg,
      site: 'pretibial-shin',
      sign: 'pitting-edema',
      depth,
      trueValue: hoganGrade(depth),
    });
  }
  return findings;
}

function whyMissing(random, { patient, limb, site, sign }, outOfTime) {
  if (FOOT.has(site) && patient === AMPUTATION.patient && limb === AMPUTATION.limb) return 'part-absent';
  if (FOOT.has(site) && patient === DRESSING.patient && limb === DRESSING.limb) return 'covered';
  if (outOfTime && limb.endsWith('leg') && sign !== 'pulse-grade') return 'out-of-time';
  if (site === 'femoral' && random.happens(0.015)) return 'refused';
  if (site === 'popliteal' && random.happens(0.02)) return 'unsure';
  return random.happens(0.006) ? 'not-assessed' : undefined;
}

/** What is written down for one finding: one row, and for pulses of the foot a second one on how the pulse was found. */
function readings(random, finding, examiner, missing) {
  const { sign, site } = finding;
  if (sign === 'capillary-refill') {
    const common = {
      sign,
      scale: site === 'great-toe' ? 'refill.seconds.toe' : 'refill.seconds.finger',
      method: 'stopwatch',
    };
    if (missing !== undefined) return [{ ...common, missing }];
    const seconds = readRefill(random, finding.seconds, examiner);
    if (examiner.code === 'N52' && seconds < 2 && random.happens(0.3))
      return [{ ...common, value: 2, comparator: '<' }];
    return [{ ...common, value: seconds.toFixed(1) }];
  }
  if (sign === 'pitting-edema') {
    const common = { sign, scale: 'pit.0-4.hogan', method: 'palpation' };
    if (missing !== undefined) return [{ ...common, missing }];
    return [{ ...common, value: hoganGrade(readPitDepth(random, finding.depth, examiner)) }];
  }
  const common = { sign, scale: 'pulse.0-4.normal2', method: 'palpation' };
  const asksDoppler = FOOT.has(site);
  const detection = { sign: 'pulse-detection', scale: 'pulse.detection4' };
  if (missing !== undefined) {
    return [{ ...common, missing }, ...(asksDoppler ? [{ ...detection, missing }] : [])];
  }
  const value = readPulse(random, finding.position, examiner, finding.error);
  if (!asksDoppler) return [{ ...common, value }];
  return [
    { ...common, value },
    { ...detection, ...detected(random, value, finding.position) },
  ];
}

function detected(random, grade, position) {
  if (grade > 0) return { value: 'palpable', method: 'palpation' };
  if (random.happens(0.1)) return { value: 'not-felt-doppler-not-used', method: 'palpation' };
  return { value: position > -0.1 ? 'doppler-only' : 'absent', method: 'doppler' };
}
