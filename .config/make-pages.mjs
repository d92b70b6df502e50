// @ts-check
// Writes one private page a learner from a class's sheet into private-pages/, which git does not see. Printed, for the
// educator alone: how many there are, and what to ask about single sheets.
// usage: npm run pages [-- sheet.csv [options.json]]     (options.json: how the sheet is read, as loadAssessments takes it)
import { readFileSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import process from 'node:process';
import { root } from './set-up.mjs';

const [sheet = join(root, 'data-demo/generated/class-session.csv'), optionsFile] = process.argv.slice(2);
const folder = join(root, 'private-pages');
const { classQuestions, InputError, loadAssessments, writeLearnerPages } = await import('limb-perfusion');
try {
  const options = optionsFile === undefined ? {} : JSON.parse(readFileSync(optionsFile, 'utf8'));
  const assessments = await loadAssessments(resolve(sheet), options);
  rmSync(folder, { recursive: true, force: true });
  const pages = await writeLearnerPages(assessments, folder);
  process.stdout.write(
    `${pages} private pages are in private-pages/, one a code and no list of them. Give each to the person who holds the code, and delete the folder.\n`,
  );
  const rounds = assessments.round.values.length > 1 ? assessments.round.values : [undefined];
  for (const round of rounds) {
    const { questions } = classQuestions(assessments, round === undefined ? {} : { round });
    for (const { codes, question } of questions)
      process.stdout.write(
        `\nFor you alone${round === undefined ? '' : `, round ${round}`}, ${codes.join(' and ')}: ${question}\n`,
      );
  }
} catch (error) {
  if (!(error instanceof InputError)) throw error;
  process.stderr.write(`${error.message}\n`);
  process.exitCode = 1;
}
