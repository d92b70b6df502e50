import { gradedScale, limit, measuredScale } from './define-scale.js';
import { fittingStatistics } from './fitting-statistics.js';
import type { Evidence, Limit, Scale, Sign } from './sign.js';
import { armLimbs, legLimbs } from './site.js';
import { sources } from './sources.js';

const mills = { source: sources.mills2014, evidence: 'confirmed' } as const;

/** Bands of the ankle-brachial index by edition: the index 1.00 is normal or borderline, depending on it. */
interface BandEdition {
  readonly id: string;
  readonly edition: string;
  readonly words: readonly [abnormal: string, borderline: string, normal: string, nonCompressible: string];
  /** Highest value of abnormal, of borderline and of normal. */
  readonly ends: readonly [number, number, number];
  readonly source: string;
  readonly evidence: Evidence;
}

const editions: readonly BandEdition[] = [
  {
    id: 'acc-aha-2024',
    edition: 'ACC/AHA 2024 (as 2016)',
    words: ['0.90 or less', '0.91 to 0.99', '1.00 to 1.40', 'above 1.40'],
    ends: [0.9, 0.99, 1.4],
    source: sources.gornik2024,
    evidence: 'confirmed',
  },
  {
    id: 'esc-2024',
    edition: 'ESC 2024',
    words: ['0.90 or less', '0.91 to 1.00', '1.01 to 1.40', 'above 1.40'],
    ends: [0.9, 1, 1.4],
    source: `${sources.esc2024}; the edges of borderline are from memory`,
    evidence: 'from memory',
  },
  {
    id: 'older',
    edition: 'older statements',
    words: ['0.90 or less', '0.91 to 1.00', '1.01 to 1.40', 'above 1.40'],
    ends: [0.9, 1, 1.4],
    source: sources.olderIndexStatements,
    evidence: 'from memory',
  },
];

function bandScale({ id, edition, words, source, evidence }: BandEdition): Scale {
  return gradedScale(
    { id: `abi.band.${id}`, sign: 'ankle-brachial-index', label: `bands, ${edition}`, source, evidence },
    'nominal',
    'none',
    [
      ['abnormal', `abnormal, ${words[0]}`],
      ['borderline', `borderline, ${words[1]}`],
      ['normal', `normal, ${words[2]}`],
      ['non-compressible', `arteries not compressible, ${words[3]}`],
    ],
    ['normal'],
    { notes: ['Kinds, not steps: above 1.40 is not better than normal. Round to two decimals first.'] },
  );
}

function bandLimit({ edition, words, ends, source, evidence }: BandEdition): Limit {
  const lower = Number((ends[1] + 0.01).toFixed(2));
  return limit(`normal ${words[2]}, abnormal ${words[0]}`, { lower, upper: ends[2], edition }, source, evidence);
}

/**
 * The band of an ankle-brachial index by the edition named in the id of a band scale. The index is rounded to two
 * decimals first; `undefined` for an index that is no number or an id that is no edition.
 */
export function indexBand(index: number, bandScaleId: string): string | undefined {
  const edition = editions.find(({ id }) => bandScaleId === `abi.band.${id}`);
  if (edition === undefined || !Number.isFinite(index)) return undefined;
  const hundredths = Math.round(index * 100);
  const at = edition.ends.findIndex((end) => hundredths <= Math.round(end * 100));
  return ['abnormal', 'borderline', 'normal', 'non-compressible'][at < 0 ? 3 : at];
}

/** Pressures of arm, ankle and toe, and the indices made of them. */
export const pressureSigns: readonly Sign[] = [
  {
    id: 'brachial-pressure',
    label: 'Systolic pressure of the arm',
    words: 'The upper blood pressure at the arm',
    limbs: armLimbs,
    sites: ['brachial'],
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'pressure.brachial',
          sign: 'brachial-pressure',
          label: 'millimeters of mercury',
          source: sources.sonter2015,
          evidence: 'confirmed',
        },
        'ratio',
        'mm[Hg]',
        [50, 280],
        'two-ended',
        { decimals: 0 },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: ['Not judged here. The two arms are usually within 10 mm[Hg].'],
  },
  {
    id: 'ankle-pressure',
    label: 'Systolic pressure of the ankle',
    words: 'The upper blood pressure at the ankle',
    limbs: legLimbs,
    sites: ['posterior-tibial', 'dorsalis-pedis'],
    midlineSites: [],
    scales: [
      measuredScale(
        { id: 'pressure.ankle', sign: 'ankle-pressure', label: 'millimeters of mercury', ...mills },
        'ratio',
        'mm[Hg]',
        [0, 300],
        'two-ended',
        {
          limits: [limit('above 100 is ischemia grade 0', { lower: 100 }, sources.mills2014, 'confirmed')],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [],
  },
  {
    id: 'toe-pressure',
    label: 'Systolic pressure of the great toe',
    words: 'The upper blood pressure at the great toe',
    limbs: legLimbs,
    sites: ['great-toe'],
    midlineSites: [],
    scales: [
      measuredScale(
        { id: 'pressure.toe', sign: 'toe-pressure', label: 'millimeters of mercury', ...mills },
        'ratio',
        'mm[Hg]',
        [0, 250],
        'lower-is-worse',
        {
          limits: [
            limit('60 or more is ischemia grade 0', { lower: 60 }, sources.mills2014, 'confirmed'),
            limit('under 30 is ischemia grade 3', { lower: 30 }, sources.mills2014, 'confirmed'),
          ],
          decimals: 0,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [],
  },
  {
    id: 'ankle-brachial-index',
    label: 'Ankle-brachial index',
    words: 'Pressure of the ankle divided by that of the arm',
    limbs: legLimbs,
    sites: [],
    midlineSites: [],
    methods: ['higher ankle artery', 'lower ankle artery', 'mean of the ankle arteries'],
    scales: [
      measuredScale(
        {
          id: 'abi.ratio',
          sign: 'ankle-brachial-index',
          label: 'ratio',
          source: sources.aboyans2003,
          evidence: 'confirmed',
        },
        'ratio',
        '{ratio}',
        [0, 2.5],
        'two-ended',
        { limits: editions.map(bandLimit), decimals: 2 },
      ),
      ...editions.map(bandScale),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [
      'Say how it was worked out: in 6,880 people 18.0 % had arterial disease by the higher ankle pressure and 34.5 % by the lower (2007).',
      'It can be falsely high in diabetes, kidney disease and old age. A decision on compression needs a qualified clinician and local policy.',
    ],
  },
  {
    id: 'toe-brachial-index',
    label: 'Toe-brachial index',
    words: 'Pressure of the great toe divided by that of the arm',
    limbs: legLimbs,
    sites: ['great-toe'],
    midlineSites: [],
    scales: [
      measuredScale(
        {
          id: 'tbi.ratio',
          sign: 'toe-brachial-index',
          label: 'ratio',
          source: sources.sonter2015,
          evidence: 'confirmed',
        },
        'ratio',
        '{ratio}',
        [0, 1.6],
        'lower-is-worse',
        {
          limits: [
            limit('0.70 or less is abnormal', { lower: 0.7, edition: 'ESC 2024' }, sources.esc2024, 'confirmed'),
          ],
          decimals: 2,
        },
      ),
    ],
    statistics: fittingStatistics('ratio'),
    notes: [],
  },
];
