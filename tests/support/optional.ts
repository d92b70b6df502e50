import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** What was already said to be missing: one line is enough. */
const said = new Set<string>();

const strict = process.env.LIMB_PERFUSION_STRICT === '1';

/**
 * Says whether an optional part of a test can run. When it cannot, prints one plain line — or throws
 * where the variable LIMB_PERFUSION_STRICT is 1, as in continuous integration.
 */
export function available(what: string, isThere: boolean, mend: string): boolean {
  if (isThere) return true;
  if (strict) throw new Error(`${what} is missing. ${mend}`);
  if (!said.has(what)) process.stdout.write(`skipped: ${what} is not here. ${mend}\n`);
  said.add(what);
  return false;
}

const referenceFolder = fileURLToPath(new URL('../../../shared/reference/', import.meta.url));

/** The folder of reference data beside the checkout, or `undefined` with a plain line when it is not there. */
export function referenceData(): string | undefined {
  return available(
    'reference data',
    existsSync(referenceFolder),
    'It lives beside the checkout, in ../shared/reference.',
  )
    ? referenceFolder
    : undefined;
}
