/** The rows as comma-separated text under the given columns; a missing property is an empty cell. */
export function csvText(columns, rows) {
  const lines = rows.map((row) => columns.map((column) => String(row[column] ?? '')).join(','));
  return `${[columns.join(','), ...lines].join('\n')}\n`;
}

/** A known truth as JSON with one line for each entry of its lists, so that it can be read and compared by eye. */
export function truthText(truth) {
  const parts = Object.entries(truth).map(([key, value]) => {
    const text = Array.isArray(value)
      ? `[\n${value.map((entry) => `    ${JSON.stringify(entry)}`).join(',\n')}\n  ]`
      : JSON.stringify(value);
    return `  ${JSON.stringify(key)}: ${text}`;
  });
  return `{\n${parts.join(',\n')}\n}\n`;
}
