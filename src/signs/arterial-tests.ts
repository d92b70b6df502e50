import { gradedScale, limit, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { armLimbs, legLimbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;
const raised = 'Record the height (angleDegrees) and how long the leg was held (heldSeconds). Stop when it hurts.';

/** The modified Allen test, and what raising and lowering the legs shows. */
export const arterialTestSigns: readonly Sign[] = [
  {
    id: 'allen-test',
    label: 'Modified Allen test',
    words: 'How soon the palm flushes after one artery of the wrist is let go',
    limbs: armLimbs,
    sites: [],
    midlineSites: [],
    methods: ['ulnar artery released', 'radial artery released'],
    scales: [
      measuredScale(
        {
          id: 'allen.seconds',
          sign: 'allen-test',
          label: 'seconds until the palm flushes',
          source: sources.barone2006,
          evidence: 'confirmed',
        },
        'ratio',
        's',
        [0, 60],
        'higher-is-worse',
        {
          limits: [
            limit('3 seconds: finds 100 %, clears 27 % (one study)', { upper: 3 }, sources.jarvis2000, 'confirmed'),
            limit('5 seconds: finds 75.8 %, clears 81.7 % (one study)', { upper: 5 }, sources.jarvis2000, 'confirmed'),
            limit('6 seconds: finds 54.5 %, clears 91.7 % (one study)', { upper: 6 }, sources.jarvis2000, 'confirmed'),
            limit('7, 10 and 15 seconds are in use', { upper: 15 }, sources.memory, 'from memory'),
          ],
          decimals: 0,
        },
      ),
      gradedScale(
        {
          id: 'allen.words',
          sign: 'allen-test',
          label: 'prompt, delayed, none',
          source: sources.barone2006,
          evidence: 'confirmed',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['prompt', 'prompt, within the cut-off'],
          ['delayed', 'delayed, later than the cut-off'],
          ['none', 'no flush until stopped'],
        ],
        ['prompt'],
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [
      'Record which artery was let go (method) and the cut-off used (recordedLimit). "Stopped at 15" is written >15.',
      'A hand that did not go pale could not be tested: write not-assessable.',
      'Positive and negative are used both ways and are never stored.',
      'Criteria are not agreed on, and no figure for agreement between examiners was found.',
    ],
  },
  {
    id: 'leg-raised',
    label: 'Color of the raised leg',
    words: 'What the leg looks like after it was held up',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'leg-raised.words', sign: 'leg-raised', label: 'unchanged, paler, very pale', ...practice },
        'ordinal',
        'higher-is-worse',
        [
          ['unchanged', 'unchanged'],
          ['paler', 'paler'],
          ['very-pale', 'very pale'],
        ],
        ['unchanged'],
      ),
      gradedScale(
        {
          id: 'leg-raised.pallor.0-4',
          sign: 'leg-raised',
          label: '0 to 4 by the seconds until it pales',
          source: sources.memory,
          evidence: 'from memory',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'none in 60 seconds'],
          ['1', 'definite in 60 seconds'],
          ['2', 'in 30 to 60 seconds'],
          ['3', 'in under 30 seconds'],
          ['4', 'pale lying flat'],
        ],
        ['0'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [raised],
  },
  {
    id: 'buerger-angle',
    label: 'Angle at which the raised leg pales (Buerger)',
    words: 'How high the leg must be raised until it pales',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'buerger.angle',
          sign: 'buerger-angle',
          label: 'degrees',
          source: sources.buergerNote,
          evidence: 'confirmed',
        },
        'interval',
        'deg',
        [0, 90],
        'lower-is-worse',
        {
          limits: [
            limit(
              'under 20 degrees is called severe; no first source was found',
              { lower: 20 },
              sources.memory,
              'from memory',
            ),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('interval'),
    notes: [
      'A leg that does not pale at 90 degrees is written >90 or 90 with a comparator. No study ties an angle to how far an artery is closed.',
      raised,
    ],
  },
  {
    id: 'leg-lowered',
    label: 'Color of the lowered leg',
    words: 'How the color comes back when the leg hangs down',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'leg-lowered.words', sign: 'leg-lowered', label: 'promptly, slowly, stayed pale, dark red', ...practice },
        'nominal',
        'none',
        [
          ['promptly', 'promptly'],
          ['slowly', 'slowly'],
          ['stayed-pale', 'stayed pale'],
          ['dark-red', 'turned dark red'],
        ],
        ['promptly'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['Each leg for itself.'],
  },
  {
    id: 'dependent-rubor',
    label: 'Dark red when hanging',
    words: 'Whether the hanging leg turns dark red',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      yesNoScale({
        id: 'rubor.dependent',
        sign: 'dependent-rubor',
        label: 'yes or no',
        source: sources.gerhard2016,
        evidence: 'confirmed',
      }),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['It may take a minute or more.'],
  },
  {
    id: 'color-return',
    label: 'Time until the color is back',
    words: 'How long the hanging leg takes to regain its color',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'color-return.seconds',
          sign: 'color-return',
          label: 'seconds',
          source: sources.insall1989,
          evidence: 'confirmed',
        },
        'ratio',
        's',
        [0, 180],
        'higher-is-worse',
        {
          limits: [
            limit('about 10 seconds in health', { upper: 10 }, sources.insall1989, 'confirmed'),
            limit(
              '15 to 25, 25 to 40, over 40 seconds as bands',
              { lower: 15, upper: 40 },
              sources.memory,
              'from memory',
            ),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [],
  },
  {
    id: 'venous-filling',
    label: 'Time until the veins fill',
    words: 'How long the veins of the hanging foot take to fill',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'venous-filling.seconds',
          sign: 'venous-filling',
          label: 'seconds',
          source: sources.mcgee1998,
          evidence: 'confirmed',
        },
        'ratio',
        's',
        [0, 180],
        'higher-is-worse',
        {
          limits: [
            limit('about 15 seconds in health', { upper: 15 }, sources.insall1989, 'confirmed'),
            limit(
              'over 20 seconds: finds 22 %, clears 94 % (as quoted)',
              { upper: 20 },
              sources.mcgee1998,
              'confirmed',
            ),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Falsely fast where the valves of the veins fail.'],
  },
];
