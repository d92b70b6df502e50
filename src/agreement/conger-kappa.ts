import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { aboutMean, type LeaveEachOut, leaveEachOut } from './leave-each-out.js';
import { type ChanceCorrected, readTwice } from './prevalence-corrected.js';
import { quadraticMoments } from './quadratic-moments.js';
import { alikeNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured, refuseUnknownAssessors } from './suitable-ratings.js';
import { agreementWeights, disagreements, type Weights, weightsName } from './weights.js';

export interface CongerKappaOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). */
  readonly weights?: Weights;
}

/**
 * Conger's kappa: Cohen's kappa for any number of assessors, each with his or her own margin.
 *
 * κ = (pₐ − pₑ) / (1 − pₑ). pₐ = mean over targets read twice or more of the weighted share of its agreeing pairs of readings, pₑ = mean
 * over pairs of assessors g ≠ h of Σ wₖₗ p_gk p_hl, p_gk the share of assessor g's readings in category k, wₖₗ the agreement
 * weights. Of two assessors without gaps this is `cohenKappa`.
 *
 * Undefined (`NaN` with a note) when all used one category throughout or no target was read twice. Missing values: a reading of a
 * target that nobody else read counts in its assessor's margin, not in the agreement, so pₑ depends on who gave it. An assessor
 * without readings does not count.
 *
 * The asymptotic error is Gwet's linearization (divisor n − 1, t with n − 1 degrees of freedom, targets read twice taken as fixed in number).
 * `details`: observedAgreement pₐ, expectedAgreement pₑ, targetsReadTwice, standardErrorDivisorN.
 *
 * @param ratings two or more assessors, known by column.
 * @throws InputError `assessors-needed`, `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example congerKappa(ratingsOf([[1, 1, 2], [2, 2, 2], [1, 1, 1], [1, 2, 2]])).value // 0.3846
 * Source: Conger AJ. Psychol Bull 1980;88:322–328, doi:10.1037/0033-2909.88.2.322; error: Gwet KL. Br J Math Stat Psychol 2008;61:29–48,
 * doi:10.1348/000711006X126600.
 */
export function congerKappa(ratings: Ratings, options: CongerKappaOptions = {}): Estimate {
  const weights = options.weights ?? 'identity';
  const coefficient = congerCoefficient(ratings, { weights });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { weights },
    details: (totals) => ({ ...coefficient.parts(totals), targetsReadTwice: readTwice(ratings).targets }),
    divisorN: true,
    notes: (value) => [...undefinedNote(value, coefficient.name), ...alikeNote(ratings)],
  });
}

/** The coefficient behind `congerKappa`. Sums: disagreement, targets read twice, targets read, then q counts for each assessor. */
export function congerCoefficient(ratings: Ratings, options: Pick<CongerKappaOptions, 'weights'>): ChanceCorrected {
  refuseMeasured(ratings, 'congerKappa');
  refuseUnknownAssessors(ratings, 'congerKappa');
  const asked = options.weights ?? 'identity';
  const weights = agreementWeights(ratings, asked);
  const size = ratings.categories.length;
  const { codes, columns } = ratings;
  const margins = 3;
  const cells = margins + columns * size;
  const apart = disagreements(weights);
  /** p_gk, their sum over assessors, and what each p_gk is multiplied with in 1 − pₑ: Σₗ (1 − wₖₗ)(p_+l − p_gl). */
  const share = new Float64Array(columns * size);
  const all = new Float64Array(size);
  /** 1 − pₑ. */
  const roomFrom = (sums: Float64Array): { room: number; assessors: number } => {
    let assessors = 0;
    all.fill(0);
    for (let g = 0; g < columns; g++) {
      const from = g * size;
      let count = 0;
      for (let k = 0; k < size; k++) count += sums[margins + from + k]!;
      if (count > 0) assessors++;
      for (let k = 0; k < size; k++) {
        share[from + k] = count > 0 ? sums[margins + from + k]! / count : 0;
        all[k]! += share[from + k]!;
      }
    }
    let sum = 0;
    for (let k = 0; k < size; k++) {
      for (let l = 0; l < size; l++) {
        const weight = apart[k * size + l]!;
        if (weight === 0) continue;
        let same = 0;
        for (let from = 0; from < share.length; from += size) same += share[from + k]! * share[from + l]!;
        sum += weight * (all[k]! * all[l]! - same);
      }
    }
    return { room: sum / (assessors * (assessors - 1)), assessors };
  };
  const gradient = (sums: Float64Array, pairedFixed: boolean): Float64Array => {
    const { room, assessors } = roomFrom(sums);
    const observedApart = sums[0]! / sums[1]!;
    const byRoom = observedApart / (room * room);
    const result = new Float64Array(cells);
    result[0] = -1 / (sums[1]! * room);
    result[1] = (pairedFixed ? room : observedApart) / (sums[1]! * room);
    if (pairedFixed) result[2] = -(room - observedApart) / (sums[2]! * room);
    const byShare = new Float64Array(size);
    for (let g = 0; g < columns; g++) {
      const from = g * size;
      let count = 0;
      let mean = 0;
      for (let k = 0; k < size; k++) {
        count += sums[margins + from + k]!;
        let inner = 0;
        for (let l = 0; l < size; l++) inner += apart[k * size + l]! * (all[l]! - share[from + l]!);
        byShare[k] = (2 * inner) / (assessors * (assessors - 1));
        mean += byShare[k]! * share[from + k]!;
      }
      if (count === 0) continue;
      for (let k = 0; k < size; k++) result[margins + from + k] = (byRoom * (byShare[k]! - mean)) / count;
    }
    return result;
  };
  const value = (sums: Float64Array): number => {
    const { room } = roomFrom(sums);
    return room > 1e-12 ? (room - sums[0]! / sums[1]!) / room : Number.NaN;
  };
  /** Whether every assessor read every target of every patient. */
  const isComplete = (rows: Float64Array): boolean => {
    for (let at = 0; at < rows.length; at += cells) {
      for (let from = at + margins; from < at + cells; from += size) {
        let count = 0;
        for (let k = 0; k < size; k++) count += rows[from + k]!;
        if (count !== rows[at + 2]) return false;
      }
    }
    return true;
  };
  /** Q = Σ over g ≠ h of c_gᵀ A c_h, A = 1 − W, c_g the counts of assessor g, and its derivatives, written to `slopes`. */
  const pairForm = (sums: Float64Array, slopes: Float64Array): number => {
    all.fill(0);
    for (let cell = 0; cell < slopes.length; cell++) all[cell % size]! += sums[margins + cell]!;
    let form = 0;
    for (let from = 0; from < slopes.length; from += size) {
      for (let k = 0; k < size; k++) {
        let others = 0;
        for (let l = 0; l < size; l++) others += apart[k * size + l]! * (all[l]! - sums[margins + from + l]!);
        slopes[from + k] = 2 * others;
        form += others * sums[margins + from + k]!;
      }
    }
    return form;
  };
  // Where all read everything, 1 − pₑ = Q / (n² G(G − 1)), G assessors; without a patient's counts d, Q becomes Q − Q′ᵀd + Q(d).
  const completeLeaveOut = (rows: Float64Array): LeaveEachOut => {
    const slopes = new Float64Array(columns * size);
    const own = Float64Array.from({ length: rows.length / cells }, (_, row) =>
      pairForm(rows.subarray(row * cells, (row + 1) * cells), slopes),
    );
    const assessorPairs = columns * (columns - 1);
    return (totals, { rows: list, times }, patients) => {
      const form = pairForm(totals, slopes);
      let origin = 0;
      let first = 0;
      let second = 0;
      for (let i = 0; i < list.length; i++) {
        const row = list[i]!;
        const at = row * cells;
        // Two sums side by side: one alone waits for itself.
        let even = 0;
        let odd = 0;
        let cell = 0;
        for (; cell + 1 < slopes.length; cell += 2) {
          even += slopes[cell]! * rows[at + margins + cell]!;
          odd += slopes[cell + 1]! * rows[at + margins + cell + 1]!;
        }
        if (cell < slopes.length) even += slopes[cell]! * rows[at + margins + cell]!;
        const n = totals[2]! - rows[at + 2]!;
        const most = n * n * assessorPairs;
        const room = form - even - odd + own[row]!;
        const paired = totals[1]! - rows[at + 1]!;
        const observed = ((totals[0]! - rows[at]!) * most) / paired;
        const value = room > 1e-12 * most ? 1 - observed / room : Number.NaN;
        if (i === 0) origin = value;
        const weighted = times[i]! * (value - origin);
        first += weighted;
        second += weighted * (value - origin);
      }
      return aboutMean(first, second, patients);
    };
  };
  return {
    name: asked === 'identity' ? 'Conger kappa' : `Conger kappa, ${weightsName(asked)} weights`,
    cells,
    scale: 'fisher',
    bootstrapForm: 'symmetric',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'Gwet 2008',
    add(target, sums, at) {
      const from = target * columns;
      let readings = 0;
      let disagreement = 0;
      for (let g = 0; g < columns; g++) {
        const a = codes[from + g]!;
        if (a < 0) continue;
        readings++;
        sums[at + margins + g * size + a]!++;
        for (let h = 0; h < g; h++) {
          const b = codes[from + h]!;
          if (b >= 0) disagreement += 2 * apart[a * size + b]!;
        }
      }
      if (readings === 0) return false;
      sums[at + 2]!++;
      if (readings < 2) return true;
      sums[at]! += disagreement / (readings * (readings - 1));
      sums[at + 1]!++;
      return true;
    },
    value,
    ...(asked === 'quadratic'
      ? {
          condensed: (perCluster) =>
            quadraticMoments(
              perCluster,
              { cells, disagreement: 0, paired: (sums, at) => sums[at + 1]!, counts: margins, assessors: columns },
              ratings.categories,
            ),
        }
      : {}),
    leaveEachOut: (rows) => (isComplete(rows) ? completeLeaveOut(rows) : leaveEachOut({ cells, value }, rows)),
    gradient: (sums) => gradient(sums, false),
    publishedGradient: (sums) => gradient(sums, true),
    parts: (sums) => ({ observedAgreement: 1 - sums[0]! / sums[1]!, expectedAgreement: 1 - roomFrom(sums).room }),
  };
}
