import { InputError } from '../shared/input-error.js';
import { scaleOf } from './codebook.js';
import type { Scale } from './sign.js';

/**
 * A way from one scale to another that does not change what was found, only how finely it is said.
 * `categories` gives the target's value for each value of the source.
 */
export interface ScaleMapping {
  readonly from: string;
  readonly to: string;
  readonly words: string;
  readonly categories: Readonly<Record<string, string>>;
}

const FELT = 'Grade 0 becomes not felt, every other grade becomes felt; nothing of the meaning is lost.';
const COARSE = 'Grades become below normal, normal or above normal; coarse, but safe.';
const YES_NO = 'Grade 0 becomes no, every other grade becomes yes.';

const pittingScales = ['pit.0-4.bands-2-4-6-8.long', 'pit.0-4.hogan', 'pit.0-4.depth-only'];

const mappings: readonly ScaleMapping[] = Object.freeze(
  [
    { from: 'pulse.0-3.normal2', to: 'pulse.binary', words: FELT, categories: grades('0', '1', '1', '1') },
    ...['pulse.0-4.normal2', 'pulse.0-4.normal3', 'pulse.0-4.strong4'].map((from) => ({
      from,
      to: 'pulse.binary',
      words: FELT,
      categories: grades('0', '1', '1', '1', '1'),
    })),
    {
      from: 'pulse.0-3.normal2',
      to: 'pulse.below-normal-above',
      words: COARSE,
      categories: grades('below', 'below', 'normal', 'above'),
    },
    {
      from: 'pulse.0-4.normal2',
      to: 'pulse.below-normal-above',
      words: COARSE,
      categories: grades('below', 'below', 'normal', 'above', 'above'),
    },
    {
      from: 'pulse.0-4.normal3',
      to: 'pulse.below-normal-above',
      words: COARSE,
      categories: grades('below', 'below', 'below', 'normal', 'above'),
    },
    {
      from: 'pulse.0-4.normal2',
      to: 'pulse.0-3.normal2',
      words: '0, 1 and 2 stay; 3 and 4 become 3. There is no way back.',
      categories: grades('0', '1', '2', '3', '3'),
    },
    {
      from: 'pulse.detection3',
      to: 'pulse.detection4',
      words: 'Every state stays what it is.',
      categories: { absent: 'absent', 'doppler-only': 'doppler-only', palpable: 'palpable' },
    },
    ...pittingScales.flatMap((from) => [
      { from, to: 'oed.present', words: YES_NO, categories: grades('0', '1', '1', '1', '1') },
      {
        from,
        to: `${from}.trace`,
        words: 'Every grade stays what it is; trace stays empty.',
        categories: grades('0', '1', '2', '3', '4'),
      },
    ]),
    { from: 'oed.0-3.words', to: 'oed.present', words: YES_NO, categories: grades('0', '1', '1', '1') },
    {
      from: 'oed.0-3.words',
      to: 'oed.0-3.words.trace',
      words: 'Every grade stays what it is; trace stays empty.',
      categories: grades('0', '1', '2', '3'),
    },
    {
      from: 'ceap.c.2020',
      to: 'ceap.c.0-6',
      words: 'The letters, which are kinds and not steps, fall away.',
      categories: {
        C0: 'C0',
        C1: 'C1',
        C2: 'C2',
        C2r: 'C2',
        C3: 'C3',
        C4a: 'C4',
        C4b: 'C4',
        C4c: 'C4',
        C5: 'C5',
        C6: 'C6',
        C6r: 'C6',
      },
    },
    { from: 'oed.overall.words', to: 'oed.overall.present', words: YES_NO, categories: grades('0', '1', '1', '1') },
  ].map((mapping) => Object.freeze(mapping)),
);

/** The safe ways from a scale to others; an empty list where there are none. */
export function safeMappings(fromScale: string): readonly ScaleMapping[] {
  return mappings.filter((mapping) => mapping.from === fromScale);
}

/**
 * The category on another scale that says the same, by the safe mappings only.
 *
 * Throws `InputError` with code `unsafe-mapping` where the scales do not line up (the safe ways are offered), and
 * `unknown-category` for a value the source scale does not have.
 *
 * @example
 * mapCategory('pulse.0-4.normal3', 'pulse.below-normal-above', '3') // 'normal'
 */
export function mapCategory(fromScale: string, toScale: string, value: string): string {
  if (fromScale === toScale) return value;
  const mapping = safeMappings(fromScale).find(({ to }) => to === toScale);
  if (mapping === undefined) {
    throw new InputError([
      {
        code: 'unsafe-mapping',
        path: ['toScale'],
        message: `There is no safe way from ${fromScale} to ${toScale}: their grades do not line up.`,
        mend: offer(safeMappings(fromScale)),
      },
    ]);
  }
  const mapped = mapping.categories[value];
  if (mapped !== undefined) return mapped;
  throw new InputError([
    {
      code: 'unknown-category',
      path: ['value'],
      message: `${fromScale} has no category of that value.`,
      expected: `one of ${Object.keys(mapping.categories).join(', ')}`,
    },
  ]);
}

/**
 * The one scale of readings that are to be looked at together. Refuses to pool scales because their digits
 * match: throws `InputError` with code `scales-differ`, naming the scales all of them can safely be mapped to,
 * or `no-scale` where there is none.
 */
export function oneScale(scales: readonly Scale[]): Scale {
  const [first, ...others] = scales;
  if (first === undefined)
    throw new InputError([
      { code: 'no-scale', path: ['scales'], message: 'There are no readings, so there is no scale.' },
    ]);
  if (others.every((scale) => scale.id === first.id)) return first;
  const ids = [...new Set(scales.map((scale) => scale.id))];
  const reachable = (id: string): string[] => [id, ...safeMappings(id).map(({ to }) => to)];
  const common = reachable(first.id).filter((target) => ids.every((id) => reachable(id).includes(target)));
  throw new InputError([
    {
      code: 'scales-differ',
      path: ['scales'],
      message: `The readings are on ${ids.length} scales (${ids.join(', ')}), and the same digit does not mean the same on each.`,
      mend:
        common.length === 0
          ? 'look at one scale at a time; these have no scale in common to which both can safely be mapped.'
          : `look at one scale at a time, or map all to ${common.map((id) => `${id} (${scaleOf(id).label})`).join(' or ')}.`,
    },
  ]);
}

function grades(...targets: readonly string[]): Record<string, string> {
  return Object.fromEntries(targets.map((target, grade) => [String(grade), target]));
}

function offer(safe: readonly ScaleMapping[]): string {
  if (safe.length === 0) return 'none of its mappings is safe; keep the scales apart.';
  return `safe are ${safe.map(({ to, words }) => `${to} (${words})`).join('; ')}`;
}
