import { gradedScale, limit, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Scale, Sign } from './sign.js';
import { legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;

/** Over bone where there is bone: shin, inner ankle bone, then the top of the foot. */
const pressedSites = [
  'forearm',
  'dorsum-of-hand',
  'thigh',
  'pretibial-shin',
  'lower-calf',
  'behind-medial-malleolus',
  'dorsum-of-foot',
];
const midlineSites = ['sacrum'];

const graded: readonly Scale[] = [
  {
    id: 'pit.0-4.bands-2-4-6-8.long',
    sign: 'pitting-edema',
    label: '0 to 4+ by bands of depth (to 2, 4, 6, 8 mm) and long recovery',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'no pit', score: 0 },
      { value: '1', words: 'up to 2 mm, gone fast', score: 1 },
      { value: '2', words: '2 to 4 mm, gone in 10 to 15 seconds', score: 2 },
      { value: '3', words: '4 to 6 mm, may last over a minute', score: 3 },
      { value: '4', words: '6 to 8 mm, lasts 2 to 5 minutes', score: 4 },
    ],
    direction: 'higher-is-worse',
    normal: { words: '0, no pit', categories: ['0'] },
    limits: [],
    source: sources.pitDepthTable,
    evidence: 'confirmed',
    notes: [
      'The bands share the edges 2, 4 and 6 mm, and a pit that lasts 16 to 59 seconds has no grade: agree on a rule first.',
    ],
  },
  {
    id: 'pit.0-4.hogan',
    sign: 'pitting-edema',
    label: '0 to 4+ by depth (2, 3–4, 5–6, 8 mm) and recovery (15 s, 1 min)',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'no pit', score: 0 },
      { value: '1', words: '2 mm, gone at once', score: 1 },
      { value: '2', words: '3 to 4 mm, gone in under 15 seconds', score: 2 },
      { value: '3', words: '5 to 6 mm, gone in 15 to 60 seconds', score: 3 },
      { value: '4', words: '8 mm or more, lasts over a minute', score: 4 },
    ],
    direction: 'higher-is-worse',
    normal: { words: '0, no pit', categories: ['0'] },
    limits: [],
    source: sources.hogan2007,
    evidence: 'from memory',
    notes: ['A pit of 7 mm has no grade. 30 seconds is grade 3 here and has no grade by the long bands.'],
  },
  {
    id: 'pit.0-4.depth-only',
    sign: 'pitting-edema',
    label: '0 to 4+ by depth alone (2, 4, 6, 8 mm)',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'no pit', score: 0 },
      { value: '1', words: 'about 2 mm', score: 1 },
      { value: '2', words: 'about 4 mm', score: 2 },
      { value: '3', words: 'about 6 mm', score: 3 },
      { value: '4', words: 'about 8 mm', score: 4 },
    ],
    direction: 'higher-is-worse',
    normal: { words: '0, no pit', categories: ['0'] },
    limits: [],
    source: sources.practice,
    evidence: 'common practice, no source',
    notes: [
      'Copies differ in the recovery times they add: grade 2 as 10 to 15, under 15 or 10 to 25 seconds; grade 3 as 30, 60 or over 60 seconds.',
    ],
  },
  {
    id: 'oed.0-3.words',
    sign: 'pitting-edema',
    label: 'none, mild, moderate, severe',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'none', score: 0 },
      { value: '1', words: 'mild', score: 1 },
      { value: '2', words: 'moderate', score: 2 },
      { value: '3', words: 'severe', score: 3 },
    ],
    direction: 'higher-is-worse',
    normal: { words: 'none', categories: ['0'] },
    limits: [],
    source: sources.practice,
    evidence: 'common practice, no source',
  },
];

/** The same scale with "trace" between 0 and 1, scored 0.5. */
function withTrace(scale: Scale): Scale {
  const [none, ...rest] = scale.categories ?? [];
  if (none === undefined) return scale;
  return {
    ...scale,
    id: `${scale.id}.trace`,
    label: `${scale.label}, with trace`,
    categories: [none, { value: 'trace', words: 'trace, barely there', score: 0.5 }, ...rest],
    notes: [...(scale.notes ?? []), 'Trace is scored 0.5 by this library; no source gives it a number.'],
  };
}

const present: Scale = {
  id: 'oed.present',
  sign: 'pitting-edema',
  label: 'edema yes or no',
  level: 'nominal',
  categories: [
    { value: '0', words: 'no', score: 0 },
    { value: '1', words: 'yes', score: 1 },
  ],
  direction: 'higher-is-worse',
  normal: { words: 'no', categories: ['0'] },
  limits: [],
  source: sources.practice,
  evidence: 'common practice, no source',
  notes: ['Examiners agree better on whether there is edema than on how much.'],
};

const overallPresent: Scale = { ...present, id: 'oed.overall.present', sign: 'edema-overall' };

const overallWords: Scale = {
  id: 'oed.overall.words',
  sign: 'edema-overall',
  label: 'none, mild, moderate, severe in the person as a whole',
  level: 'ordinal',
  categories: graded.find((scale) => scale.id === 'oed.0-3.words')?.categories ?? [],
  direction: 'higher-is-worse',
  normal: { words: 'none', categories: ['0'] },
  limits: [],
  source: sources.practice,
  evidence: 'common practice, no source',
};

/** Swelling that keeps the mark of a finger, by place and in the person as a whole. */
export const edemaSigns: readonly Sign[] = [
  {
    id: 'pitting-edema',
    label: 'Pitting edema',
    words: 'How deep a pit the finger leaves, and how long it stays',
    limbs,
    sites: pressedSites,
    midlineSites,
    scales: [...graded, ...graded.map(withTrace), present],
    statistics: fittingStatistics('ordinal'),
    notes: [
      'Where depth and recovery point to different grades, texts do not say which wins: record both and state the rule.',
      'Record how long the finger was pressed: 2, 5, 10 and 30 seconds are all in use.',
      'Edema may come from the heart, the kidney or a medicine, not from the limb.',
    ],
  },
  {
    id: 'edema-overall',
    label: 'Edema of the person as a whole',
    words: 'One judgment for the visit, without a limb',
    limbs: [],
    sites: [],
    midlineSites: [],
    scales: [overallWords, overallPresent],
    statistics: fittingStatistics('ordinal'),
    notes: ['Takes no limb and no site.'],
  },
  {
    id: 'non-pitting-edema',
    label: 'Non-pitting edema',
    words: 'Swelling that keeps no mark of the finger',
    limbs,
    sites: pressedSites,
    midlineSites,
    scales: [yesNoScale({ id: 'oed.non-pitting', sign: 'non-pitting-edema', label: 'yes or no', ...practice })],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'edema-extent',
    label: 'How far up the edema reaches',
    words: 'The highest place where a pit stays',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'oed.extent', sign: 'edema-extent', label: 'highest level with a pit', ...practice },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'none'],
          ['1', 'foot or ankle'],
          ['2', 'below the knee'],
          ['3', 'to the thigh'],
          ['4', 'sacrum or above'],
        ],
        ['0'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [],
  },
  {
    id: 'pit-depth',
    label: 'Depth of the pit',
    words: 'How deep the pit is, measured',
    limbs,
    sites: pressedSites,
    midlineSites,
    scales: [
      measuredScale(
        { id: 'pit.depth', sign: 'pit-depth', label: 'millimeters', source: sources.kogo2017, evidence: 'confirmed' },
        'ratio',
        'mm',
        [0, 30],
        'higher-is-worse',
        { normal: { words: '0, no pit', upper: 0 }, decimals: 1 },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Record how long and how hard it was pressed: 2, 5, 10 and 30 seconds are all in use.'],
  },
  {
    id: 'pit-recovery',
    label: 'Time until the pit is gone',
    words: 'How long the pit stays',
    limbs,
    sites: pressedSites,
    midlineSites,
    scales: [
      measuredScale(
        { id: 'pit.recovery', sign: 'pit-recovery', label: 'seconds', source: sources.ono2024, evidence: 'confirmed' },
        'ratio',
        's',
        [0, 600],
        'higher-is-worse',
        {
          limits: [
            limit(
              '40 seconds has been used to split fast from slow; the split did not tell low albumin well',
              { upper: 40 },
              sources.ono2024,
              'confirmed',
            ),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['No limit is agreed on.'],
  },
];
