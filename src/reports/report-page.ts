import { createHash } from 'node:crypto';
import type { Chart } from '../charts/chart.js';
import { compiledSpec, fontFaces, renderSvg } from '../charts/render.js';
import { tableHtml } from '../charts/table-html.js';
import { type ChartOptions, FONTS, type Theme, themeOf } from '../charts/theme.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { Table } from '../shared/table.js';
import { htmlText } from './html-page.js';
import { type PackageLicense, pageRuntime } from './page-runtime.js';

/** What a section of a report holds, in its order. */
export type ReportPart =
  /** A paragraph; a caution stands out. */
  | { readonly kind: 'text'; readonly text: string; readonly isCaution?: boolean }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  /** Things asked for one by one, with what is known and what is left to a person. */
  | { readonly kind: 'items'; readonly items: readonly ReportItem[]; readonly note: string }
  | { readonly kind: 'table'; readonly table: Table }
  /** A chart, asked for once on light and once on dark paper, and the rows of the results file it draws. */
  | { readonly kind: 'chart'; readonly chart: (options: ChartOptions) => Chart; readonly rows: string };

export interface ReportItem {
  readonly heading: string;
  readonly asks: string;
  readonly filled: string;
  /** Empty where nothing is left open. */
  readonly left: string;
}

export interface ReportSection {
  readonly title: string;
  readonly parts: readonly ReportPart[];
}

/** The parts of a section, each from what it shows. */
export const part = {
  text: (text: string): ReportPart => ({ kind: 'text', text }),
  caution: (text: string): ReportPart => ({ kind: 'text', text, isCaution: true }),
  list: (items: readonly string[]): ReportPart => ({ kind: 'list', items }),
  items: (items: readonly ReportItem[], note: string): ReportPart => ({ kind: 'items', items, note }),
  table: (table: Table): ReportPart => ({ kind: 'table', table }),
  chart: (chart: (options: ChartOptions) => Chart, rows: string): ReportPart => ({ kind: 'chart', chart, rows }),
} as const;

/** A file beside the page whose rows the page cites by their `id`. */
export interface CitedFile {
  readonly name: string;
  readonly table: Table;
  /** The columns that the page shows of each row; the file has all of them. */
  readonly shown: readonly string[];
}

export interface ReportPageFields {
  readonly title: string;
  /** What it is and for whom, under the title. */
  readonly lead: readonly string[];
  readonly sections: readonly ReportSection[];
  readonly cited: readonly CitedFile[];
}

/**
 * A report as one HTML page that needs nothing outside itself: contents, charts that answer to a pointer over a still picture of the same, tables that a screen reader can walk, and at
 * the end every row that is cited, and the licenses of what the page carries. It reads on light and dark screens and on paper.
 *
 * Nothing in it comes from a clock or from chance: the same fields give the same bytes. A policy in its head forbids every request.
 */
export async function reportPage(fields: ReportPageFields): Promise<string> {
  const ids = new Set(fields.cited.flatMap(({ table }) => table.rows.map((row) => String(row.id))));
  const specs: object[] = [];
  const sections: { readonly id: string; readonly title: string; readonly html: string }[] = [];
  for (const [at, section] of fields.sections.entries()) {
    const parts: string[] = [];
    for (const one of section.parts) parts.push(await partHtml(one, specs, ids));
    sections.push({ id: `part-${at + 1}`, title: section.title, html: parts.join('\n') });
  }
  for (const [at, file] of fields.cited.entries())
    sections.push({ id: `rows-${at + 1}`, title: `Rows of ${file.name}`, html: citedHtml(file) });
  const runtime = await pageRuntime();
  sections.push({ id: 'licenses', title: 'What this page carries', html: licensesHtml(runtime.licenses) });
  const script = specs.length === 0 ? '' : `\n${runtime.script.replaceAll('</script', '<\\/script')}\n`;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src '${hashOf(script)}'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex, nofollow">
<meta name="color-scheme" content="light dark">
<title>${htmlText(fields.title)}</title>
<link rel="icon" href="data:,">
<style>
${await fontFaces()}
${STYLE}</style>
</head>
<body>
<a class="skip" href="#${sections[0]?.id ?? ''}">To the text</a>
<header>
<h1>${htmlText(fields.title)}</h1>
${fields.lead.map((line) => `<p>${htmlText(line)}</p>`).join('\n')}
</header>
<nav aria-label="Contents">
<h2>Contents</h2>
<ol>
${sections.map(({ id, title }) => `<li><a href="#${id}">${htmlText(title)}</a></li>`).join('\n')}
</ol>
</nav>
<main>
${sections.map(({ id, title, html }) => `<section id="${id}" aria-labelledby="${id}-title">\n<h2 id="${id}-title">${htmlText(title)}</h2>\n${html}\n</section>`).join('\n')}
</main>
<div id="mark-words" role="status" hidden></div>
<script type="application/json" id="charts">${JSON.stringify(specs).replaceAll('<', '\\u003c')}</script>
<script>${script}</script>
</body>
</html>
`;
}

async function partHtml(one: ReportPart, specs: object[], ids: ReadonlySet<string>): Promise<string> {
  if (one.kind === 'table') return linked(tableHtml(unmarked(one.table)), ids);
  if (one.kind === 'items')
    return linked([...one.items.map(itemHtml), `<p class="small">${htmlText(one.note)}</p>`].join('\n'), ids);
  if (one.kind === 'list')
    return linked(`<ul>\n${one.items.map((item) => `<li>${htmlText(item)}</li>`).join('\n')}\n</ul>`, ids);
  if (one.kind === 'text') {
    const caution = one.isCaution === true ? ' class="caution"' : '';
    return linked(`<p${caution}>${htmlText(one.text)}</p>`, ids);
  }
  const [light, dark] = [one.chart({ theme: 'light' }), one.chart({ theme: 'dark' })];
  const at = specs.push({ light: await compiledSpec(light), dark: await compiledSpec(dark) }) - 1;
  return `<figure data-chart="${at}">
<div class="still light">${await renderSvg(light)}</div>
<div class="still dark">${await renderSvg(dark)}</div>
<div class="live"></div>
<figcaption>${linked(`<span>${htmlText(one.rows)}</span>`, ids)}
<details><summary>The picture in words</summary><p>${htmlText(light.description)}</p></details></figcaption>
</figure>`;
}

/** A table without whom it was made for under it: the page says so once, at its head. */
function unmarked({ caption, columns, rows, notes }: Table): Table {
  return new Table(caption, columns, rows, notes, ABOUT_NOBODY);
}

function itemHtml({ heading, asks, filled, left }: ReportItem): string {
  return [
    `<h3>${htmlText(heading)}</h3>`,
    `<p class="asked">${htmlText(asks)}</p>`,
    ...(filled === '' ? [] : [`<p>${htmlText(filled)}</p>`]),
    ...(left === '' ? [] : [`<p class="left"><strong>Left open for a person:</strong> ${htmlText(left)}</p>`]),
  ].join('\n');
}

/** Ids of cited rows become links to them; only in text, never inside a tag. */
function linked(html: string, ids: ReadonlySet<string>): string {
  return html.replace(/>[^<]+</g, (text) =>
    text.replace(/\b[A-Z]\d{3,}\b/g, (id) => (ids.has(id) ? `<a class="row" href="#${id}">${id}</a>` : id)),
  );
}

function citedHtml({ name, table, shown }: CitedFile): string {
  const columns = shown.map((key) => table.columns.find((column) => column.key === key)!);
  const small = new Table(
    `${table.caption.replace(/[.?]?$/, '.')} The file ${name} beside this page has every digit.`,
    columns,
    table.rows,
  );
  let at = 0;
  return `<div class="cited">${tableHtml(unmarked(small)).replace(/<tr><th scope="row"/g, (row) => row.replace('<tr>', `<tr id="${String(table.rows[at++]!.id)}">`))}</div>`;
}

function licensesHtml(licenses: readonly PackageLicense[]): string {
  return [
    '<p>The charts are drawn by the packages below, which stand inside this page; their licenses ask to be kept with them.</p>',
    ...licenses.map(
      ({ packages, text }) =>
        `<details class="license"><summary>${htmlText(packages.join(', '))}</summary><pre>${htmlText(text)}</pre></details>`,
    ),
  ].join('\n');
}

function hashOf(script: string): string {
  return `sha256-${createHash('sha256').update(script).digest('base64')}`;
}

function variables(theme: Theme): string {
  const { ink, muted, hairline, paper, wash, caution } = theme;
  return `--ink: ${ink}; --muted: ${muted}; --hairline: ${hairline}; --paper: ${paper}; --wash: ${wash}; --caution: ${caution};`;
}

const STYLE = `
:root { color-scheme: light dark; ${variables(themeOf({ theme: 'light' }))} }
body { font: 16px/1.55 ${FONTS.replaceAll('"', "'")}; color: var(--ink); background: var(--paper); max-width: 820px; margin: 2em auto; padding: 0 16px; }
h1 { font-size: 1.6em; line-height: 1.25; margin: 0 0 0.4em; }
h2 { font-size: 1.25em; line-height: 1.3; margin: 2.2em 0 0.5em; }
header p { margin: 0.3em 0; color: var(--muted); }
nav h2 { font-size: 1em; margin: 1.4em 0 0.2em; }
nav ol { columns: 2; margin: 0; padding-left: 1.6em; }
a { color: inherit; text-decoration-color: var(--muted); text-underline-offset: 2px; }
a:focus-visible, summary:focus-visible { outline: 2px solid var(--caution); outline-offset: 2px; }
a.row { font-size: 0.85em; font-variant-numeric: tabular-nums; white-space: nowrap; }
.skip { position: absolute; left: -100vw; } .skip:focus { left: 1em; background: var(--paper); }
.caution { border-left: 3px solid var(--caution); padding-left: 0.75em; }
h3 { font-size: 1em; margin: 1.4em 0 0; }
.asked { margin: 0; color: var(--muted); } .asked + p { margin-top: 0.3em; }
.left { border-left: 3px dotted var(--muted); padding-left: 0.75em; }
.small { font-size: 0.9em; color: var(--muted); }
main p, main li { overflow-wrap: break-word; }
.limb-perfusion-table { font-size: 0.92em; }
.cited { font-size: 0.85em; }
tr:target { background: var(--wash); outline: 2px solid var(--caution); }
figure { margin: 1.2em 0 1.6em; }
figure svg { max-width: 100%; height: auto; display: block; }
figcaption { color: var(--muted); font-size: 0.9em; }
.still.dark, .drawn .still, .live { display: none; } .drawn .live { display: block; }
summary { cursor: pointer; }
pre { white-space: pre-wrap; font: 12px/1.4 ui-monospace, Consolas, monospace; }
#mark-words { position: fixed; z-index: 1; max-width: 22em; padding: 6px 10px; background: var(--ink); color: var(--paper); border-radius: 3px; font-size: 14px; line-height: 1.35; pointer-events: none; }
@media screen and (prefers-color-scheme: dark) {
  :root { ${variables(themeOf({ theme: 'dark' }))} }
  .still.light { display: none; } .still.dark { display: block; } .drawn .still.dark { display: none; }
}
@media print {
  @page { size: A4; margin: 15mm; }
  :root { color-scheme: light; }
  body { max-width: none; margin: 0; padding: 0; font-size: 10.5pt; }
  nav ol { columns: 2; }
  h2, h3, .asked, caption { break-after: avoid; }
  tr, figure, .caution { break-inside: avoid; }
  .skip, #mark-words, .live, .drawn .live, .still.dark, .license pre { display: none; }
  .still.light, .drawn .still.light { display: block; }
  .limb-perfusion-table { overflow: visible !important; font-size: 8.5pt; break-inside: avoid; }
  .cited .limb-perfusion-table { break-inside: auto; }
  .limb-perfusion-table th, .limb-perfusion-table td { padding: 2pt 5pt 2pt 0 !important; white-space: normal !important; }
  figcaption details { display: none; }
}
`;
