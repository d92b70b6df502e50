import { type Audience, markOf, requireMadeFor } from '../shared/audience.js';
import type { Table, TableColumn } from '../shared/table.js';

const NUMBER_STYLE = 'text-align:right;font-variant-numeric:tabular-nums;';
const CELL_STYLE = 'padding:4px 12px 4px 0;vertical-align:top;';
const RULE = '1px solid rgba(91,107,130,0.35)';

/**
 * A result table as HTML that a screen reader can walk: a caption that says what it answers, header
 * cells with their scope, the first column as row headers where it is text, notes after it. It takes
 * text color and paper from the page, so it reads on light and dark; the only color is the hairlines'.
 * Whom it was made for stands under it, unless everybody may see it.
 *
 * @throws InputError `not-for-audience` where an audience is named that the table was not made for.
 */
export function tableHtml(table: Table, options: { readonly audience?: Audience } = {}): string {
  requireMadeFor(table, options.audience, 'This table');
  const rowHeader = table.columns[0]?.kind === 'text' ? table.columns[0] : undefined;
  const head = table.columns
    .map(
      (column) =>
        `<th scope="col" style="${CELL_STYLE}${alignOf(column)}border-bottom:${RULE};font-weight:600;">${escapeHtml(column.label)}</th>`,
    )
    .join('');
  const body = table.rows
    .map((row) => {
      const cells = table.columns.map((column) => {
        const text = escapeHtml(table.textOf(row, column));
        const style = `${CELL_STYLE}${alignOf(column)}${column.kind === 'text' ? '' : 'white-space:nowrap;'}border-bottom:${RULE};`;
        return column === rowHeader
          ? `<th scope="row" style="${style}font-weight:400;">${text}</th>`
          : `<td style="${style}">${text}</td>`;
      });
      return `<tr>${cells.join('')}</tr>`;
    })
    .join('\n');
  const notes = table.notes
    .map(
      (note) =>
        `<p style="margin:6px 0 0;max-width:46em;">${note.severity === 'caution' ? '<strong>Caution:</strong> ' : ''}${escapeHtml(note.message)}</p>`,
    )
    .join('\n');
  const mark = markOf(table);
  return [
    '<div class="limb-perfusion-table" style="overflow-x:auto;">',
    '<table style="border-collapse:collapse;margin:4px 0 8px;">',
    `<caption style="caption-side:top;text-align:left;font-weight:600;padding:0 0 6px;color:inherit;">${escapeHtml(table.caption)}</caption>`,
    `<thead><tr>${head}</tr></thead>`,
    `<tbody>\n${body}\n</tbody>`,
    '</table>',
    ...(notes === '' ? [] : [notes]),
    ...(mark === undefined ? [] : [`<p style="margin:6px 0 0;"><em>${escapeHtml(mark)}</em></p>`]),
    '</div>',
  ].join('\n');
}

/**
 * A result table as a Markdown table with its caption above and its notes below, and whom it was made for.
 *
 * @throws InputError `not-for-audience` where an audience is named that the table was not made for.
 */
export function tableMarkdown(table: Table, options: { readonly audience?: Audience } = {}): string {
  requireMadeFor(table, options.audience, 'This table');
  const mark = markOf(table);
  const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  return [
    `**${escapeMarkdown(table.caption)}**`,
    '',
    line(table.columns.map((column) => escapeMarkdown(column.label))),
    line(table.columns.map((column) => (column.kind === 'text' ? ':--' : '--:'))),
    ...table.rows.map((row) => line(table.columns.map((column) => escapeMarkdown(table.textOf(row, column))))),
    ...table.notes.flatMap((note) => [
      '',
      `${note.severity === 'caution' ? 'Caution: ' : ''}${escapeMarkdown(note.message)}`,
    ]),
    ...(mark === undefined ? [] : ['', `*${escapeMarkdown(mark)}*`]),
  ].join('\n');
}

function alignOf(column: TableColumn): string {
  return column.kind === 'text' ? 'text-align:left;' : NUMBER_STYLE;
}

function escapeHtml(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}

function escapeMarkdown(text: string): string {
  return text.replaceAll(/[\\`*_|<>[\]]/g, (sign) => `\\${sign}`).replaceAll('\n', ' ');
}
