/** Letters and digits that are not mistaken for each other, without vowels that could make words. */
const ALPHABET = '23456789BCDFGHJKLMNPQRSTVWXZ';

/** Gives each word a random code, the same word always the same; codes say nothing of the word or its place. */
export class RandomCodes {
  readonly #codes: Map<string, string>;
  readonly #taken: Set<string>;
  readonly #randomBelow: (bound: number) => number;

  constructor(known: Readonly<Record<string, string>>, randomBelow: (bound: number) => number) {
    this.#codes = new Map(Object.entries(known));
    this.#taken = new Set(Object.values(known));
    this.#randomBelow = randomBelow;
  }

  get size(): number {
    return this.#codes.size;
  }

  codeOf(word: string): string {
    if (word === '') return '';
    const known = this.#codes.get(word);
    if (known !== undefined) return known;
    let code: string;
    do {
      code = Array.from({ length: 5 }, () => ALPHABET[this.#randomBelow(ALPHABET.length)]).join('');
      // A letter first, so that no spreadsheet takes a code for a number.
    } while (this.#taken.has(code) || /^\d/.test(code));
    this.#codes.set(word, code);
    this.#taken.add(code);
    return code;
  }

  key(): Record<string, string> {
    return Object.fromEntries(this.#codes);
  }
}
