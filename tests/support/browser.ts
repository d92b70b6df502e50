import { type Browser, chromium } from 'playwright-core';
import { CHROMIUM_OPTIONS, findChromium } from '../../src/reports/print-pdf.ts';
import { available } from './optional.ts';

/** Whether the machine has Chromium; without it a test of a page in a browser is left out, and says so. */
export const hasChromium = available(
  'Chromium',
  findChromium() !== undefined,
  'Install it, or give its path in LIMB_PERFUSION_CHROMIUM.',
);

/** Chromium without a window, which asks nothing of any network by itself. */
export function startChromium(): Promise<Browser> {
  return chromium.launch({
    executablePath: findChromium() ?? '',
    args: [...CHROMIUM_OPTIONS],
  });
}
