import type { Level } from './sign.js';

const graded = ['percentAgreement', 'specificAgreement', 'cohenKappa', 'gwetAgreement', 'krippendorffAlpha'];
const measured = [
  'limitsOfAgreement',
  'intraclassCorrelation',
  'concordanceCorrelation',
  'measurementErrorOf',
  'krippendorffAlpha',
];

/** The statistics that suit a level, by the names under which the library exports them. */
export function fittingStatistics(level: Level): readonly string[] {
  return level === 'nominal' || level === 'ordinal' ? graded : measured;
}
