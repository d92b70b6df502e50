import { gradedScale, limit, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;
const mcgee = { source: sources.mcgee1998, evidence: 'confirmed' } as const;
const skinSites = ['upper-arm', 'forearm', 'hand', 'fingers', 'thigh', 'lower-leg', 'foot', 'toes'];
const unhelpful =
  'A review found it unhelpful for telling arterial disease (McGee & Boyko 1998): for teaching and agreement, no evidence of disease.';

/** Color, temperature, hair and shine of the skin, nails. */
export const skinSigns: readonly Sign[] = [
  {
    id: 'skin-color',
    label: 'Skin color',
    words: 'The color of the skin against what is usual for this person',
    limbs,
    sites: skinSites,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'skin.color', sign: 'skin-color', label: 'kinds of color', ...practice },
        'nominal',
        'none',
        [
          ['usual-for-person', 'usual for this person'],
          ['pale', 'pale'],
          ['cyanotic', 'blue'],
          ['dusky-or-red', 'dusky or red'],
          ['mottled', 'mottled'],
          ['brown-stained', 'brown stained'],
          ['black-or-dead', 'black, dead tissue'],
        ],
        ['usual-for-person'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [
      'Compare with the other side; on dark skin look at sole, palm and nail bed, with light from the side. Pink is not the word for normal.',
    ],
  },
  {
    id: 'skin-color-equality',
    label: 'Skin color of the two sides',
    words: 'Whether left and right have the same color',
    limbs: [],
    sites: skinSites,
    midlineSites: [],
    isPaired: true,
    scales: [
      gradedScale(
        { id: 'skin.color-equality', sign: 'skin-color-equality', label: 'same or different', ...practice },
        'nominal',
        'none',
        [
          ['same', 'the same on both sides'],
          ['different', 'different'],
        ],
        ['same'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'skin-mottling',
    label: 'Mottling around the knee',
    words: 'How far the mottling spreads outward from the kneecap',
    limbs: ['right-leg', 'left-leg'],
    sites: ['knee'],
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'skin.mottling.0-5',
          sign: 'skin-mottling',
          label: '0 to 5, outward from the kneecap',
          source: sources.mottling2011,
          evidence: 'from memory',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'none'],
          ['1', 'first step outward'],
          ['2', 'second step outward'],
          ['3', 'third step outward'],
          ['4', 'fourth step outward'],
          ['5', 'fifth step outward'],
        ],
        ['0'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: ['Tested mostly on light skin; hard to read on dark skin.'],
  },
  {
    id: 'skin-temperature-felt',
    label: 'Skin temperature by touch',
    words: 'How warm the skin feels to the back of the hand',
    limbs,
    sites: skinSites,
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'skin.temperature.felt',
          sign: 'skin-temperature-felt',
          label: 'cold, cool, warm, hot',
          source: sources.otieno2004,
          evidence: 'confirmed',
        },
        'ordinal',
        'two-ended',
        [
          ['cold', 'cold'],
          ['cool', 'cool'],
          ['warm', 'warm'],
          ['hot', 'hot'],
        ],
        ['warm'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: ['Both ends are abnormal. Record the level where it turns cool as well.'],
  },
  {
    id: 'skin-cool-level',
    label: 'Level where the skin turns cool',
    words: 'The highest place on the limb that feels cool',
    limbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'skin.cool-level', sign: 'skin-cool-level', label: 'level where it turns cool', ...practice },
        'ordinal',
        'higher-is-worse',
        [
          ['none', 'nowhere cool'],
          ['digits', 'toes or fingers'],
          ['foot-or-hand', 'foot or hand'],
          ['ankle-or-wrist', 'ankle or wrist'],
          ['below-joint', 'lower leg or forearm'],
          ['knee-or-elbow', 'knee or elbow'],
          ['above', 'above knee or elbow'],
        ],
        ['none'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [],
  },
  {
    id: 'skin-temperature',
    label: 'Skin temperature, measured',
    words: 'The temperature of the skin by thermometer',
    limbs,
    sites: skinSites.concat('pretibial-shin', 'sole', 'dorsum-of-foot'),
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'skin.temperature.measured',
          sign: 'skin-temperature',
          label: 'degrees Celsius',
          source: sources.memory,
          evidence: 'from memory',
        },
        'interval',
        'Cel',
        [10, 42],
        'two-ended',
        {
          limits: [
            limit(
              'a side difference above 2.2 degrees at the same place is a usual alert in feet without feeling',
              { upper: 2.2, group: 'side difference, feet without feeling' },
              sources.memory,
              'from memory',
            ),
          ],
          decimals: 1,
        },
      ),
    ],
    statistics: fittingStatistics('interval'),
    notes: ['There is no rule for the temperature itself, only for the difference between the sides.'],
  },
  {
    id: 'skin-temperature-difference',
    label: 'Skin temperature of the two sides',
    words: 'Whether one limb feels cooler than the other',
    limbs: [],
    sites: skinSites,
    midlineSites: [],
    isPaired: true,
    scales: [
      gradedScale(
        {
          id: 'skin.temperature.sides',
          sign: 'skin-temperature-difference',
          label: 'no difference, left cooler, right cooler',
          source: sources.khan2006,
          evidence: 'confirmed',
        },
        'nominal',
        'none',
        [
          ['none', 'no difference'],
          ['left-cooler', 'left cooler'],
          ['right-cooler', 'right cooler'],
        ],
        ['none'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['Cool skin in a leg with complaints made arterial disease likelier, likelihood ratio 5.9 (Khan 2006).'],
  },
  {
    id: 'hair',
    label: 'Hair on leg, foot or toes',
    words: 'Whether hair grows as usual for this person',
    limbs,
    sites: ['forearm', 'dorsum-of-hand', 'lower-leg', 'dorsum-of-foot', 'toes'],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'hair.0-2', sign: 'hair', label: 'usual, reduced, absent', ...mcgee },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'usual'],
          ['1', 'reduced'],
          ['2', 'absent'],
        ],
        ['0'],
      ),
      gradedScale(
        { id: 'hair.kinds', sign: 'hair', label: 'usual, patchy, reduced, absent', ...practice },
        'nominal',
        'none',
        [
          ['usual', 'usual'],
          ['patchy', 'patchy, uneven'],
          ['reduced', 'reduced'],
          ['absent', 'absent'],
        ],
        ['usual'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [unhelpful, 'Shaved or waxed: write not-assessable.'],
  },
  {
    id: 'shiny-skin',
    label: 'Shiny, thin, dry skin',
    words: 'Whether the skin is shiny, thin and dry',
    limbs,
    sites: ['forearm', 'hand', 'lower-leg', 'dorsum-of-foot', 'toes'],
    midlineSites: [],
    scales: [yesNoScale({ id: 'skin.shiny', sign: 'shiny-skin', label: 'yes or no', ...mcgee })],
    statistics: fittingStatistics('nominal'),
    notes: [unhelpful],
  },
  ...(
    [
      ['nail-thickening', 'Thick nails', 'thick nails'],
      ['nail-ridging', 'Ridged or brittle nails', 'ridged or brittle nails'],
      ['nail-slow-growth', 'Slow-growing nails', 'nails that grow slowly'],
      ['nail-clubbing', 'Clubbed nails', 'clubbed nails'],
      ['nail-splinter-lines', 'Splinter lines under the nails', 'splinter lines under the nails'],
      ['nail-fungal-look', 'Nails that look fungal', 'nails that look as with a fungus'],
    ] as const
  ).map(
    ([id, label, words]): Sign => ({
      id,
      label,
      words: `Whether there are ${words}`,
      limbs,
      sites: ['fingernails', 'toenails'],
      midlineSites: [],
      scales: [yesNoScale({ id: `nail.${id.slice(5)}`, sign: id, label: 'yes or no', ...practice })],
      statistics: fittingStatistics('nominal'),
      notes: ['Each change of the nails is its own yes or no. Clubbing and splinter lines belong to other systems.'],
    }),
  ),
];
