import { type Random, seededRandom } from '../shared/random.js';
import type { DrawnRows } from './leave-each-out.js';
import { memoryOf, type WeightedSums, weightedSums } from './weighted-sums.js';

/** Replicates are drawn in blocks of this size, each from its own random stream. */
const BLOCK = 250;
/** What is kept of the draws at most. */
const MOST_BYTES = 64_000_000;
/** Columns of sums for which room is made at first; more begin anew. */
const COLUMNS = 16;

/**
 * Which patients each replicate of a bootstrap draws, with replacement, and how often. Replicate r is the (r mod 250)th of the random stream ⌊r/250⌋
 * of the seed, whatever was drawn before. The draws are kept for the statistics of one study, which share patients and seed.
 */
export class PatientDraws {
  private memory = memoryOf(1);
  private sums: WeightedSums = weightedSums(this.memory);
  /** The whole memory. */
  private wholes = new Int32Array(this.memory.buffer);
  private doubles = new Float64Array(this.memory.buffer);
  private seed = Number.NaN;
  private patients = 0;
  private often = new Int32Array(0);
  /** The rows that lie at the beginning of the memory, and the bytes that are kept free for such rows and their sums. */
  private rows: Float64Array | undefined;
  private room = 0;
  /** Where the draws of the replicates `first`, `first` + 1, … begin and the last ends, in 32-bit numbers: as many rows, then how often each. */
  private first = 0;
  private bounds: number[] = [];
  private random: Random | undefined;

  /** The draws of the bootstraps that follow. */
  begin(seed: number, patients: number): this {
    if (seed !== this.seed || patients !== this.patients) {
      this.seed = seed;
      this.patients = patients;
      this.often = new Int32Array(patients);
      this.makeRoom(8 * COLUMNS * (patients + 1));
    }
    return this;
  }

  /** The patients of a replicate: views that are good until the next call. */
  of(replicate: number): DrawnRows {
    const [from, middle, to] = this.place(replicate);
    return { rows: this.wholes.subarray(from, middle), times: this.wholes.subarray(middle, to) };
  }

  /** Σ times · row over the patients of a replicate. `rows` has a row for each patient, as long as `totals`, a multiple of `COLUMNS_AT_ONCE`. */
  sum(rows: Float64Array, replicate: number, totals: Float64Array): void {
    if (rows !== this.rows) this.hold(rows, totals.byteLength);
    const [from, middle] = this.place(replicate);
    this.sums(0, totals.byteLength, 4 * from, 4 * middle, 4 * middle, rows.byteLength);
    for (let column = 0; column < totals.length; column++) totals[column] = this.doubles[rows.length + column]!;
  }

  private hold(rows: Float64Array, more: number): void {
    if (rows.byteLength + more > this.room) this.makeRoom(rows.byteLength + more);
    this.doubles.set(rows);
    this.rows = rows;
  }

  private makeRoom(bytes: number): void {
    this.room = bytes;
    this.rows = undefined;
    this.reserve(bytes);
    this.forget(0);
  }

  /** Nothing is kept; the next draw is that of `replicate`, the first of a block, or where the random stream stands. */
  private forget(replicate: number): void {
    this.first = replicate;
    this.bounds = [this.room / 4];
  }

  /** Where the rows of a replicate begin, where how often each, and where that ends. */
  private place(replicate: number): [from: number, middle: number, to: number] {
    const kept = this.bounds.length - 1;
    if (replicate < this.first || replicate > this.first + kept) this.forget(replicate - (replicate % BLOCK));
    while (this.first + this.bounds.length - 1 <= replicate) this.drawNext();
    const from = this.bounds[replicate - this.first]!;
    const to = this.bounds[replicate - this.first + 1]!;
    return [from, (from + to) / 2, to];
  }

  private drawNext(): void {
    const { patients, often } = this;
    const next = this.first + this.bounds.length - 1;
    if (4 * this.bounds.at(-1)! + 8 * patients > this.room + MOST_BYTES) this.forget(next);
    if (next % BLOCK === 0) this.random = seededRandom(this.seed, next / BLOCK);
    drawPatients(this.random!, often);
    const from = this.bounds.at(-1)!;
    this.reserve(4 * from + 8 * patients);
    const { wholes } = this;
    const middle = listDrawn(often, wholes, from);
    this.bounds.push(2 * middle - from);
  }

  private reserve(bytes: number): void {
    const before = this.memory.buffer.byteLength;
    if (bytes <= before) return;
    const { wholes } = this;
    this.memory = memoryOf(Math.max(bytes, 2 * before));
    this.sums = weightedSums(this.memory);
    this.wholes = new Int32Array(this.memory.buffer);
    this.doubles = new Float64Array(this.memory.buffer);
    this.wholes.set(wholes);
  }
}

function drawPatients(random: Random, often: Int32Array): void {
  often.fill(0);
  for (let i = 0; i < often.length; i++) often[random.below(often.length)]!++;
}

/**
 * Lists the rows that were drawn at all from `at` on, behind them how often each, and returns where the rows end. Every row is written, and stays only if
 * drawn: a branch would be guessed wrong a third of the time.
 */
export function listDrawn(often: Int32Array, list: Int32Array, at: number): number {
  let to = at;
  for (let row = 0; row < often.length; row++) {
    list[to] = row;
    // 1 where it is above 0: the sign of its negative.
    to += (0 - often[row]!) >>> 31;
  }
  for (let i = at, next = to; i < to; i++) list[next++] = often[list[i]!]!;
  return to;
}
