import { information } from '../shared/note.js';
import { Table } from '../shared/table.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { type NumberedEstimate, numberedEstimates } from './results-file.js';

/**
 * What each estimate of a study is in the terms of COSMIN: reliability (telling people apart despite error) or measurement error (how far apart two readings of an unchanged limb are), and
 * whether it is the statistic preferred for signs of that level.
 *
 * For graded signs: weighted kappa for reliability of ordered grades, kappa for kinds, specific agreement for measurement error. For measured signs: the intraclass
 * correlation, and the standard error of measurement. What the study does not hold (responsiveness, validity, the smallest change that matters) is named as not studied.
 *
 * @example measurementTerms(study).rows[0].property // 'reliability'
 * Source: Mokkink LB and others. BMC Med Res Methodol 2020;20:293, doi:10.1186/s12874-020-01179-5 (DOI from memory).
 */
export function measurementTerms(study: AgreementStudy): Table {
  const rows = numberedEstimates(study)
    .filter(({ where, asked }) => where === 'all together' && asked === 'planned')
    .map((one) => ({
      row: one.id,
      sign: study.ratings(one.sign).subject?.signLabel ?? one.sign,
      statistic: one.estimate.statistic,
      ...termOf(one, study),
    }));
  return new Table(
    'What each estimate says, in the terms of the COSMIN standards',
    [
      { key: 'row', label: 'row', kind: 'text' },
      { key: 'sign', label: 'sign', kind: 'text' },
      { key: 'statistic', label: 'statistic', kind: 'text' },
      { key: 'property', label: 'property', kind: 'text' },
      { key: 'question', label: 'it answers', kind: 'text' },
      { key: 'preferred', label: 'preferred for this level', kind: 'text' },
    ],
    rows,
    [
      information(
        'not-studied',
        'Not studied here: responsiveness, validity against a reference, and the smallest change that matters, which needs an anchor outside these data.',
      ),
    ],
    study,
  );
}

const RELIABILITY = {
  property: 'reliability',
  question: 'Can people be told apart despite the error?',
} as const;

const ERROR = {
  property: 'measurement error',
  question: 'How far apart are two readings of an unchanged limb?',
} as const;

function termOf({ role, sign, estimate }: NumberedEstimate, study: AgreementStudy) {
  const { level } = study.ratings(sign);
  if (role === 'error of one reading' || role === 'specific agreement') return { ...ERROR, preferred: 'yes' };
  if (role !== 'primary') return { ...ERROR, preferred: 'beside specific agreement' };
  if (level === 'interval' || level === 'ratio') return { ...RELIABILITY, preferred: 'yes' };
  const isKappa = /kappa/i.test(estimate.statistic);
  const isWeighted = estimate.options.weights !== undefined && estimate.options.weights !== 'identity';
  if (/percent agreement/i.test(estimate.statistic)) return { ...ERROR, preferred: 'beside specific agreement' };
  const isPreferred = isKappa && (level === 'ordinal' ? isWeighted : !isWeighted);
  return { ...RELIABILITY, preferred: isPreferred ? 'yes' : level === 'ordinal' ? 'weighted kappa is' : 'kappa is' };
}
