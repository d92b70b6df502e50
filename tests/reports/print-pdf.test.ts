import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { afterAll, afterEach, expect, it, vi } from 'vitest';
import { htmlPage } from '../../src/reports/html-page.ts';
import { printPdf } from '../../src/reports/print-pdf.ts';
import { hasChromium } from '../support/browser.ts';

const folder = mkdtempSync(join(tmpdir(), 'print-'));
afterAll(() => rmSync(folder, { recursive: true }));
afterEach(() => vi.unstubAllEnvs());

const page = join(folder, 'page.html');
writeFileSync(page, htmlPage('A page', '<h1>A page</h1>'));

it.runIf(hasChromium)('prints a page to a PDF of A4 leaves', async () => {
  const file = join(folder, 'page.pdf');
  await printPdf(page, file);
  const pdf = readFileSync(file, 'latin1');
  expect(pdf).toMatch(/^%PDF-1\.\d/);
  expect(pdf).toMatch(/\/Type \/Page\b/);
});

it('says in a sentence what to do where there is no Chromium', async () => {
  vi.stubEnv('PATH', folder);
  vi.stubEnv('LIMB_PERFUSION_CHROMIUM', join(folder, 'nowhere'));
  await expect(printPdf(page, join(folder, 'no.pdf'))).rejects.toThrow(
    /There is no Chromium on this machine.*open the page in any browser and print it to PDF/,
  );
});

it.runIf(process.platform !== 'win32')('does not take an old PDF for a new one where Chromium wrote none', async () => {
  const silent = join(folder, 'silent');
  writeFileSync(silent, '#!/bin/sh\nexit 0\n', { mode: 0o755 });
  vi.stubEnv('LIMB_PERFUSION_CHROMIUM', silent);
  const file = join(folder, 'old.pdf');
  writeFileSync(file, 'old');
  await expect(printPdf(page, file)).rejects.toThrow(/wrote no PDF/);
  expect(readFileSync(file, 'utf8')).toBe('old');
});
