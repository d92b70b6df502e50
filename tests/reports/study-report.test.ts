import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { outsideReferences } from '../../src/command/execute-notebooks.ts';
import type { Report } from '../../src/reports/report-files.ts';
import { writeReport } from '../../src/reports/report-files.ts';
import { studyReport } from '../../src/reports/study-report.ts';
import { formatCount, formatNumber } from '../../src/shared/table.ts';
import type { AgreementStudy } from '../../src/study/agreement-study.ts';
import { hasChromium, startChromium } from '../support/browser.ts';
import { inventedStudy, plan } from './study.ts';

const background = { plan, sampleSize: '14 people, by simulation.' };
let study: AgreementStudy;
let own: Report;
let outside: Report;

beforeAll(async () => {
  study = await inventedStudy(['site', 'side']);
  own = await studyReport(study, { ...background, audience: 'own', pair: ['A', 'B'] });
  outside = await studyReport(study, background);
});

const pageOf = (report: Report): string => report.files['report.html']!;

/** Rows of a CSV file whose cells may be quoted, by their id. */
function rowsById(csv: string): Map<string, Record<string, string>> {
  const records = [...csv.matchAll(/((?:"(?:[^"]|"")*"|[^,\n]*))(,|\n)/g)];
  const lines: string[][] = [[]];
  for (const [, cell, end] of records) {
    lines.at(-1)!.push(cell!.startsWith('"') ? cell!.slice(1, -1).replaceAll('""', '"') : cell!);
    if (end === '\n') lines.push([]);
  }
  const [header = [], ...rows] = lines.filter((line) => line.length > 1);
  return new Map(rows.map((row) => [row[0]!, Object.fromEntries(header.map((name, at) => [name, row[at]!]))]));
}

/** Everything that a row can print as: its numbers rounded as a report rounds them, and the numbers in its words. */
function printedBy(row: Record<string, string>): Set<string> {
  const found = new Set<string>();
  for (const text of Object.values(row)) {
    const value = Number(text);
    if (text !== '' && !Number.isNaN(value))
      for (const words of [formatNumber(value), formatNumber(100 * value, 0), formatCount(value)]) found.add(words);
    else for (const number of numbersIn(text)) found.add(number);
  }
  return found;
}

function numbersIn(text: string): string[] {
  return [...text.matchAll(/−?\d[\d,]*(?:\.\d+)?/g)].map(([number]) => number.replace(/,$/, ''));
}

/** "R001 to R003", "R004" or "C001–C005" as the ids they name. */
function idsIn(text: string): string[] {
  return [...text.matchAll(/([RC])(\d{3,})(?:(?: to |–)[RC](\d{3,}))?/g)].flatMap(([, letter, from, to]) =>
    Array.from(
      { length: Number(to ?? from) - Number(from) + 1 },
      (_, at) => `${letter}${String(Number(from) + at).padStart(from!.length, '0')}`,
    ),
  );
}

/** The text of an element without its tags. */
function textOf(html: string): string {
  return html
    .replace(/<[^>]*>/g, '')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&amp;', '&');
}

function sectionOf(page: string, title: string): string {
  return page.split('<section ').find((section) => section.includes(`>${title}</h2>`)) ?? '';
}

describe('the report of a study', () => {
  it('has its parts, each reached from the contents', () => {
    const page = pageOf(own);
    const links = [...page.matchAll(/<li><a href="#([^"]+)">([^<]*)</g)];
    expect(links.map(([, , title]) => title)).toEqual([
      'In short',
      'The plan',
      'Who read what',
      'How far do assessors agree?',
      'Where do they agree least?',
      'On which grades?',
      'Pair by pair',
      'Habits of assessors',
      'Differences of measured values',
      'Error of measurement',
      'Results in sentences',
      'Methods in one paragraph',
      'Reporting guideline, item by item',
      'In the terms of measurement',
      'Conventions, seed, versions, data',
      'Cautions',
      'Rows of results.csv',
      'Rows of counts.csv',
      'What this page carries',
    ]);
    for (const [, id] of links) expect(page).toContain(`<section id="${id}"`);
    expect(
      [...sectionOf(page, 'Reporting guideline, item by item').matchAll(/<h3>(\d+)\. /g)].map(([, item]) =>
        Number(item),
      ),
    ).toEqual(Array.from({ length: 15 }, (_, at) => at + 1));
  });

  it('finds every number of its sentences in the rows that the sentence cites', () => {
    const rows = rowsById(own.files['results.csv']!);
    const items = [...sectionOf(pageOf(own), 'Results in sentences').matchAll(/<li>([\s\S]*?)<\/li>/g)].map(
      ([, item]) => textOf(item!),
    );
    expect(items.length).toBeGreaterThan(8);
    for (const item of items) {
      const cited = idsIn(item);
      expect(cited.length, item).toBeGreaterThan(0);
      const printed = new Set(cited.flatMap((id) => [...printedBy(rows.get(id)!)]));
      for (const number of numbersIn(item.replace(/\[[RC][^\]]*\]/, '')))
        expect(printed, `${number} in: ${item}`).toContain(number);
    }
  });

  it('finds every number of its tables in the rows that each line cites', () => {
    const rows = new Map([...rowsById(own.files['results.csv']!), ...rowsById(own.files['counts.csv']!)]);
    let lines = 0;
    for (const title of [
      'Who read what',
      'How far do assessors agree?',
      'On which grades?',
      'Pair by pair',
      'Differences of measured values',
      'Error of measurement',
    ])
      for (const [, line] of sectionOf(pageOf(own), title).matchAll(/<tr>([\s\S]*?)<\/tr>/g)) {
        const cells = [...line!.matchAll(/<td[^>]*>([\s\S]*?)<\/td>/g)].map(([, cell]) => textOf(cell!));
        const cited = idsIn(cells.at(-1) ?? '');
        if (cited.length === 0) continue;
        lines++;
        const printed = new Set(cited.flatMap((id) => [...printedBy(rows.get(id)!)]));
        for (const cell of cells.slice(0, -1))
          for (const number of numbersIn(cell)) expect(printed, `${title}: ${cells.join(' | ')}`).toContain(number);
      }
    expect(lines).toBeGreaterThan(30);
  });

  it('says the same numbers in its guideline as in the rows cited there', () => {
    const rows = new Map([...rowsById(own.files['results.csv']!), ...rowsById(own.files['counts.csv']!)]);
    const guideline = textOf(sectionOf(pageOf(own), 'Reporting guideline, item by item'));
    const total = Number(rows.get('R001')!.ratings);
    const shares = [...guideline.matchAll(/\((\d)\) (\d+) % \[(C\d+)\]/g)];
    expect(shares).toHaveLength(5);
    for (const [, grade, share, id] of shares) {
      expect(rows.get(id!)!.one).toBe(grade);
      expect(formatNumber((100 * Number(rows.get(id!)!.count)) / total, 0)).toBe(share);
    }
  });

  it('is the same bytes again, on another day', async () => {
    vi.useFakeTimers({ now: new Date(2031, 4, 17), toFake: ['Date'] });
    const again = await studyReport(study, background);
    vi.useRealTimers();
    expect(again.files).toEqual(outside.files);
  });

  it('holds no address that leaves it, a caption for every table and a scope for every heading', () => {
    for (const page of [pageOf(own), pageOf(outside)]) {
      const markup = page.replace(/<script>[\s\S]*?<\/script>/g, '').replace(/<script type[\s\S]*?<\/script>/g, '');
      expect(outsideReferences(markup)).toEqual([]);
      expect(markup.match(/<table/g)!.length).toBe(markup.match(/<caption[^>]*>[^<]/g)!.length);
      for (const [heading] of markup.matchAll(/<th\b[^>]*>/g)) expect(heading).toMatch(/scope="(col|row)"/);
      const ids = [...markup.matchAll(/\sid="([^"]+)"/g)].map(([, id]) => id);
      expect(new Set(ids).size).toBe(ids.length);
    }
  });

  it('keeps the licenses of what it carries', () => {
    const licenses = sectionOf(pageOf(own), 'What this page carries');
    for (const words of [
      'vega',
      'd3-array',
      'Source Sans',
      'SIL OPEN FONT LICENSE',
      'Mike Bostock',
      'University of Washington',
    ])
      expect(licenses).toContain(words);
  });

  it('weighs less than two megabytes', () => {
    expect(pageOf(own).length).toBeLessThan(2_000_000);
  });
});

describe('the report for others', () => {
  it('holds no code of an assessor and no small count', async () => {
    const named = await inventedStudy();
    const { assessors } = named.ratings('pulse-grade');
    expect(assessors).toEqual(['A', 'B', 'C']);
    const text = outside.files['results.csv']! + outside.files['counts.csv']!;
    expect(text).not.toMatch(/\b[ABC] (and|minus) [ABC]\b|, by [ABC]\b/);
    expect(pageOf(outside)).not.toMatch(/Pair by pair|Habits of assessors|Differences of measured values/);
    for (const { count } of rowsById(outside.files['counts.csv']!).values() as Iterable<Record<string, string>>)
      expect(count === 'hidden' || count === '0' || Number(count) >= 5, count).toBe(true);
    expect(outside.files['results.csv']).not.toContain('Readings that are missing');
  });
});

describe.runIf(hasChromium)('in a browser', () => {
  const folder = mkdtempSync(join(tmpdir(), 'study-report-'));
  let browser: Browser;
  let address: string;

  beforeAll(async () => {
    browser = await startChromium();
    address = pathToFileURL(resolve(await writeReport(own, folder))).href;
  });

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true });
  });

  async function opened(options: Parameters<Browser['newPage']>[0] = {}) {
    const page = await browser.newPage({ viewport: { width: 800, height: 900 }, ...options });
    const requests: string[] = [];
    const faults: string[] = [];
    page.on('request', (request) => requests.push(request.url()));
    page.on('console', (message) => faults.push(message.text()));
    page.on('pageerror', (error) => faults.push(error.message));
    await page.goto(address);
    if (options.javaScriptEnabled !== false)
      await page.waitForFunction('document.documentElement.dataset.drawn !== undefined');
    return { page, requests, faults };
  }

  it.each(['light', 'dark'] as const)(
    'draws every chart in %s, asks for nothing, complains of nothing, and fits 800 pixels',
    async (colorScheme) => {
      const { page, requests, faults } = await opened({ colorScheme });
      expect(requests).toEqual([address]);
      expect(faults).toEqual([]);
      const figures = await page.locator('figure').count();
      expect(figures).toBeGreaterThanOrEqual(5);
      expect(await page.locator('figure.drawn .live svg').count()).toBe(figures);
      expect(await page.locator('figure .still:visible').count()).toBe(0);
      expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(800);
      expect(await page.evaluate('document.documentElement.dataset.drawn')).toBe(colorScheme);
      await page.close();
    },
  );

  it('says in words what a mark means where the pointer is', async () => {
    const { page } = await opened();
    const mark = page.locator('figure .live .mark-rect path').first();
    await mark.scrollIntoViewIfNeeded();
    await mark.hover({ force: true });
    await page.waitForFunction("document.getElementById('mark-words').textContent !== ''");
    expect(await page.locator('#mark-words').textContent()).toMatch(/read .* and .* read .*: \d+ of \d+ findings/);
    await page.close();
  });

  it('shows the still pictures without scripts', async () => {
    const { page } = await opened({ javaScriptEnabled: false });
    expect(await page.locator('figure .still.light svg:visible').count()).toBe(await page.locator('figure').count());
    await page.close();
  });

  it('lets nothing be fetched, whatever stands in it', async () => {
    const { page } = await opened();
    const broken = await page.evaluate(`new Promise((done) => {
      const seen = [];
      document.addEventListener('securitypolicyviolation', ({ effectiveDirective }) => {
        if (seen.push(effectiveDirective) === 4) done(seen.sort());
      });
      fetch('https://example.org/').catch(() => {});
      for (const [name, address] of [['img', 'src'], ['link', 'href'], ['script', 'src']]) {
        const element = document.createElement(name);
        element.rel = 'stylesheet';
        element[address] = 'https://example.org/x';
        document.body.append(element);
      }
    })`);
    expect(broken).toEqual(['connect-src', 'img-src', 'script-src-elem', 'style-src-elem']);
    await page.close();
  });
});
