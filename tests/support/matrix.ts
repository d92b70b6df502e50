/** A matrix as one array, row by row. */
export function flat(rows: readonly (readonly number[])[]): Float64Array {
  return Float64Array.from(rows.flat());
}
