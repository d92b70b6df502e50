import type { Ratings } from '../ratings/ratings.js';
import { type ClusterSums, type Coefficient, clusterSums } from './coefficient.js';
import { asymptoticShares, jackknifeShares, linearClusterShares } from './interval.js';

/** One coefficient on some of the targets of some ratings. */
export interface JointPart {
  readonly ratings: Ratings;
  readonly coefficient: Coefficient;
  readonly targets?: ((target: number) => boolean) | undefined;
  /** What the patients are numbered by: parts with the same space share patients. */
  readonly space: object;
  /** The patient of a target in that space. Default: the number in the ratings. */
  readonly patientOf?: ((target: number) => number) | undefined;
}

/** Several coefficients with what each unit (patient or target) adds to the error of each. */
export interface JointInfluences {
  readonly values: readonly number[];
  readonly sums: readonly ClusterSums[];
  /** By unit: its influence on each part, 0 where it did not enter. Σ over units of products is the covariance. */
  readonly units: readonly Float64Array[];
}

/**
 * Influences whose products add up to the covariance of several coefficients. Jackknife: leave-one-out values of patients,
 * √((K − 1)/K) (θ₍₋ₖ₎ − θ̄). By patients: the linearization g · xₖ with √(K/(K − 1)). By targets: the linearization behind each
 * coefficient's asymptotic error. Parts without a common patient get covariance 0.
 */
export function jointInfluences(
  parts: readonly JointPart[],
  by: 'jackknife' | 'patients' | 'targets',
): JointInfluences {
  const spaces = new Map<object, Map<number, Float64Array>>();
  const values: number[] = [];
  const allSums: ClusterSums[] = [];
  parts.forEach((part, at) => {
    const { ratings, coefficient } = part;
    const sums = clusterSums(ratings, coefficient, part.targets);
    values.push(sums.targets === 0 ? Number.NaN : coefficient.value(sums.totals));
    allSums.push(sums);
    let space = spaces.get(part.space);
    if (space === undefined) {
      space = new Map();
      spaces.set(part.space, space);
    }
    const add = (unit: number, influence: number): void => {
      let row = space.get(unit);
      if (row === undefined) {
        row = new Float64Array(parts.length);
        space.set(unit, row);
      }
      row[at] = influence;
    };
    if (by === 'targets') {
      asymptoticShares(coefficient, ratings, sums, part.targets, add);
      return;
    }
    const patients = patientsOf(part);
    const influences = by === 'jackknife' ? jackknifeShares(coefficient, sums) : linearClusterShares(coefficient, sums);
    influences.forEach((influence, cluster) => {
      add(patients[sums.clusterAt[cluster]!]!, influence);
    });
  });
  return { values, sums: allSums, units: [...spaces.values()].flatMap((space) => [...space.values()]) };
}

/** The covariance matrix, rows of columns. */
export function covarianceOf(joint: JointInfluences): number[][] {
  const size = joint.values.length;
  const covariance = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (const unit of joint.units)
    for (let g = 0; g < size; g++) for (let h = 0; h < size; h++) covariance[g]![h]! += unit[g]! * unit[h]!;
  return covariance;
}

/** The patient in the part's space of each cluster of its ratings. */
function patientsOf(part: JointPart): Int32Array {
  const { ratings } = part;
  const patients = Int32Array.from({ length: ratings.clusters }, (_, cluster) => cluster);
  if (part.patientOf !== undefined)
    for (let target = 0; target < ratings.targets; target++)
      patients[ratings.clusterOf[target]!] = part.patientOf(target);
  return patients;
}
