import type { Sign } from '../signs/sign.js';
import { type Cells, isLost, reportResults, understandEach } from './cells.js';
import { type Combined, combineCodes } from './combine-codes.js';
import { placeOf, type SidedLimb, understandLimb } from './place.js';
import type { ProblemList } from './problem-list.js';

export interface Places {
  readonly combined: Combined;
  readonly limbs: readonly (string | undefined)[];
  /** For each combination: whether it could be worked out. */
  readonly resolved: readonly boolean[];
}

export function understandPlaces(
  columns: { sign: Cells; site: Cells; limb: Cells; side: Cells },
  signs: readonly (Sign | undefined)[],
  sites: readonly (string | undefined)[],
  problems: ProblemList,
  rows: number,
): Places {
  const { sign, site, limb, side } = columns;
  const limbWords = understandEach(limb, understandLimb, problems);
  const sideWords = understandEach(side, understandLimb, problems);
  const limbWhere = limb.isPresent || !side.isPresent ? limb.where : side.where;
  const combined = combineCodes([sign, site, limb, side], rows);
  const results = combined.parts.map(([signCode = -1, siteCode = -1, limbCode = -1, sideCode = -1]) => {
    const known = signs[signCode];
    if (known === undefined || isLost(siteCode, sites) || isLost(limbCode, limbWords) || isLost(sideCode, sideWords))
      return undefined;
    const sided = mergeSides(limbWords[limbCode], sideWords[sideCode]);
    if (sided === 'contradiction') {
      return {
        problem: {
          code: 'two-sides',
          ...side.where,
          message: 'The limb and the side say different things.',
          mend: 'correct one of the two.',
        },
      };
    }
    return placeOf(known, sites[siteCode], sided, { limb: limbWhere, site: site.where });
  });
  reportResults(
    combined,
    results.map((result) => (result !== undefined && 'problem' in result ? [result.problem] : [])),
    problems,
  );
  return {
    combined,
    limbs: results.map((result) => (result !== undefined && 'value' in result ? result.value : undefined)),
    resolved: results.map((result) => result !== undefined && 'value' in result),
  };
}

function mergeSides(limb: SidedLimb | undefined, side: SidedLimb | undefined): SidedLimb | undefined | 'contradiction' {
  if (limb === undefined || side === undefined) return limb ?? side;
  if (limb.side !== side.side) return 'contradiction';
  return limb.part === undefined ? side : limb;
}
