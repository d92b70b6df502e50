import type { Estimate } from '../shared/estimate.js';
import { type Cell, Table, type TableColumn } from '../shared/table.js';
import type { AgreementStudy, StudyResult } from '../study/agreement-study.js';

/** One estimate of a study, with the row of the results file it stands in. */
export interface NumberedEstimate {
  /** "R001", in the order of the study. */
  readonly id: string;
  readonly sign: string;
  /** "all together", a site, a limb … */
  readonly where: string;
  readonly asked: string;
  readonly role:
    | 'primary'
    | 'same grade'
    | 'within one grade'
    | 'error of one reading'
    | 'specific agreement'
    // What a report computes beside the study itself; `where` says of whom or what.
    | 'pair of assessors'
    | 'limits of agreement'
    | 'within and between'
    | 'error of measurement';
  readonly estimate: Estimate;
}

/** An estimate that a report gives beside the study's own. */
export type FurtherEstimate = Pick<NumberedEstimate, 'sign' | 'where' | 'role' | 'estimate'>;

/** Every estimate of a study in the order of its results file; specific agreement of the grades follows each graded sign, further estimates come last. */
export function numberedEstimates(
  study: AgreementStudy,
  further: readonly FurtherEstimate[] = [],
): readonly NumberedEstimate[] {
  const found: Omit<NumberedEstimate, 'id'>[] = [];
  const last = new Map(study.results.map((result, at) => [result.sign, at]));
  study.results.forEach((result, at) => {
    found.push(...estimatesOf(result));
    if (last.get(result.sign) !== at || result.exact === undefined) return;
    for (const { estimate } of study.specificAgreement(result.sign).categories)
      found.push({ sign: result.sign, where: 'all together', asked: 'planned', role: 'specific agreement', estimate });
  });
  const digits = Math.max(3, String(found.length).length);
  for (const one of further) found.push({ ...one, asked: 'beside the plan' });
  return found.map((one, at) => ({ id: `R${String(at + 1).padStart(digits, '0')}`, ...one }));
}

function estimatesOf(result: StudyResult): Omit<NumberedEstimate, 'id'>[] {
  const { sign, group, amendment, asked } = result;
  const parts = [
    ['primary', result.primary],
    ['same grade', result.exact],
    ['within one grade', result.withinOneGrade],
    ['error of one reading', result.standardErrorOfMeasurement],
  ] as const;
  return parts.flatMap(([role, estimate]) =>
    estimate === undefined
      ? []
      : [{ sign, where: group?.label ?? 'all together', asked: amendment ?? asked, role, estimate }],
  );
}

/**
 * The results file: every estimate of a study as one row with all its digits, so that each number in a report can be traced to a row. `.toCsv()` is the file.
 *
 * Columns: the row's id, sign and scale, where, whether it was asked beforehand, statistic, value, standard error, interval with level and method, counts, what was asked for and the
 * figures that travel with it (both as JSON), notes, fingerprint of the data, version of the library. Undefined values are empty cells.
 *
 * @param further estimates that a report gives beside the study's own; they follow as rows of the same kind.
 * @example resultsFile(study).toCsv()
 */
export function resultsFile(study: AgreementStudy, further: readonly FurtherEstimate[] = []): Table {
  const rows = numberedEstimates(study, further).map(
    ({ id, sign, where, asked, role, estimate }): Record<string, Cell> => {
      return {
        id,
        sign,
        scale: study.ratings(sign).subject?.scale ?? '',
        where,
        asked,
        role,
        ...estimate.toRow(),
        options: JSON.stringify(estimate.options),
        details: JSON.stringify(estimate.details),
        data: study.fingerprint,
        version: study.packageVersion,
      };
    },
  );
  return new Table(
    `Every estimate of the study: ${study.plan.title ?? 'agreement between assessors'}`,
    COLUMNS,
    rows,
    study.notes,
    study,
  );
}

const COLUMNS: readonly TableColumn[] = [
  ...['id', 'sign', 'scale', 'where', 'asked', 'role', 'statistic'].map(
    (key) => ({ key, label: key, kind: 'text' }) as const,
  ),
  ...['value', 'standardError', 'lower', 'upper', 'level'].map((key) => ({ key, label: key, kind: 'number' }) as const),
  { key: 'method', label: 'method', kind: 'text' },
  ...['targets', 'clusters', 'assessors', 'ratings', 'excluded'].map(
    (key) => ({ key, label: key, kind: 'count' }) as const,
  ),
  ...['notes', 'options', 'details', 'data', 'version'].map((key) => ({ key, label: key, kind: 'text' }) as const),
];
