import { learnerCardChart } from '../charts/learner-card-chart.js';
import { renderSvg } from '../charts/render.js';
import { refuse } from '../shared/input-error.js';
import type { LearnerCard } from '../teaching/learner-card.js';
import { htmlPage, htmlText } from './html-page.js';

/**
 * One learner's private page: own readings beside the experts' and the class's, and the sentences an interval allows. It needs nothing outside itself, links
 * to nothing, and holds no total, rank, pass or fail.
 *
 * @param cards of one learner: a card a sign and round. @throws InputError `one-learner-needed`.
 * @example await learnerPage([learnerCard(session, 'L05')]) // '<!doctype html>…'
 */
export async function learnerPage(cards: readonly LearnerCard[]): Promise<string> {
  const codes = new Set(cards.map(({ learner }) => learner));
  const [code] = codes;
  if (code === undefined || codes.size > 1)
    throw refuse('one-learner-needed', ['cards'], 'A page is for the cards of exactly one learner.');
  const parts: string[] = [];
  for (const card of cards) {
    const words =
      card.sentences.length > 0
        ? card.sentences
        : ['No tendency to read higher or lower than the class is clear in these readings.'];
    parts.push(
      `<section>
<h2>${htmlText(card.signLabel)}${card.round === undefined ? '' : `, round ${htmlText(card.round)}`}</h2>
${words.map((sentence) => `<p>${htmlText(sentence)}</p>`).join('\n')}
${card.notes.map((note) => `<p class="muted">${htmlText(note.message)}</p>`).join('\n')}
${await renderSvg(learnerCardChart(card), { fonts: 'embedded' })}
</section>`,
    );
  }
  return htmlPage(
    'Private page',
    `<h1>Private page of ${htmlText(code)}</h1>
<p class="muted">Only you know this code. Against this class on these limbs only: who differs from the others is not therefore wrong, and nothing here is a mark.</p>
${parts.join('\n')}`,
  );
}
