import { gradedScale, limit, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { armLimbs, legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;

/** What is heard over the arteries, and what is felt in armpit, elbow, arm and groin. */
export const bruitAndNodeSigns: readonly Sign[] = [
  {
    id: 'bruit',
    label: 'Bruit over an artery',
    words: 'Whether a rushing sound is heard over the artery',
    limbs: legLimbs,
    sites: ['iliac', 'femoral', 'popliteal'],
    midlineSites: [],
    scales: [
      yesNoScale(
        {
          id: 'bruit.heard',
          sign: 'bruit',
          label: 'heard or not heard',
          source: sources.khan2006,
          evidence: 'confirmed',
        },
        ['not heard', 'heard'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [
      'Not listened for is not "not heard": write not-assessed.',
      'Likelihood ratio 4.8 in the groin without complaints; any of the three 5.6 with complaints, none 0.39 (Khan 2006).',
    ],
  },
  {
    id: 'node',
    label: 'Lymph node',
    words: 'Whether a node is felt, and what it is like',
    limbs,
    sites: ['armpit', 'medial-elbow', 'groin'],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'node.kinds', sign: 'node', label: 'not felt, small and mobile, large or tender', ...practice },
        'nominal',
        'none',
        [
          ['not-felt', 'not felt'],
          ['felt-small-mobile', 'felt, small, mobile, not tender'],
          ['felt-large-or-tender', 'large, fixed, hard or tender'],
        ],
        ['not-felt'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['Small mobile nodes in the groin are common; one felt above the inner elbow is not.'],
  },
  {
    id: 'node-size',
    label: 'Size of the largest node',
    words: 'How wide the largest node is',
    limbs,
    sites: ['armpit', 'medial-elbow', 'groin'],
    midlineSites: [],
    scales: [
      measuredScale(
        { id: 'node.size', sign: 'node-size', label: 'millimeters', source: sources.memory, evidence: 'from memory' },
        'ratio',
        'mm',
        [0, 80],
        'higher-is-worse',
        {
          limits: [
            limit('up to 15 mm in the groin', { upper: 15, sites: ['groin'] }, sources.memory, 'from memory'),
            limit(
              'up to 5 mm above the inner elbow',
              { upper: 5, sites: ['medial-elbow'] },
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
    id: 'arm-lump',
    label: 'Lump along the arm',
    words: 'Whether a lump is felt along the arm',
    limbs: armLimbs,
    sites: ['upper-arm', 'forearm', 'hand'],
    midlineSites: [],
    scales: [yesNoScale({ id: 'lump.felt', sign: 'arm-lump', label: 'yes or no', ...practice })],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
];
