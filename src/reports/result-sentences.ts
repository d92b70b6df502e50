import type { Estimate } from '../shared/estimate.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { type NumberedEstimate, numberedEstimates } from './results-file.js';

/** One sentence of the results, and the rows of the results file it rests on. */
export interface ResultSentence {
  readonly text: string;
  readonly rows: readonly string[];
}

/**
 * The results in sentences for a paper: each value with its interval, counts and method, cautions in the same sentence, and the rows of the results file in square brackets. No adjective.
 *
 * One sentence a sign and group; then one for the specific agreement of the grades. What was explored or asked for after results says so.
 *
 * @example resultSentences(study)[0].text // 'Pulse strength, all together: Conger kappa, quadratic weights, 0.62 (95 % interval …'
 */
export function resultSentences(study: AgreementStudy): readonly ResultSentence[] {
  const numbered = numberedEstimates(study);
  const sentences: ResultSentence[] = [];
  for (let at = 0; at < numbered.length; ) {
    const first = numbered[at]!;
    let end = at + 1;
    if (first.role === 'specific agreement')
      while (numbered[end]?.role === 'specific agreement' && numbered[end]!.sign === first.sign) end++;
    else while (numbered[end] !== undefined && !['primary', 'specific agreement'].includes(numbered[end]!.role)) end++;
    const group = numbered.slice(at, end);
    sentences.push({ text: sentenceOf(study, group), rows: group.map(({ id }) => id) });
    at = end;
  }
  return sentences;
}

function sentenceOf(study: AgreementStudy, group: readonly NumberedEstimate[]): string {
  const first = group[0]!;
  const label = study.ratings(first.sign).subject?.signLabel ?? first.sign;
  const rows = group.length === 1 ? first.id : `${first.id} to ${group[group.length - 1]!.id}`;
  if (first.role === 'specific agreement')
    return `${label}, given that one assessor read a grade, another read it too: ${group.map(({ estimate }) => `${gradeOf(estimate)}: ${percentWithInterval(estimate)}`).join('; ')} [${rows}].`;
  const { counts, interval } = first.estimate;
  const rest = group
    .slice(1)
    .map(({ role, estimate }) =>
      role === 'error of one reading'
        ? `error of one reading ${withInterval(estimate)}${unitOf(study, first.sign)}`
        : `${role} ${percentWithInterval(estimate)}`,
    );
  const basis = `${formatCount(counts.targets)} findings, ${formatCount(counts.clusters)} people, ${formatCount(counts.assessors)} assessors${counts.excluded > 0 ? `, ${formatCount(counts.excluded)} findings without a second reading left out` : ''}`;
  const cautions = first.estimate.notes.filter((note) => note.severity === 'caution').map((note) => ` ${note.message}`);
  const asked =
    first.asked === 'planned'
      ? ''
      : first.asked === 'explored'
        ? ' (explored, not planned)'
        : ` (${first.asked.replace(/\.$/, '')})`;
  return `${label}, ${first.where}${asked}: ${first.estimate.statistic} ${withInterval(first.estimate)} (${interval.method}; ${basis})${rest.map((words) => `; ${words}`).join('')} [${rows}].${cautions.join('')}`;
}

function gradeOf(estimate: Estimate): string {
  return `grade ${String(estimate.options.category)}`;
}

function unitOf(study: AgreementStudy, sign: string): string {
  const unit = study.ratings(sign).subject?.unit;
  return unit === undefined ? '' : ` ${unit}`;
}

function withInterval({ value, interval }: Estimate): string {
  if (Number.isNaN(value)) return 'not defined';
  return Number.isNaN(interval.lower) || Number.isNaN(interval.upper)
    ? `${formatNumber(value)}, interval not defined`
    : `${formatNumber(value)}, ${formatNumber(100 * interval.level, 0)} % interval ${formatNumber(interval.lower)} to ${formatNumber(interval.upper)}`;
}

function percentWithInterval({ value, interval }: Estimate): string {
  if (Number.isNaN(value)) return 'not defined';
  const percent = (share: number): string => formatNumber(100 * share, 0);
  return Number.isNaN(interval.lower) || Number.isNaN(interval.upper)
    ? `${percent(value)} % (interval not defined)`
    : `${percent(value)} % (${percent(interval.lower)} to ${percent(interval.upper)})`;
}
