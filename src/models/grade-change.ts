import { InputError, type Problem } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';

/** How true grades are spread, how they change, and how they are read, as matrices of grades. */
export interface GradeChangeModel {
  /** P(true grade on the first occasion). */
  readonly prior: readonly number[];
  /** transitions[g][h] = P(true grade h on the second occasion | g on the first). */
  readonly transitions: readonly (readonly number[])[];
  /** errors[occasion][g][k] = P(grade k is written | true grade g), of whoever read on that occasion. */
  readonly errors: readonly [readonly (readonly number[])[], readonly (readonly number[])[]];
}

export interface GradeChange {
  /** P(these two readings). 0 where the model cannot produce them. */
  readonly probabilityOfReadings: number;
  /** P(true grade fell, stayed, rose | readings); `NaN` with a note where the readings are incompatible with the model. */
  readonly fell: number;
  readonly stayed: number;
  readonly rose: number;
  /** joint[g][h] = P(true grade g, then h | readings). */
  readonly joint: readonly (readonly number[])[];
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
}

/**
 * The probability that the true grade changed between two readings, from matrices of grades:
 * P(g, h | y₁, y₂) ∝ prior_g · E¹_{g y₁} · T_gh · E²_{h y₂}. It takes readings as independent given the true grade. Limbs near a cut, which
 * everybody reads low at every visit, break that and make these probabilities wrong by up to .2; `changeProbabilities` works on positions instead and is to be
 * preferred. Kept for matrices taken from the literature.
 * Where no pair of true grades can give the readings, the probabilities are `NaN`, with a note.
 *
 * @param observed the grades written on the two occasions, 0 … grades − 1
 * @throws InputError `bad-model`, `bad-value`, with every fault.
 * @example
 * gradeChange({ prior: [0.5, 0.5], transitions: [[0.9, 0.1], [0.2, 0.8]], errors: [E, E] }, [1, 0]).fell; // 0.5783 with E = [[0.9, 0.1], [0.2, 0.8]]
 *
 * Source: Bayes' rule; common practice, no source.
 */
export function gradeChange(model: GradeChangeModel, observed: readonly [number, number]): GradeChange {
  const { prior, transitions, errors } = model;
  const grades = prior.length;
  check(model, observed);
  const joint = prior.map((share, g) =>
    prior.map(
      (_, h) =>
        share *
        (errors[0][g]?.[observed[0]] as number) *
        (transitions[g]?.[h] as number) *
        (errors[1][h]?.[observed[1]] as number),
    ),
  );
  let total = 0;
  let fell = 0;
  let rose = 0;
  let stayed = 0;
  for (let g = 0; g < grades; g++)
    for (let h = 0; h < grades; h++) {
      const mass = joint[g]?.[h] as number;
      total += mass;
      if (h < g) fell += mass;
      else if (h > g) rose += mass;
      else stayed += mass;
    }
  return {
    probabilityOfReadings: total,
    fell: fell / total,
    stayed: stayed / total,
    rose: rose / total,
    joint: joint.map((row) => row.map((mass) => mass / total)),
    assumed: [
      'Readings are independent given the true grade.',
      'The matrices, the prior and the transitions are known.',
    ],
    notes:
      total > 0
        ? []
        : [
            caution(
              'incompatible-readings',
              'Under this model the two readings cannot occur, so nothing follows about change: the model is wrong or a reading is.',
            ),
          ],
  };
}

function check(model: GradeChangeModel, observed: readonly [number, number]): void {
  const grades = model.prior.length;
  const problems: Problem[] = [];
  const isDistribution = (row: readonly number[]): boolean =>
    row.length === grades && row.every((p) => p >= 0) && Math.abs(row.reduce((sum, p) => sum + p, 0) - 1) <= 1e-9;
  const bad = (path: readonly (string | number)[]): void => {
    problems.push({
      code: 'bad-model',
      path,
      message: `${path.join('.')} does not hold ${grades} probabilities that add up to 1.`,
    });
  };
  if (!isDistribution(model.prior)) bad(['prior']);
  const matrices: [(string | number)[], readonly (readonly number[])[]][] = [
    [['transitions'], model.transitions],
    [['errors', 0], model.errors[0]],
    [['errors', 1], model.errors[1]],
  ];
  for (const [path, matrix] of matrices) {
    if (matrix.length !== grades)
      problems.push({
        code: 'bad-model',
        path,
        message: `${path.join('.')} has ${matrix.length} rows, but there are ${grades} grades.`,
      });
    matrix.forEach((row, g) => {
      if (!isDistribution(row)) bad([...path, g]);
    });
  }
  observed.forEach((grade, occasion) => {
    if (!(Number.isInteger(grade) && grade >= 0 && grade < grades))
      problems.push({
        code: 'bad-value',
        path: ['observed', occasion],
        message: `observed[${occasion}] is ${grade}.`,
        expected: `a whole number from 0 to ${grades - 1}`,
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}
