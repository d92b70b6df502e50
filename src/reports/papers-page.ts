import type { SessionPaper } from '../teaching/session-papers.js';
import { htmlPage, htmlText } from './html-page.js';

/**
 * The papers of a session as one page to print: code slips to be cut apart, every other paper on a sheet of its own.
 *
 * @example papersPage(sessionPapers(rota, stations)) // '<!doctype html>…'
 */
export function papersPage(papers: readonly SessionPaper[]): string {
  const slips = papers.filter(({ kind }) => kind === 'code slip');
  const sheets = papers.filter(({ kind }) => kind !== 'code slip');
  const linesOf = ({ lines }: SessionPaper): string => lines.map((line) => `<p>${htmlText(line)}</p>`).join('\n');
  return htmlPage(
    'Papers of a session',
    [
      `<section class="slips">${slips.map((slip) => `<div class="slip"><h2>${htmlText(slip.heading)}</h2>\n${linesOf(slip)}</div>`).join('\n')}</section>`,
      ...sheets.map(
        (sheet) => `<section class="sheet"><h1>${htmlText(sheet.heading)}</h1>\n${linesOf(sheet)}</section>`,
      ),
    ].join('\n'),
    '.sheet { break-before: page; } .slips { display: grid; grid-template-columns: 1fr 1fr; } .slip { border: 1px dashed; padding: 0.8em 1em; break-inside: avoid; } .slip p { font-size: 0.8em; margin: 0.3em 0; } .sheet p { font-size: 1.15em; margin: 0.9em 0; }',
  );
}
