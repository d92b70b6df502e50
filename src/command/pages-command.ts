import { existsSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { classQuestions } from '../teaching/class-questions.js';
import { loadStudyFile } from './load-study-file.js';
import { studyFolderAt } from './study-folder.js';
import { readStudySettings, sheetsOf } from './study-settings.js';
import { writeLearnerPages } from './write-learner-pages.js';

/**
 * Writes one private page a learner from a class's sheet into `private-pages`, which version control does not see, and
 * says to the educator alone how many there are and what to ask about single sheets.
 *
 * @param file the class's sheet; default: the one in settings.json, else the invented class
 */
export async function pagesCommand(from: string, file: string | undefined, say: (line: string) => void): Promise<void> {
  const { root, notebooks } = studyFolderAt(from);
  const settings = readStudySettings(join(root, 'settings.json'), notebooks);
  const invented = ['example', join('data-demo', 'generated')]
    .map((folder) => join(root, folder, 'class-session.csv'))
    .find((path) => existsSync(path));
  const sheet = file === undefined ? resolve(root, settings.file ?? invented ?? '') : resolve(from, file);
  const assessments = await loadStudyFile(sheet, settings, say, sheetsOf(settings).file);
  const folder = join(root, 'private-pages');
  rmSync(folder, { recursive: true, force: true });
  const pages = await writeLearnerPages(assessments, folder);
  say(
    `${pages} private pages are in private-pages/, one a code and no list of them. Give each to the person who holds the code, and delete the folder.`,
  );
  const rounds = assessments.round.values.length > 1 ? assessments.round.values : [undefined];
  for (const round of rounds) {
    const { questions } = classQuestions(assessments, round === undefined ? {} : { round });
    for (const { codes, question } of questions)
      say(`\nFor you alone${round === undefined ? '' : `, round ${round}`}, ${codes.join(' and ')}: ${question}`);
  }
}
