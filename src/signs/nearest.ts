/** The known word that is at most two keystrokes from a word (three for long ones), or `undefined`. */
export function nearest(word: string, known: readonly string[]): string | undefined {
  const wanted = word.toLowerCase();
  let best: string | undefined;
  let fewest = wanted.length > 8 ? 4 : wanted.length > 3 ? 3 : 2;
  for (const candidate of known) {
    const strokes = keystrokes(wanted, candidate.toLowerCase(), fewest);
    if (strokes < fewest) {
      fewest = strokes;
      best = candidate;
    }
  }
  return best;
}

/** Insertions, deletions and substitutions that turn one word into the other (Levenshtein), counted up to `limit`. */
function keystrokes(from: string, to: string, limit: number): number {
  if (Math.abs(from.length - to.length) >= limit) return limit;
  let row = Array.from({ length: to.length + 1 }, (_, at) => at);
  for (let i = 1; i <= from.length; i++) {
    const next = [i];
    for (let j = 1; j <= to.length; j++) {
      const substituted = (row[j - 1] ?? 0) + (from[i - 1] === to[j - 1] ? 0 : 1);
      next.push(Math.min(substituted, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[to.length] ?? limit;
}
