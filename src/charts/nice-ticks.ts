/** Round steps from 0 to the end: five to eight of them. */
export function niceTicks(end: number): number[] {
  const rough = end / 8;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((factor) => factor * power).find((one) => one >= rough)!;
  return Array.from({ length: Math.floor(end / step) + 1 }, (_, at) => at * step);
}
