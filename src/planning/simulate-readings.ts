import type { Ratings } from '../ratings/ratings.js';
import { ratingsOf } from '../ratings/ratings-of.js';
import { normal } from '../shared/distributions.js';
import { seededRandom } from '../shared/random.js';
import { checkPlanning, FRACTION, isFraction, type PlanningCheck } from './sample-size.js';

/** Who is examined, where, how often and by how many. */
export interface SimulatedDesign {
  readonly patients: number;
  /** Limbs of each patient. */
  readonly limbs: number;
  /** Sites of each limb. */
  readonly sites: number;
  readonly assessors: number;
  /** Times each finding is read by all, far enough apart that the limb may have changed. Default 1. */
  readonly occasions?: number;
  /** Share of readings that will be missing. Default 0.05. */
  readonly gaps?: number;
}

/** What is assumed of limbs and readings, in standard deviations of the findings. */
export interface ReadingAssumptions {
  /** Share of findings of each grade, lowest first; they sum to 1. Left out for a measured sign. */
  readonly shares?: readonly number[];
  /** How far readings of one finding scatter. */
  readonly readingSpread: number;
  /** How far assessors' tendencies to read high or low lie apart. Default 0.2. */
  readonly assessorSpread?: number;
  /** Share of the variance of findings between patients, and between the limbs of a patient; the rest is between the sites of a limb. Defaults 0.4 and 0.2. */
  readonly patientShare?: number;
  readonly limbShare?: number;
  /** How far a finding moves between occasions. Default 0. */
  readonly occasionSpread?: number;
}

/**
 * Readings of an invented study with the clustering of a real one: patients, limbs in patients, sites in limbs, occasions, assessors, gaps.
 *
 * y = √a·P + √b·L + √(1 − a − b)·S + o·O + tₖ + s·E, all letters standard normal: patient, limb, site, occasion, reading; a and b the shares of variance of patients and
 * limbs, o the spread of occasions, s of readings. tₖ are the normal scores of the assessors, scaled to the spread of assessors: the same assessors in every
 * study, as the intervals of a study take them. A graded sign has the grade in whose band y lies; the bands give the average
 * assessor's grades of the findings the shares assumed.
 *
 * Patients are drawn one after the other, so a study of 22 is the first 22 of a study of 40 with the same seed and stream.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example simulateReadings({ patients: 20, limbs: 2, sites: 3, assessors: 3 }, { shares: [0.2, 0.5, 0.3], readingSpread: 0.5 }, 1).targets // 120
 */
export function simulateReadings(
  design: SimulatedDesign,
  assumptions: ReadingAssumptions,
  seed: number,
  stream = 0,
): Ratings {
  checkPlanning([...designChecks(design), ...assumptionChecks(assumptions)]);
  const { patients, limbs, sites, assessors } = design;
  const occasions = design.occasions ?? 1;
  const gaps = design.gaps ?? 0.05;
  const { shares, readingSpread } = assumptions;
  const patientPart = Math.sqrt(assumptions.patientShare ?? 0.4);
  const limbPart = Math.sqrt(assumptions.limbShare ?? 0.2);
  const sitePart = Math.sqrt(Math.max(0, 1 - patientPart ** 2 - limbPart ** 2));
  const occasionSpread = assumptions.occasionSpread ?? 0;
  const tendencies = normalScores(assessors).map((score) => score * (assumptions.assessorSpread ?? 0.2));
  const cuts = shares === undefined ? undefined : cutsOf(shares, Math.sqrt(1 + occasionSpread ** 2));
  const random = seededRandom(seed, stream);
  const rows: (number | null)[][] = [];
  const clusters: number[] = [];
  for (let patient = 0; patient < patients; patient++) {
    const ofPatient = patientPart * random.normal();
    for (let limb = 0; limb < limbs; limb++) {
      const ofLimb = ofPatient + limbPart * random.normal();
      for (let site = 0; site < sites; site++) {
        const finding = ofLimb + sitePart * random.normal();
        for (let occasion = 0; occasion < occasions; occasion++) {
          const now = finding + occasionSpread * random.normal();
          rows.push(
            tendencies.map((tendency) => {
              const reading = now + tendency + readingSpread * random.normal();
              const missing = random.uniform() < gaps;
              if (missing) return null;
              return cuts === undefined ? reading : cuts.filter((cut) => cut < reading).length;
            }),
          );
          clusters.push(patient);
        }
      }
    }
  }
  return ratingsOf(rows, {
    clusters,
    level: cuts === undefined ? 'interval' : 'ordinal',
    ...(shares === undefined ? {} : { categories: shares.map((_, grade) => grade) }),
  });
}

/**
 * Very many findings of a design, none like its neighbors: what a coefficient is of them is what it comes to in the long run, since a finding
 * is distributed alike whatever it shares with others of its patient, and independent findings say it with the smallest error.
 */
export function longRunReadings(
  design: SimulatedDesign,
  assumptions: ReadingAssumptions,
  findings: number,
  seed: number,
): Ratings {
  const patients = Math.ceil(findings / (design.limbs * design.sites * (design.occasions ?? 1)));
  // Streams of studies count from 0; −1 is theirs alone.
  return simulateReadings({ ...design, patients }, { ...assumptions, patientShare: 0, limbShare: 0 }, seed, -1);
}

const WHOLE = 'a whole number, at least 1';

/** What must hold of a design. */
export function designChecks(design: SimulatedDesign): PlanningCheck[] {
  const occasions = design.occasions ?? 1;
  const gaps = design.gaps ?? 0.05;
  return [
    ...(['patients', 'limbs', 'sites'] as const).map(
      (name): PlanningCheck => [name, design[name], Number.isInteger(design[name]) && design[name] >= 1, WHOLE],
    ),
    [
      'assessors',
      design.assessors,
      Number.isInteger(design.assessors) && design.assessors >= 2,
      'a whole number, at least 2',
    ],
    ['occasions', occasions, Number.isInteger(occasions) && occasions >= 1, WHOLE],
    ['gaps', gaps, gaps >= 0 && gaps < 1, 'at least 0, less than 1'],
  ];
}

/** What must hold of the assumptions. */
export function assumptionChecks(assumptions: ReadingAssumptions): PlanningCheck[] {
  const { shares, readingSpread } = assumptions;
  const sum = (shares ?? [1]).reduce((total, share) => total + share, 0);
  const patientShare = assumptions.patientShare ?? 0.4;
  const limbShare = assumptions.limbShare ?? 0.2;
  const assessorSpread = assumptions.assessorSpread ?? 0.2;
  const occasionSpread = assumptions.occasionSpread ?? 0;
  return [
    ...(shares ?? []).map((share): PlanningCheck => ['shares', share, isFraction(share), FRACTION]),
    ['shares', sum, Math.abs(sum - 1) < 1e-9, 'shares that sum to 1'],
    ['readingSpread', readingSpread, readingSpread > 0, 'a number above 0'],
    ['assessorSpread', assessorSpread, assessorSpread >= 0, 'at least 0'],
    ['occasionSpread', occasionSpread, occasionSpread >= 0, 'at least 0'],
    ['patientShare', patientShare, patientShare >= 0 && patientShare <= 1, 'a number from 0 to 1'],
    [
      'limbShare',
      limbShare,
      limbShare >= 0 && patientShare + limbShare <= 1 + 1e-12,
      'at least 0, with patientShare at most 1',
    ],
  ];
}

/** Evenly spread tendencies with mean 0 and mean square 1. */
function normalScores(count: number): readonly number[] {
  const scores = Array.from({ length: count }, (_, at) => normal.quantile((at + 0.5) / count));
  const size = Math.sqrt(scores.reduce((sum, score) => sum + score * score, 0) / count);
  return scores.map((score) => score / size);
}

function cutsOf(shares: readonly number[], spread: number): readonly number[] {
  let below = 0;
  return shares.slice(0, -1).map((share) => {
    below += share;
    return spread * normal.quantile(below);
  });
}
