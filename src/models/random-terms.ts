import { type Problem, refuse } from '../shared/input-error.js';
import { codesOf, readColumn } from './design-columns.js';
import { SparseCholesky } from './sparse-cholesky.js';

/** A random effect: an intercept for each group, and where asked for a slope correlated with it. */
export interface RandomTerm {
  readonly name: string;
  /** The group of every row. Groups need not be consecutive or balanced. */
  readonly groups: ArrayLike<number | string>;
  /** Name of the term in which these groups are numbered afresh: limbs "left" and "right" are different limbs in each patient. */
  readonly within?: string;
  readonly slope?: { readonly name: string; readonly values: ArrayLike<number> };
}

/** Crossed effects kept as a dense block: 5,000 take 200 MB and half a minute a factor. */
const WIDEST_BORDER = 5000;

/** One random effect as the likelihoods use it. */
export interface RandomBlock {
  readonly name: string;
  readonly slopeName: string | undefined;
  readonly codes: Int32Array;
  readonly levels: readonly (number | string)[];
  /** Columns a level: 1, or 2 with a slope. */
  readonly width: number;
  /** Its first column among all random effects. */
  readonly offset: number;
  /** Its first place in a row of the design. */
  readonly place: number;
  /** Its first parameter: [λ₁₁], or [λ₁₁, λ₂₁, λ₂₂] with a slope. */
  readonly parameter: number;
  /** Root mean square of the slope's column, which the design is divided by; 1 without a slope. */
  readonly slopeScale: number;
}

/**
 * The random part of a mixed model, Zb with b = Λu and u standard normal in every level: the design Z in
 * row form, the relative covariance factor Λ (lower triangular in every level), and the pattern of
 * ΛᵀZᵀWZΛ + I. Λ is given by its entries θ, term after term in the order of `blocks`.
 * Source of the form: Bates D, Mächler M, Bolker B, Walker S. J Stat Softw 2015;67(1), doi:10.18637/jss.v067.i01.
 */
export class RandomTerms {
  readonly rows: number;
  readonly blocks: readonly RandomBlock[];
  /** Number of random effects, all levels of all terms. */
  readonly order: number;
  /** Random effects that meet in one row. */
  readonly width: number;
  readonly parameterCount: number;
  /** Z, `width` entries a row. */
  readonly design: Float64Array;
  /** The columns of those entries, ascending in a row. */
  readonly columns: Int32Array;
  readonly pattern: SparseCholesky;
  /** For every row and every pair of its entries (first ≤ second): where their product lives in the matrix. */
  private readonly pairs: Int32Array;

  constructor(rows: number, terms: readonly CheckedTerm[]) {
    this.rows = rows;
    const { ordered, sparseTerms } = orderTerms(terms);
    let offset = 0;
    let place = 0;
    let parameter = 0;
    let sparse = 0;
    this.blocks = ordered.map((term, at) => {
      const width = term.slope === undefined ? 1 : 2;
      const block: RandomBlock = {
        name: term.name,
        slopeName: term.slope?.name,
        codes: term.codes,
        levels: term.levels,
        width,
        offset,
        place,
        parameter,
        slopeScale: term.slope?.scale ?? 1,
      };
      offset += width * term.levels.length;
      place += width;
      parameter += (width * (width + 1)) / 2;
      if (at < sparseTerms) sparse = offset;
      return block;
    });
    this.order = offset;
    this.width = place;
    this.parameterCount = parameter;
    this.design = new Float64Array(rows * place);
    this.columns = new Int32Array(rows * place);
    this.blocks.forEach((block, at) => {
      const slope = ordered[at]?.slope;
      for (let row = 0; row < rows; row++) {
        const to = row * place + block.place;
        const column = block.offset + block.width * (block.codes[row] as number);
        this.design[to] = 1;
        this.columns[to] = column;
        if (slope === undefined) continue;
        this.design[to + 1] = (slope.values[row] as number) / slope.scale;
        this.columns[to + 1] = column + 1;
      }
    });
    if (offset - sparse > WIDEST_BORDER)
      throw refuse(
        'too-many-crossed-groups',
        ['random'],
        `${offset - sparse} groups are crossed with others, which takes too much memory and time.`,
        `Keep all but the largest of the crossed terms below ${WIDEST_BORDER} groups in sum.`,
      );
    this.pattern = new SparseCholesky(offset, sparse, this.columns, place);
    this.pairs = new Int32Array((rows * place * (place + 1)) / 2);
    let pair = 0;
    for (let row = 0; row < rows; row++)
      for (let a = 0; a < place; a++)
        for (let b = a; b < place; b++)
          this.pairs[pair++] = this.pattern.position(
            this.columns[row * place + b] as number,
            this.columns[row * place + a] as number,
          );
  }

  /** Z Λ in row form, into `out`. */
  scaleDesign(theta: Float64Array, out: Float64Array): void {
    const { width, design, rows } = this;
    for (const block of this.blocks) {
      const first = theta[block.parameter] as number;
      if (block.width === 1) {
        for (let row = 0, at = block.place; row < rows; row++, at += width) out[at] = first;
        continue;
      }
      const cross = theta[block.parameter + 1] as number;
      const second = theta[block.parameter + 2] as number;
      for (let row = 0, at = block.place; row < rows; row++, at += width) {
        const slope = design[at + 1] as number;
        out[at] = first + cross * slope;
        out[at + 1] = second * slope;
      }
    }
  }

  /** The matrix I + Σᵣ wᵣ z̃ᵣ z̃ᵣᵀ over the rows r of the scaled design; all weights 1 when left out. */
  information(scaled: Float64Array, weights: Float64Array | undefined, out: Float64Array): void {
    const { width, rows, pairs, pattern } = this;
    out.fill(0);
    for (let column = 0; column < pattern.sparse; column++) out[column] = 1;
    for (let column = pattern.sparse; column < this.order; column++) out[pattern.position(column, column)] = 1;
    let pair = 0;
    for (let row = 0, from = 0; row < rows; row++, from += width) {
      const weight = weights === undefined ? 1 : (weights[row] as number);
      for (let a = 0; a < width; a++) {
        const left = weight * (scaled[from + a] as number);
        for (let b = a; b < width; b++) {
          const target = pairs[pair++] as number;
          out[target] = (out[target] as number) + left * (scaled[from + b] as number);
        }
      }
    }
  }

  /** A⁻¹z̃ᵣ at the columns of every row r, from the selected inverse: `width` entries a row, into `out`. */
  solvedDesign(inverse: Float64Array, scaled: Float64Array, out: Float64Array): void {
    const { width, rows, pairs } = this;
    let pair = 0;
    for (let row = 0, from = 0; row < rows; row++, from += width) {
      for (let a = 0; a < width; a++) out[from + a] = 0;
      for (let a = 0; a < width; a++)
        for (let b = a; b < width; b++) {
          const entry = inverse[pairs[pair++] as number] as number;
          out[from + a] = (out[from + a] as number) + entry * (scaled[from + b] as number);
          if (b !== a) out[from + b] = (out[from + b] as number) + entry * (scaled[from + a] as number);
        }
    }
  }

  /** Zᵀv for a vector of rows. */
  sumByLevel(vector: Float64Array): Float64Array {
    const { width, rows, design, columns } = this;
    const sums = new Float64Array(this.order);
    for (let row = 0, from = 0; row < rows; row++, from += width) {
      const value = vector[row] as number;
      for (let a = 0; a < width; a++) {
        const column = columns[from + a] as number;
        sums[column] = (sums[column] as number) + value * (design[from + a] as number);
      }
    }
    return sums;
  }

  /** Λᵀv for a vector of random effects, into `out`. */
  timesFactorTransposed(theta: Float64Array, vector: Float64Array, out: Float64Array): void {
    for (const block of this.blocks) {
      const end = block.offset + block.width * block.levels.length;
      const first = theta[block.parameter] as number;
      if (block.width === 1) {
        for (let at = block.offset; at < end; at++) out[at] = first * (vector[at] as number);
        continue;
      }
      const cross = theta[block.parameter + 1] as number;
      const second = theta[block.parameter + 2] as number;
      for (let at = block.offset; at < end; at += 2) {
        const slope = vector[at + 1] as number;
        out[at] = first * (vector[at] as number) + cross * slope;
        out[at + 1] = second * slope;
      }
    }
  }

  /**
   * Adds to the gradient in θ: for a row whose scaled design entry (term, c) has derivative `pull`,
   * ∂/∂λ[c′, c] gains pull · z[c′].
   */
  addPull(gradient: Float64Array, row: number, pull: Float64Array): void {
    const from = row * this.width;
    for (const block of this.blocks) {
      const { parameter, place } = block;
      gradient[parameter] = (gradient[parameter] as number) + (pull[place] as number);
      if (block.width === 1) continue;
      const slope = this.design[from + place + 1] as number;
      gradient[parameter + 1] = (gradient[parameter + 1] as number) + (pull[place] as number) * slope;
      gradient[parameter + 2] = (gradient[parameter + 2] as number) + (pull[place + 1] as number) * slope;
    }
  }

  /** b = Λu in the user's units, for one term: `width` values a level. */
  effectsOf(block: RandomBlock, theta: Float64Array, spherical: Float64Array): Float64Array {
    const effects = new Float64Array(block.width * block.levels.length);
    for (let level = 0; level < block.levels.length; level++) {
      const from = level * block.width;
      const u1 = spherical[block.offset + from] as number;
      effects[from] = (theta[block.parameter] as number) * u1;
      if (block.width === 2)
        effects[from + 1] =
          ((theta[block.parameter + 1] as number) * u1 +
            (theta[block.parameter + 2] as number) * (spherical[block.offset + from + 1] as number)) /
          block.slopeScale;
    }
    return effects;
  }

  /**
   * Standard deviations of the effects of one term given the data and the estimates, in units of the scale
   * (σ, or 1): the roots of the diagonal of ΛA⁻¹Λᵀ, `width` values a level, from the selected inverse.
   */
  deviationsOf(block: RandomBlock, theta: Float64Array, inverse: Float64Array): Float64Array {
    const deviations = new Float64Array(block.width * block.levels.length);
    const first = theta[block.parameter] as number;
    for (let level = 0; level < block.levels.length; level++) {
      const column = block.offset + level * block.width;
      const v11 = inverse[this.pattern.position(column, column)] as number;
      deviations[level * block.width] = Math.abs(first) * Math.sqrt(v11);
      if (block.width === 1) continue;
      const cross = theta[block.parameter + 1] as number;
      const second = theta[block.parameter + 2] as number;
      const v21 = inverse[this.pattern.position(column + 1, column)] as number;
      const v22 = inverse[this.pattern.position(column + 1, column + 1)] as number;
      deviations[level * 2 + 1] =
        Math.sqrt(Math.max(0, cross * cross * v11 + 2 * cross * second * v21 + second * second * v22)) /
        block.slopeScale;
    }
    return deviations;
  }

  /** The same Λ Λᵀ with no negative diagonal in Λ, and −0 made 0. */
  positive(theta: Float64Array): Float64Array {
    const out = Float64Array.from(theta);
    for (const { parameter, width } of this.blocks) {
      if ((out[parameter] as number) < 0)
        for (let k = parameter; k < parameter + width; k++) out[k] = -(out[k] as number);
      if (width === 2) out[parameter + 2] = Math.abs(out[parameter + 2] as number);
    }
    return out.map((value) => (value === 0 ? 0 : value));
  }

  /** Which parameters are diagonal entries of Λ: at 0 they stand on the boundary. */
  diagonal(): number[] {
    return this.blocks.flatMap(({ parameter, width }) => (width === 1 ? [parameter] : [parameter, parameter + 2]));
  }
}

export interface CheckedTerm {
  readonly name: string;
  readonly codes: Int32Array;
  readonly levels: readonly (number | string)[];
  readonly slope: { readonly name: string; readonly values: Float64Array; readonly scale: number } | undefined;
}

/** The terms with dense codes, nested ones made unique; what is wrong is added to `problems`. */
export function checkTerms(
  terms: readonly RandomTerm[],
  rows: number,
  problems: Problem[],
  rowLevelAllowed: boolean,
): CheckedTerm[] {
  const coded = new Map<string, ReturnType<typeof codesOf>>();
  const checked = terms.map((term, at): CheckedTerm => {
    const path = ['random', at];
    if (terms.findIndex((other) => other.name === term.name) !== at)
      problems.push({ code: 'repeated-name', path, message: `Two random terms are named "${term.name}".` });
    if (term.groups.length !== rows)
      problems.push({
        code: 'wrong-length',
        path: [...path, 'groups'],
        message: `There are ${term.groups.length} groups for ${rows} rows.`,
        expected: 'one group a row',
      });
    let found = codesOf(term.groups);
    if (found.levels.some((level) => level === undefined || level === null || Number.isNaN(level)))
      problems.push({
        code: 'missing-group',
        path: [...path, 'groups'],
        message: 'A row has no group.',
        mend: 'Leave rows without a group out before the fit, and say how many.',
      });
    if (term.within !== undefined) {
      const outer = coded.get(term.within);
      if (outer === undefined)
        problems.push({
          code: 'unknown-term',
          path: [...path, 'within'],
          message: `There is no random term "${term.within}" before "${term.name}".`,
          mend: 'List the outer term first.',
        });
      else found = nestedCodes(found, outer);
    }
    coded.set(term.name, found);
    if (found.levels.length < 2)
      problems.push({
        code: 'one-group',
        path: [...path, 'groups'],
        message: `"${term.name}" has ${found.levels.length === 1 ? 'one group' : 'no groups'}, so its variance cannot be estimated.`,
        expected: 'two groups or more',
      });
    else if (!rowLevelAllowed && found.levels.length >= rows)
      problems.push({
        code: 'one-row-a-group',
        path: [...path, 'groups'],
        message: `Every row is a group of "${term.name}" by itself, so its variance cannot be told from the residual's.`,
        mend: 'Leave the term out, or give repeated rows a group.',
      });
    const values =
      term.slope === undefined ? undefined : readColumn([...path, 'slope'], term.slope.values, rows, problems);
    let slope: CheckedTerm['slope'];
    if (term.slope !== undefined && values !== undefined) {
      const scale = Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / Math.max(1, rows));
      slope = { name: term.slope.name, values, scale };
      if (values.every((value) => value === values[0]))
        problems.push({
          code: 'constant-slope',
          path: [...path, 'slope'],
          message: `The slope's column "${term.slope.name}" is constant.`,
        });
    }
    return { name: term.name, codes: found.codes, levels: found.levels, slope };
  });
  checked.forEach((term, at) => {
    const twin = checked.findIndex(
      (other, k) =>
        k < at &&
        other.levels.length === term.levels.length &&
        other.codes.length === term.codes.length &&
        other.codes.every((code, row) => code === term.codes[row]),
    );
    if (twin >= 0 && term.levels.length > 1)
      problems.push({
        code: 'same-groups',
        path: ['random', at, 'groups'],
        message: `"${term.name}" groups the rows exactly as "${checked[twin]?.name}" does, so their variances cannot be told apart.`,
        mend: 'Leave one of them out.',
      });
  });
  return checked;
}

/** Codes of the pairs (outer, inner), labelled "outer/inner". */
function nestedCodes(inner: ReturnType<typeof codesOf>, outer: ReturnType<typeof codesOf>): ReturnType<typeof codesOf> {
  const keys = Float64Array.from(inner.codes, (code, row) => (outer.codes[row] as number) * inner.levels.length + code);
  const { codes, levels } = codesOf(keys);
  return {
    codes,
    levels: levels.map((key) => {
      const place = Math.floor((key as number) / inner.levels.length);
      return `${outer.levels[place]}/${inner.levels[(key as number) % inner.levels.length]}`;
    }),
  };
}

/**
 * The order of elimination: the term with most levels first, then, by falling number of levels, those in
 * which every earlier one is nested; these leave the factor as sparse as the data. The others follow as
 * the dense border.
 */
function orderTerms(terms: readonly CheckedTerm[]): { ordered: CheckedTerm[]; sparseTerms: number } {
  const sorted = [...terms].sort((a, b) => b.levels.length - a.levels.length);
  const chain: CheckedTerm[] = [];
  const border: CheckedTerm[] = [];
  for (const term of sorted) (chain.every((inner) => isNested(inner, term)) ? chain : border).push(term);
  return { ordered: [...chain, ...border], sparseTerms: chain.length };
}

function isNested(inner: CheckedTerm, outer: CheckedTerm): boolean {
  const home = new Int32Array(inner.levels.length).fill(-1);
  for (let row = 0; row < inner.codes.length; row++) {
    const level = inner.codes[row] as number;
    const group = outer.codes[row] as number;
    if (home[level] === -1) home[level] = group;
    else if (home[level] !== group) return false;
  }
  return true;
}
