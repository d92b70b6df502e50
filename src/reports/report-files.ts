import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { writeFileSafely } from '../shared/write-file-safely.js';

/** A report: its page, and the files beside it that hold every number of the page. */
export interface Report {
  readonly kind: 'report';
  readonly title: string;
  /** Texts by the names of their files; `report.html` is the page. */
  readonly files: Readonly<Record<string, string>>;
}

/**
 * Writes a report into a folder: the page `report.html` and beside it the files whose rows the page cites. Files in it with the same names are replaced.
 *
 * @returns the path of the page.
 * @example await writeReport(await studyReport(study), 'my-report') // 'my-report/report.html'
 */
export async function writeReport(report: Report, folder: string): Promise<string> {
  await mkdir(folder, { recursive: true });
  for (const [name, text] of Object.entries(report.files)) await writeFileSafely(join(folder, name), text);
  return join(folder, 'report.html');
}
