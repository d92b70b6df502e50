import { createHash } from 'node:crypto';
import { mkdir } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, extname, join } from 'node:path';
import process from 'node:process';
import { strToU8, zipSync } from 'fflate';
import { refuse } from '../shared/input-error.js';
import { libraryVersion } from '../shared/versions.js';
import { writeFileSafely } from '../shared/write-file-safely.js';
import { signOf } from '../signs/codebook.js';
import { codebookPage } from '../signs/codebook-page.js';
import { planSentences } from '../study/agreement-plan.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import type { Report } from './report-files.js';
import { type StudyReportOptions, studyReport } from './study-report.js';

export interface BundleOptions extends Omit<StudyReportOptions, 'audience' | 'pair'> {
  /** Who will see it. Default `'outside'`; what is for one's own eyes is not shared. */
  readonly audience?: 'inside' | 'outside';
}

/**
 * What of an agreement study can be shared, in a folder or a zip file: the report with its results and counts as the audience may see them, the plan with its amendments, the codebook of
 * the signs, versions, and a list of checksums. Never a reading, never a code of a patient or an assessor.
 *
 * `SHA256SUMS` lists every other file in the order of names, as `sha256sum --check` reads it. The same study gives the same bytes.
 *
 * @param place a folder, made where it is not there, or a file ending in .zip. Files with the same names are replaced.
 * @returns the names of the files.
 * @throws InputError `unknown-choice` (audience), `unknown-format` (another ending than .zip).
 * @example await writeStudyBundle(study, 'to-share.zip') // ['README.txt', 'SHA256SUMS', 'codebook.md', …]
 */
export async function writeStudyBundle(
  study: AgreementStudy,
  place: string,
  options: BundleOptions = {},
): Promise<readonly string[]> {
  const { audience = 'outside', ...background } = options;
  const report = await studyReport(study, { ...background, audience });
  return writeBundle(report, place, {
    'plan.json': sharedPlan(study, background),
    'codebook.md': `${codebookPage(study.plan.signs.flatMap((sign) => knownSign(sign)))}\n`,
  });
}

/**
 * A report with further texts, versions and checksums in a folder or a zip file.
 *
 * @throws InputError `unknown-format`.
 * @example await writeBundle(await unitReport(share, options), 'to-share', { 'definition.csv': definition.toCsv() })
 */
export async function writeBundle(
  report: Report,
  place: string,
  further: Readonly<Record<string, string>> = {},
): Promise<readonly string[]> {
  const ending = extname(place).toLowerCase();
  if (ending !== '' && ending !== '.zip')
    throw refuse(
      'unknown-format',
      ['place'],
      `The place ends in "${ending}".`,
      'give a folder, or a file ending in .zip.',
    );
  const content: Record<string, string> = { ...report.files, ...further, 'versions.json': versions() };
  content['README.txt'] = readme(report, Object.keys(content));
  const names = Object.keys(content).sort();
  const sums = names.map((name) => `${createHash('sha256').update(content[name]!).digest('hex')}  ${name}\n`);
  content.SHA256SUMS = sums.join('');
  const all = Object.keys(content).sort();
  if (ending === '.zip') {
    // A fixed time, as ZIP keeps it, so that the bytes are the same on every day.
    const entries = all.map((name) => [name, [strToU8(content[name]!), { mtime: new Date(1980, 0, 1) }]] as const);
    await mkdir(dirname(place), { recursive: true });
    await writeFileSafely(place, zipSync(Object.fromEntries(entries) as Parameters<typeof zipSync>[0]));
  } else {
    await mkdir(place, { recursive: true });
    for (const name of all) await writeFileSafely(join(place, name), content[name]!);
  }
  return all;
}

/** The plan without codes of assessors: how many there were is enough outside. */
function sharedPlan(study: AgreementStudy, { plan: design, sampleSize }: Omit<BundleOptions, 'audience'>): string {
  const { assessors: _codes, amendments = [], ...analysis } = study.plan;
  const designed =
    design === undefined ? {} : { design: { ...design.design, assessors: design.design.assessors.length } };
  return `${JSON.stringify(
    {
      inWords: [...(design === undefined ? [] : [design.toString()]), ...planSentences(study.plan)],
      ...designed,
      analysis,
      ...(sampleSize === undefined ? {} : { sampleSize }),
      amendments,
    },
    null,
    2,
  )}\n`;
}

/** A scale of one's own may be of a sign that the codebook does not know. */
function knownSign(id: string) {
  try {
    return [signOf(id)];
  } catch {
    return [];
  }
}

function versions(): string {
  const packageOf = (name: string): string => {
    const { resolve } = createRequire(import.meta.url);
    const [folder] = resolve(name).replaceAll('\\', '/').split(`/node_modules/${name}/`);
    return (createRequire(import.meta.url)(`${folder}/node_modules/${name}/package.json`) as { version: string })
      .version;
  };
  return `${JSON.stringify({ 'limb-perfusion': libraryVersion(), vega: packageOf('vega'), 'vega-lite': packageOf('vega-lite'), node: process.versions.node }, null, 2)}\n`;
}

const WHAT: Readonly<Record<string, string>> = {
  'report.html': 'the report; opens in any browser and needs no connection',
  'results.csv': 'every number of the report with all its digits, a row each',
  'counts.csv': 'who read what, with small counts joined or hidden',
  'grades.csv': 'how many had each grade, period by period',
  'plan.json': 'the plan as it was fixed, and its amendments with date and reason',
  'codebook.md': 'what each sign and each grade means',
  'definition.csv': 'what is counted, and what never is',
  'versions.json': 'with what it was computed',
};

function readme(report: Report, names: readonly string[]): string {
  return [
    report.title,
    '',
    ...[...names].sort().map((name) => `${name}: ${WHAT[name] ?? 'see the report'}`),
    'SHA256SUMS: checksums of all these files; "sha256sum --check SHA256SUMS" tells whether one was changed',
    '',
    'There is no reading of a person in here, and no code of a person who was examined or who examined.',
    'Not a medical device, and not for the care of a person.',
    '',
  ].join('\n');
}
