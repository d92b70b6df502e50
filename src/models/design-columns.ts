import { InputError, type Problem } from '../shared/input-error.js';

/** Columns of a design by their names: plain numbers, one a row; a category enters as indicator columns. */
export type NamedColumns = Readonly<Record<string, ArrayLike<number>>>;

export interface DesignColumns {
  readonly names: readonly string[];
  readonly columns: readonly Float64Array[];
}

/** The name of the column of ones. */
const INTERCEPT = 'intercept';

/** A number column as `Float64Array`; what is wrong with it is added to `problems`. */
export function readColumn(
  path: readonly (string | number)[],
  values: ArrayLike<number>,
  rows: number,
  problems: Problem[],
): Float64Array {
  if (values.length !== rows)
    problems.push({
      code: 'wrong-length',
      path,
      message: `There are ${values.length} values for ${rows} rows.`,
      expected: 'one value a row',
    });
  const column = Float64Array.from(values);
  const broken = column.reduce((count, value) => count + (Number.isFinite(value) ? 0 : 1), 0);
  if (broken > 0)
    problems.push({
      code: 'not-finite',
      path,
      message: `${broken} of ${column.length} values are not finite numbers.`,
      mend: 'Leave rows with a missing value out before the fit, and say how many.',
    });
  return column;
}

/** The columns of a design in their order, with a column of ones first where `intercept` asks for it. */
export function readDesign(
  path: string,
  columns: NamedColumns,
  rows: number,
  intercept: boolean,
  problems: Problem[],
): DesignColumns {
  const names = Object.keys(columns);
  const read = names.map((name) => readColumn([path, name], columns[name] as ArrayLike<number>, rows, problems));
  if (!intercept) return { names, columns: read };
  if (names.includes(INTERCEPT))
    problems.push({
      code: 'reserved-name',
      path: [path, INTERCEPT],
      message: `The column of ones is added by itself under the name "${INTERCEPT}".`,
      mend: 'Leave the column out, or pass intercept: false and keep it.',
    });
  return { names: [INTERCEPT, ...names], columns: [new Float64Array(rows).fill(1), ...read] };
}

export interface Orthonormal {
  /** Orthonormal columns spanning the same space, in the same order. */
  readonly columns: readonly Float64Array[];
  /** R with X = Q R, upper triangular, row by row. */
  readonly triangle: Float64Array;
}

/** How much of a column must be left beside the earlier ones, as a share of its length. */
const INDEPENDENT = 1e-9;

/**
 * X = Q R by Gram–Schmidt, each column cleaned twice ("twice is enough": Giraud L et al. Numer Math
 * 2005;101:87–100, doi:10.1007/s00211-005-0615-4). Throws `InputError` `collinear-column` naming every
 * column that is a combination of those before it.
 */
export function orthonormalize(path: string, design: DesignColumns): Orthonormal {
  const count = design.columns.length;
  const triangle = new Float64Array(count * count);
  const problems: Problem[] = [];
  const columns: Float64Array[] = [];
  design.columns.forEach((original, j) => {
    const column = Float64Array.from(original);
    const length = Math.sqrt(dot(column, column));
    for (let round = 0; round < 2; round++)
      columns.forEach((earlier, i) => {
        const share = dot(earlier, column);
        triangle[i * count + j] = (triangle[i * count + j] as number) + share;
        for (let row = 0; row < column.length; row++)
          column[row] = (column[row] as number) - share * (earlier[row] as number);
      });
    const left = Math.sqrt(dot(column, column));
    if (!(left > INDEPENDENT * length))
      problems.push({
        code: 'collinear-column',
        path: [path, design.names[j] as string],
        message: `"${design.names[j]}" is constant or a combination of the columns before it, so its effect cannot be told from theirs.`,
        mend: 'Leave one of them out.',
      });
    triangle[j * count + j] = left;
    columns.push(column.map((value) => value / left));
  });
  if (problems.length > 0) throw new InputError(problems);
  return { columns, triangle };
}

/** Whole-number codes 0, 1, … in order of first appearance. */
export function codesOf(groups: ArrayLike<number | string>): { codes: Int32Array; levels: (number | string)[] } {
  const known = new Map<number | string, number>();
  const levels: (number | string)[] = [];
  const codes = new Int32Array(groups.length);
  for (let row = 0; row < groups.length; row++) {
    const group = groups[row] as number | string;
    let code = known.get(group);
    if (code === undefined) {
      code = levels.length;
      known.set(group, code);
      levels.push(group);
    }
    codes[row] = code;
  }
  return { codes, levels };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}
