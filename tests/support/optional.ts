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
  say(what, mend);
  return false;
}

const besideTheCheckout = new URL('../../../shared/', import.meta.url);

/**
 * A file or folder of data that stays outside the project under its own license, or `undefined` with a plain line.
 * Nothing can install it, so where its whole folder is absent that is said and never a failure; a part that is
 * missing from the folder is one in continuous integration.
 */
export function besideCheckout(what: string, path: string): string | undefined {
  const place = fileURLToPath(new URL(path, besideTheCheckout));
  if (existsSync(place)) return place;
  const mend = `It lives beside the checkout, in ../shared/${path}.`;
  if (existsSync(besideTheCheckout)) available(what, false, mend);
  else say(what, mend);
  return undefined;
}

/** The folder of reference data beside the checkout, or `undefined` with a plain line when it is not there. */
export function referenceData(): string | undefined {
  return besideCheckout('reference data', 'reference/');
}

function say(what: string, mend: string): void {
  if (!said.has(what)) process.stdout.write(`skipped: ${what} is not here. ${mend}\n`);
  said.add(what);
}
