/** The grade of a position on a scale whose cuts lie halfway between the grades 0 … highest. */
export function gradeAt(position, highest = 4) {
  return Math.max(0, Math.min(highest, Math.floor(position + 0.5)));
}

/**
 * Four invented examiners. `tendency` shifts what they read (in grades; N37 grades high), `spread`
 * multiplies the error every reading has.
 */
export const EXAMINERS = [
  { code: 'N11', tendency: 0, spread: 1 },
  { code: 'N24', tendency: -0.08, spread: 1.1 },
  { code: 'N37', tendency: 0.42, spread: 1 },
  { code: 'N52', tendency: 0.05, spread: 0.9 },
];

/** How likely any reading is a slip of tongue or pen: some grade at random. */
const SLIP = 0.004;

/** The artery sites from proximal to distal and the error (standard deviation, in grades) of one reading there. */
export const ARTERIES = [
  { site: 'brachial', limb: 'arm', error: 0.14 },
  { site: 'radial', limb: 'arm', error: 0.17 },
  { site: 'ulnar', limb: 'arm', error: 0.21 },
  { site: 'femoral', limb: 'leg', error: 0.28 },
  { site: 'popliteal', limb: 'leg', error: 0.72 },
  { site: 'posterior-tibial', limb: 'leg', error: 0.4 },
  { site: 'dorsalis-pedis', limb: 'leg', error: 0.36 },
];

/** Where one reading errs by less than this (in grades), the pulse is so clear that a tendency shows less. */
const CLEAR = 0.36;

/** One reading of a pulse whose true strength is `position`. */
export function readPulse(random, position, examiner, error) {
  if (random.happens(SLIP)) return random.below(5);
  const doubt = Math.min(1, error / CLEAR);
  return gradeAt(position + examiner.tendency * doubt * doubt + random.normal(0, error * examiner.spread));
}

/** Capillary refill in seconds, to one tenth, as a stopwatch shows it. */
export function readRefill(random, seconds, examiner) {
  const read = seconds - 0.3 * examiner.tendency + random.normal(0, 0.38 * examiner.spread);
  return Math.max(0.5, Math.round(read * 10) / 10);
}

/** Depth of a pit in mm as this examiner presses and sees it. */
export function readPitDepth(random, depth, examiner) {
  if (depth === 0) return random.happens(0.06) ? 1.2 : 0;
  return Math.max(0, depth + 0.6 * examiner.tendency + random.normal(0, 0.75 * examiner.spread));
}

/** Depth of a pit as a grade on `pit.0-4.hogan` (2 mm; 3 to 4 mm; 5 to 6 mm; 8 mm or more). */
export function hoganGrade(depth) {
  return [1, 2.5, 4.5, 7].filter((cut) => depth >= cut).length;
}

/** Depth of a pit as a grade on `pit.0-4.bands-2-4-6-8.long` (to 2 mm; to 4 mm; to 6 mm; to 8 mm). */
export function bandsGrade(depth) {
  return [0.5, 2, 4, 6].filter((cut) => depth >= cut).length;
}
