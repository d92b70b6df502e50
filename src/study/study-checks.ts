import { marginalShift } from '../agreement/marginal-shift.js';
import type { Assessments } from '../assessments/assessments.js';
import type { Ratings } from '../ratings/ratings.js';
import { ratingsOf } from '../ratings/ratings-of.js';
import type { Estimate } from '../shared/estimate.js';
import { caution, information, type Note } from '../shared/note.js';
import { formatNumber } from '../shared/table.js';
import { publishedAgreement } from '../signs/published-agreement.js';

/** Findings two assessors must share before identical readings mean anything. */
const ENOUGH_ALIKE = 20;

/**
 * Two assessors who wrote the same on every finding they share, although the readings vary: copied, or heard from each other? Codes of the two are not named
 * here; `pairwiseAgreement` shows them to whoever may see them.
 */
export function identicalColumns(ratings: Ratings): Note[] {
  let pairs = 0;
  for (let a = 0; a < ratings.columns; a++) {
    for (let b = 0; b < a; b++) {
      let shared = 0;
      let differ = false;
      const used = new Set<number>();
      for (let target = 0; target < ratings.targets; target++) {
        const one = ratings.codes[target * ratings.columns + a]!;
        const other = ratings.codes[target * ratings.columns + b]!;
        if (one < 0 || other < 0) continue;
        shared++;
        used.add(one);
        if (one !== other) differ = true;
      }
      if (shared >= ENOUGH_ALIKE && !differ && used.size > 1) pairs++;
    }
  }
  if (pairs === 0) return [];
  return [
    caution(
      'identical-columns',
      `${pairs === 1 ? 'Two assessors' : `${pairs} pairs of assessors`} wrote the same on every finding they share. Were readings copied or overheard? Ask before this is reported.`,
    ),
  ];
}

/**
 * Does the second reading of a finding differ from the first because it came second (a pressed spot still pitted, a limb warmed up)? The marginal shift from first to last reading by the recorded
 * order, patients as units; a note only where its interval excludes 0.
 */
export function orderEffect(assessments: Assessments, ratings: Ratings): Note[] {
  const { subject } = ratings;
  if (subject === undefined || ratings.level !== 'ordinal') return [];
  const here = assessments.where({ sign: subject.sign, scale: subject.scale });
  const byFinding = new Map<string, { order: number; code: number; patient: string }[]>();
  for (let row = 0; row < here.length; row++) {
    const order = here.order[row]!;
    const code = here.category[row]!;
    if (Number.isNaN(order) || code < 0 || here.reference[row] === 1) continue;
    const key = ['patient', 'limb', 'site', 'occasion'].map((name) => here[name as 'patient'].codes[row]).join('/');
    const own = byFinding.get(key) ?? [];
    own.push({ order, code, patient: String(here.patient.codes[row]) });
    byFinding.set(key, own);
  }
  const rows: [number, number][] = [];
  const clusters: string[] = [];
  for (const readings of byFinding.values()) {
    readings.sort((a, b) => a.order - b.order);
    const [first, last] = [readings[0]!, readings.at(-1)!];
    if (first.order === last.order) continue;
    rows.push([first.code, last.code]);
    clusters.push(first.patient);
  }
  if (rows.length < ENOUGH_ALIKE) return [];
  const { difference } = marginalShift(
    ratingsOf(rows, { clusters, level: 'ordinal', categories: ratings.categories.map((_, code) => code) }),
  );
  if (difference === undefined) return [];
  const { lower, upper } = difference.interval;
  if (!(lower > 0 || upper < 0)) return [];
  return [
    caution(
      'order-effect',
      `The last reading of a finding lies ${formatNumber(Math.abs(difference.value))} grades ${difference.value > 0 ? 'above' : 'below'} the first (${formatNumber(lower)} to ${formatNumber(upper)}): the order of examination matters.`,
    ),
  ];
}

/** A result unlike anything published for the sign; says what has been published and where. */
export function besidePublished(sign: string, estimate: Estimate, family: 'kappa' | 'intraclass correlation'): Note[] {
  return publishedAgreement
    .filter((known) => known.sign === sign && known.coefficient === family)
    .flatMap((known) => {
      const outside =
        (known.above !== undefined && estimate.value > known.above) ||
        (known.below !== undefined && estimate.value < known.below);
      const words = `published ${family} for this sign: ${known.published} (${known.source})`;
      return outside
        ? [
            caution(
              'outside-published',
              `${estimate.statistic} of ${formatNumber(estimate.value)} lies outside what has been ${words}. Look for copied readings, assessors who heard each other, or pairs entered twice.`,
            ),
          ]
        : [
            information(
              'published',
              `${words[0]!.toUpperCase()}${words.slice(1)}. Other people, scales and training: a background, not a standard.`,
            ),
          ];
    });
}
