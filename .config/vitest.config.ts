import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['tests/**/*.test.ts'],
    setupFiles: ['tests/support/seeded-properties.ts'],
    // Time is no result: the limits only end what hangs.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    pool: 'forks',
  },
});
