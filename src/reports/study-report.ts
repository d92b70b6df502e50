import { agreementBySiteChart } from '../charts/agreement-by-site-chart.js';
import { differencesChart } from '../charts/differences-chart.js';
import { habitBarsChart } from '../charts/habit-bars-chart.js';
import { pairwiseAgreementChart } from '../charts/pairwise-agreement-chart.js';
import { whoReadWhatChart } from '../charts/who-read-what-chart.js';
import { TO_FILL_IN } from '../planning/ethics-page.js';
import type { Audience } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { checkIntervalOptions } from '../shared/options.js';
import { type Cell, formatCount, Table, type TableColumn } from '../shared/table.js';
import { planSentences } from '../study/agreement-plan.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { studyForAudience } from '../study/study-for-audience.js';
import { measurementTerms } from './measurement-terms.js';
import { methodsText, type ReportBackground } from './methods-text.js';
import type { Report } from './report-files.js';
import { type CitedFile, part, type ReportPart, type ReportSection, reportPage } from './report-page.js';
import { reportingGuideline } from './reporting-guideline.js';
import { resultSentences } from './result-sentences.js';
import { type NumberedEstimate, numberedEstimates, resultsFile } from './results-file.js';
import { BOTH_WAYS, bothRead, countsFile, pairwise, type SignFigures, studyFigures } from './study-figures.js';

export interface StudyReportOptions extends ReportBackground {
  /** Who will see it. `'own'` holds pairs and habits of assessors under their codes and is not for sharing. Default `'outside'`. */
  readonly audience?: Audience;
  /** Two assessors whose readings are drawn against each other, in one's own copy. */
  readonly pair?: readonly [string, string];
}

/**
 * The report of an agreement study: one self-contained page `report.html`, beside it `results.csv` (every estimate with all its digits) and `counts.csv` (who read what), whose rows the page
 * cites next to every number.
 *
 * The same study and options give the same bytes. Every sentence comes from the study or the plan; what only a person can write is left open and marked.
 *
 * @throws InputError `unknown-choice` (audience), `unknown-assessor` (pair).
 * @example await writeReport(await studyReport(study, { audience: 'own' }), 'my-report')
 */
export async function studyReport(study: AgreementStudy, options: StudyReportOptions = {}): Promise<Report> {
  const { audience = 'outside', pair, ...background } = options;
  const shown = studyForAudience(study, audience);
  const figures = studyFigures(shown, pair);
  const further = figures.flatMap((one) => one.further);
  const results = resultsFile(shown, further);
  const counts = countsFile(shown, figures);
  const from: Source = { study: shown, numbered: numberedEstimates(shown, further), counts, background };
  const cited: CitedFile[] = [
    {
      name: 'results.csv',
      table: results,
      shown: ['id', 'sign', 'where', 'statistic', 'value', 'lower', 'upper', 'targets', 'clusters'],
    },
    ...(counts.rows.length === 0
      ? []
      : [{ name: 'counts.csv', table: counts, shown: ['id', 'sign', 'what', 'one', 'another', 'count'] }]),
  ];
  const title = study.plan.title ?? 'Agreement between assessors';
  const page = await reportPage({
    title,
    lead: [
      'Report of an agreement study: how far assessors agree, and how large a change must be before it is more than a difference between assessors.',
      AUDIENCE_WORDS[audience],
      CAUTIONS.notForCare,
    ],
    sections: sectionsOf(from, figures),
    cited,
  });
  return {
    kind: 'report',
    title,
    files: {
      'report.html': page,
      'results.csv': results.toCsv(),
      ...(counts.rows.length === 0 ? {} : { 'counts.csv': counts.toCsv() }),
    },
  };
}

const AUDIENCE_WORDS: Readonly<Record<Audience, string>> = {
  own: 'For those who made the study: every count is shown and assessors stand under their codes. Not for sharing.',
  inside: 'For people inside the hospital: small numbers and what is about single assessors are left out.',
  outside: 'For anybody: small numbers and what is about single assessors are left out.',
};

interface Source {
  readonly study: AgreementStudy;
  readonly numbered: readonly NumberedEstimate[];
  readonly counts: Table;
  readonly background: ReportBackground;
}

function sectionsOf(from: Source, figures: readonly SignFigures[]): readonly ReportSection[] {
  const { study, background } = from;
  const sentences = resultSentences(study);
  const first = sentences.filter((sentence) => / all together: /.test(sentence.text));
  return [
    {
      title: 'In short',
      parts: [part.list(first.map(({ text }) => text)), part.caution(CAUTIONS.agreementIsNotAccuracy)],
    },
    { title: 'The plan', parts: planParts(from) },
    { title: 'Who read what', parts: figures.flatMap((one) => whoReadWhatParts(from, one)) },
    { title: 'How far do assessors agree?', parts: figures.map((one) => part.table(mainTable(from, one))) },
    { title: 'Where do they agree least?', parts: figures.flatMap((one) => siteChart(from, one)) },
    { title: 'On which grades?', parts: figures.flatMap((one) => gradeParts(from, one)) },
    { title: 'Pair by pair', parts: figures.flatMap((one) => pairParts(from, one)) },
    { title: 'Habits of assessors', parts: figures.flatMap((one) => habitParts(from, one)) },
    { title: 'Differences of measured values', parts: figures.flatMap((one) => differenceParts(from, one)) },
    { title: 'One assessor twice, two assessors', parts: figures.flatMap((one) => twiceParts(from, one)) },
    { title: 'Error of measurement', parts: figures.flatMap((one) => errorParts(from, one)) },
    { title: 'Results in sentences', parts: [part.list(sentences.map(({ text }) => text))] },
    { title: 'Methods in one paragraph', parts: [part.text(methodsText(study, background))] },
    { title: 'Reporting guideline, item by item', parts: [guidelineItems(from)] },
    { title: 'In the terms of measurement', parts: [part.table(measurementTerms(study))] },
    { title: 'Conventions, seed, versions, data', parts: [part.list(conventions(from))] },
    { title: 'Cautions', parts: cautionParts(study) },
  ].filter(({ parts }) => parts.length > 0);
}

/** Methods and results stand in sections of their own, so those two items point there. */
function guidelineItems({ study, background }: Source): ReportPart {
  const { caption, rows, notes } = reportingGuideline(study, background);
  const elsewhere: Readonly<Record<number, string>> = {
    10: 'See “Methods in one paragraph”, the section above.',
    13: 'See “Results in sentences”, the section above.',
  };
  return part.items(
    rows.map(({ item, part: where, asks, filled, left }) => ({
      heading: `${item}. ${where}`,
      asks: String(asks),
      filled: elsewhere[Number(item)] ?? String(filled),
      left: String(left).replace(`${TO_FILL_IN} `, ''),
    })),
    `${caption}. ${notes.map(({ message }) => message).join(' ')}`,
  );
}

function planParts({ study, background }: Source): ReportPart[] {
  const { plan, sampleSize } = background;
  return [
    part.list([
      ...(plan === undefined ? [] : [plan.toString()]),
      ...planSentences(study.plan),
      ...(sampleSize === undefined ? [] : [`Sample size: ${sampleSize}`]),
    ]),
    ...(study.plan.amendments?.length
      ? [part.text('What was amended is computed beside the plan; nothing was replaced.')]
      : [part.text('No amendment: what is here was asked before results were seen, or says otherwise.')]),
  ];
}

function whoReadWhatParts({ counts }: Source, { sign, label, ratings, released, pair }: SignFigures): ReportPart[] {
  if (released === undefined) return [];
  const ofSign = (what: string): string[] =>
    counts.rows.filter((row) => row.sign === sign && row.what === what).map(({ id }) => String(id));
  const own = ofSign(BOTH_WAYS);
  const { columns, rows, notes } = released.table;
  const cited = rows.map((row, at) => ({
    ...row,
    rows: rangeOf(own.slice(at * rows.length, (at + 1) * rows.length)),
  }));
  return [
    part.table(
      new Table(
        `${label}: what one assessor read (down) and another read of the same finding (across); every pair of readings counts both ways`,
        [...columns, ROWS],
        cited,
        notes,
      ),
    ),
    ...(pair === undefined
      ? []
      : [
          part.chart(
            (options) => whoReadWhatChart(ratings, { ...options, assessors: pair.assessors }),
            `Rows ${rangeOf(ofSign(bothRead(pair.assessors)))}`,
          ),
        ]),
  ];
}

/** The study's main table of one sign, each line with its rows of the results file; what is the same in all lines stands in the caption. */
function mainTable({ study, numbered }: Source, { sign, label }: SignFigures): Table {
  const { columns, rows, notes } = study.table;
  const starts = numbered.flatMap(({ role }, at) => (role === 'primary' ? [at] : []));
  const own = rows.flatMap((row, at) => {
    if (study.results[at]!.sign !== sign) return [];
    const cited = [numbered[starts[at]!]!];
    for (let next = starts[at]! + 1; PART_ROLES.includes(numbered[next]?.role ?? 'primary'); next++)
      cited.push(numbered[next]!);
    return [{ ...row, rows: rangeOf(cited.map(({ id }) => id)) } as Record<string, Cell>];
  });
  const isSaid = ({ key }: TableColumn): boolean => own.some((row) => row[key] !== null && row[key] !== '');
  const isSame = ({ key }: TableColumn): boolean => own.every((row) => row[key] === own[0]?.[key]);
  const told = columns.filter(
    (column) =>
      column.key !== 'sign' && isSaid(column) && !(['statistic', 'asked'].includes(column.key) && isSame(column)),
  );
  const statistic = told.some(({ key }) => key === 'statistic') ? [] : [own[0]?.statistic ?? ''];
  return new Table(
    `${[label, ...statistic].join(', ')}: how far do assessors agree, all together and in each group?`,
    [...told, ROWS],
    own,
    notes.filter(({ severity }) => severity === 'caution'),
  );
}

const PART_ROLES: readonly NumberedEstimate['role'][] = ['same grade', 'within one grade', 'error of one reading'];

/** Only sites have places on a body to draw; other groups stand in the main table. */
function siteChart({ study, numbered }: Source, { sign }: SignFigures): ReportPart[] {
  const bySite = study.results.some(
    ({ sign: of, group, asked }) => of === sign && group?.name === 'site' && asked !== 'amended',
  );
  if (!bySite) return [];
  const group = study.by(sign);
  const drawn = [group.pooled, ...group.rows.map(({ estimate }) => estimate)];
  const ids = numbered.filter(({ estimate }) => drawn.includes(estimate)).map(({ id }) => id);
  return [part.chart((options) => agreementBySiteChart(group, options), `Rows ${ids.join(', ')}`)];
}

function gradeParts({ study, numbered }: Source, { sign, label, isGraded }: SignFigures): ReportPart[] {
  if (!isGraded) return [];
  const { table: specific, categories } = study.specificAgreement(sign);
  const rows = specific.rows.map((row, at) => ({ ...row, rows: idsOf(numbered, [categories[at]!.estimate]) }));
  return [part.table(new Table(`${label}. ${specific.caption}`, [...specific.columns, ROWS], rows, specific.notes))];
}

function pairParts({ study, numbered }: Source, { sign, label, ratings, isGraded }: SignFigures): ReportPart[] {
  const own = numbered.filter((one) => one.sign === sign && one.role === 'pair of assessors');
  if (own.length === 0 || !isGraded) return [];
  const agreement = pairwise(study, ratings);
  return [
    part.chart(
      (options) => pairwiseAgreementChart(ratings, agreement, options),
      `Rows ${rangeOf(own.map(({ id }) => id))}`,
    ),
    part.table(estimatesTable(`${label}: every pair of assessors, on the findings both read`, own)),
    part.caution(CAUTIONS.noRanking),
  ];
}

function habitParts({ study, counts }: Source, { sign, ratings, isGraded }: SignFigures): ReportPart[] {
  if (study.audience !== 'own' || !isGraded) return [];
  const own = counts.rows.filter((row) => row.sign === sign && String(row.what).startsWith('findings that all'));
  if (own.every((row) => row.count === '0')) return [];
  return [
    part.chart((options) => habitBarsChart(ratings, options), `Rows ${rangeOf(own.map((row) => String(row.id)))}`),
    part.caution(CAUTIONS.habitsAreNotSkill),
  ];
}

function differenceParts({ numbered }: Source, { sign, label, ratings, limits }: SignFigures): ReportPart[] {
  const own = numbered.filter((one) => one.sign === sign && one.role === 'limits of agreement');
  if (own.length === 0) return [];
  return [
    ...(limits.length > MOST_PANELS
      ? []
      : [
          part.chart(
            (options) => differencesChart(ratings, limits, options),
            `Rows ${rangeOf(own.map(({ id }) => id))}`,
          ),
        ]),
    part.table(estimatesTable(`${label}: mean difference of two assessors and its limits of agreement`, own)),
    part.caution(CAUTIONS.correlationIsNotAgreement),
  ];
}

/** More panels of differences beside each other cannot be read. */
const MOST_PANELS = 3;

function twiceParts({ numbered }: Source, { sign, label }: SignFigures): ReportPart[] {
  const own = numbered.filter((one) => one.sign === sign && one.role === 'within and between');
  if (own.length === 0) return [];
  return [
    part.table(estimatesTable(`${label}: one assessor reading a finding twice, against two assessors`, own)),
    part.text(
      `Where the interval of the difference holds 0, the study leaves open whether one assessor alone agrees more than two do. Both intervals are of one method here (${own[0]!.estimate.interval.method.replace(/ with [\d.]+ degrees of freedom/, '')}), so that of two assessors can differ a little from the main table’s.`,
    ),
  ];
}

function errorParts({ numbered }: Source, { sign, label, ratings, error }: SignFigures): ReportPart[] {
  const own = numbered.filter((one) => one.sign === sign && one.role === 'error of measurement');
  if (error === undefined || own.length === 0) return [];
  const notes = error.notes.filter(({ code }) => code !== 'no-truth').map(({ message }) => part.text(message));
  if (error.kind === 'lengths')
    return [
      part.table(
        estimatesTable(
          `${label}: error of one reading, and the smallest change that is beyond it (${ratings.subject?.unit ?? 'in its unit'})`,
          own,
        ),
      ),
      part.caution(CAUTIONS.smallestChangeIsForOne),
      ...notes,
    ];
  const { smallestDetectableShift: shift } = error.differentAssessor;
  return [
    part.table(
      estimatesTable(
        `${label}: how often two readings of one finding lie so many grades apart or more`,
        own,
        'percent',
      ),
    ),
    part.text(
      shift >= ratings.categories.length
        ? 'Even the whole length of the scale is within the error between two assessors.'
        : `A difference of ${shift} ${shift === 1 ? 'grade' : 'grades'} or more is beyond the error between two assessors: at most ${Math.round(100 * (1 - error.confidenceLevel))} in 100 pairs of readings of one finding differ as much (row ${own.find(({ where, estimate }) => where === 'two assessors' && estimate.options.grades === shift)?.id ?? ''}).`,
    ),
    part.caution(CAUTIONS.oneLimbWithinError),
    ...notes,
  ];
}

function conventions({ study, background }: Source): readonly string[] {
  const { plan } = study;
  const { confidenceLevel, replicates, seed } = checkIntervalOptions(plan);
  return [
    `Seed ${seed}, ${formatCount(replicates)} replicates, ${Math.round(100 * confidenceLevel)} % intervals. The same data, plan, seed and version give the same digits and the same bytes.`,
    `Computed with limb-perfusion ${study.packageVersion}.`,
    `Fingerprint of the data (SHA-256): ${study.fingerprint}. Another fingerprint means other data.`,
    ...(background.planFingerprint === undefined
      ? []
      : [`Fingerprint of the plan’s file (SHA-256): ${background.planFingerprint}.`]),
    'The person is the unit of independence: several findings of one person do not count as several people.',
    'A value that is not defined is said to be so and is never counted as 0 or 1. A percentage is rounded to whole numbers, other values to two decimals; the files have every digit.',
    'Grades are not lengths: none is averaged. Agreement weights are taken on the scores of the scale.',
    'Codes such as R001 name a row of results.csv, codes such as C001 a row of counts.csv; both files lie beside this page, and their rows stand at its end.',
  ];
}

function cautionParts(study: AgreementStudy): ReportPart[] {
  const own = study.notes.filter(({ severity }) => severity === 'caution').map(({ message }) => message);
  const general = [CAUTIONS.notForCare, CAUTIONS.emergency, CAUTIONS.localPolicy];
  const told = study.notes.filter(({ severity }) => severity === 'information').map(({ message }) => message);
  return [
    ...[...new Set([...own, ...general])].map((message) => part.caution(message)),
    ...[...new Set(told)].map((message) => part.text(message)),
  ];
}

const ROWS: TableColumn = { key: 'rows', label: 'row', kind: 'text' };

/** Estimates as a table, each with its row; the same statistic in every row stands in the caption. */
function estimatesTable(
  caption: string,
  own: readonly NumberedEstimate[],
  kind: 'number' | 'percent' = 'number',
): Table {
  const rows = own.map(
    ({ id, where, estimate }): Record<string, Cell> => ({
      where,
      statistic: estimate.statistic,
      value: estimate.value,
      lower: estimate.interval.lower,
      upper: estimate.interval.upper,
      targets: estimate.counts.targets,
      clusters: estimate.counts.clusters,
      rows: id,
    }),
  );
  const level = own[0]?.estimate.interval.level ?? 0.95;
  const methods = new Set(
    own.map(({ estimate }) => estimate.interval.method.replace(/ with [\d.]+ degrees of freedom/, '')),
  );
  return new Table(
    `${caption} (${Math.round(100 * level)} % intervals${methods.size === 1 ? `: ${[...methods][0]}` : ''})`,
    [
      { key: 'where', label: 'whose readings', kind: 'text' },
      { key: 'statistic', label: 'statistic', kind: 'text' },
      { key: 'value', label: 'value', kind },
      { key: 'lower', label: 'from', kind },
      { key: 'upper', label: 'to', kind },
      { key: 'targets', label: 'findings', kind: 'count' },
      { key: 'clusters', label: 'people', kind: 'count' },
      ROWS,
    ],
    rows,
  );
}

function idsOf(numbered: readonly NumberedEstimate[], estimates: readonly unknown[]): string {
  return rangeOf(numbered.filter(({ estimate }) => estimates.includes(estimate)).map(({ id }) => id));
}

/** "R001", or "R001–R003". */
function rangeOf(ids: readonly string[]): string {
  return ids.length < 2 ? (ids[0] ?? '') : `${ids[0]}–${ids.at(-1)}`;
}
