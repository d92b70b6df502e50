/**
 * How a grade is shown to people: the digit with its words ("2: normal"), the words alone where the
 * grade is written as a word, the digit alone where it has no words of its own.
 */
export function gradeLabel(category: { readonly value: string | number; readonly words: string }): string {
  const value = String(category.value);
  const isDigit = value.trim() !== '' && !Number.isNaN(Number(value));
  if (!isDigit) return category.words;
  return category.words === value || category.words === 'no words given' ? value : `${value}: ${category.words}`;
}
