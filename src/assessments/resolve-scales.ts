import type { Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { codebook } from '../signs/codebook.js';
import type { Scale, Sign } from '../signs/sign.js';
import { type Cells, isLost, reportResults } from './cells.js';
import { type Combined, combineCodes } from './combine-codes.js';
import type { NamedScales } from './load-options.js';
import type { Understood } from './place.js';
import type { ProblemList } from './problem-list.js';
import type { Where } from './reading.js';

type RowProblem = Omit<Problem, 'row'>;

export interface Scales {
  readonly combined: Combined;
  readonly found: readonly (Scale | undefined)[];
  readonly resolved: readonly boolean[];
  readonly used: readonly Scale[];
}

export function resolveScales(
  columns: { sign: Cells; site: Cells; scale: Cells; value: Cells },
  signs: readonly (Sign | undefined)[],
  sites: readonly (string | undefined)[],
  named: NamedScales,
  problems: ProblemList,
  rows: number,
  notes: Note[],
): Scales {
  const { sign, site, scale, value } = columns;
  const combined = combineCodes([sign, site, scale], rows);
  const assumed = new Set<Scale>();
  const lacking = new Map<Sign, number>();
  const labelled = new Set(
    combined.parts.flatMap(([signCode = -1, , scaleCode = -1]) => (scaleCode >= 0 ? [signCode] : [])),
  );
  const results = combined.parts.map(
    ([signCode = -1, siteCode = -1, scaleCode = -1]): Understood<Scale> | undefined => {
      const known = signs[signCode];
      if (known === undefined || isLost(siteCode, sites)) return undefined;
      const siteId = sites[siteCode];
      const fits = (candidate: Scale): boolean =>
        candidate.sites === undefined || siteId === undefined || candidate.sites.includes(siteId);
      const chosen = named.get(known.id) ?? [];
      const word = scale.values[scaleCode];
      if (word !== undefined) return scaleByWord(word, known, [...known.scales, ...chosen], fits, scale.where, siteId);
      const candidates = (chosen.length > 0 ? chosen : known.scales).filter(fits);
      const [only, ...others] = candidates;
      if (only !== undefined && others.length === 0) {
        if (chosen.length === 0) assumed.add(only);
        return { value: only };
      }
      // Where a sign has a scale in some rows its absence is a fault of the others; else it is one question for all.
      if (labelled.has(signCode) || candidates.length === 0) {
        return {
          problem: { ...scaleMissing(known, candidates.length > 0 ? candidates : known.scales), ...scale.where },
        };
      }
      lacking.set(known, signCode);
      return undefined;
    },
  );
  reportResults(
    combined,
    results.map((result) => (result !== undefined && 'problem' in result ? [result.problem] : [])),
    problems,
  );
  for (const [known, signCode] of lacking) {
    const tops = denominators(sign, signCode, value, rows);
    const candidates = named.get(known.id) ?? known.scales;
    problems.add({ ...scaleMissing(known, candidates, tops), path: ['scales', known.id] });
  }
  for (const only of assumed)
    notes.push(
      information(
        'scale-assumed',
        `The scale "${only.label}" (${only.id}) was taken where none is named: it is the only one that fits.`,
      ),
    );
  const found = results.map((result) => (result !== undefined && 'value' in result ? result.value : undefined));
  const used = new Map(found.flatMap((one) => (one === undefined ? [] : [[one.id, one] as const])));
  return {
    combined,
    found,
    resolved: found.map((one) => one !== undefined),
    used: [...used.values()].sort((a, b) => (a.id < b.id ? -1 : 1)),
  };
}

function scaleByWord(
  word: string,
  sign: Sign,
  scales: readonly Scale[],
  fits: (scale: Scale) => boolean,
  where: Where,
  site: string | undefined,
): Understood<Scale> {
  const key = word.toLowerCase();
  const match =
    scales.find((scale) => scale.id.toLowerCase() === key) ?? scales.find((scale) => scale.label.toLowerCase() === key);
  if (match === undefined) {
    const owner = codebook.find((known) => known.scales.some((scale) => scale.id.toLowerCase() === key));
    return {
      problem: {
        code: owner === undefined ? 'unknown-scale' : 'scale-not-of-sign',
        ...where,
        message:
          owner === undefined
            ? `This is no scale of ${sign.label}.`
            : `The scale is one of ${owner.label}, not of ${sign.label}.`,
        expected: `one of ${scales.map((scale) => scale.id).join(', ')}`,
      },
    };
  }
  if (fits(match)) return { value: match };
  return {
    problem: {
      code: 'scale-not-of-site',
      ...where,
      message: `The scale ${match.id} is not for the site ${site}.`,
      expected: `one of ${scales
        .filter(fits)
        .map((scale) => scale.id)
        .join(', ')}`,
    },
  };
}

function scaleMissing(sign: Sign, candidates: readonly Scale[], tops: readonly number[] = []): RowProblem {
  const evidence = candidates.filter(
    (scale) => tops.length === 1 && Number(scale.categories?.at(-1)?.value) === tops[0],
  );
  const hint =
    tops.length === 0
      ? ''
      : ` Some readings are written as parts of ${tops.join(' and of ')}${evidence.length > 0 ? `, which fits ${evidence.map((scale) => scale.id).join(' and ')}` : ''}.`;
  return {
    code: 'scale-missing',
    message: `The readings of ${sign.label.toLowerCase()} do not say on which scale they are.${hint}`,
    expected: candidates.map((scale) => `${scale.id} (${scale.label})`).join('; '),
    mend: `ask whoever recorded them, then name the scale in options.scales, as in { '${sign.id}': 'its id' }, or in a column scale.`,
  };
}

/** The denominators with which readings of a sign are written (`2/4`), lowest first. */
function denominators(sign: Cells, signCode: number, value: Cells, rows: number): readonly number[] {
  const tops = new Set<number>();
  for (const [ofSign = -1, ofValue = -1] of combineCodes([sign, value], rows).parts) {
    const top = /^\+?\d+\+?\s*\/\s*(\d+)\+?$/.exec(value.values[ofValue] ?? '')?.[1];
    if (ofSign === signCode && top !== undefined) tops.add(Number(top));
  }
  return [...tops].sort((a, b) => a - b);
}
