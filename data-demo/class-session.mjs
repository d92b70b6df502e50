import { chance } from './chance.mjs';
import { csvText, truthText } from './csv.mjs';
import { gradeAt, hoganGrade } from './examiners.mjs';

const COLUMNS = [
  'patient',
  'day',
  'round',
  'order',
  'assessor',
  'reference',
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

/** Twelve learners; `tendency` in grades before and after the retraining, `spread` the error of one reading in grades. */
const LEARNERS = Array.from({ length: 12 }, (_, at) => ({
  code: `L${String(at + 1).padStart(2, '0')}`,
  tendency: [0, 0.05, -0.1, 0.1, 0.65, 0, -0.05, 0.1, 0.05, -0.55, 0, -0.1][at],
}));
const EXPERTS = [
  { code: 'X1', tendency: 0.05 },
  { code: 'X2', tendency: -0.05 },
];
const SPREAD = { before: 0.5, after: 0.3, expert: 0.22 };
/** What is left of a tendency after the retraining. */
const KEPT = 0.35;
const MISSING = 0.1;

/** Sites with the limb they are on, the sign read there, and what the error of a reading is multiplied by. */
const FINDINGS = [
  { site: 'radial', limb: 'arm', sign: 'pulse-grade', error: 0.55 },
  { site: 'posterior-tibial', limb: 'leg', sign: 'pulse-grade', error: 0.9 },
  { site: 'dorsalis-pedis', limb: 'leg', sign: 'pulse-grade', error: 0.9 },
  { site: 'pretibial-shin', limb: 'leg', sign: 'pitting-edema', error: 0.9 },
];

/** True strength of the pulses (0 to 4, 2 normal) and depth of the pit in mm: [left, right] at each site. */
const VOLUNTEERS = {
  V1: { radial: [2, 2], 'posterior-tibial': [2, 1.1], 'dorsalis-pedis': [2, 1.9], 'pretibial-shin': [0, 0] },
  V2: { radial: [2, 2.1], 'posterior-tibial': [2, 2], 'dorsalis-pedis': [1, 0.9], 'pretibial-shin': [2.9, 3.2] },
  V3: { radial: [2, 2], 'posterior-tibial': [1.1, 1], 'dorsalis-pedis': [1.5, 2], 'pretibial-shin': [0, 0] },
  V4: { radial: [2, 2], 'posterior-tibial': [2, 0.1], 'dorsalis-pedis': [2, 0], 'pretibial-shin': [1.6, 5.2] },
  V5: { radial: [3, 3], 'posterior-tibial': [3, 2.1], 'dorsalis-pedis': [2.1, 3], 'pretibial-shin': [5.6, 5.3] },
  V6: { radial: [2, 2], 'posterior-tibial': [1, 2], 'dorsalis-pedis': [2, 0.1], 'pretibial-shin': [3.1, 1.7] },
  V7: { radial: [2, 2.1], 'posterior-tibial': [2, 1.1], 'dorsalis-pedis': [1.5, 1.1], 'pretibial-shin': [0, 5.4] },
  V8: { radial: [3, 2], 'posterior-tibial': [3, 2], 'dorsalis-pedis': [0.1, 2.9], 'pretibial-shin': [5.3, 3.1] },
};
/** The first volunteer is read in both rounds; the others of the second round are new. */
const ROUNDS = { 1: ['V1', 'V2', 'V3', 'V4', 'V5'], 2: ['V1', 'V6', 'V7', 'V8'] };
const SWAPPED = { round: 1, learner: 'L03', volunteer: 'V4' };
const COPIED = { round: 1, from: 'L08', by: 'L11' };
/** On this limb the pulse lies between two grades and moves: a hard limb. */
const HARD = { volunteer: 'V3', limb: 'left-leg', site: 'dorsalis-pedis', moreSpread: 0.4 };

/**
 * A class of twelve with two experts and eight volunteers with known findings: two rounds with a retraining between them, a
 * tenth of the readings missing, and a few sheets to ask about.
 */
export function classSessionFiles(seed) {
  const random = chance(seed);
  const rows = [];
  const written = new Map();
  for (const [roundName, volunteers] of Object.entries(ROUNDS)) {
    const round = Number(roundName);
    for (const expert of EXPERTS)
      for (const volunteer of volunteers)
        rows.push(...sheet(random, { round, reader: expert, volunteer, spread: SPREAD.expert, missing: 0 }));
    for (const learner of LEARNERS) {
      const isAfter = round === 2;
      const reader = { ...learner, tendency: learner.tendency * (isAfter ? KEPT : 1) };
      const own = volunteers.flatMap((volunteer) =>
        sheet(random, { round, reader, volunteer, spread: isAfter ? SPREAD.after : SPREAD.before, missing: MISSING }),
      );
      written.set(`${round}/${learner.code}`, own);
      const copied = round === COPIED.round && learner.code === COPIED.by;
      rows.push(
        ...(copied ? written.get(`${round}/${COPIED.from}`).map((row) => ({ ...row, assessor: learner.code })) : own),
      );
    }
  }
  const truth = {
    about: 'What is true in class-session.csv; invented by data-demo/make-demo-data.mjs.',
    seed,
    story:
      'Twelve learners and two experts read volunteers with known findings, before and after a retraining that takes away error and most of each tendency.',
    learners: LEARNERS,
    tendencyKeptAfterRetraining: KEPT,
    spread: SPREAD,
    spreadBySite: Object.fromEntries(FINDINGS.map(({ site, error }) => [site, error])),
    hardLimb: HARD,
    swappedSides: SWAPPED,
    identicalSheets: COPIED,
    controlVolunteer: 'V1',
    limbs: Object.entries(VOLUNTEERS).flatMap(([volunteer, sites]) =>
      Object.entries(sites).map(([site, [left, right]]) => ({ volunteer, site, left, right })),
    ),
  };
  return { 'class-session.csv': csvText(COLUMNS, rows), 'class-session.truth.json': truthText(truth) };
}

/** One reader at one volunteer: both sides of every site, or a reason why not, or nothing written. */
function sheet(random, { round, reader, volunteer, spread, missing }) {
  const together = random.happens(0.5);
  const swapped = round === SWAPPED.round && reader.code === SWAPPED.learner && volunteer === SWAPPED.volunteer;
  return FINDINGS.flatMap(({ site, limb, sign, error: factor }) =>
    ['left', 'right'].map((side, at) => {
      const [left, right] = VOLUNTEERS[volunteer][site];
      const position = (at === 0) === swapped ? right : left;
      const isHard = volunteer === HARD.volunteer && `${side}-${limb}` === HARD.limb && site === HARD.site;
      const error = random.normal(0, factor * (isHard ? spread + HARD.moreSpread : spread));
      const isPulse = sign === 'pulse-grade';
      const common = {
        patient: volunteer,
        day: round === 1 ? 0 : 21,
        round,
        order: Number(volunteer.slice(1)),
        assessor: reader.code,
        reference: reader.code.startsWith('X') ? 'yes' : 'no',
        replicate: 1,
        limb: `${side}-${limb}`,
        site,
        sign,
        scale: isPulse ? 'pulse.0-4.normal2' : 'pit.0-4.hogan',
        method: isPulse ? (together ? 'both sides at once' : 'one at a time') : 'palpation',
        heldSeconds: isPulse ? '' : 3 + random.below(4),
      };
      if (random.happens(missing))
        return { ...common, missing: random.pick(['', 'out-of-time', 'not-assessed', 'unsure']) };
      const value = isPulse
        ? gradeAt(position + reader.tendency + error)
        : hoganGrade(position === 0 ? 0 : Math.max(0, position + 1.6 * (reader.tendency + error)));
      return { ...common, value };
    }),
  );
}
