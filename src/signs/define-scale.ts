import type { Category, Direction, Evidence, Level, Limit, Scale } from './sign.js';

type Rest = Partial<Pick<Scale, 'normal' | 'limits' | 'decimals' | 'sites' | 'notes'>>;

interface Facts {
  readonly id: string;
  readonly sign: string;
  readonly label: string;
  readonly source: string;
  readonly evidence: Evidence;
}

/** A scale of kinds or steps; scores count up from 0 in the order given. `normal` lists the normal values. */
export function gradedScale(
  facts: Facts,
  level: Level,
  direction: Direction,
  steps: readonly (readonly [value: string, words: string])[],
  normal?: readonly string[],
  rest: Rest = {},
): Scale {
  const categories = steps.map(([value, words], score): Category => ({ value, words, score }));
  const usual = categories.filter(({ value }) => normal?.includes(value) === true).map(({ words }) => words);
  return {
    ...facts,
    level,
    categories,
    direction,
    ...(normal === undefined ? {} : { normal: { words: usual.join(' or '), categories: normal } }),
    limits: [],
    ...rest,
  };
}

/** A finding that is there or not. */
export function yesNoScale(
  facts: Facts,
  words: readonly [no: string, yes: string] = ['no', 'yes'],
  rest: Rest = {},
): Scale {
  const steps = [
    ['0', words[0]],
    ['1', words[1]],
  ] as const;
  return gradedScale(facts, 'nominal', 'higher-is-worse', steps, ['0'], rest);
}

/** A measured value, in a unit of UCUM and within what can be written down at all. */
export function measuredScale(
  facts: Facts,
  level: 'interval' | 'ratio',
  unit: string,
  [lowest, highest]: readonly [number, number],
  direction: Direction,
  rest: Rest = {},
): Scale {
  return { ...facts, level, unit, range: { lowest, highest }, direction, limits: [], ...rest };
}

/** A limit in use. */
export function limit(words: string, bounds: Partial<Limit>, source: string, evidence: Evidence): Limit {
  return { words, ...bounds, source, evidence };
}
