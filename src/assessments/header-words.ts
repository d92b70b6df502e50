import { ownValue } from '../shared/own-value.js';
import type { SheetFinding } from './sheet-layout.js';

/** What the words of a header or of a column of findings say: the finding, and what is left over. */
export interface HeaderMeaning {
  readonly finding: SheetFinding;
  /** Words that name neither sign, site, side nor unit: an examiner's code, a repeat. */
  readonly rest: readonly string[];
}

const ARTERIES: Readonly<Record<string, string>> = {
  dp: 'dorsalis-pedis',
  pedis: 'dorsalis-pedis',
  pt: 'posterior-tibial',
  tp: 'posterior-tibial',
  pop: 'popliteal',
  popliteal: 'popliteal',
  fem: 'femoral',
  femoral: 'femoral',
  rad: 'radial',
  radial: 'radial',
  uln: 'ulnar',
  ulnar: 'ulnar',
  bra: 'brachial',
  brachial: 'brachial',
};
const REFILL_SITES: Readonly<Record<string, string>> = {
  toe: 'great-toe',
  hallux: 'great-toe',
  finger: 'index-finger',
  thumb: 'thumb',
  knee: 'knee',
  sternum: 'sternum',
  chest: 'sternum',
  forehead: 'forehead',
};
const EDEMA_SITES: Readonly<Record<string, string>> = {
  shin: 'pretibial-shin',
  tibia: 'pretibial-shin',
  pretibial: 'pretibial-shin',
  dorsum: 'dorsum-of-foot',
  foot: 'dorsum-of-foot',
  malleolus: 'behind-medial-malleolus',
  ankle: 'behind-medial-malleolus',
  sacrum: 'sacrum',
  sacral: 'sacrum',
  thigh: 'thigh',
  calf: 'lower-calf',
  hand: 'dorsum-of-hand',
  forearm: 'forearm',
};
const GIRTHS: Readonly<Record<string, string>> = {
  ankle: 'ankle-girth',
  calf: 'calf-girth',
  thigh: 'thigh-girth',
  forearm: 'forearm-girth',
  arm: 'upper-arm-girth',
};
const SIDES: Readonly<Record<string, 'left' | 'right'>> = { l: 'left', left: 'left', r: 'right', right: 'right' };
const EDEMA = ['edema', 'oedema', 'pit', 'pitting', 'swelling'];
const REFILL = ['crt', 'refill', 'capillary'];
const GIRTH = ['girth', 'circ', 'circumference', 'cm', 'mm'];
const FILLERS = [
  'pulse',
  'pulses',
  'grade',
  'great',
  'big',
  'index',
  'of',
  'the',
  'time',
  'cap',
  'sec',
  's',
  'seconds',
  'puls',
  'dorsalis',
  'posterior',
  'tibial',
  ...GIRTH,
];

/** Reads the words of a header such as `dp_A`, `crt_toe_B`, `ankle_cm_A`, `Right DP`, `edema shin`; `undefined` if they name no finding. */
export function headerMeaning(header: string): HeaderMeaning | undefined {
  const words = header.split(/[^\p{L}\p{N}+]+/u).filter((word) => word !== '');
  const lower = words.map((word) => word.toLowerCase());
  const has = (known: readonly string[]): boolean => lower.some((word) => known.includes(word));
  const found = (table: Readonly<Record<string, string>>): string | undefined => {
    const word = lower.find((candidate) => Object.hasOwn(table, candidate));
    return word === undefined ? undefined : table[word];
  };
  // Both sides in one column are two limbs in one cell: no reading that could be understood.
  if (namesBothSides(header)) return undefined;
  const side = ownValue(SIDES, lower.find((word) => Object.hasOwn(SIDES, word)) ?? '');
  const limb = side === undefined ? {} : { limb: side };
  const rest = (used: readonly string[], tables: readonly Readonly<Record<string, string>>[]): string[] =>
    words.filter((_, at) => {
      const word = lower[at] ?? '';
      return (
        ![...used, ...FILLERS].includes(word) &&
        !Object.hasOwn(SIDES, word) &&
        tables.every((table) => !Object.hasOwn(table, word))
      );
    });

  if (has(EDEMA)) {
    const site = found(EDEMA_SITES);
    return site === undefined
      ? undefined
      : { finding: { sign: 'pitting-edema', site, ...limb }, rest: rest(EDEMA, [EDEMA_SITES]) };
  }
  if (has(REFILL)) {
    const site = found(REFILL_SITES);
    return site === undefined
      ? undefined
      : { finding: { sign: 'capillary-refill', site, ...limb }, rest: rest(REFILL, [REFILL_SITES]) };
  }
  const girth = found(GIRTHS);
  if (girth !== undefined && has(GIRTH)) {
    const unit = lower.includes('mm') ? { unit: 'mm' } : lower.includes('cm') ? { unit: 'cm' } : {};
    return { finding: { sign: girth, ...unit, ...limb }, rest: rest([], [GIRTHS]) };
  }
  const artery = lower.includes('posterior') && lower.includes('tibial') ? 'posterior-tibial' : found(ARTERIES);
  if (artery !== undefined)
    return { finding: { sign: 'pulse-grade', site: artery, ...limb }, rest: rest([], [ARTERIES]) };
  if (lower.includes('abi')) return { finding: { sign: 'ankle-brachial-index', ...limb }, rest: rest(['abi'], []) };
  if (lower.includes('tbi'))
    return { finding: { sign: 'toe-brachial-index', site: 'great-toe', ...limb }, rest: rest(['tbi'], []) };
  return undefined;
}

/** The side that a header names. */
export function headerSide(header: string): 'left' | 'right' | undefined {
  return header
    .toLowerCase()
    .split(/[^\p{L}]+/u)
    .map((word) => SIDES[word])
    .find((side) => side !== undefined);
}

/** The sign of a header that names one but not where it was read, such as `edema R`. */
export function signWithoutSite(header: string): 'pitting-edema' | 'capillary-refill' | undefined {
  if (namesBothSides(header) || headerMeaning(header) !== undefined) return undefined;
  const lower = header.toLowerCase().split(/[^\p{L}]+/u);
  if (lower.some((word) => EDEMA.includes(word))) return 'pitting-edema';
  return lower.some((word) => REFILL.includes(word)) ? 'capillary-refill' : undefined;
}

/** The time that left-over words of a header say: `day7`, `day 7`, `visit 2`, `week 4`, `baseline`. */
export function timeOf(words: readonly string[]): {
  readonly time?: { day?: number; occasion?: string };
  readonly rest: readonly string[];
} {
  const text = words.join(' ');
  const match =
    /(?:^|\s)(?:(day|visit|week|month|time)\s?(\d{1,4})|(baseline|admission|discharge|follow ?up))(?=\s|$)/i.exec(text);
  if (match === null) return { rest: words };
  const rest = text
    .replace(match[0], ' ')
    .split(' ')
    .filter((word) => word !== '');
  const [, unit, number, name] = match;
  if (name !== undefined) return { time: { occasion: name.toLowerCase() }, rest };
  return unit?.toLowerCase() === 'day'
    ? { time: { day: Number(number) }, rest }
    : { time: { occasion: `${unit?.toLowerCase()}-${number}` }, rest };
}

/** Whether a header names both sides, as in `DP R/L`: its cells would hold two limbs. */
export function namesBothSides(header: string): boolean {
  const sides = new Set(
    header
      .toLowerCase()
      .split(/[^\p{L}]+/u)
      .flatMap((word) => ownValue(SIDES, word) ?? []),
  );
  return sides.size > 1;
}

/** Whether a left-over word says that the column holds a second reading of the same examiner. */
export function isRepeatWord(word: string): boolean {
  return /^(?:again|repeat|rep|retest|second|2nd|2)$/i.test(word);
}
