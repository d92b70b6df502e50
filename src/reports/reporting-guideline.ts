import { TO_FILL_IN } from '../planning/ethics-page.js';
import { ACTS } from '../planning/order-of-acts.js';
import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import type { Estimate } from '../shared/estimate.js';
import { information } from '../shared/note.js';
import { formatCount, formatNumber, Table } from '../shared/table.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { methodsText, type ReportBackground, windowWords } from './methods-text.js';
import { resultSentences } from './result-sentences.js';
import { type NumberedEstimate, numberedEstimates } from './results-file.js';
import { gradeCounts } from './study-figures.js';

/** One item of the guideline: what it asks, in our words, and what the study can say. */
interface Item {
  readonly asks: string;
  /** What the study and the plan say; empty where they say nothing. */
  readonly filled: string;
  /** What only a person can write; empty where nothing is left. */
  readonly open: string;
}

/**
 * The fifteen items for reporting studies of reliability and agreement, filled from the study and its plan. What only a person can write is left open and marked `[to fill in]`.
 *
 * Columns: number, part of the paper, what the item asks (in our words), what is filled in, what is left, and `state`: filled, partly, open. Numbers carry the rows of the results
 * file in square brackets.
 *
 * @example reportingGuideline(study, { plan }).rows.length // 15
 * Source: Kottner J and others. J Clin Epidemiol 2011;64:96–106, doi:10.1016/j.jclinepi.2010.03.002.
 */
export function reportingGuideline(study: AgreementStudy, background: ReportBackground = {}): Table {
  const items = itemsOf(study, background);
  const rows = items.map(({ asks, filled, open }, at) => ({
    item: at + 1,
    part: PARTS.find(([from]) => from <= at + 1)![1],
    asks,
    filled,
    left: open === '' ? '' : `${TO_FILL_IN} ${open}`,
    state: open === '' ? 'filled' : filled === '' ? 'open' : 'partly',
  }));
  const count = (state: string): number => rows.filter((row) => row.state === state).length;
  return new Table(
    `Reporting of the study, item by item: ${count('filled')} filled, ${count('partly')} in part, ${count('open')} left to you`,
    [
      { key: 'item', label: 'item', kind: 'count' },
      { key: 'part', label: 'part', kind: 'text' },
      { key: 'asks', label: 'what is asked', kind: 'text' },
      { key: 'filled', label: 'from the study', kind: 'text' },
      { key: 'left', label: 'left to you', kind: 'text' },
      { key: 'state', label: 'state', kind: 'text' },
    ],
    rows,
    [
      information(
        'guideline',
        'Items after Kottner and others, J Clin Epidemiol 2011;64:96–106, doi:10.1016/j.jclinepi.2010.03.002, in our own words.',
      ),
    ],
    study,
  );
}

/** Parts of a paper from the last to the first, by the item they begin with. */
const PARTS: readonly (readonly [from: number, part: string])[] = [
  [15, 'Auxiliary material'],
  [14, 'Discussion'],
  [11, 'Results'],
  [6, 'Methods'],
  [2, 'Introduction'],
  [1, 'Title and abstract'],
];

function itemsOf(study: AgreementStudy, { plan: design, sampleSize }: ReportBackground): readonly Item[] {
  const { plan } = study;
  const signs = plan.signs.map((sign) => ({ sign, ratings: study.ratings(sign) }));
  const notes = (...codes: string[]): string =>
    [...new Set(study.notes.filter((note) => codes.includes(note.code)).map((note) => note.message))].join(' ');
  const sentences = resultSentences(study);
  const main = study.results.filter((result) => result.group === undefined && result.asked === 'planned');
  const numbered = numberedEstimates(study);
  return [
    {
      asks: 'Does the title or abstract say that agreement or reliability was studied?',
      filled: plan.title === undefined ? '' : `Title of the plan: ${plan.title}.`,
      open: 'Say agreement or reliability, and between whom, in the title or abstract.',
    },
    {
      asks: 'Which measure was studied, exactly?',
      filled: signs
        .map(({ ratings }) => {
          const subject = ratings.subject!;
          const values =
            ratings.level === 'interval' || ratings.level === 'ratio'
              ? `in ${subject.unit ?? 'its unit'}`
              : ratings.categories.map(({ value, words }) => `${value} ${words}`).join('; ');
          return `${subject.signLabel}, ${subject.scaleLabel} (${subject.scale}): ${values}.`;
        })
        .join(' '),
      open: '',
    },
    {
      asks: 'Which people is the study about?',
      filled: signs.map(({ sign, ratings }) => `${labelOf(ratings)}: ${countsWords(numbered, sign)}.`).join(' '),
      open: 'Which people they stand for: where they came from, their conditions, age and skin tone, who was not taken.',
    },
    {
      asks: 'Which assessors do those of the study stand for?',
      filled: `${Math.max(...signs.map(({ ratings }) => ratings.assessors.length))} assessors under codes. The intervals take these assessors as they are.`,
      open: 'Which assessors they stand for: their profession, years of experience and training with this scale.',
    },
    {
      asks: 'What is known already, and why was this study needed?',
      filled: notes('published', 'outside-published'),
      open: 'Earlier figures and the reason for the study.',
    },
    {
      asks: 'How was the number of people, assessors and repeat readings chosen?',
      filled: [
        ...(design === undefined
          ? []
          : [
              `Planned: ${design.design.patients} people, ${design.findings.length} findings each, ${design.design.assessors.length} assessors, each reading ${design.design.replicates === 2 ? 'twice' : 'once'}${design.design.occasions > 1 ? ` on each of ${design.design.occasions} occasions` : ''}.`,
            ]),
        ...(sampleSize === undefined ? [] : [sampleSize]),
      ].join(' '),
      open: sampleSize === undefined ? 'How the number was set, before the study.' : '',
    },
    {
      asks: 'How were people and assessors chosen?',
      filled: '',
      open: 'In a row, at random or by invitation; who refused; how assessors were asked.',
    },
    {
      asks: 'How was read: how long apart, knowing what, in which order?',
      filled: [
        ...(design === undefined
          ? []
          : [
              `Planned: a balanced random order of assessors (Latin squares, seed ${design.design.seed}), ${design.design.restMinutes} minutes of rest in between.`,
              ...ACTS.filter((_, at) => design.findings.some((finding) => finding.act === at)).map(
                (act) => `${act.label}: ${act.instruction}`,
              ),
            ]),
        `Readings compared were made ${windowWords(plan.window)}.`,
        notes('order-effect'),
      ]
        .filter((words) => words !== '')
        .join(' '),
      open: 'What assessors knew of the person and of earlier grades; how it was kept from them; what was changed from the plan.',
    },
    {
      asks: 'Were readings independent of each other?',
      filled: [
        design === undefined ? '' : 'Planned: one assessor with the person, the others out of earshot.',
        notes('identical-columns') ||
          'In the data no two assessors wrote the same on all findings they share, as copied readings would.',
      ]
        .filter((words) => words !== '')
        .join(' '),
      open: 'Whether assessors stayed apart, and saw and heard nothing of each other’s readings.',
    },
    { asks: 'How was it analyzed?', filled: methodsText(study), open: '' },
    {
      asks: 'How many people, assessors and repeat readings were there in the end?',
      filled: signs
        .map(({ sign, ratings }) => {
          const repeats =
            ratings.repeats.length === 0
              ? 'no repeat readings by the same assessor'
              : `${formatCount(ratings.repeats.length)} repeat readings by the same assessor`;
          const found = ratings.notes.map((note) => ` ${note.message}`).join('');
          return `${labelOf(ratings)}: ${countsWords(numbered, sign)}, ${repeats}.${found}`;
        })
        .concat(
          design === undefined
            ? []
            : [
                `Planned were ${formatCount(design.effort.readings)} readings of all signs, without gaps.`,
                ...(design.design.replicates === 1 && signs.some(({ ratings }) => ratings.repeats.length > 0)
                  ? ['Repeat readings were not in the plan.']
                  : []),
              ],
        )
        .join(' '),
      open: '',
    },
    {
      asks: 'What are the assessors and the people like?',
      filled: signs
        .filter(({ ratings }) => ratings.level !== 'interval' && ratings.level !== 'ratio')
        .map(({ sign, ratings }) => `${labelOf(ratings)}, share of all readings: ${gradeShares(study, sign)}.`)
        .join(' '),
      open: 'Experience of the assessors; age, conditions and severity of the people. Merge what fewer than five people share.',
    },
    {
      asks: 'What are the estimates, with how uncertain they are?',
      filled: sentences.map(({ text }) => text).join(' '),
      open: '',
    },
    {
      asks: 'What does it mean in practice?',
      filled: main
        .map((result) => {
          const label = study.ratings(result.sign).subject!.signLabel;
          if (result.standardErrorOfMeasurement !== undefined) {
            const { value } = result.standardErrorOfMeasurement;
            const reach = formatNumber(normal.quantile(0.975) * Math.SQRT2 * value);
            return `${label}: readings of one finding by two assessors lie within ${reach} ${study.ratings(result.sign).subject!.unit ?? ''} of each other in 95 % of pairs, if errors are normal (1.96 · √2 · the error of one reading [${idOf(numbered, result.standardErrorOfMeasurement)}]).`;
          }
          return result.withinOneGrade === undefined
            ? ''
            : `${label}: two assessors read the same grade in ${formatNumber(100 * result.exact!.value, 0)} %, at most one grade apart in ${formatNumber(100 * result.withinOneGrade.value, 0)} % of pairs [${idOf(numbered, result.exact!)}, ${idOf(numbered, result.withinOneGrade)}].`;
        })
        .filter((words) => words !== '')
        .join(' '),
      open: 'What follows for those who use the sign, against the change they look for.',
    },
    {
      asks: 'Where are the details?',
      filled: `Results file of ${numbered.length} rows (${numbered[0]?.id ?? ''} to ${numbered[numbered.length - 1]?.id ?? ''}); data fingerprint ${study.fingerprint}; limb-perfusion ${study.packageVersion}.`,
      open: 'Where the file can be had, and whether the full table of who read what is released.',
    },
  ];
}

/** Share of each grade among all readings, with the rows of the file of counts; grades that nobody used are named too. */
function gradeShares(study: AgreementStudy, sign: string): string {
  const ratings = study.ratings(sign);
  const words = new Map(ratings.categories.map((category) => [String(category.value), category.words]));
  return gradeCounts(study)
    .filter((row) => row.sign === sign)
    .map(({ id, grade, count }) => {
      const name = words.has(grade) ? `${words.get(grade)} (${grade})` : `grades ${grade}`;
      return `${name} ${count === null ? 'too few to show' : `${formatNumber((100 * count) / ratings.readings, 0)} %`} [${id}]`;
    })
    .join('; ');
}

/** "556 findings with two readings or more, 4 without, 40 people, 4 assessors, 1,941 readings [R001]". */
function countsWords(numbered: readonly NumberedEstimate[], sign: string): string {
  const { id, estimate } = numbered.find((one) => one.sign === sign)!;
  const { targets, clusters, assessors, ratings, excluded } = estimate.counts;
  return `${formatCount(clusters)} people, ${assessors} assessors, ${formatCount(targets)} findings with two readings or more and ${formatCount(excluded)} without, ${formatCount(ratings)} readings [${id}]`;
}

function idOf(numbered: readonly NumberedEstimate[], estimate: Estimate): string {
  return numbered.find((one) => one.estimate === estimate)?.id ?? '';
}

function labelOf(ratings: Ratings): string {
  return ratings.subject!.signLabel;
}
