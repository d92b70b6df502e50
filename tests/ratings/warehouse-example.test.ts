import { readFileSync } from 'node:fs';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import * as library from '../../src/index.ts';
import { WAREHOUSES } from '../support/warehouses.ts';

const page = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');
const [, section = ''] = page.split('## From a warehouse to an estimate');
const [rows = '', program = '', query = '', result = ''] = [...section.matchAll(/^```\w+\n([\s\S]*?)^```$/gm)].map(
  ([, block = '']) => block,
);

/** Runs a program of the page, which may await, and gives what it named. */
async function run(code: string, given: Readonly<Record<string, unknown>>, named: string): Promise<unknown> {
  const [imports = ''] = /^import .*$/m.exec(code) ?? [];
  const names = /\{(.*)\}/.exec(imports)?.[1] ?? '';
  const { outputText } = ts.transpileModule(code.replace(imports, ''), {
    compilerOptions: { target: ts.ScriptTarget.ES2022 },
  });
  const AsyncFunction = Object.getPrototypeOf(async () => {}).constructor;
  const body = `const {${names}} = library;\n${outputText.replace(/^export \{\};$/m, '')}\nreturn ${named};`;
  return new AsyncFunction('library', ...Object.keys(given), body)(library, ...Object.values(given));
}

describe.each(WAREHOUSES)('the example of the page on $name', ({ isHere, open }) => {
  it.runIf(isHere)('gives the query and the estimate that stand there', async () => {
    const warehouse = await open();
    try {
      for (const statement of rows.split(/;\n/)) if (statement.trim() !== '') await warehouse.engine.query(statement);
      const printed: string[] = [];
      const given = {
        client: { query: async (sql: string) => ({ rows: await warehouse.engine.query(sql) }) },
        console: { log: (sql: string) => printed.push(sql) },
      };
      const kappa = await run(program, given, 'kappa');
      expect(printed.at(-1)).toBe(query.trimEnd());
      expect(String(kappa)).toBe(result.trimEnd());
      const counts = (await warehouse.engine.query(query)).map((row) => Object.values(row).map(String).join());
      expect(counts).toHaveLength(7);
      expect(counts).toEqual(expect.arrayContaining(['K4,1,2,1,2', 'K4,2,2+,1,2']));
    } finally {
      await warehouse.close();
    }
  });
});
