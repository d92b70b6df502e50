import type { Audience } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { completenessByPeriod } from './completeness-by-period.js';
import type { ShareByPeriod } from './share-by-period.js';
import { shareForAudience } from './share-for-audience.js';

export interface BoardPageOptions {
  /** What will be done: one sentence, no cause claimed. */
  readonly action: string;
  /** A role, not a person: "lead of the edema group". */
  readonly owner: string;
  /** By when, as people of the unit write it: "end of period 20". */
  readonly by: string;
  /** Default `'inside'`. A board page is never made for one's own eyes only. */
  readonly audience?: Exclude<Audience, 'own'>;
}

/** One page for a board: a picture, a sentence, counts, what will be done, who, by when, and a caution. */
export interface BoardPage {
  readonly kind: 'board-page';
  readonly share: ShareByPeriod;
  readonly sentence: string;
  /** "Last period, 18: 9 of 16 stays assessed (56 %); 16 of 22 were assessed." */
  readonly counts: string;
  readonly action: string;
  readonly owner: string;
  readonly by: string;
  readonly caution: string;
}

/** Periods on one scale below which no rule says anything (see `runChart`). */
const PERIODS_FOR_RULES = 10;
/** Words that claim a cause, which a chart of a unit cannot carry. */
const CAUSAL =
  /\b(because|due to|caused|causes|thanks to|owing to|as a result of|led to|resulted|worked|improved by|reduced by)\b/i;
/** Words and codes by which somebody could be picked out. */
const PERSONAL = /\b(nurse|assessor|examiner|new staff|night shift|[A-Z]{1,3}\d{1,4})\b/i;

/**
 * One page for a board: what was found, with counts and without a cause; what will be done, who answers for it and by when.
 *
 * The sentence is the rule's where a rule signals, else that the points lie as chance would lay them or that it is too soon. A change of completeness that goes with the rate is
 * said. The page carries no assessor, no breakdown and no reading, and its counts are those `shareForAudience` lets through.
 *
 * Undefined: nothing. Missing values: a hidden last period is said to be too small to show.
 *
 * @param share from `shareByPeriod`; its `actions` are drawn on a strip without arrows.
 * @throws InputError `missing-words`, `cause-claimed`, `person-named`: all at once.
 * @example boardPage(share, { action: 'Two people read the same legs each month.', owner: 'quality lead', by: 'period 20' }).sentence
 * Source: common practice, no source.
 */
export function boardPage(share: ShareByPeriod, options: BoardPageOptions): BoardPage {
  check(share, options);
  const shown = shareForAudience(share, options.audience ?? 'inside');
  const completeness = completenessByPeriod(shown).sentence;
  const found = shown.sentence ?? plainSentence(shown);
  return {
    kind: 'board-page',
    share: { ...shown, sentence: found },
    sentence: completeness === undefined ? found : `${found}${/[.!?]$/.test(found) ? '' : '.'} ${completeness}`,
    counts: countsOf(shown),
    action: options.action.trim(),
    owner: options.owner.trim(),
    by: options.by.trim(),
    caution: `${CAUTIONS.ratesAreNotPersons} ${CAUTIONS.notAssessedIsNotNormal} ${CAUTIONS.edemaHasManyCauses}`,
  };
}

function check(share: ShareByPeriod, options: BoardPageOptions): void {
  const problems: Problem[] = [];
  const texts: readonly (readonly [path: readonly (string | number)[], text: string])[] = [
    [['options', 'action'], options.action],
    [['options', 'owner'], options.owner],
    [['options', 'by'], options.by],
    ...(share.actions ?? []).map(({ words }, at) => [['share', 'actions', at], words] as const),
  ];
  for (const [path, text] of texts) {
    if (text.trim() === '')
      problems.push({ code: 'missing-words', path, message: 'Nothing is written.', mend: 'write one short sentence.' });
    if (CAUSAL.test(text))
      problems.push({
        code: 'cause-claimed',
        path,
        message: 'The words claim a cause, which a unit’s chart cannot show.',
        mend: 'say what was begun and when, or what will be done.',
      });
    if (PERSONAL.test(text))
      problems.push({
        code: 'person-named',
        path,
        message: 'The words could point at somebody.',
        mend: 'name a role that answers for the action, and no one who assessed.',
      });
  }
  if (problems.length > 0) throw new InputError(problems);
}

function plainSentence(share: ShareByPeriod): string {
  const newest = share.segments.at(-1);
  const middle = newest?.middle;
  return newest === undefined || middle === undefined || newest.periods.length < PERIODS_FOR_RULES
    ? `${share.signLabel}: too soon to tell more than the counts`
    : `${share.signLabel}: the share lies about ${formatNumber(100 * middle, 0)} %, no more up and down than chance explains`;
}

function countsOf(share: ShareByPeriod): string {
  const last = share.segments.at(-1)?.periods.at(-1);
  if (last === undefined) return 'No period is there.';
  if (last.count === null) return `Last period, ${last.label}: too few to show.`;
  const percent = last.assessed === 0 ? '' : ` (${formatNumber((100 * last.count) / last.assessed, 0)} %)`;
  return `Last period, ${last.label}: ${last.count} of ${last.assessed} ${share.counted} assessed${percent}; ${last.assessed} of ${last.due} were assessed.`;
}
