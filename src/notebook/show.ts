import { inspect } from 'node:util';
import { Chart } from '../charts/chart.js';
import { fontFaces, renderSvg } from '../charts/render.js';
import { tableHtml, tableMarkdown } from '../charts/table-html.js';
import { htmlText } from '../reports/html-page.js';
import { checkChoice } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { type MimeBundle, runningKernel } from './kernel.js';

/**
 * Shows a chart, a table, a result or a text: in a notebook as outputs that every front end can read, on a terminal as text.
 * A table is HTML, Markdown and text; a text or a result is HTML, whose lines break between words, and text. A chart is Vega-Lite
 * JSON, SVG and text, and under it, folded away, what each mark says in words: for the keyboard, for those who hear it, and where
 * nothing can be pointed at. Always awaited: `await show(chart)`.
 *
 * @param thing a `Chart`, a `Table`, any result of this library, or text.
 * @param options.as what a text is: `'plain'`, the default, or `'markdown'`, whose headings and lists are then drawn as such.
 * @throws InputError `unknown-choice`.
 * @example await show(agreementBySiteChart(study))
 */
export async function show(thing: unknown, options: { readonly as?: 'plain' | 'markdown' } = {}): Promise<void> {
  const as = checkChoice('as', options.as ?? 'plain', ['plain', 'markdown'] as const);
  const kernel = runningKernel();
  if (kernel === undefined) process.stdout.write(`${textOf(thing)}\n`);
  else if (as === 'markdown' && typeof thing === 'string')
    kernel.write({ 'text/markdown': thing, 'text/plain': thing });
  else for (const bundle of await bundlesOf(thing)) kernel.write(bundle);
}

/** All forms of a thing, the plainest always among them. */
async function bundlesOf(thing: unknown): Promise<readonly MimeBundle[]> {
  const text = textOf(thing);
  if (thing instanceof Chart) {
    const marked = thing.marked();
    return [
      {
        'application/vnd.vegalite.v5+json': marked.spec,
        // No wider than the column it stands in.
        'image/svg+xml': (await renderSvg(marked, { fonts: 'embedded' })).replace(
          '<svg ',
          '<svg style="max-width:100%;height:auto" ',
        ),
        'text/plain': text,
      },
      { 'text/html': await wordsHtml(thing) },
    ];
  }
  if (thing instanceof Table)
    return [{ 'text/html': tableHtml(thing), 'text/markdown': tableMarkdown(thing), 'text/plain': text }];
  return [{ 'text/html': textHtml(text), 'text/plain': text }];
}

/** A picture drawn live by vega-embed is no wider than the column it stands in, and keeps its proportions. */
const FITTING = '.vega-embed{max-width:100%}.vega-embed svg.marks{max-width:100%;height:auto}';

/** One line that opens to the words of every mark; with it what a picture drawn live above needs: its font, for which its places are made, and a fitting width. */
async function wordsHtml({ words }: Chart): Promise<string> {
  const items = words.map((each) => `<li>${htmlText(each)}</li>`).join('\n');
  return `<details class="limb-perfusion-words" style="margin:0 0 8px;max-width:46em;"><summary>This picture in words, mark by mark (${words.length})</summary>
<ul>
${items}
</ul></details><style>${FITTING}${await fontFaces()}</style>`;
}

/** Some front ends break plain text in the middle of a word; here spaces and lines stay as they are and words stay whole. */
function textHtml(text: string): string {
  return `<pre class="limb-perfusion-text" style="white-space:pre-wrap;word-break:normal;overflow-wrap:anywhere;">${htmlText(text)}</pre>`;
}

function textOf(thing: unknown): string {
  if (typeof thing === 'string') return thing;
  if (thing instanceof Chart) return thing.toString();
  if (thing instanceof Table) return thing.toText();
  return inspect(thing, { depth: 3, maxArrayLength: 20 });
}
