import { gradedScale, limit, measuredScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Limb, Limit, Sign } from './sign.js';
import { armLimbs, legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;
const positions = ['lying', 'sitting', 'standing'];
const apart =
  'Readings at different landmarks, or lying and sitting, are not interchangeable. Record the time of day as well: girths change over a day.';

function girth(
  part: string,
  label: string,
  words: string,
  onLimbs: readonly Limb[],
  range: readonly [number, number],
  landmarks: readonly string[],
  limits: readonly Limit[],
): Sign {
  const id = `${part}-girth`;
  return {
    id,
    label,
    words,
    limbs: onLimbs,
    sites: [],
    midlineSites: [],
    positions,
    landmarks,
    scales: [
      measuredScale(
        { id: `girth.${part}`, sign: id, label: 'centimeters', source: sources.teSlaa2011, evidence: 'confirmed' },
        'ratio',
        'cm',
        range,
        'higher-is-more',
        { limits, decimals: 1 },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [apart],
  };
}

/** How thick the limb is: by tape, by eye, by volume, and one side against the other. */
export const girthSigns: readonly Sign[] = [
  girth(
    'upper-arm',
    'Girth of the upper arm',
    'Around the upper arm, by tape',
    armLimbs,
    [12, 70],
    ['midway from shoulder tip to elbow tip'],
    [limit('a side difference of 2 cm or more', { upper: 2, group: 'side difference' }, sources.memory, 'from memory')],
  ),
  girth(
    'forearm',
    'Girth of the forearm',
    'Around the forearm, by tape',
    armLimbs,
    [10, 55],
    ['10 cm below the elbow tip'],
    [limit('a side difference of 2 cm or more', { upper: 2, group: 'side difference' }, sources.memory, 'from memory')],
  ),
  girth(
    'thigh',
    'Girth of the thigh',
    'Around the thigh, by tape',
    legLimbs,
    [25, 110],
    ['10 cm above the kneecap', '15 cm above the kneecap'],
    [],
  ),
  girth(
    'calf',
    'Girth of the calf',
    'Around the calf, by tape',
    legLimbs,
    [18, 80],
    ['10 cm below the bump under the kneecap', 'widest point'],
    [
      limit(
        'a side difference above 3 cm, 10 cm below the bump under the kneecap',
        { upper: 3, group: 'side difference' },
        sources.wells1997,
        'confirmed',
      ),
    ],
  ),
  girth(
    'ankle',
    'Girth of the ankle',
    'Around the ankle, by tape',
    legLimbs,
    [12, 60],
    ['narrowest point', 'middle of the inner ankle bone'],
    [
      limit(
        'a side difference above 1 cm',
        { upper: 1, group: 'side difference' },
        sources.practice,
        'common practice, no source',
      ),
    ],
  ),
  girth(
    'figure-of-eight-ankle',
    'Figure-of-eight girth of the ankle',
    'Around ankle and foot in a figure of eight, by tape',
    legLimbs,
    [35, 80],
    ['eight landmarks of ankle and foot'],
    [],
  ),
  {
    id: 'girth-difference',
    label: 'Side difference of a girth',
    words: 'Left girth minus right girth',
    limbs: [],
    sites: ['upper-arm', 'forearm', 'thigh', 'lower-leg', 'behind-medial-malleolus'],
    midlineSites: [],
    isPaired: true,
    positions,
    scales: [
      measuredScale(
        {
          id: 'girth.difference',
          sign: 'girth-difference',
          label: 'centimeters, left minus right',
          source: sources.campanholi2014,
          evidence: 'confirmed',
        },
        'interval',
        'cm',
        [-40, 40],
        'two-ended',
        { decimals: 1 },
      ),
    ],
    statistics: fittingStatistics('interval'),
    notes: ['Compare with the smallest detectable change of the girth itself first.'],
  },
  {
    id: 'girth-by-eye',
    label: 'Girth of the two sides by eye',
    words: 'Whether left and right look equally thick',
    limbs: [],
    sites: ['upper-arm', 'forearm', 'thigh', 'lower-leg', 'foot'],
    midlineSites: [],
    isPaired: true,
    scales: [
      gradedScale(
        { id: 'girth.by-eye', sign: 'girth-by-eye', label: 'equal, left larger, right larger', ...practice },
        'nominal',
        'none',
        [
          ['equal', 'equal'],
          ['left-larger', 'left larger'],
          ['right-larger', 'right larger'],
        ],
        ['equal'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'limb-volume',
    label: 'Volume of the limb',
    words: 'How much room the limb takes, by water or worked out from girths',
    limbs,
    sites: [],
    midlineSites: [],
    methods: ['water', 'cones every 4 cm', 'cones every 8 cm', 'cones every 12 cm'],
    scales: [
      measuredScale(
        {
          id: 'limb.volume',
          sign: 'limb-volume',
          label: 'milliliters',
          source: sources.campanholi2014,
          evidence: 'confirmed',
        },
        'ratio',
        'mL',
        [500, 30000],
        'higher-is-more',
        {
          limits: [
            limit(
              'a side difference of 9.7 % in the arm, in one study',
              { upper: 9.7, group: 'side difference in percent, arm' },
              sources.campanholi2014,
              'confirmed',
            ),
            limit(
              'a side difference of 5.7 % in the leg, in one study',
              { upper: 5.7, group: 'side difference in percent, leg' },
              sources.campanholi2014,
              'confirmed',
            ),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Say how it was measured: water, or cones and the distance between the girths.'],
  },
];
