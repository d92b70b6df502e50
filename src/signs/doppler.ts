import { gradedScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Sign } from './sign.js';
import { legLimbs, limbs } from './site.js';
import { sources } from './sources.js';

const arteries = ['brachial', 'radial', 'ulnar', 'femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'];
const kim = { source: sources.kim2020, evidence: 'confirmed' } as const;

/** Doppler waveforms in the words of the consensus of 2020. */
export const dopplerSigns: readonly Sign[] = [
  {
    id: 'doppler-direction',
    label: 'Arterial waveform: direction of flow',
    words: 'Which way the blood flows in the artery',
    limbs,
    sites: arteries,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'doppler.direction', sign: 'doppler-direction', label: 'direction of flow', ...kim },
        'nominal',
        'none',
        [
          ['antegrade', 'forward (antegrade)'],
          ['retrograde', 'backward (retrograde)'],
          ['bidirectional', 'both ways'],
          ['absent', 'no flow'],
        ],
        ['antegrade'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
  {
    id: 'doppler-phasicity',
    label: 'Arterial waveform: phases',
    words: 'Whether the signal crosses the baseline',
    limbs,
    sites: arteries,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'doppler.phasicity', sign: 'doppler-phasicity', label: 'multiphasic or monophasic', ...kim },
        'nominal',
        'none',
        [
          ['multiphasic', 'multiphasic, crosses the baseline'],
          ['monophasic', 'monophasic, stays on one side'],
        ],
        ['multiphasic'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [
      'Of the old words, triphasic is multiphasic; biphasic is multiphasic only if the flow reverses: ask, and map nothing silently.',
    ],
  },
  {
    id: 'doppler-resistance',
    label: 'Arterial waveform: resistance',
    words: 'How resistive the signal is',
    limbs,
    sites: arteries,
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'doppler.resistance', sign: 'doppler-resistance', label: 'high, intermediate, low', ...kim },
        'ordinal',
        'none',
        [
          ['low', 'low resistive'],
          ['intermediate', 'intermediate resistive'],
          ['high', 'high resistive'],
        ],
        ['high'],
      ),
    ],
    statistics: fittingStatistics('ordinal'),
    notes: ['High is normal in a resting limb.'],
  },
  {
    id: 'doppler-venous',
    label: 'Venous waveform',
    words: 'How the flow in the vein moves with breathing',
    limbs: legLimbs,
    sites: ['common-femoral-vein', 'popliteal-vein', 'other-vein'],
    midlineSites: [],
    scales: [
      gradedScale(
        { id: 'doppler.venous', sign: 'doppler-venous', label: 'pattern of venous flow', ...kim },
        'nominal',
        'none',
        [
          ['respirophasic', 'moves with breathing'],
          ['decreased', 'decreased'],
          ['pulsatile', 'pulsatile'],
          ['continuous', 'continuous'],
          ['regurgitant', 'regurgitant'],
        ],
        ['respirophasic'],
      ),
    ],
    statistics: fittingStatistics('nominal'),
    notes: [],
  },
];
