/**
 * Correct digits: −log10(|ours − reference| / |reference|), of the difference itself where the reference is 0; 15 at most. Two values that are
 * both undefined agree, one alone has no digit right. The reference comes as text with up to 30 digits, so that its own rounding to a double
 * is not taken for an error of ours.
 */
export function digitsOf(ours, reference) {
  const wanted = Number(reference);
  if (Number.isNaN(wanted) || Number.isNaN(ours) || ours === undefined)
    return Number.isNaN(wanted) && Number.isNaN(ours) ? 15 : 0;
  if (ours === wanted) return 15;
  if (!Number.isFinite(wanted) || !Number.isFinite(ours)) return 0;
  const error = Math.abs(ours - wanted);
  return Math.max(0, Math.min(15, -Math.log10(wanted === 0 ? error : error / Math.abs(wanted))));
}
