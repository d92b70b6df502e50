import { expect, it } from 'vitest';
import { COLUMNS_AT_ONCE, memoryOf, weightedSums } from '../../src/agreement/weighted-sums.ts';
import { seededRandom } from '../../src/shared/random.ts';

const random = seededRandom(3);

it.each([
  [1, 1, 1],
  [7, 1, 2],
  [40, 25, 4],
])(
  'the sums of %s rows, %s of them drawn, %s × 4 columns are those of one addition after the other',
  (count, draws, times4) => {
    const columns = COLUMNS_AT_ONCE * times4;
    const rows = Float64Array.from({ length: count * columns }, () => 1e3 * (random.uniform() - 0.5));
    const drawn = Int32Array.from({ length: draws }, () => random.below(count));
    const often = Int32Array.from({ length: draws }, () => 1 + random.below(5));
    const memory = memoryOf(1);
    const drawnAt = rows.byteLength;
    const oftenAt = drawnAt + drawn.byteLength;
    const out = 8 * Math.ceil((oftenAt + often.byteLength) / 8);
    new Float64Array(memory.buffer).set(rows);
    new Int32Array(memory.buffer, drawnAt).set(drawn);
    new Int32Array(memory.buffer, oftenAt).set(often);
    weightedSums(memory)(0, 8 * columns, drawnAt, oftenAt, oftenAt, out);

    const byHand = new Float64Array(columns);
    drawn.forEach((row, at) => {
      for (let column = 0; column < columns; column++) byHand[column]! += often[at]! * rows[row * columns + column]!;
    });
    expect(new Float64Array(memory.buffer, out, columns)).toEqual(byHand);
    // What lies around is as it was.
    expect(new Float64Array(memory.buffer, 0, rows.length)).toEqual(rows);
    expect(new Float64Array(memory.buffer, out + 8 * columns, 8)).toEqual(new Float64Array(8));
  },
);
