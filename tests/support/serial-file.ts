import { readFileSync } from 'node:fs';

/** Columns of a reference file of serial states, states counted from 0. */
export function serialFile(
  folder: string,
  file: string,
  columns: { readonly subject: string; readonly time: string; readonly state: string },
): { subject: number[]; time: number[]; category: number[]; column: (name: string) => number[] } {
  const [header, ...rows] = readFileSync(`${folder}data/${file}`, 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(','));
  const column = (name: string): number[] => {
    const at = (header as string[]).indexOf(`"${name}"`);
    return rows.map((row) => Number(row[at]));
  };
  return {
    subject: column(columns.subject),
    time: column(columns.time),
    category: column(columns.state).map((state) => state - 1),
    column,
  };
}
