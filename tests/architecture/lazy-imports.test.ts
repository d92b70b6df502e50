import { beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary } from '../../.config/set-up.mjs';
import { packagesLoadedBy } from '../support/modules-loaded.ts';

/** What takes seconds to load, or binaries, and is wanted only by some. */
const HEAVY = /^(vega.*|danfojs|canvas|@napi-rs\/canvas|@duckdb\/.*|@tensorflow\/.*|apache-arrow|@lhncbc\/.*)$/;

const heavyOf = (code: string) => packagesLoadedBy(code).filter((name) => HEAVY.test(name));

describe('importing the library', () => {
  beforeAll(buildLibrary, 300_000);

  it('runs the code of no heavy package', () => {
    expect(heavyOf("await import('./dist/index.js');")).toEqual([]);
  });

  it('would be seen to run it by import and by require', () => {
    expect(heavyOf("await import('vega-lite');")).toContain('vega-lite');
    const viaRequire =
      "import { createRequire } from 'node:module'; createRequire(import.meta.url)('@duckdb/node-api');";
    expect(heavyOf(viaRequire)).toContain('@duckdb/node-api');
  });
});
