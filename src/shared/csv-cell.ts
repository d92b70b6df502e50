/** Signs with which a spreadsheet starts a formula, behind apostrophes or not. */
const FORMULA = /^'*[=+\-@\t\r\n]/;
const NUMBER = /^[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:e[+-]?\d+)?$/i;

/**
 * A value as a cell of comma-separated text. A text that a spreadsheet would run as a formula gets an apostrophe
 * before it; a number with a sign is a number. `withoutMark` takes the apostrophe off again.
 */
export function csvCell(value: string | number | boolean | null): string {
  if (value === null || Number.isNaN(value)) return '';
  const text = String(value);
  const safe = typeof value === 'string' && FORMULA.test(text) && !NUMBER.test(text) ? `'${text}` : text;
  return /[",\n\r]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A cell of a text file without the apostrophe that marks a text a spreadsheet would run. */
export function withoutMark(cell: string): string {
  return cell.startsWith("'") && FORMULA.test(cell) ? cell.slice(1) : cell;
}
