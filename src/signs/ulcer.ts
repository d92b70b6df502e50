import { gradedScale, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;
const sites = [
  'fingers',
  'hand',
  'other-arm-site',
  'pretibial-shin',
  'medial-gaiter',
  'lateral-malleolus',
  'heel',
  'metatarsal-head',
  'between-toes',
  'toe-tip',
  'other-leg-site',
];

/** Sores: whether, where, with what edge and how large. */
export const ulcerSigns: readonly Sign[] = [
  {
    id: 'ulcer-present',
    label: 'Sore or ulcer',
    words: 'Whether there is an open sore',
    limbs,
    sites,
    midlineSites: [],
    scales: [
      yesNoScale({
        id: 'ulcer.present',
        sign: 'ulcer-present',
        label: 'yes or no',
        source: sources.khan2006,
        evidence: 'confirmed',
      }),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['Sores of a leg with complaints made arterial disease likelier, likelihood ratio 5.9 (Khan 2006).'],
  },
  {
    id: 'ulcer-edge',
    label: 'Edge of the sore',
    words: 'What the edge of the sore looks like',
    limbs,
    sites,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'ulcer.edge.even', sign: 'ulcer-edge', label: 'even or irregular', ...practice },
        'nominal',
        'none',
        [
          ['even', 'even'],
          ['irregular', 'irregular'],
        ],
      ),
      gradedScale(
        { id: 'ulcer.edge.kinds', sign: 'ulcer-edge', label: 'kinds of edge', ...practice },
        'nominal',
        'none',
        [
          ['punched-out', 'punched out'],
          ['sloping', 'sloping'],
          ['undermined', 'undermined'],
          ['rolled', 'rolled'],
          ['callused', 'callused'],
          ['indistinct', 'indistinct'],
        ],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'ulcer-pattern',
    label: 'Pattern of the sore',
    words: 'Which pattern place and edge suggest: an impression, not a diagnosis',
    limbs,
    sites,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'ulcer.pattern', sign: 'ulcer-pattern', label: 'pattern by place and edge', ...practice },
        'nominal',
        'none',
        [
          ['arterial', 'as of an artery: toes, heel or outer ankle, punched out, pale dry base, painful'],
          ['venous', 'as of a vein: inside above the ankle, shallow, sloping irregular edge, wet, brown around'],
          ['neuropathic', 'as of pressure without feeling: pressure point, callused rim, little pain, warm foot'],
          ['mixed', 'more than one pattern'],
          ['other', 'other or unsure'],
        ],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['An impression, not a diagnosis.'],
  },
  {
    id: 'ulcer-area',
    label: 'Area of the sore',
    words: 'How large the sore is',
    limbs,
    sites,
    midlineSites: [],
    methods: ['length times width', 'traced'],
    scales: [
      measuredScale(
        { id: 'ulcer.area', sign: 'ulcer-area', label: 'square centimeters', ...practice },
        'ratio',
        'cm2',
        [0, 500],
        'higher-is-worse',
        { decimals: 1 },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Length times width and tracing are different methods: say which.'],
  },
];
