/**
 * A number as a program writes it in plain digits, so that equal numbers are equal texts wherever they come from:
 * `1e-7` becomes `0.0000001`, `24.0` becomes `24`, `2.50` becomes `2.5`. No digit is rounded. Other texts stay as they are.
 */
export function plainNumber(text: string): string {
  const parts = /^([+-]?)(\d+)(?:\.(\d*))?(?:e([+-]?\d{1,3}))?$/i.exec(text);
  if (parts === null) return text;
  const [, sign, whole = '', fraction = '', exponent = '0'] = parts;
  const point = whole.length + Number(exponent);
  const digits = '0'.repeat(Math.max(0, 1 - point)) + whole + fraction;
  const at = Math.max(1, point);
  const before = digits
    .slice(0, at)
    .padEnd(at, '0')
    .replace(/^0+(?=\d)/, '');
  const after = digits.slice(at).replace(/0+$/, '');
  const plain = after === '' ? before : `${before}.${after}`;
  return sign === '-' && plain !== '0' ? `-${plain}` : plain;
}
