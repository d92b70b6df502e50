import { gradedScale, measuredScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Scale, Sign } from './sign.js';
import { limbs } from './site.js';
import { sources } from './sources.js';

const arteries = ['brachial', 'radial', 'ulnar', 'femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'];

const gradeScales: readonly Scale[] = [
  {
    id: 'pulse.0-3.normal2',
    sign: 'pulse-grade',
    label: '0 to 3, where 2 is normal',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'absent', score: 0 },
      { value: '1', words: 'weak or thready', score: 1 },
      { value: '2', words: 'normal', score: 2 },
      { value: '3', words: 'full, bounding', score: 3 },
    ],
    direction: 'two-ended',
    normal: { words: '2 is normal', categories: ['2'] },
    limits: [],
    source: sources.armstrong2010,
    evidence: 'confirmed',
    notes: ['3 is bounding here, but increased on 0 to 4 with 2 normal, and normal on 0 to 4 with 3 normal.'],
  },
  {
    id: 'pulse.0-4.normal2',
    sign: 'pulse-grade',
    label: '0 to 4, where 2 is normal',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'absent', score: 0 },
      { value: '1', words: 'diminished', score: 1 },
      { value: '2', words: 'normal, as expected', score: 2 },
      { value: '3', words: 'increased, full', score: 3 },
      { value: '4', words: 'bounding', score: 4 },
    ],
    direction: 'two-ended',
    normal: { words: '2 is normal', categories: ['2'] },
    limits: [],
    source: sources.physicalExaminationText,
    evidence: 'confirmed',
    notes: ['Some texts call 4 aneurysmal.'],
  },
  {
    id: 'pulse.0-4.normal3',
    sign: 'pulse-grade',
    label: '0 to 4, where 3 is normal',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'absent', score: 0 },
      { value: '1', words: 'faint, but there', score: 1 },
      { value: '2', words: 'slightly reduced', score: 2 },
      { value: '3', words: 'normal', score: 3 },
      { value: '4', words: 'bounding', score: 4 },
    ],
    direction: 'two-ended',
    normal: { words: '3 is normal', categories: ['3'] },
    limits: [],
    source: sources.clinicalMethods1990,
    evidence: 'confirmed',
    notes: ['Two steps below normal and one above. The words of steps 1 and 2 are from memory.'],
  },
  {
    id: 'pulse.0-4.strong4',
    sign: 'pulse-grade',
    label: '0 to 4, where 4 is strong (the middle has no words)',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'absent', score: 0 },
      { value: '1', words: 'no words given', score: 1 },
      { value: '2', words: 'no words given', score: 2 },
      { value: '3', words: 'no words given', score: 3 },
      { value: '4', words: 'strong or bounding', score: 4 },
    ],
    direction: 'two-ended',
    limits: [],
    source: sources.pocketReference,
    evidence: 'confirmed',
    notes: ['Only the end points are worded, so nobody can say which grade is normal.'],
  },
  {
    id: 'pulse.below-normal-above',
    sign: 'pulse-grade',
    label: 'below normal, normal, above normal',
    level: 'ordinal',
    categories: [
      { value: 'below', words: 'below normal or absent', score: 0 },
      { value: 'normal', words: 'normal', score: 1 },
      { value: 'above', words: 'above normal', score: 2 },
    ],
    direction: 'two-ended',
    normal: { words: 'normal', categories: ['normal'] },
    limits: [],
    source: sources.practice,
    evidence: 'common practice, no source',
    notes: ['What differently numbered grades have in common; coarse, but safe.'],
  },
  {
    id: 'pulse.binary',
    sign: 'pulse-grade',
    label: 'felt or not felt',
    level: 'nominal',
    categories: [
      { value: '0', words: 'not felt', score: 0 },
      { value: '1', words: 'felt', score: 1 },
    ],
    direction: 'lower-is-worse',
    normal: { words: 'felt', categories: ['1'] },
    limits: [],
    source: sources.brearley1992,
    evidence: 'confirmed',
    notes: ['A few healthy people have no pulse that can be felt on top of the foot: not felt is no proof of disease.'],
  },
];

const detectionScales: readonly Scale[] = [
  {
    id: 'pulse.detection3',
    sign: 'pulse-detection',
    label: 'felt, Doppler only, or absent',
    level: 'ordinal',
    categories: [
      { value: 'absent', words: 'neither felt nor heard by Doppler', score: 0 },
      { value: 'doppler-only', words: 'not felt, heard by Doppler', score: 1 },
      { value: 'palpable', words: 'felt', score: 2 },
    ],
    direction: 'lower-is-worse',
    normal: { words: 'felt', categories: ['palpable'] },
    limits: [],
    source: sources.mowlavi2002,
    evidence: 'common practice, no source',
    notes: ['Only where Doppler was used on every pulse that was not felt.'],
  },
  {
    id: 'pulse.detection4',
    sign: 'pulse-detection',
    label: 'felt, Doppler only, absent, or not felt with Doppler not used',
    level: 'nominal',
    categories: [
      { value: 'absent', words: 'neither felt nor heard by Doppler', score: 0 },
      { value: 'doppler-only', words: 'not felt, heard by Doppler', score: 1 },
      { value: 'palpable', words: 'felt', score: 2 },
      { value: 'not-felt-doppler-not-used', words: 'not felt, Doppler not used', score: 3 },
    ],
    direction: 'none',
    normal: { words: 'felt', categories: ['palpable'] },
    limits: [],
    source: sources.practice,
    evidence: 'common practice, no source',
    notes: [
      '"Not felt, Doppler not used" has no place in the order: the pulse may be there or not. So the scale is nominal.',
    ],
  },
];

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;

/** How the two sides are felt, and how the limb lies while they are. */
const methods = ['both sides at once', 'one at a time'];
const positions = ['knee bent', 'hip and knee eased', 'lying', 'sitting'];

/** How strong a pulse feels, how it was found, how fast and regular it is, and whether the two sides are alike. */
export const pulseSigns: readonly Sign[] = [
  {
    id: 'pulse-grade',
    label: 'Pulse strength',
    words: 'How strong the pulse feels under the fingers',
    limbs,
    sites: arteries,
    midlineSites: [],
    methods,
    positions,
    scales: gradeScales,
    statistics: fittingStatistics('ordinal'),
    notes: [
      'The digit is not the finding: 3 is normal, increased or bounding, depending on the scale.',
      'Grade 0 does not say whether Doppler was tried: record how the pulse was found beside it.',
    ],
  },
  {
    id: 'pulse-detection',
    label: 'How the pulse was found',
    words: 'Felt, heard only by Doppler, or not found',
    limbs,
    sites: arteries,
    midlineSites: [],
    methods,
    positions,
    scales: detectionScales,
    statistics: fittingStatistics('ordinal'),
    notes: [
      'Heard by Doppler only is not a grade 0 or 1.',
      'In one study of 82 feet the pulse on top of the foot was felt in 78 % and present by Doppler in 95 % (Mowlavi 2002).',
    ],
  },
  {
    id: 'pulse-equality',
    label: 'Equality of the two pulses',
    words: 'Whether left and right feel alike',
    limbs: [],
    sites: arteries,
    midlineSites: [],
    isPaired: true,
    methods,
    positions,
    scales: [
      gradedScale(
        {
          id: 'pulse.equality',
          sign: 'pulse-equality',
          label: 'equal, left weaker, right weaker, not compared',
          ...practice,
        },
        'nominal',
        'none',
        [
          ['equal', 'equal'],
          ['left-weaker', 'left weaker'],
          ['right-weaker', 'right weaker'],
          ['not-compared', 'not compared'],
        ],
        ['equal'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['Recorded once for both sides. Loading warns where it contradicts the two grades.'],
  },
  {
    id: 'pulse-rate',
    label: 'Pulse rate',
    words: 'Beats in a minute',
    limbs,
    sites: arteries,
    midlineSites: [],
    methods: ['counted 15 seconds', 'counted 30 seconds', 'counted 60 seconds'],
    scales: [
      measuredScale(
        { id: 'pulse.rate', sign: 'pulse-rate', label: 'beats in a minute', ...practice },
        'ratio',
        '/min',
        [0, 300],
        'two-ended',
        { decimals: 0 },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Say how long it was counted.'],
  },
  {
    id: 'pulse-rhythm',
    label: 'Pulse rhythm',
    words: 'Whether the beats come regularly',
    limbs,
    sites: arteries,
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'pulse.rhythm',
          sign: 'pulse-rhythm',
          label: 'regular, irregular with or without a pattern',
          ...practice,
        },
        'nominal',
        'none',
        [
          ['regular', 'regular'],
          ['irregular-with-pattern', 'irregular with a pattern'],
          ['irregular-without-pattern', 'irregular without a pattern'],
        ],
        ['regular'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
];
