import process from 'node:process';
import fc from 'fast-check';

// A gate that draws afresh fails by chance at a change that is not to blame; looking for rare cases is a run of its own.
fc.configureGlobal({
  seed: Number(process.env.PROPERTY_SEED ?? 20260801),
  ...(process.env.PROPERTY_RUNS === undefined ? {} : { numRuns: Number(process.env.PROPERTY_RUNS) }),
});
