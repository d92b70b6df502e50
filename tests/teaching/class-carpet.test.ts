import { describe, expect, it } from 'vitest';
import { classCarpet } from '../../src/teaching/class-carpet.ts';
import { hardLimbs } from '../../src/teaching/hard-limbs.ts';
import { simulatedClass } from './class-file.ts';

const columnsOf = (rows: readonly (readonly string[])[]) => rows[0]!.map((_, at) => rows.map((row) => row[at]).sort());

describe('the class carpet', () => {
  it('has each learner once, in an order drawn anew, with the same marks by limb as the hard limbs', async () => {
    const session = await simulatedClass(3, Array(12).fill(0));
    const [one, other] = [1, 2].map((seed) => classCarpet(session, { seed, rows: 'learners' }));
    const sorted = (rows: readonly (readonly string[])[]) => rows.map((row) => row.join(' ')).sort();
    expect(sorted(one!.rows)).toEqual(sorted(other!.rows));
    expect(one!.rows.map((row) => row.join())).not.toEqual(other!.rows.map((row) => row.join()));
    const hard = hardLimbs(session);
    one!.limbs.forEach(({ label }, column) => {
      const limb = hard.limbs.find((each) => each.label === label)!;
      const marks = one!.rows.map((row) => row[column]);
      for (const mark of ['lower', 'same', 'higher'] as const)
        expect(marks.filter((each) => each === mark)).toHaveLength(limb[mark]);
    });
  });

  it('shuffles each limb by itself where a row would stand out, and keeps what each limb says', async () => {
    const session = await simulatedClass(4, [1.2, ...Array<number>(11).fill(-0.05)]);
    const carpet = classCarpet(session, { seed: 1 });
    expect(carpet.of).toBe('loose');
    expect(columnsOf(carpet.rows)).toEqual(columnsOf(classCarpet(session, { seed: 9, rows: 'learners' }).rows));
    const standing = carpet.rows.filter((row) => row.filter((mark) => mark === 'higher').length > row.length / 2);
    expect(standing).toEqual([]);
    expect(classCarpet(await simulatedClass(3, Array(12).fill(0)), { seed: 1 }).of).toBe('learners');
  });
});
