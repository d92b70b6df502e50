import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { Assessments } from '../assessments/assessments.js';
import { learnerPage } from '../reports/learner-page.js';
import { InputError, refuse } from '../shared/input-error.js';
import { writeFileSafely } from '../shared/write-file-safely.js';
import { classSession } from '../teaching/class-session.js';
import { type LearnerCard, learnerCard } from '../teaching/learner-card.js';

/**
 * Writes one private page a learner into a folder, named by the learner's code: every graded sign in every round the learner took part in. No
 * index is written, and no page links to another.
 *
 * @param folder is made where it is not there; pages in it with the same names are replaced. Keep it out of shared folders.
 * @returns how many pages were written.
 * @throws InputError `no-class` (no graded sign was read by three learners or more), `unsafe-code` (a code that is no plain file name).
 * @example await writeLearnerPages(assessments, 'private-pages') // 12
 */
export async function writeLearnerPages(assessments: Assessments, folder: string): Promise<number> {
  const cards = new Map<string, LearnerCard[]>();
  const rounds = assessments.round.values.length === 0 ? [undefined] : [...assessments.round.values].sort();
  for (const sign of assessments.sign.values)
    for (const round of rounds)
      for (const scale of assessments.where({ sign }).scales) {
        if (scale.categories === undefined) continue;
        const session = sessionOrNone(assessments, sign, scale.id, round);
        for (const learner of session?.learners ?? [])
          cards.set(learner, [...(cards.get(learner) ?? []), learnerCard(session!, learner)]);
      }
  if (cards.size === 0)
    throw refuse(
      'no-class',
      ['assessments'],
      'No graded sign was read by three learners or more, so there is no class.',
    );
  if ([...cards.keys()].some((code) => !/^[\w-]+$/.test(code)))
    throw refuse(
      'unsafe-code',
      ['assessments'],
      'A learner’s code holds something other than letters, digits, hyphens and underscores.',
      'give learners codes such as L01.',
    );
  await mkdir(folder, { recursive: true });
  for (const [learner, own] of cards) await writeFileSafely(join(folder, `${learner}.html`), await learnerPage(own));
  return cards.size;
}

/** The class of a sign and round; none where nobody, or fewer than three, read it. */
function sessionOrNone(assessments: Assessments, sign: string, scale: string, round: string | undefined) {
  try {
    return classSession(assessments, { sign, scale, ...(round === undefined ? {} : { round }) });
  } catch (error) {
    const absent = ['no-readings', 'too-few-learners', 'round-not-present', 'scale-not-present', 'sign-not-present'];
    const nothingThere = error instanceof InputError && error.problems.every(({ code }) => absent.includes(code));
    if (nothingThere) return undefined;
    throw error;
  }
}
