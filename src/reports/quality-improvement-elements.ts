import { TO_FILL_IN } from '../planning/ethics-page.js';
import { CAUTIONS } from '../shared/cautions.js';
import { information } from '../shared/note.js';
import { formatCount, Table } from '../shared/table.js';
import type { CompletenessByPeriod } from '../unit-quality/completeness-by-period.js';
import type { ShareByPeriodResult } from '../unit-quality/share-by-period.js';

export interface QualityImprovementBackground {
  /** Completeness of the same periods. */
  readonly completeness?: CompletenessByPeriod;
  /** The definition card of the finding, `unitDefinition(…)`. */
  readonly definition?: Table;
}

/**
 * The elements for reporting a unit's quality project, filled from its line as far as data can say it; what only people know is left open and marked `[to fill in]`.
 *
 * A unit's line never says why it moved: reasons, what was tried and how it was received are all left to people.
 *
 * @example qualityImprovementElements(shareByPeriod(periods, { atLeast: '2' })).rows.length // 18
 * Source: Ogrinc G and others. BMJ Qual Saf 2016;25:986–992, doi:10.1136/bmjqs-2015-004411 (SQUIRE 2.0; elements and DOI from memory, in our own words).
 */
export function qualityImprovementElements(
  share: ShareByPeriodResult,
  background: QualityImprovementBackground = {},
): Table {
  const periods = share.segments.flatMap((segment) => segment.periods);
  const [first, last] = [periods[0]?.label ?? '', periods[periods.length - 1]?.label ?? ''];
  const assessed = periods.reduce((sum, period) => sum + (period.count === null ? 0 : period.assessed), 0);
  const findings = [...new Set(share.segments.map(({ finding, scaleLabel }) => `${finding} (${scaleLabel})`))];
  const signals = periods.flatMap((period) =>
    period.signal === undefined ? [] : [`${period.label}: ${period.signal}`],
  );
  const actions = (share.actions ?? []).map(({ label, words }) => `Begun in period ${label}: ${words}.`);
  const card = (background.definition?.rows ?? []).map((row) => `${Object.values(row).join(': ')}.`).join(' ');
  const small =
    share.segments.length > 1 ? ' The scale or rule changed within the line; the parts are not joined.' : '';
  const elements: readonly (readonly [part: string, asks: string, filled: string])[] = [
    ['Title and abstract', 'A title that says it is a project to improve care', ''],
    ['Title and abstract', 'A summary that can stand alone', ''],
    ['Why', 'What is the problem here, how large, since when', ''],
    ['Why', 'What is known about it', ''],
    ['Why', 'Why what was done should work', ''],
    ['Why', 'What the project and this report are for', ''],
    ['What was done', 'The setting that mattered', ''],
    ['What was done', 'What was done, so that others can do it, and by whom', actions.join(' ')],
    [
      'What was done',
      'How it was judged whether that led to what was seen',
      `Line of ${periods.length} periods (${first} to ${last}); ${share.rule}.`,
    ],
    [
      'What was done',
      'What was measured, how well, how completely',
      [
        `${share.signLabel}: ${findings.join('; ')}; counted: ${share.counted}.`,
        card,
        background.completeness?.sentence ?? '',
      ]
        .filter((words) => words !== '')
        .join(' '),
    ],
    [
      'What was done',
      'How it was analyzed, and how chance was told from change',
      `Middle line and run rules with intervals by period; ${share.rule}. ${share.notes.map((note) => note.message).join(' ')}`.trim(),
    ],
    ['What was done', 'Ethics: review, consent, conflicts', ''],
    [
      'What was found',
      'What happened over time, with what was not there',
      [
        `${formatCount(assessed)} assessed over ${periods.length} periods.`,
        share.sentence ?? '',
        signals.length === 0 ? 'No signal by the rules.' : `Signals: ${signals.join('; ')}.`,
        CAUTIONS.notAssessedIsNotNormal,
      ]
        .filter((words) => words !== '')
        .join(' ') + small,
    ],
    ['What it means', 'The main finding against the aim', ''],
    [
      'What it means',
      'How else it could be explained: other patients, other assessors, chance',
      CAUTIONS.ratesAreNotPersons,
    ],
    ['What it means', 'What limits it', background.completeness?.notes.map((note) => note.message).join(' ') ?? ''],
    ['What it means', 'Whether it is worth keeping and spreading, and the next step', ''],
    ['Other', 'Who paid', ''],
  ];
  const complete = new Set([
    'How it was judged whether that led to what was seen',
    'What was measured, how well, how completely',
    'How it was analyzed, and how chance was told from change',
  ]);
  return new Table(
    'Reporting of the unit’s project, element by element',
    [
      { key: 'element', label: 'element', kind: 'count' },
      { key: 'part', label: 'part', kind: 'text' },
      { key: 'asks', label: 'what is asked', kind: 'text' },
      { key: 'filled', label: 'from the data', kind: 'text' },
      { key: 'left', label: 'left to you', kind: 'text' },
    ],
    elements.map(([part, asks, filled], at) => ({
      element: at + 1,
      part,
      asks,
      filled,
      left: complete.has(asks) && filled !== '' ? '' : TO_FILL_IN,
    })),
    [
      information(
        'guideline',
        'Elements after SQUIRE 2.0 (Ogrinc and others 2016, doi:10.1136/bmjqs-2015-004411), in our own words.',
      ),
    ],
    share,
  );
}
