import { studentT } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { caution, type Note } from '../shared/note.js';

/**
 * Patient-jackknife interval from the values without each patient in turn, for statistics whose sums do not add up over patients (ranks).
 * SE² = (K − 1)/K · Σₖ (θ₍₋ₖ₎ − θ̄)²; t with 2(K − 1)/(κ − 1) degrees of freedom, κ the kurtosis of the leave-one-out values, at most K − 1; on Fisher's
 * scale (−1 … 1) or the logit (0 … 1). The same rule as `interval: 'cluster-robust'` of the coefficients on sums.
 */
export function leaveOneOutInterval(
  value: number,
  leftOut: Float64Array,
  scale: 'fisher' | 'logit',
  level: number,
): { standardError: number; interval: Interval; notes: readonly Note[] } {
  const patients = leftOut.length;
  let mean = 0;
  for (const one of leftOut) mean += one / patients;
  let second = 0;
  let fourth = 0;
  for (const one of leftOut) {
    const square = (one - mean) ** 2;
    second += square;
    fourth += square * square;
  }
  const standardError = patients < 2 ? Number.NaN : Math.sqrt(((patients - 1) / patients) * second);
  const kurtosis = (patients * fourth) / (second * second);
  const most = patients - 1;
  const degrees = Math.max(1, Math.min(most, kurtosis > 1 ? (2 * most) / (kurtosis - 1) : most));
  const inside = scale === 'fisher' ? value : 2 * value - 1;
  const center = Math.atanh(inside);
  const method = `patient jackknife, t with ${degrees.toFixed(1)} degrees of freedom, ${scale === 'fisher' ? 'Fisher' : 'logit'} scale`;
  if (!(standardError > 1e-12) || !Number.isFinite(center))
    return {
      standardError,
      interval: { lower: Number.NaN, upper: Number.NaN, level, method },
      notes: Number.isNaN(value)
        ? []
        : [
            caution(
              'no-variation',
              'Nothing varies from patient to patient, or there are too few, so no interval can be made.',
            ),
          ],
    };
  const slope = (scale === 'fisher' ? 1 : 2) / (1 - inside * inside);
  const reach = studentT.quantile((1 + level) / 2, degrees) * slope * standardError;
  const back = (z: number): number => (scale === 'fisher' ? Math.tanh(z) : (1 + Math.tanh(z)) / 2);
  return {
    standardError,
    interval: { lower: back(center - reach), upper: back(center + reach), level, method },
    notes: [],
  };
}

/** The notes that go with an interval made from patients. */
export function patientNotes(clustersKnown: boolean, clusters: number): Note[] {
  if (!clustersKnown)
    return [
      caution(
        'patients-not-given',
        'Patients were not given, so every target counts as independent; two limbs of one patient are not.',
      ),
    ];
  return clusters < 12
    ? [
        caution(
          'few-patients',
          `Only ${clusters} patients: the interval may be too narrow (below 12 it has not been shown to cover).`,
        ),
      ]
    : [];
}
