import { codebook } from './codebook.js';
import type { Limit, Scale, Sign } from './sign.js';
import { siteOf } from './site.js';

/**
 * The codebook as a page of Markdown, in nurses' words: every sign, where it is looked for, and the wording of its
 * graded scales beside each other; ids in small print. Made from the code, so that page and loader cannot differ.
 */
export function codebookPage(signs: readonly Sign[] = codebook): string {
  return [
    '# Codebook',
    '',
    'What each sign and each grade means, as the library reads them. Grades of two scales are never pooled because their digits match. Limits are what sources state, not rules for care; local policy comes first.',
    '',
    ...signs.flatMap(signSection),
  ].join('\n');
}

function signSection(sign: Sign): string[] {
  const graded = sign.scales.filter((scale) => scale.categories !== undefined);
  const measured = sign.scales.filter((scale) => scale.categories === undefined);
  return [
    `## ${sign.label}`,
    '',
    `${sign.words}. <small>${sign.id}</small>`,
    '',
    `Where: ${whereOf(sign)}.`,
    '',
    ...listOf('How', sign.methods),
    ...listOf('Position', sign.positions),
    ...listOf('Measured from', sign.landmarks),
    ...(graded.length > 0 ? [...wordingTable(graded), ''] : []),
    ...measured.flatMap(measuredLines),
    ...graded.flatMap(footnotes),
    ...sign.notes.map((note) => `- ${note}`),
    '',
  ];
}

function whereOf(sign: Sign): string {
  const sites = [...sign.sites, ...sign.midlineSites].map((id) => siteOf(id).label);
  const sides =
    sign.isPaired === true ? 'both sides together' : sign.limbs.length === 0 ? 'the whole person' : limbWords(sign);
  return sites.length === 0 ? sides : `${sides}; ${sites.join(', ')}`;
}

function limbWords(sign: Sign): string {
  const parts = [...new Set(sign.limbs.map((limb) => (limb.endsWith('arm') ? 'arm' : 'leg')))];
  return `each ${parts.join(' and each ')}`;
}

function listOf(head: string, words: readonly string[] | undefined): string[] {
  return words === undefined ? [] : [`${head}: ${words.join('; ')}.`, ''];
}

/** One column a scale, one line a value; scales that share no value with others still stand beside them. */
function wordingTable(scales: readonly Scale[]): string[] {
  const values = [...new Set(scales.flatMap((scale) => scale.categories?.map(({ value }) => value) ?? []))];
  const ordered = values.sort((a, b) => scoreOf(scales, a) - scoreOf(scales, b));
  return [
    `| | ${scales.map((scale) => `${cell(scale.label)}<br><small>${scale.id}</small>`).join(' | ')} |`,
    `|---|${scales.map(() => '---').join('|')}|`,
    ...ordered.map((value) => `| ${cell(value)} | ${scales.map((scale) => wordsAt(scale, value)).join(' | ')} |`),
  ];
}

function wordsAt(scale: Scale, value: string): string {
  const category = scale.categories?.find((candidate) => candidate.value === value);
  if (category === undefined) return '';
  const words = cell(category.words);
  return scale.normal?.categories?.includes(value) === true ? `**${words}**` : words;
}

function scoreOf(scales: readonly Scale[], value: string): number {
  for (const scale of scales) {
    const category = scale.categories?.find((candidate) => candidate.value === value);
    if (category !== undefined) return category.score;
  }
  return Number.POSITIVE_INFINITY;
}

function measuredLines(scale: Scale): string[] {
  const { range, unit } = scale;
  const bounds = range === undefined ? '' : `, ${range.lowest} to ${range.highest}`;
  return [`Measured in ${unit}${bounds}: ${scale.label}. <small>${scale.id}</small>`, '', ...footnotes(scale)];
}

function footnotes(scale: Scale): string[] {
  const lines = [
    `- ${scale.id}: ${scale.source === scale.evidence ? scale.evidence : `${scale.source} (${scale.evidence})`}.`,
    ...scale.limits.map((one) => `- Limit: ${limitWords(one)}.`),
    ...(scale.notes ?? []).map((note) => `- ${note}`),
  ];
  return [...lines, ''];
}

function limitWords({ words, edition, group, source, evidence }: Limit): string {
  const parts = [words, ...(edition === undefined ? [] : [edition]), ...(group === undefined ? [] : [group])];
  return `${parts.join('; ')} — ${source === evidence ? evidence : `${source}; ${evidence}`}`;
}

function cell(text: string): string {
  return text.replaceAll('|', '\\|');
}
