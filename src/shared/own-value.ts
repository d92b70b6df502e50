/** What a record holds under a word that people wrote; not what every object has, such as `constructor`. */
export function ownValue<T>(record: Readonly<Record<string, T>> | undefined, word: string): T | undefined {
  return record !== undefined && Object.hasOwn(record, word) ? record[word] : undefined;
}
