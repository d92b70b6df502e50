import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { referenceData } from './optional.ts';

/**
 * A published or independently computed check: what was published, where, the data, and the expected
 * figures. The cases in `tests/reference/*.json` are facts retyped with their source; data that only a
 * copyleft package carries are not among them (those cases run from the folder beside the checkout).
 */
export interface PublishedCase {
  readonly id: string;
  readonly method: string;
  readonly source: string;
  // biome-ignore lint/suspicious/noExplicitAny: the shape differs from case to case and is read by its own test
  readonly data: any;
  // biome-ignore lint/suspicious/noExplicitAny: as above
  readonly parameters: any;
  // biome-ignore lint/suspicious/noExplicitAny: as above
  readonly expected: any;
  readonly tolerance: number;
}

/** The cases of one file whose id matches, in the file's order; throws when none does, so that a check cannot vanish. */
export function publishedCases(file: 'agreement' | 'progression', id: RegExp): PublishedCase[] {
  const url = new URL(`../reference/${file}-cases.json`, import.meta.url);
  const cases = (JSON.parse(readFileSync(url, 'utf8')) as PublishedCase[]).filter((one) => id.test(one.id));
  if (cases.length === 0) throw new Error(`No published case matches ${id}.`);
  return cases;
}

/** The cases that only the folder beside the checkout has (data of copyleft packages); none, with a plain line, without that folder. */
export function casesBeside(file: 'agreement' | 'progression', id: RegExp): PublishedCase[] {
  const folder = referenceData();
  if (folder === undefined) return [];
  const here = new Set(publishedCases(file, /./).map((one) => one.id));
  const all = JSON.parse(readFileSync(join(folder, `${file}-cases.json`), 'utf8')) as PublishedCase[];
  const cases = all.filter((one) => id.test(one.id) && !here.has(one.id));
  if (cases.length === 0) throw new Error(`No case beside the checkout matches ${id}.`);
  return cases;
}
