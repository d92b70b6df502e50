import type { Note } from './note.js';

export type Cell = string | number | null;

/** A column of a result table. `decimals` rounds on paper only; the rows keep every digit. */
export interface TableColumn {
  readonly key: string;
  readonly label: string;
  readonly kind: 'text' | 'number' | 'count' | 'percent';
  readonly decimals?: number;
}

/**
 * A result table: rows of plain values under labelled columns, with a caption that says what the
 * table answers and the notes a reader needs beside it. Prints as aligned text in a cell or terminal.
 * `null` prints as an empty cell; `NaN` prints as "not defined".
 */
export class Table {
  constructor(
    readonly caption: string,
    readonly columns: readonly TableColumn[],
    readonly rows: readonly Readonly<Record<string, Cell>>[],
    readonly notes: readonly Note[] = [],
  ) {
    Object.freeze(this);
  }

  /** The cell as a reader sees it: rounded as its column says, never in exponential notation by accident. */
  textOf(row: Readonly<Record<string, Cell>>, column: TableColumn): string {
    return cellText(row[column.key] ?? null, column);
  }

  toText(): string {
    const cells = this.rows.map((row) => this.columns.map((column) => this.textOf(row, column)));
    const widths = this.columns.map((column, at) =>
      Math.max(column.label.length, ...cells.map((line) => line[at]?.length ?? 0)),
    );
    const line = (values: readonly string[]): string =>
      values
        .map((value, at) =>
          this.columns[at]?.kind === 'text' ? value.padEnd(widths[at] ?? 0) : value.padStart(widths[at] ?? 0),
        )
        .join('   ')
        .trimEnd();
    return [
      this.caption,
      '',
      line(this.columns.map((column) => column.label)),
      ...cells.map(line),
      ...this.notes.map((note) => `${note.severity === 'caution' ? 'Caution' : 'Note'}: ${note.message}`),
    ].join('\n');
  }

  /** Comma-separated text with every digit; a cell that a spreadsheet would run as a formula is escaped with an apostrophe. */
  toCsv(): string {
    const lines = [this.columns.map((column) => csvField(column.label))];
    for (const row of this.rows) lines.push(this.columns.map((column) => csvField(row[column.key] ?? null)));
    return `${lines.map((line) => line.join(',')).join('\n')}\n`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toText();
  }
}

function cellText(value: Cell, column: TableColumn): string {
  if (value === null) return '';
  if (typeof value === 'string') return value;
  if (Number.isNaN(value)) return 'not defined';
  if (column.kind === 'count') return formatCount(value);
  if (column.kind === 'percent') return `${formatNumber(100 * value, column.decimals ?? 0)} %`;
  return formatNumber(value, column.decimals ?? 2);
}

/** A number with a fixed number of decimals and a true minus sign; "not defined" for `NaN`. */
export function formatNumber(value: number, decimals = 2): string {
  if (Number.isNaN(value)) return 'not defined';
  if (!Number.isFinite(value)) return value > 0 ? '∞' : '−∞';
  const fixed = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(fixed) !== 0 ? `−${fixed}` : fixed;
}

/** A whole number with thin groups of thousands, as people read counts. */
export function formatCount(value: number): string {
  return String(value).replace(/\B(?=(\d{3})+(?!\d))/g, ',');
}

function csvField(value: Cell): string {
  if (value === null) return '';
  if (typeof value === 'number') return Number.isNaN(value) ? '' : String(value);
  const isFormula = /^[=+\-@\t\r\n]/.test(value) && !/^[+-]?\d+(?:\.\d+)?$/.test(value);
  const safe = isFormula ? `'${value}` : value;
  return /[",\n\r]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
