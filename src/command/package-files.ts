import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** The folder of this package, whether it is the project or was installed. */
export const packageFolder: string = fileURLToPath(new URL('../../', import.meta.url));

/** What the command needs of this package's package.json. */
interface PackageDescription {
  readonly version: string;
  readonly devDependencies: Readonly<Record<string, string>>;
  readonly overrides: Readonly<Record<string, string>>;
  readonly allowScripts: Readonly<Record<string, boolean>>;
}

export function packageDescription(): PackageDescription {
  return JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as PackageDescription;
}

export function packageVersion(): string {
  return packageDescription().version;
}
