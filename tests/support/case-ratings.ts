import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import type { PublishedCase } from './published-cases.ts';

/** Ratings of a published case, whichever way its data are laid out; `cluster` says what groups the rows of long data. */
export function ratingsOfCase(one: PublishedCase, cluster: 'patient' | 'limb' | 'site' = 'patient'): Ratings {
  const { data, parameters } = one;
  const categories = parameters.categories as number[] | undefined;
  if (data.type === 'table') {
    const scale = parameters.tableIsProportions ? parameters.n : 1;
    const table = (data.table as number[][]).map((row) => row.map((count) => Math.round(count * scale)));
    return ratingsOfTable(table, { categories: data.labels ?? table.map((_, at) => at) });
  }
  if (data.type === 'counts')
    return ratingsOfCounts(data.subjectsByCategories, {
      categories: data.subjectsByCategories[0].map((_: number, at: number) => at),
    });
  if (data.type === 'ratings') return ratingsOf(data.subjectsByRaters, categories === undefined ? {} : { categories });
  if (data.a !== undefined)
    return ratingsOf(
      (data.a as number[]).map((a, at) => [a, data.b[at]]),
      { clusters: data.cluster },
    );
  const rows = new Map<string, { row: (number | null)[]; cluster: string }>();
  const assessors = Math.max(...data.rows.map((row: number[]) => row[3]));
  for (const [patient, limb, site, assessor, grade] of data.rows as [number, number, number, number, number][]) {
    const key = `${patient}/${limb}/${site}`;
    const group = { patient: `${patient}`, limb: `${patient}/${limb}`, site: key }[cluster];
    if (!rows.has(key)) rows.set(key, { row: new Array<number | null>(assessors).fill(null), cluster: group });
    rows.get(key)!.row[assessor - 1] = grade;
  }
  const all = [...rows.values()];
  return ratingsOf(
    all.map(({ row }) => row),
    { clusters: all.map((entry) => entry.cluster), categories: categories ?? [0, 1, 2, 3, 4] },
  );
}
