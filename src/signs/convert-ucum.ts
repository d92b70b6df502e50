/** What the signs are measured in, one unit for each quantity. */
const TARGETS = ['cm', 's', 'Cel', 'mm[Hg]', 'cm2', 'mL', 'deg', '/min'];

/**
 * A value in any unit of UCUM as a value in a unit of ours of the same quantity (`[ft_i]` in `cm`), or `undefined`
 * where the code is none of UCUM or measures something else. Capitals count. The arithmetic is that of the library
 * @lhncbc/ucum-lhc, which is loaded at the first call; the result is rounded to 12 digits.
 */
export async function convertUcum(
  value: number,
  code: string,
): Promise<{ readonly value: number; readonly unit: string } | undefined> {
  const { default: library } = await import('@lhncbc/ucum-lhc');
  const units = library.UcumLhcUtils.getInstance();
  for (const unit of TARGETS) {
    const { status, toVal } = units.convertUnitTo(code, value, unit);
    if (status === 'succeeded' && toVal !== null) return { value: Number(toVal.toPrecision(12)), unit };
  }
  return undefined;
}
