import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';
import { available } from './optional.ts';

/** Where Debian and most other systems keep Chromium. */
const CHROMIUM = '/usr/bin/chromium';

/** Whether tests in a real browser can run; says so where they cannot. */
export const hasChromium = available('Chromium', existsSync(CHROMIUM), 'On Debian: apt-get install chromium.');

/** Chromium without anything that asks the network on its own. */
export function startChromium(): Promise<Browser> {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}
