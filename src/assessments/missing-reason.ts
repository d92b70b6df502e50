import { ownValue } from '../shared/own-value.js';

/** Why there is no value. An empty cell without a reason stays an empty cell; `0` is a value. */
export const MISSING_REASONS = [
  'not-assessed',
  'out-of-time',
  'not-assessable',
  'covered',
  'part-absent',
  'refused',
  'unsure',
] as const;

export type MissingReason = (typeof MISSING_REASONS)[number];

/** Other words for a reason, as files write them. Case, spaces, hyphens and underscores do not matter. */
const OTHER_WORDS: Readonly<Record<string, MissingReason>> = {
  'not-done': 'not-assessed',
  'not-reached': 'out-of-time',
  'not-reached-in-time': 'out-of-time',
  'could-not-be-assessed': 'not-assessable',
  dressing: 'covered',
  cast: 'covered',
  'limb-absent': 'part-absent',
  amputated: 'part-absent',
  'patient-refused': 'refused',
  'felt-for-but-unsure': 'unsure',
};

/** The reason that a word stands for, or `undefined`. */
export function missingReasonOf(word: string): MissingReason | undefined {
  const key = word
    .trim()
    .toLowerCase()
    .replaceAll(/[\s_-]+/g, '-');
  return MISSING_REASONS.find((reason) => reason === key) ?? ownValue(OTHER_WORDS, key);
}
