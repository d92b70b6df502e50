// All checks. Each names its statistic, says in words what it is computed on, and has a call of a reference with its input and
// `ours`, the same figures by the library; `figures` says which of the reference's figures are of this statistic.
import { agreementChecks } from './checks-agreement.mjs';
import { changeChecks } from './checks-change.mjs';
import { distributionChecks } from './checks-distributions.mjs';
import { measuredChecks } from './checks-measured.mjs';
import { modelChecks } from './checks-models.mjs';

export function allChecks(library) {
  return [agreementChecks, measuredChecks, changeChecks, modelChecks, distributionChecks].flatMap((make) =>
    make(library),
  );
}
