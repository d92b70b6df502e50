import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  // Time is no result: the limits only end what hangs.
  test: { include: ['tests/**/*.test.ts'], testTimeout: 120_000, hookTimeout: 120_000, pool: 'forks' },
});
