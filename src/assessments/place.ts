import type { Problem } from '../shared/input-error.js';
import { codebook } from '../signs/codebook.js';
import { nearest } from '../signs/nearest.js';
import type { Limb, Sign } from '../signs/sign.js';
import { siteOf, sites } from '../signs/site.js';
import type { Where } from './reading.js';

type RowProblem = Omit<Problem, 'row'>;

/** A word of the file understood, or what is wrong with it. */
export type Understood<T> = { readonly value: T } | { readonly problem: RowProblem };

/** A limb or only its side; the site then says whether it is the arm or the leg. */
export interface SidedLimb {
  readonly side: 'left' | 'right';
  readonly part?: 'arm' | 'leg';
}

const signByWord = new Map(
  codebook.flatMap((sign) => [[wordKey(sign.id), sign] as const, [wordKey(sign.label), sign]]),
);
const siteByWord = new Map(
  sites.flatMap((site) => [site.id, site.label, ...site.aliases].map((word) => [wordKey(word), site.id] as const)),
);

/** The sign that a word of the column `sign` stands for: its id or its label. */
export function understandSign(word: string, where: Where): Understood<Sign> {
  const sign = signByWord.get(wordKey(word));
  if (sign !== undefined) return { value: sign };
  const ids = codebook.map(({ id }) => id);
  return { problem: unknownWord('unknown-sign', where, 'This is no sign of the codebook.', word, ids) };
}

/** The site that a word of the column `site` stands for: its id, its label or another word for it (`DP`). */
export function understandSite(word: string, where: Where): Understood<string> {
  const site = siteByWord.get(wordKey(word));
  if (site !== undefined) return { value: site };
  const ids = sites.map(({ id }) => id);
  return { problem: unknownWord('unknown-site', where, 'This is no site of the codebook.', word, ids) };
}

/**
 * A limb as files write it: `left-leg`, `L_leg`, `left lower limb`, `LL` (left leg), `LA` (left arm), or the side
 * alone (`left`, `L`) where the site tells arm from leg.
 */
export function understandLimb(word: string, where: Where): Understood<SidedLimb> {
  const key = wordKey(word);
  const match =
    /^(l|left|r|right)(?:-?(arm|leg|a|l|upper-limb|lower-limb|upper-extremity|lower-extremity|foot|hand))?$/.exec(key);
  if (match === null) {
    if (/^(?:both|bilateral|b|l-?r|r-?l|l&r|l\/r|r\/l|left-and-right)(?:-(?:arm|leg)s?)?$/.test(key)) {
      return {
        problem: {
          code: 'two-limbs',
          ...where,
          message: 'One cell stands for two limbs.',
          expected: 'one limb a row',
          mend: 'write a row for each side.',
        },
      };
    }
    const known = ['left-arm', 'right-arm', 'left-leg', 'right-leg', 'left', 'right'];
    return { problem: unknownWord('unknown-limb', where, 'This is no limb.', word, known) };
  }
  const side = match[1]?.startsWith('l') === true ? 'left' : 'right';
  const part = match[2];
  if (part === undefined) return { value: { side } };
  return { value: { side, part: /^(?:arm|a|upper|hand)/.test(part) ? 'arm' : 'leg' } };
}

export interface PlaceWhere {
  readonly limb: Where;
  readonly site: Where;
}

/** The limb on which a finding was made (none for a midline site), or what does not fit together. */
export function placeOf(
  sign: Sign,
  site: string | undefined,
  limb: SidedLimb | undefined,
  where: PlaceWhere,
): Understood<Limb | undefined> {
  const known = [...sign.sites, ...sign.midlineSites];
  if (site === undefined && sign.sites.length > 0)
    return fault('site-missing', where.site, `${sign.label} needs its site.`, `one of ${known.join(', ')}`);
  if (site !== undefined && !known.includes(site)) {
    return known.length === 0
      ? fault('site-not-of-sign', where.site, `${sign.label} takes no site.`, 'an empty cell')
      : fault(
          'site-not-of-sign',
          where.site,
          `${sign.label} is not assessed at ${site}.`,
          `one of ${known.join(', ')}`,
        );
  }
  if (site !== undefined && sign.midlineSites.includes(site)) {
    return limb === undefined
      ? { value: undefined }
      : fault(
          'side-for-midline',
          where.limb,
          `The site ${site} lies in the midline and takes no side.`,
          'an empty cell',
        );
  }
  if (sign.isPaired === true && limb !== undefined) {
    return fault(
      'side-for-pair',
      where.limb,
      `${sign.label} compares the two sides and is recorded once for both.`,
      'an empty cell',
    );
  }
  if (sign.limbs.length === 0 || sign.isPaired === true) {
    return limb === undefined
      ? { value: undefined }
      : fault('limb-not-of-sign', where.limb, `${sign.label} takes no limb.`, 'an empty cell');
  }
  if (limb === undefined)
    return fault(
      'side-missing',
      where.limb,
      'The side is missing.',
      'left or right',
      'write on which limb it was found.',
    );
  const part = limb.part ?? partOf(sign, site);
  if (part === undefined)
    return fault(
      'side-missing',
      where.limb,
      'The side alone does not say whether it is the arm or the leg.',
      'left-arm, right-arm, left-leg or right-leg',
    );
  const placed: Limb = `${limb.side}-${part}`;
  if (site !== undefined && siteOf(site).region !== part)
    return fault(
      'limb-site-mismatch',
      where.limb,
      `The site ${site} is not on the ${part}.`,
      `${limb.side}-${siteOf(site).region}`,
    );
  if (!sign.limbs.includes(placed))
    return fault(
      'limb-not-of-sign',
      where.limb,
      `${sign.label} is not assessed on the ${part}.`,
      sign.limbs.join(', '),
    );
  return { value: placed };
}

function partOf(sign: Sign, site: string | undefined): 'arm' | 'leg' | undefined {
  const region = site === undefined ? undefined : siteOf(site).region;
  if (region === 'arm' || region === 'leg') return region;
  const parts = new Set(sign.limbs.map((limb) => (limb.endsWith('arm') ? 'arm' : 'leg')));
  return parts.size === 1 ? [...parts][0] : undefined;
}

function fault(code: string, where: Where, message: string, expected: string, mend?: string): { problem: RowProblem } {
  return { problem: { code, ...where, message, expected, ...(mend === undefined ? {} : { mend }) } };
}

/** The word itself is not repeated: a mistaken column could hold names. */
function unknownWord(code: string, where: Where, message: string, word: string, known: readonly string[]): RowProblem {
  const near = nearest(wordKey(word), known);
  return {
    code,
    ...where,
    message,
    ...(near === undefined ? { expected: `one of ${known.join(', ')}` } : { mend: `did you mean "${near}"?` }),
  };
}

function wordKey(word: string): string {
  return word
    .trim()
    .toLowerCase()
    .replaceAll(/[\s_-]+/g, '-');
}
