import { gradedScale, measuredScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Scale, Sign } from './sign.js';
import { legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

const practice = { source: sources.practice, evidence: 'common practice, no source' } as const;
const memory = { source: sources.memory, evidence: 'from memory' } as const;
const emergency = 'A new finding belongs to the clinical pathway at once, not to this library.';

function monofilament(places: number): Scale {
  return measuredScale(
    {
      id: `monofilament.${places}`,
      sign: 'monofilament',
      label: `places felt of ${places}`,
      source: sources.lanting2020,
      evidence: 'confirmed',
    },
    'ratio',
    '{count}',
    [0, places],
    'lower-is-worse',
    { normal: { words: 'all felt', lower: places }, decimals: 0 },
  );
}

const sixPs: readonly (readonly [id: string, label: string, words: string])[] = [
  ['pallor', 'Pallor', 'Whether the limb is pale'],
  ['pulselessness', 'Pulselessness', 'Whether the pulse is gone'],
  ['paresthesia', 'Paresthesia', 'Whether it tingles or is numb'],
  ['paralysis', 'Paralysis', 'Whether it cannot be moved'],
  ['poikilothermia', 'Cold limb', 'Whether the limb has the cold of the room'],
];

/** Feeling and strength, the six Ps as six fields, and the classes of limb ischemia. */
export const nerveAndClassSigns: readonly Sign[] = [
  {
    id: 'light-touch',
    label: 'Light touch',
    words: 'Whether a light touch is felt',
    limbs,
    sites: [
      'first-web-space-hand',
      'index-pulp',
      'little-finger-pulp',
      'sole',
      'dorsum-of-foot',
      'first-web-space-foot',
    ],
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'touch.0-2',
          sign: 'light-touch',
          label: 'intact, altered, absent',
          source: sources.pinprick2013,
          evidence: 'confirmed',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['intact', 'intact'],
          ['altered', 'altered, tingling'],
          ['absent', 'absent'],
        ],
        ['intact'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [],
  },
  {
    id: 'monofilament',
    label: 'Monofilament',
    words: 'At how many places of the foot the 10 g filament is felt',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [monofilament(4), monofilament(10)],
    statistics: fittingStatistics('ratio'),
    notes: ['Counts of 4 and of 10 places are not pooled.'],
  },
  {
    id: 'motor-power',
    label: 'Muscle power',
    words: 'How strong the movement is',
    limbs,
    sites: [
      'wrist-extension',
      'finger-abduction',
      'thumb-opposition',
      'ankle-dorsiflexion',
      'plantarflexion',
      'toe-extension',
    ],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'power.0-5', sign: 'motor-power', label: '0 to 5', ...memory },
        'ordinal',
        'lower-is-worse',
        [
          ['0', 'none'],
          ['1', 'flicker'],
          ['2', 'with gravity taken away'],
          ['3', 'against gravity'],
          ['4', 'against some resistance'],
          ['5', 'full'],
        ],
        ['5'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [],
  },
  {
    id: 'limb-pain',
    label: 'Limb pain',
    words: 'How much the limb hurts, as the patient says',
    limbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'pain.0-10', sign: 'limb-pain', label: '0 to 10', ...practice },
        'ordinal',
        'higher-is-worse',
        Array.from(
          { length: 11 },
          (_, grade) =>
            [String(grade), grade === 0 ? 'no pain' : grade === 10 ? 'worst pain' : `${grade} of 10`] as const,
        ),
        ['0'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: ['The patient is the reader of this sign. New pain, or pain out of proportion, is a warning.', emergency],
  },
  ...sixPs.map(
    ([id, label, words]): Sign => ({
      id,
      label,
      words,
      limbs,
      sites: [],
      midlineSites: [],
      scales: [
        yesNoScale({
          id: `six-p.${id}`,
          sign: id,
          label: 'yes or no',
          source: sources.rutherford1997,
          evidence: 'confirmed',
        }),
      ],
      statistics: fittingStatistics('nominal'),
      notes: ['The six Ps are six fields; their number is no score of severity.', emergency],
    }),
  ),
  {
    id: 'acute-ischemia-class',
    label: 'Class of acute limb ischemia',
    words: 'How far the limb is threatened',
    limbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'ischemia.acute.1997',
          sign: 'acute-ischemia-class',
          label: 'I to III, 1997',
          source: sources.rutherford1997,
          evidence: 'confirmed',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['I', 'feeling and strength kept, arterial and venous signals heard'],
          ['IIa', 'feeling lost at most in the toes, strength kept, arterial signal often not heard, venous heard'],
          ['IIb', 'feeling lost beyond the toes, some weakness, arterial signal usually not heard, venous heard'],
          ['III', 'feeling and movement gone, neither signal heard'],
        ],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: ['IIa to III are emergencies: for past, de-identified or simulated cases only.', emergency],
  },
  {
    id: 'chronic-ischemia-class',
    label: 'Class of chronic limb ischemia',
    words: 'How far the disease of the leg has gone',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'ischemia.chronic.0-6', sign: 'chronic-ischemia-class', label: '0 to 6', ...memory },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'no complaints'],
          ['1', 'mild pain on walking'],
          ['2', 'moderate pain on walking'],
          ['3', 'severe pain on walking'],
          ['4', 'pain at rest'],
          ['5', 'minor loss of tissue'],
          ['6', 'major loss of tissue'],
        ],
        ['0'],
      ),
      gradedScale(
        { id: 'ischemia.chronic.fontaine', sign: 'chronic-ischemia-class', label: 'I to IV (Fontaine)', ...memory },
        'ordinal',
        'higher-is-worse',
        [
          ['I', 'no complaints'],
          ['IIa', 'pain on walking beyond about 200 m'],
          ['IIb', 'pain on walking under about 200 m'],
          ['III', 'pain at rest'],
          ['IV', 'ulcer or gangrene'],
        ],
        ['I'],
        { notes: ['Not interchangeable with 0 to 6 class for class.'] },
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [],
  },
  {
    id: 'wifi-ischemia',
    label: 'Ischemia grade of the threatened limb (WIfI)',
    words: 'Ischemia grade by ankle and toe pressures',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        {
          id: 'wifi.ischemia.0-3',
          sign: 'wifi-ischemia',
          label: '0 to 3',
          source: sources.mills2014,
          evidence: 'confirmed',
        },
        'ordinal',
        'higher-is-worse',
        [
          ['0', 'index 0.80 or more, ankle above 100, toe 60 or more'],
          ['1', 'index 0.60 to 0.79, ankle 70 to 100, toe 40 to 59'],
          ['2', 'index 0.40 to 0.59, ankle 50 to 70, toe 30 to 39'],
          ['3', 'index 0.39 or less, ankle under 50, toe under 30'],
        ],
        ['0'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: [
      'An ankle pressure of 70 stands in two grades. Where index and toe disagree, the toe wins. Wound, ischemia and infection are told apart, not summed.',
    ],
  },
];
