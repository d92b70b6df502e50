import { gradesByPeriodChart } from '../charts/grades-by-period-chart.js';
import { shareByPeriodChart } from '../charts/share-by-period-chart.js';
import { TO_FILL_IN } from '../planning/ethics-page.js';
import { type Audience, isMadeFor } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { type Cell, formatNumber, Table } from '../shared/table.js';
import { libraryVersion } from '../shared/versions.js';
import { completenessByPeriod } from '../unit-quality/completeness-by-period.js';
import type { GradesByPeriod, GradesByPeriodResult } from '../unit-quality/grades-by-period.js';
import { gradesForAudience } from '../unit-quality/grades-for-audience.js';
import type { ShareByPeriod, ShareByPeriodResult, ShareSegment } from '../unit-quality/share-by-period.js';
import { shareForAudience } from '../unit-quality/share-for-audience.js';
import { qualityImprovementElements } from './quality-improvement-elements.js';
import type { Report } from './report-files.js';
import { type CitedFile, part, type ReportSection, reportPage } from './report-page.js';

export interface UnitReportOptions {
  readonly title: string;
  /** Who will see it. Default `'outside'`. */
  readonly audience?: Audience;
  /** The definition card of the finding, `unitDefinition(…)`. */
  readonly definition?: Table;
  /** All grades period by period, counted as the share was. For others grades and periods are joined, never across the share's grade. */
  readonly grades?: GradesByPeriodResult;
  /** `assessments.fingerprint()`, so that a reader can tell whether two reports are of the same data. */
  readonly fingerprint: string;
}

/**
 * The report of a unit's line: one self-contained page `report.html` with the definition, the share period by period, what the run rules say, completeness and the elements for reporting a
 * quality project; beside it `results.csv`, whose rows the page cites.
 *
 * What could point at a person is joined or hidden by who will see it (`shareForAudience`, `gradesForAudience`). The grades are never joined across the grade from which the share
 * counts, so that one cannot be taken from the other: a copy for others holds them only where the share names that grade. The same share and options give the same bytes.
 *
 * @throws InputError `unknown-choice`, `grades-of-other-findings` (the grades do not add up to the share).
 * @example await writeReport(await unitReport(share, { title: 'Edema on the ward', fingerprint: assessments.fingerprint() }), 'my-report')
 */
export async function unitReport(share: ShareByPeriodResult, options: UnitReportOptions): Promise<Report> {
  const { title, audience = 'outside' } = options;
  const released = shareForAudience(share, audience);
  const shown: ShareByPeriodResult = { ...share, ...released, ...joinedActions(share, released) };
  const isWhole = shown.segments.every(({ periods }, at) => periods.length === share.segments[at]!.periods.length);
  const results = periodsFile(shown, options.fingerprint);
  const grades = gradesFor(share, options.grades, audience);
  const cited: CitedFile[] = [
    {
      name: 'results.csv',
      table: results,
      shown: ['id', 'period', 'finding', 'count', 'assessed', 'due', 'share', 'lower', 'upper'],
    },
  ];
  if (grades !== undefined) {
    const table = gradesFile(grades);
    cited.push({
      name: 'grades.csv',
      table,
      shown: table.columns.map(({ key }) => key).filter((key) => key !== 'scale'),
    });
  }
  const page = await reportPage({
    title,
    lead: [
      `${share.signLabel}: what share of the assessed ${share.counted} had the finding, period by period, and how many were assessed at all.`,
      AUDIENCE_WORDS[audience],
      CAUTIONS.ratesAreNotPersons,
    ],
    sections: sectionsOf(shown, isWhole, results, grades, options),
    cited,
  });
  const files = Object.fromEntries(cited.map(({ name, table }) => [name, table.toCsv()]));
  return { kind: 'report', title, files: { 'report.html': page, ...files } };
}

/** The grades that a copy for an audience may hold beside the share; none where the share does not say from which grade it counts. */
function gradesFor(
  share: ShareByPeriod,
  grades: GradesByPeriodResult | undefined,
  audience: Audience,
): GradesByPeriodResult | undefined {
  if (grades === undefined || audience === 'own') return grades;
  const { atLeast } = share;
  // What was joined before cannot be held against the other.
  if (atLeast === undefined || isMadeFor(share, 'inside') || isMadeFor(grades, 'inside')) return undefined;
  requireSameFindings(share, grades, atLeast);
  return gradesForAudience(grades, audience, { atLeast });
}

/** Two counts of the same findings give nothing away beside each other; of different ones they may. */
function requireSameFindings(share: ShareByPeriod, grades: GradesByPeriod, atLeast: string): void {
  const counted = share.segments.map(({ periods }) =>
    periods.map(({ label, count, assessed, due }) => [label, count, assessed, due].join()),
  );
  const graded = grades.segments.map(({ values = [], periods }) => {
    const from = values.indexOf(atLeast);
    return periods.map(({ label, counts, notAssessed }) => {
      const sum = (list: readonly number[]): number => list.reduce((total, count) => total + count, 0);
      const assessed = sum(counts ?? []);
      return [label, from < 0 ? '' : sum((counts ?? []).slice(from)), assessed, assessed + notAssessed].join();
    });
  });
  if (JSON.stringify(counted) === JSON.stringify(graded)) return;
  throw refuse(
    'grades-of-other-findings',
    ['options', 'grades'],
    'The grades do not add up to the share, period by period; beside each other they could give away small numbers.',
    'make both from the same assessments with the same options, or leave the grades out.',
  );
}

/** What was begun stands at the joined period that holds its own. */
function joinedActions(share: ShareByPeriod, released: ShareByPeriod): Pick<ShareByPeriod, 'actions'> {
  if (share.actions === undefined) return {};
  const labels = share.segments.flatMap(({ periods }) => periods.map(({ label }) => label));
  const joined = released.segments.flatMap(({ periods }) => periods.map(({ label }) => label));
  const holds = (period: string, label: string): boolean => {
    const [from = '', to = from] = period.split('–');
    const at = labels.indexOf(label);
    return at >= labels.indexOf(from) && at <= labels.indexOf(to);
  };
  return {
    actions: share.actions.map(({ label, words }) => ({
      label: joined.find((period) => holds(period, label)) ?? label,
      words,
    })),
  };
}

const AUDIENCE_WORDS: Readonly<Record<Audience, string>> = {
  own: 'For one’s own eyes: every count is shown. Not for sharing.',
  inside: 'For people inside the hospital: a period with fewer than five assessed is hidden.',
  outside: 'For anybody: periods in which a count is below five are joined with their neighbors, or hidden.',
};

function sectionsOf(
  share: ShareByPeriodResult,
  isWhole: boolean,
  results: Table,
  grades: GradesByPeriodResult | undefined,
  { definition, fingerprint }: UnitReportOptions,
): readonly ReportSection[] {
  const completeness = completenessByPeriod(share);
  // The definition has a section of its own and is not repeated.
  const elements = qualityImprovementElements(share, { completeness });
  const range = `Rows ${rangeOf(results)}`;
  const rules = share.segments.map(({ scaleLabel, periods }, at) =>
    isWhole
      ? `Periods ${periods[0]!.label} to ${periods.at(-1)!.label} (${scaleLabel}): ${share.runCharts[at]!.sentence}`
      : `${scaleLabel}: periods were joined for this copy, and the rules are for single periods; what they say stands in the unit’s own copy.`,
  );
  return [
    {
      title: 'In short',
      parts: [
        part.text(shortSentence(share, isWhole, results)),
        ...(completeness.sentence === undefined ? [] : [part.text(completeness.sentence)]),
        part.caution(CAUTIONS.notAssessedIsNotNormal),
      ],
    },
    { title: 'What is counted', parts: definition === undefined ? [] : [part.table(withHeadings(definition))] },
    {
      title: 'What was found, period by period',
      parts:
        grades === undefined
          ? []
          : [
              part.chart((options) => gradesByPeriodChart(grades, options), `Rows ${rangeOf(gradesFile(grades))}`),
              ...grades.notes.filter(({ code }) => JOINED.has(code)).map(({ message }) => part.text(message)),
            ],
    },
    {
      title: 'What share reached the grade',
      parts: [
        part.chart(
          (options) => shareByPeriodChart(share, isWhole ? { ...options, runs: share.runCharts } : options),
          range,
        ),
        ...share.segments.map((segment, at) => part.table(shareTable(share, results, segment, at))),
        ...(isWhole
          ? []
          : [
              part.text('A joined period has no interval: one who was there in two of its periods counts twice in it.'),
            ]),
      ],
    },
    {
      title: 'What the rules say',
      parts: [
        part.list(rules),
        ...share.notes.map(({ message, severity }) =>
          severity === 'caution' ? part.caution(message) : part.text(message),
        ),
      ],
    },
    {
      title: 'Who was not assessed',
      parts: [
        part.table(completenessTable(share, results)),
        ...completeness.notes.map(({ message }) => part.text(message)),
      ],
    },
    {
      title: 'Reporting a quality project, element by element',
      parts: [
        part.items(
          elements.rows.map(({ element, part: where, asks, filled, left }) => ({
            heading: `${element}. ${where}`,
            asks: String(asks),
            filled: `${String(filled)}${MEASURED.test(String(asks)) && definition !== undefined ? ' See “What is counted”.' : ''}`,
            left: left === TO_FILL_IN ? (filled === '' ? 'to be written' : 'to be completed') : String(left),
          })),
          elements.notes.map(({ message }) => message).join(' '),
        ),
      ],
    },
    {
      title: 'Conventions, versions, data',
      parts: [
        part.list([
          `${share.rule}. Each of the ${share.counted} counts once in a period.`,
          'Intervals of a share are Wilson’s, for chance alone. Scales are not joined: where the scale changes, a new line begins.',
          `Computed with limb-perfusion ${libraryVersion()}; nothing here is drawn at random, so there is no seed.`,
          `Fingerprint of the data (SHA-256): ${fingerprint}. Another fingerprint means other data.`,
          'Codes such as U001 name a row of results.csv beside this page; the rows stand at its end.',
        ]),
      ],
    },
    {
      title: 'Cautions',
      parts: [
        CAUTIONS.ratesAreNotPersons,
        CAUTIONS.notAssessedIsNotNormal,
        CAUTIONS.edemaHasManyCauses,
        CAUTIONS.notForCare,
        CAUTIONS.localPolicy,
      ].map(part.caution),
    },
  ].filter(({ parts }) => parts.length > 0);
}

/** Every period as a row with all digits; a hidden count is empty, and so is what follows from it. */
function periodsFile(share: ShareByPeriodResult, fingerprint: string): Table {
  const rows = share.segments.flatMap(({ finding, scaleLabel, periods }) =>
    periods.map(({ label, count, assessed, due, interval, signal }): Record<string, Cell> => {
      const isShown = count !== null;
      return {
        period: label,
        scale: scaleLabel,
        finding,
        count,
        assessed: isShown ? assessed : null,
        due,
        share: isShown && assessed > 0 ? count / assessed : null,
        lower: isShown ? (interval?.lower ?? null) : null,
        upper: isShown ? (interval?.upper ?? null) : null,
        completeness: isShown && due > 0 ? assessed / due : null,
        atLeast: isShown && due > 0 ? count / due : null,
        atMost: isShown && due > 0 ? (count + due - assessed) / due : null,
        signal: signal ?? '',
        data: fingerprint,
        version: libraryVersion(),
      };
    }),
  );
  const kinds = {
    count: 'count',
    assessed: 'count',
    due: 'count',
    share: 'percent',
    lower: 'percent',
    upper: 'percent',
    completeness: 'percent',
    atLeast: 'percent',
    atMost: 'percent',
  } as const;
  const keys = [
    'id',
    'period',
    'scale',
    'finding',
    'count',
    'assessed',
    'due',
    'share',
    'lower',
    'upper',
    'completeness',
    'atLeast',
    'atMost',
    'signal',
    'data',
    'version',
  ];
  return new Table(
    `${share.signLabel}, every period.`,
    keys.map((key) => ({ key, label: key, kind: kinds[key as keyof typeof kinds] ?? 'text' })),
    rows.map((row, at) => ({ id: `U${String(at + 1).padStart(3, '0')}`, ...row })),
  );
}

/** The scale is in the caption: what lies before and after a change of scale is not one table. */
function shareTable(
  { signLabel, counted, segments }: ShareByPeriodResult,
  { rows }: Table,
  { scaleLabel, finding, periods }: ShareSegment,
  at: number,
): Table {
  const before = segments.slice(0, at).reduce((sum, segment) => sum + segment.periods.length, 0);
  return new Table(
    `${signLabel}, ${scaleLabel}: what share of the assessed ${counted} had ${finding}, with the interval of chance?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'count', label: finding, kind: 'count' },
      { key: 'assessed', label: 'assessed', kind: 'count' },
      { key: 'share', label: 'share', kind: 'percent' },
      { key: 'lower', label: 'from', kind: 'percent' },
      { key: 'upper', label: 'to', kind: 'percent' },
      ROW,
    ],
    rows.slice(before, before + periods.length),
  );
}

/** What the newest rule says, and the last period's counts with their row. */
function shortSentence(share: ShareByPeriodResult, isWhole: boolean, { rows }: Table): string {
  const rule = share.sentence ?? (isWhole ? share.runCharts.at(-1)?.sentence : undefined) ?? '';
  const last = rows.at(-1);
  const counts =
    last === undefined
      ? ''
      : typeof last.count !== 'number'
        ? `Last period, ${last.period}: too few to show [${last.id}].`
        : `Last period, ${last.period}: ${last.count} of ${last.assessed} ${share.counted} assessed had ${last.finding} (${formatNumber(100 * Number(last.share), 0)} %); ${last.assessed} of ${last.due} were assessed [${last.id}].`;
  return `${rule === '' || /[.!?]$/.test(rule) ? rule : `${rule}.`} ${counts}`.trim();
}

/** The counts of every grade as rows of a file. */
function gradesFile({ table }: GradesByPeriodResult): Table {
  return new Table(
    table.caption,
    [{ key: 'id', label: 'id', kind: 'text' }, ...table.columns],
    table.rows.map((row, at) => ({ id: `G${String(at + 1).padStart(3, '0')}`, ...row })),
  );
}

/** The card has no headings of its own; a table that is read aloud needs them. */
function withHeadings({ caption, columns, rows, notes }: Table): Table {
  const named = columns.map((column, at) =>
    column.label === '' ? { ...column, label: at === 0 ? 'part' : 'what it says' } : column,
  );
  return new Table(caption, named, rows, notes);
}

function rangeOf({ rows }: Table): string {
  return `${rows[0]?.id ?? ''}–${rows.at(-1)?.id ?? ''}`;
}

/** What was done to the grades for this copy. */
const JOINED = new Set(['grades-joined', 'periods-joined', 'periods-hidden']);

const MEASURED = /^What was measured/;

function completenessTable({ signLabel, counted }: ShareByPeriodResult, { rows }: Table): Table {
  return new Table(
    `${signLabel}: how many of the ${counted} were assessed, and what does it leave open?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'assessed', label: 'assessed', kind: 'count' },
      { key: 'due', label: 'in all', kind: 'count' },
      { key: 'completeness', label: 'share assessed', kind: 'percent' },
      { key: 'atLeast', label: 'share of all, at least', kind: 'percent' },
      { key: 'atMost', label: 'at most', kind: 'percent' },
      ROW,
    ],
    rows,
  );
}

const ROW = { key: 'id', label: 'row', kind: 'text' } as const;
