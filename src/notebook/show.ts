import { inspect } from 'node:util';
import { Chart } from '../charts/chart.js';
import { renderSvg } from '../charts/render.js';
import { tableHtml, tableMarkdown } from '../charts/table-html.js';
import { Table } from '../shared/table.js';
import { type MimeBundle, runningKernel } from './kernel.js';

/**
 * Shows a chart, a table, a result or a text: in a notebook as one output that every front end can
 * read (a chart as Vega-Lite JSON, as SVG and as text; a table as HTML, Markdown and text), on a
 * terminal as text. Always awaited: `await show(chart)`.
 *
 * @param thing a `Chart`, a `Table`, any result of this library, or text.
 * @example await show(agreementBySiteChart(study))
 */
export async function show(thing: unknown): Promise<void> {
  const kernel = runningKernel();
  if (kernel === undefined) process.stdout.write(`${textOf(thing)}\n`);
  else kernel.write(await bundleOf(thing));
}

/** All forms of a thing, the plainest always among them. */
async function bundleOf(thing: unknown): Promise<MimeBundle> {
  const text = { 'text/plain': textOf(thing) };
  if (thing instanceof Chart) {
    const marked = thing.marked();
    return {
      'application/vnd.vegalite.v5+json': marked.spec,
      'image/svg+xml': await renderSvg(marked, { fonts: 'embedded' }),
      ...text,
    };
  }
  if (thing instanceof Table) return { 'text/html': tableHtml(thing), 'text/markdown': tableMarkdown(thing), ...text };
  return text;
}

function textOf(thing: unknown): string {
  if (typeof thing === 'string') return thing;
  if (thing instanceof Chart) return thing.toString();
  if (thing instanceof Table) return thing.toText();
  return inspect(thing, { depth: 3, maxArrayLength: 20 });
}
