import type { Chart } from '../../src/charts/chart.ts';

type Row = Readonly<Record<string, unknown>>;

/** Every inline data row of a chart, wherever it stands in the specification; data drawn by several layers count once. */
export function rowsOf(chart: Chart): readonly Row[] {
  const rows: Row[] = [];
  const seen = new Set<string>();
  const walk = (node: unknown): void => {
    if (Array.isArray(node)) for (const each of node) walk(each);
    else if (typeof node === 'object' && node !== null) {
      const { data, ...rest } = node as { data?: { values?: Row[] } };
      const key = JSON.stringify(data?.values);
      if (data?.values !== undefined && !seen.has(key)) {
        seen.add(key);
        rows.push(...data.values);
      }
      for (const each of Object.values(rest)) walk(each);
    }
  };
  walk(chart.spec);
  return rows;
}

/** The rows that have a field. */
export function rowsWith(chart: Chart, ...fields: readonly string[]): readonly Row[] {
  return rowsOf(chart).filter((row) => fields.every((field) => field in row));
}

export function subtitleOf(chart: Chart): string {
  const { subtitle } = chart.spec.title as { subtitle: readonly string[] };
  return subtitle.join(' ');
}
