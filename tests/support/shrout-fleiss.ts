/** Shrout & Fleiss, Psychol Bull 1979;86:420–428, doi:10.1037/0033-2909.86.2.420: six targets by four judges. */
export const SHROUT_FLEISS = [
  [9, 2, 5, 8],
  [6, 1, 3, 2],
  [8, 4, 6, 8],
  [7, 1, 2, 6],
  [10, 5, 6, 9],
  [6, 2, 4, 7],
];

/** Their mean squares, from the definition. */
export function meanSquares(): { targets: number; assessors: number; within: number; residual: number } {
  const [n, k] = [6, 4];
  const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
  const squares = (values: readonly number[]): number => values.reduce((sum, x) => sum + x * x, 0);
  const grand = mean(SHROUT_FLEISS.flat());
  const rowMeans = SHROUT_FLEISS.map(mean);
  const columnMeans = [0, 1, 2, 3].map((j) => mean(SHROUT_FLEISS.map((row) => row[j]!)));
  return {
    targets: (k * squares(rowMeans.map((x) => x - grand))) / (n - 1),
    assessors: (n * squares(columnMeans.map((x) => x - grand))) / (k - 1),
    within: squares(SHROUT_FLEISS.flatMap((row, t) => row.map((x) => x - rowMeans[t]!))) / (n * (k - 1)),
    residual:
      squares(SHROUT_FLEISS.flatMap((row, t) => row.map((x, j) => x - rowMeans[t]! - columnMeans[j]! + grand))) /
      ((n - 1) * (k - 1)),
  };
}
