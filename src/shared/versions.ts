import { createRequire } from 'node:module';

/** The version of this library, as its package says. */
export function libraryVersion(): string {
  return (createRequire(import.meta.url)('../../package.json') as { version: string }).version;
}
