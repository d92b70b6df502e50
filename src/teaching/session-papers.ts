import { CAUTIONS } from '../shared/cautions.js';
import { techniqueSigns } from '../signs/technique.js';
import type { SessionRota } from './session-rota.js';

/** One sheet of paper for a session: a heading and its lines. A line of underscores is to be filled in by hand. */
export interface SessionPaper {
  readonly kind: 'code slip' | 'consent' | 'skin check' | 'station card' | 'technique' | 'pulse not felt';
  readonly heading: string;
  readonly lines: readonly string[];
}

/**
 * The papers of a session: code slips to be drawn from a cup, consent and skin check for each volunteer, a card for each station, the steps of technique,
 * and what is done when a pulse is not felt.
 *
 * Slips come in the order in which the codes were drawn, so that their place tells nobody's. Who drew which code is written down nowhere.
 *
 * @param rota from `sessionRota`. @param stations what is read at every station, in bedside order: "wrist pulse (radial), right and left".
 * @example sessionPapers(rota, ['wrist pulse, right and left']).filter(({ kind }) => kind === 'code slip').length // 12
 * Source: common practice, no source; cautions as in the rest of the library.
 */
export function sessionPapers(rota: SessionRota, stations: readonly string[]): readonly SessionPaper[] {
  const volunteers = [...new Set(rota.visits.map(({ volunteer }) => volunteer))].sort();
  return [
    ...rota.codes.map(
      (code): SessionPaper => ({
        kind: 'code slip',
        heading: code,
        lines: [
          'This code is yours. Show it to nobody, and write it on each of your sheets.',
          'Your private page has it as its name. Nobody keeps a list of who drew which code.',
          'Taking part is free; you may stop, and your sheets are then taken out.',
        ],
      }),
    ),
    ...volunteers.flatMap((volunteer): SessionPaper[] => [
      {
        kind: 'consent',
        heading: `Consent of volunteer ${volunteer}`,
        lines: [
          `I agree that up to ${rota.repeats} people look at, feel and lightly press my arms and legs in this session. I may stop at any time.`,
          'Nothing is written with my name. If something is found that should be looked at, I want to be told in private.',
          'Signed: ______________________   Witness: ______________________',
        ],
      },
      {
        kind: 'skin check',
        heading: `Skin check of volunteer ${volunteer}, before anybody presses`,
        lines: [
          'Sore, wound or fragile skin: no / yes, where: ______________________',
          'Cold, painful or numb limb; known or suspected clot; known poor blood supply: no / yes: that limb is not used',
          'Pain on raising a leg: no / yes: the leg is not raised',
          CAUTIONS.practiceOnPeople,
          'Checked again after the session: ______________________',
        ],
      },
      {
        kind: 'station card',
        heading: `Station ${volunteer}`,
        lines: [
          'Read in this order, right and left after each other, and write before you speak:',
          ...stations,
          'Press beside the spot that was pressed before. One of you reads while the other waits outside hearing.',
          'A blank stays a blank: write "not assessed" or "unsure", never a guess.',
        ],
      },
    ]),
    {
      kind: 'technique',
      heading: 'Steps of technique (your partner ticks yes or no)',
      lines: techniqueSigns.map(({ words }) => `${words}: yes / no`),
    },
    {
      kind: 'pulse not felt',
      heading: 'When a pulse is not felt in a volunteer',
      lines: [
        'Say nothing aloud. Write 0, and tell the leader apart.',
        'An expert feels again at the same place; if it is still not felt, with Doppler.',
        'The volunteer is told in private what was found and what it may and may not mean. A missing pulse does not prove disease.',
        CAUTIONS.emergency,
        'Otherwise local policy is followed: who is informed, and how: ______________________',
      ],
    },
  ];
}
