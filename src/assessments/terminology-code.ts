/**
 * Whether a number is a code of a terminology and no record number: a LOINC code by its form, a SNOMED CT identifier
 * by its partition and check digit (Verhoeff's). One random number of 7 to 18 digits in about 160 passes as one.
 */
export function isTerminologyCode(text: string): boolean {
  if (/^\d{1,5}-\d$/.test(text)) return true;
  return /^[1-9]\d{5,17}$/.test(text) && /(?:00|01|02|10|11|12)\d$/.test(text) && hasVerhoeffCheckDigit(text);
}

// Multiplication in the dihedral group D5 and Verhoeff's permutation, the published tables of the check digit.
const D5 = [
  [0, 1, 2, 3, 4, 5, 6, 7, 8, 9],
  [1, 2, 3, 4, 0, 6, 7, 8, 9, 5],
  [2, 3, 4, 0, 1, 7, 8, 9, 5, 6],
  [3, 4, 0, 1, 2, 8, 9, 5, 6, 7],
  [4, 0, 1, 2, 3, 9, 5, 6, 7, 8],
  [5, 9, 8, 7, 6, 0, 4, 3, 2, 1],
  [6, 5, 9, 8, 7, 1, 0, 4, 3, 2],
  [7, 6, 5, 9, 8, 2, 1, 0, 4, 3],
  [8, 7, 6, 5, 9, 3, 2, 1, 0, 4],
  [9, 8, 7, 6, 5, 4, 3, 2, 1, 0],
];
const PERMUTATION = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4];

function hasVerhoeffCheckDigit(digits: string): boolean {
  let check = 0;
  for (let place = 0; place < digits.length; place++) {
    let digit = Number(digits[digits.length - 1 - place]);
    for (let times = 0; times < place % 8; times++) digit = PERMUTATION[digit] ?? 0;
    check = D5[check]?.[digit] ?? 0;
  }
  return check === 0;
}
