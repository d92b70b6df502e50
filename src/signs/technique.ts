import { gradedScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

/** Id, label, what a partner watches for, and the limbs it is watched at; no limbs where it belongs to the visit. */
const steps: readonly (readonly [id: string, label: string, words: string, limbs: Sign['limbs']])[] = [
  ['asked-first', 'Asked first', 'Asked first, and said what comes next', []],
  ['at-rest', 'Warm hands, limb at rest', 'Warm hands, limb at rest and at heart level or flat', limbs],
  [
    'joint-eased',
    'Joint eased',
    'Knee bent a little for the pulse behind it; hip and knee eased for the groin',
    legLimbs,
  ],
  ['light-pressure', 'Light pressure first', 'Light pressure first, own pulse not mistaken for the other’s', limbs],
  [
    'sides-together',
    'Sides together where it fits',
    'Both sides at once at the wrist and the top of the foot; one at a time elsewhere',
    [],
  ],
  [
    'pressed-long-enough',
    'Pressed long enough',
    'Pressed five seconds over bone (shin, inner ankle bone, top of the foot), then looked and felt',
    legLimbs,
  ],
  ['girth-before-pressing', 'Girth before pressing', 'Girth measured at the marked place before pressing', legLimbs],
  ['wrote-first', 'Wrote before speaking', 'Wrote the grade before speaking about it', []],
];

/** Steps of technique in a class: each a yes or no that a partner ticks while somebody examines. */
export const techniqueSigns: readonly Sign[] = steps.map(([id, label, words, at]) => ({
  id: `technique-${id}`,
  label,
  words,
  limbs: at,
  sites: [],
  midlineSites: [],
  scales: [
    gradedScale(
      {
        id: `technique-${id}.done`,
        sign: `technique-${id}`,
        label: 'done or not done',
        source: sources.practice,
        evidence: 'common practice, no source',
      },
      'nominal',
      'lower-is-worse',
      [
        ['0', 'no'],
        ['1', 'yes'],
      ],
      ['1'],
    ),
  ],
  statistics: fittingStatistics('nominal'),
  notes: ['The assessor is the one who examined; the partner only ticks. Not watched is not "no": write not-assessed.'],
}));
