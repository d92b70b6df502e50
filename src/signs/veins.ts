import { gradedScale, yesNoScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { legLimbs } from './site.js';
import { sources } from './sources.js';

const lurie = { source: sources.lurie2020, evidence: 'confirmed' } as const;

/** Signs of vein disease seen on the leg. */
export const veinSigns: readonly Sign[] = [
  {
    id: 'varicose-veins',
    label: 'Varicose veins',
    words: 'Whether varicose veins are seen standing',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    positions: ['standing'],
    scales: [yesNoScale({ id: 'veins.varicose', sign: 'varicose-veins', label: 'yes or no', ...lurie })],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'ceap-class',
    label: 'Clinical class of vein disease (CEAP C)',
    words: 'The clinical class of vein disease',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'ceap.c.2020', sign: 'ceap-class', label: 'CEAP C of 2020, all classes', ...lurie },
        'nominal',
        'none',
        [
          ['C0', 'no sign of vein disease seen or felt'],
          ['C1', 'fine or reticular veins'],
          ['C2', 'varicose veins'],
          ['C2r', 'varicose veins that came back'],
          ['C3', 'edema'],
          ['C4a', 'brown staining or eczema'],
          ['C4b', 'hardened skin or white scars'],
          ['C4c', 'crown of fine veins at the ankle'],
          ['C5', 'healed ulcer'],
          ['C6', 'open ulcer'],
          ['C6r', 'open ulcer that came back'],
        ],
        ['C0'],
        { notes: ['The letters are kinds, not steps.'] },
      ),
      gradedScale(
        { id: 'ceap.c.0-6', sign: 'ceap-class', label: 'CEAP C0 to C6 without letters', ...lurie },
        'ordinal',
        'higher-is-worse',
        [
          ['C0', 'no sign of vein disease seen or felt'],
          ['C1', 'fine or reticular veins'],
          ['C2', 'varicose veins'],
          ['C3', 'edema'],
          ['C4', 'changes of the skin'],
          ['C5', 'healed ulcer'],
          ['C6', 'open ulcer'],
        ],
        ['C0'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: ['A description, not a score of severity whose course could be followed.'],
  },
];
