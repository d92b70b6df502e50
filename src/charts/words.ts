import type { Ratings } from '../ratings/ratings.js';
import type { Counts, Interval } from '../shared/estimate.js';
import { formatCount, formatNumber } from '../shared/table.js';

/** "a", "a and b", "a, b and c". */
export function listOf(words: readonly string[]): string {
  if (words.length <= 1) return words[0] ?? '';
  return `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}

/** "1 patient", "38 patients". */
export function countOf(count: number, singular: string, plural = `${singular}s`): string {
  return `${formatCount(count)} ${count === 1 ? singular : plural}`;
}

/** "0.62 (0.50 to 0.71)"; says so where the interval or the value is not defined. */
export function valueWithInterval(value: number, interval: Interval, decimals = 2): string {
  if (Number.isNaN(value)) return 'not defined';
  if (Number.isNaN(interval.lower) || Number.isNaN(interval.upper))
    return `${formatNumber(value, decimals)} (no interval)`;
  return `${formatNumber(value, decimals)} (${formatNumber(interval.lower, decimals)} to ${formatNumber(interval.upper, decimals)})`;
}

/** "95 % intervals (studentized patient bootstrap)". */
export function intervalWords(interval: Interval): string {
  return `${formatNumber(100 * interval.level, 0)} % intervals (${interval.method})`;
}

/** "412 findings, 38 patients, 3 assessors". */
export function countsWords(counts: Counts): string {
  return [
    countOf(counts.targets, 'finding'),
    ...(counts.clusters > 0 ? [countOf(counts.clusters, 'patient')] : []),
    ...(counts.assessors > 0 ? [countOf(counts.assessors, 'assessor')] : []),
  ].join(', ');
}

/** First letter large, the rest untouched. */
export function sentenceCase(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/**
 * Width of a letter as a share of the type size: the mean of Source Sans 3 is 0.41 to 0.43 in running
 * text, so that lines broken by it fit, with room for the wider letters of a machine without the font.
 */
const LETTER_WIDTH = { regular: 0.45, semibold: 0.47 } as const;

/** Pixels a text takes at a type size, on the safe side. */
export function widthOf(text: string, size: number, weight: keyof typeof LETTER_WIDTH = 'regular'): number {
  return text.length * size * LETTER_WIDTH[weight];
}

/** A text broken into lines no wider than `width` pixels at a type size. */
export function linesOf(
  text: string,
  width: number,
  size: number,
  weight: keyof typeof LETTER_WIDTH = 'regular',
): readonly string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && widthOf(`${line} ${word}`, size, weight) > width) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line];
}

/** "Pulse grade, 0 to 4", or plain words where the readings were typed in without a sign. */
export function subjectWords(ratings: Ratings): string {
  return ratings.subject === undefined
    ? 'Readings typed in without a sign'
    : `${ratings.subject.signLabel}, ${ratings.subject.scaleLabel}`;
}
