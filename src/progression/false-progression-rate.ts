import { InputError, type Problem } from '../shared/input-error.js';

/** When a limb is called worse: at least so many grades from the baseline, on so many consecutive readings. */
export interface ProgressionRule {
  readonly grades: number;
  readonly consecutive: number;
  /** A grade that is worse is higher (edema) or lower (pulse). Default `'higher'`. */
  readonly worse?: 'higher' | 'lower';
}

/**
 * How often a stable limb is called worse by a rule, when readings are independent given the true grade: the baseline is one noisy reading that every later
 * comparison shares, so confirming does not help as much as it seems.
 *
 * Σ_g π_g Σ_b E(g, b) · P(next reading at least k grades worse than b | g)^m, π the mix of true grades, E(g, j) = P(read j | true g).
 *
 * @param mix shares of true grades, adding up to 1. @param matrix rows true grade, columns read grade, each row adding up to 1.
 * @throws InputError `bad-shares`, `bad-option`: all at once.
 * Source: enumeration over baseline and later readings.
 */
export function falseProgressionRate(
  mix: readonly number[],
  matrix: readonly (readonly number[])[],
  rule: ProgressionRule,
): number {
  const problems: Problem[] = [];
  const addsUp = (values: readonly number[]): boolean =>
    values.every((value) => value >= 0) && Math.abs(values.reduce((a, b) => a + b, 0) - 1) < 1e-9;
  if (!addsUp(mix))
    problems.push({ code: 'bad-shares', path: ['mix'], message: 'The shares of true grades do not add up to 1.' });
  if (matrix.length !== mix.length)
    problems.push({
      code: 'bad-shares',
      path: ['matrix'],
      message: `There are ${matrix.length} rows for ${mix.length} grades.`,
    });
  matrix.forEach((row, at) => {
    if (row.length !== mix.length || !addsUp(row))
      problems.push({
        code: 'bad-shares',
        path: ['matrix', at],
        message: 'The row does not add up to 1 over all grades.',
      });
  });
  for (const [name, value] of [
    ['grades', rule.grades],
    ['consecutive', rule.consecutive],
  ] as const)
    if (!Number.isInteger(value) || value < 1)
      problems.push({
        code: 'bad-option',
        path: ['rule', name],
        message: `${name} is ${value}.`,
        expected: 'a whole number of 1 or more',
      });
  if (problems.length > 0) throw new InputError(problems);
  const towards = rule.worse === 'lower' ? -1 : 1;
  let rate = 0;
  mix.forEach((share, truth) => {
    const read = matrix[truth]!;
    read.forEach((chance, baseline) => {
      const worse = read.reduce(
        (sum, later, grade) => ((grade - baseline) * towards >= rule.grades ? sum + later : sum),
        0,
      );
      rate += share * chance * worse ** rule.consecutive;
    });
  });
  return rate;
}
