import { fittingStatistics } from './fitting-statistics.js';
import type { Limit, Scale, Sign } from './sign.js';
import { limbs } from './site.js';
import { sources } from './sources.js';

const fingers = ['thumb', 'index-finger', 'other-finger'];
const toes = ['great-toe', 'other-toe'];
const midlineSites = ['forehead', 'sternum'];

const fingerLimits: readonly Limit[] = [
  {
    words: 'up to 2 seconds in adult men (about 4 in 100 healthy men are above)',
    upper: 2,
    group: 'adult men',
    source: sources.schriger1988,
    evidence: 'confirmed',
  },
  {
    words: 'up to 2.9 seconds in 95 of 100 adult women',
    upper: 2.9,
    group: 'adult women',
    source: sources.schriger1988,
    evidence: 'confirmed',
  },
  {
    words: 'up to 4.5 seconds in 95 of 100 older adults (29 in 100 are above 2 seconds)',
    upper: 4.5,
    group: 'older adults',
    source: sources.schriger1988,
    evidence: 'confirmed',
  },
  {
    words: 'about 2 seconds in children older than 7 days',
    upper: 2,
    group: 'children older than 7 days',
    source: sources.fleming2015,
    evidence: 'confirmed',
  },
  {
    words: 'above 4.5 seconds is used as abnormal in intensive care, index finger',
    upper: 4.5,
    group: 'adults in intensive care',
    source: sources.raia2022,
    evidence: 'confirmed',
  },
  {
    words: 'under 2 seconds in some nursing texts, under 3 in others',
    upper: 3,
    source: sources.practice,
    evidence: 'common practice, no source',
  },
];

const lowerLimits: readonly Limit[] = [
  {
    words: 'about 4 seconds in children older than 7 days, chest or foot',
    upper: 4,
    group: 'children older than 7 days',
    source: sources.fleming2015,
    evidence: 'confirmed',
  },
];

function seconds(part: string, label: string, sites: readonly string[], limits: readonly Limit[]): Scale {
  return {
    id: `refill.seconds.${part}`,
    sign: 'capillary-refill',
    label: `seconds, ${label}`,
    level: 'ratio',
    unit: 's',
    range: { lowest: 0, highest: 20 },
    direction: 'higher-is-worse',
    limits,
    source: sources.anderson2008,
    evidence: 'confirmed',
    decimals: 1,
    sites,
  };
}

const scales: readonly Scale[] = [
  seconds('finger', 'finger', fingers, fingerLimits),
  seconds('toe', 'toe', toes, lowerLimits),
  seconds('knee', 'knee', ['knee'], []),
  seconds('chest', 'breastbone', ['sternum'], lowerLimits),
  seconds('forehead', 'forehead', ['forehead'], []),
  {
    id: 'refill.words',
    sign: 'capillary-refill',
    label: 'brisk or sluggish',
    level: 'ordinal',
    categories: [
      { value: 'brisk', words: 'brisk, comes back promptly', score: 0 },
      { value: 'sluggish', words: 'sluggish, comes back slowly', score: 1 },
    ],
    direction: 'higher-is-worse',
    normal: { words: 'brisk', categories: ['brisk'] },
    limits: [],
    source: sources.practice,
    evidence: 'common practice, no source',
  },
  {
    id: 'refill.prolonged',
    sign: 'capillary-refill',
    label: 'prolonged yes or no, by a stated cut-off',
    level: 'nominal',
    categories: [
      { value: '0', words: 'not prolonged', score: 0 },
      { value: '1', words: 'prolonged', score: 1 },
    ],
    direction: 'higher-is-worse',
    normal: { words: 'not prolonged', categories: ['0'] },
    limits: [],
    source: sources.anderson2008,
    evidence: 'confirmed',
    notes: ['Store the cut-off beside it (recordedLimit).'],
  },
];

/** The time until color comes back after pressing. */
export const capillaryRefillSigns: readonly Sign[] = [
  {
    id: 'capillary-refill',
    label: 'Capillary refill',
    words: 'How fast color comes back after pressing a finger, toe or the skin',
    limbs,
    sites: [...fingers, 'knee', ...toes],
    midlineSites,
    scales,
    statistics: fittingStatistics('ratio'),
    notes: [
      'Finger, toe and chest are not pooled: each has its own scale and limits.',
      '"Under 2" is not 2 and not 1.9: it is kept as "<2".',
      'Press 5 seconds with moderate force at 20 to 25 °C; a stopwatch lowers the variation between examiners (Fleming 2015).',
      'Two examiners of the same adult differed by −1.7 to +1.9 seconds in 95 of 100 pairs (Anderson 2008).',
      'Harder to see on dark skin, cool skin and under nail varnish.',
    ],
  },
];
