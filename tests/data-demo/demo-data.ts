import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const script = fileURLToPath(new URL('../../data-demo/make-demo-data.mjs', import.meta.url));

/** Every file of the demo data by name, freshly made in a folder of its own, which is removed again. */
export function madeDemoData(): Map<string, string> {
  const folder = mkdtempSync(join(tmpdir(), 'demo-data-'));
  try {
    execFileSync(process.execPath, [script, folder], { stdio: 'ignore' });
    return new Map(
      readdirSync(folder)
        .sort()
        .map((name) => [name, readFileSync(join(folder, name), 'utf8')]),
    );
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The rows of a file whose cells hold no quotes and no commas, as objects by column. */
export function rowsOf(files: Map<string, string>, name: string): Record<string, string>[] {
  const [header = '', ...lines] = textOf(files, name).trimEnd().split('\n');
  const columns = header.split(',');
  return lines.map((line) => {
    const cells = line.split(',');
    return Object.fromEntries(columns.map((column, i) => [column, cells[i] ?? '']));
  });
}

export function truthOf<Truth>(files: Map<string, string>, name: string): Truth {
  return JSON.parse(textOf(files, `${name}.truth.json`)) as Truth;
}

export function textOf(files: Map<string, string>, name: string): string {
  const text = files.get(name);
  if (text === undefined) throw new Error(`${name} was not made`);
  return text;
}

export function mean(numbers: readonly number[]): number {
  return numbers.reduce((sum, number) => sum + number, 0) / numbers.length;
}
