import process from 'node:process';
import { afterAll, beforeAll, test } from 'vitest';
import { assessmentKinds } from './assessment-kinds.ts';
import { formKinds } from './form-kinds.ts';
import { type Kind, say, tally, watchdog } from './kind.ts';
import { pathKinds } from './path-kinds.ts';
import { sheetKinds } from './sheet-kinds.ts';
import { valueKinds } from './value-kinds.ts';
import { workbookKinds } from './workbook-kinds.ts';

/** A look at every kind in the suite; `FUZZ_INPUTS=100000 npm run vitest -- tests/fuzz` for a long one, `FUZZ_SEED` for another. */
const INPUTS = Number(process.env.FUZZ_INPUTS ?? 2000);
const SEED = Number(process.env.FUZZ_SEED ?? 20260801);

const kinds: readonly Kind[] = [
  ...assessmentKinds,
  ...formKinds,
  ...sheetKinds,
  ...workbookKinds,
  ...valueKinds,
  ...pathKinds,
];
const shares = kinds.reduce((sum, { share }) => sum + share, 0);
let all = 0;

test.each(kinds.map((one) => [one.name, one] as const))(
  '%s',
  async (name, one) => {
    const inputs = Math.ceil((INPUTS * one.share) / shares);
    let [done, slowest, total] = [0, 0, 0];
    const before = { ...tally };
    try {
      await one.run(inputs, SEED, (milliseconds) => {
        done++;
        total += milliseconds;
        slowest = Math.max(slowest, milliseconds);
      });
    } finally {
      all += done;
      say(
        `${name.padEnd(34)}${String(done).padStart(8)}${String(tally.accepted - before.accepted).padStart(10)} of ${String(tally.asked - before.asked).padEnd(8)}${(total / 1000).toFixed(1).padStart(7)} s${slowest.toFixed(0).padStart(8)} ms`,
      );
    }
  },
  3_600_000,
);

beforeAll(() => {
  say(
    `${'inputs by kind'.padEnd(34)}${'inputs'.padStart(8)}${'not refused'.padStart(22)}${'in all'.padStart(9)}${'slowest'.padStart(11)}`,
  );
});

afterAll(() => {
  watchdog.stop();
  say(`${all} inputs, seed ${SEED}; memory at its peak ${Math.round(process.resourceUsage().maxRSS / 1024)} MB`);
});
