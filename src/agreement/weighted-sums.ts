/** The part of WebAssembly that is used here: it belongs to Node, whose declarations leave it out. */
declare const WebAssembly: {
  readonly Memory: new (limits: { initial: number }) => Memory;
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports: object) => { readonly exports: { readonly sums: WeightedSums } };
};

/** It is never made larger: from then on every access to every typed array of the process would be checked, which costs a fifth of all time. */
export interface Memory {
  readonly buffer: ArrayBuffer;
}

/**
 * Σ timesᵢ · rows[drawnᵢ] over i, column by column in the order drawn, so that the digits are those of one addition after the other.
 *
 * All numbers are bytes from the beginning of the memory: rows of doubles, `width` bytes each, a multiple of 32; the 32-bit row numbers from
 * `drawn` to before `end`, at least one; how often each was drawn, 32-bit, from `times`; and where the sums go.
 */
export type WeightedSums = (
  rows: number,
  width: number,
  drawn: number,
  end: number,
  times: number,
  out: number,
) => void;

/** Doubles that one turn of the loop takes together: rows have a multiple of as many columns. */
export const COLUMNS_AT_ONCE = 4;

/**
 * The innermost loop of every bootstrap, put together as WebAssembly: two doubles an instruction and no check of each index, which takes a third
 * of the time of the same loop in JavaScript. For each four columns it goes through what was drawn once.
 *
 * Source: WebAssembly Core Specification 2.0, binary format (the numbers of the instructions).
 */
export function weightedSums(memory: Memory): WeightedSums {
  const whole = 0x7f;
  const pair = 0x7b;
  const [rows, width, drawn, end, times, out] = [0, 1, 2, 3, 4, 5];
  // Its own variables: five whole numbers, three pairs of doubles.
  const [column, nextDrawn, nextTimes, at, place] = [6, 7, 8, 9, 10];
  const [often, left, right] = [11, 12, 13];

  const loop = (...body: Code[]): Code => [0x03, 0x40, ...body, 0x0b];
  const againIf = (condition: Code): Code => [condition, 0x0d, 0];
  const get = (variable: number): Code => [0x20, variable];
  const set = (variable: number, value: Code): Code => [value, 0x21, variable];
  const constant = (value: number): Code => [0x41, value];
  const plus = (a: Code, b: Code): Code => [a, b, 0x6a];
  const times32 = (a: Code, b: Code): Code => [a, b, 0x6c];
  const isLess = (a: Code, b: Code): Code => [a, b, 0x49];
  const wholeAt = (address: Code): Code => [address, 0x28, 2, 0];
  const asPair = (wholeNumber: Code): Code => [wholeNumber, 0xb7, 0xfd, 0x14];
  const pairAt = (address: Code, offset: number): Code => [address, 0xfd, 0x00, 3, offset];
  const storePair = (address: Code, value: Code, offset: number): Code => [address, value, 0xfd, 0x0b, 3, offset];
  const plusPairs = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf0, 0x01];
  const timesPairs = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf2, 0x01];
  const noPair: Code = [0xfd, 0x0c, ...new Array<number>(16).fill(0)];

  const body = [
    set(column, constant(0)),
    loop(
      set(left, noPair),
      set(right, noPair),
      set(nextDrawn, get(drawn)),
      set(nextTimes, get(times)),
      loop(
        set(at, plus(plus(get(rows), times32(wholeAt(get(nextDrawn)), get(width))), get(column))),
        set(often, asPair(wholeAt(get(nextTimes)))),
        set(left, plusPairs(get(left), timesPairs(get(often), pairAt(get(at), 0)))),
        set(right, plusPairs(get(right), timesPairs(get(often), pairAt(get(at), 16)))),
        set(nextTimes, plus(get(nextTimes), constant(4))),
        set(nextDrawn, plus(get(nextDrawn), constant(4))),
        againIf(isLess(get(nextDrawn), get(end))),
      ),
      set(place, plus(get(out), get(column))),
      storePair(get(place), get(left), 0),
      storePair(get(place), get(right), 16),
      set(column, plus(get(column), constant(32))),
      againIf(isLess(get(column), get(width))),
    ),
    0x0b,
  ];
  const text = (word: string): Code => list([...word].map((letter) => letter.charCodeAt(0)));
  const own = list([
    [5, whole],
    [3, pair],
  ]);
  const module = new WebAssembly.Module(
    Uint8Array.from(
      flat([
        [0x00, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
        section(1, list([[0x60, list(new Array<number>(6).fill(whole)), list([])]])),
        section(2, list([[text('from'), text('memory'), 0x02, 0, 1]])),
        section(3, list([0])),
        section(7, list([[text('sums'), 0, 0]])),
        section(10, list([sized([own, body])])),
      ]),
    ),
  );
  return new WebAssembly.Instance(module, { from: { memory } }).exports.sums;
}

/** A memory of zeros, of at least some bytes. */
export function memoryOf(bytes: number): Memory {
  return new WebAssembly.Memory({ initial: Math.ceil(bytes / PAGE) });
}

const PAGE = 65_536;

type Code = number | readonly Code[];

function flat(code: Code): number[] {
  return typeof code === 'number' ? [code] : code.flatMap(flat);
}

/** A whole number as the format writes it, seven bits a byte. */
function length(value: number): number[] {
  return value < 128 ? [value] : [(value % 128) + 128, ...length(Math.floor(value / 128))];
}

function list(items: readonly Code[]): Code {
  return [length(items.length), items];
}

function sized(code: Code): Code {
  return [length(flat(code).length), code];
}

function section(number: number, content: Code): Code {
  return [number, sized(content)];
}
