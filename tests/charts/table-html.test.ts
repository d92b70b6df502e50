import { describe, expect, it } from 'vitest';
import { tableHtml, tableMarkdown } from '../../src/charts/table-html.ts';
import { caution, information } from '../../src/shared/note.ts';
import { Table } from '../../src/shared/table.ts';

const table = new Table(
  'How far do <they> agree?',
  [
    { key: 'site', label: 'site', kind: 'text' },
    { key: 'value', label: 'kappa', kind: 'number' },
    { key: 'people', label: 'people', kind: 'count' },
  ],
  [
    { site: 'radial', value: 0.456, people: 1234 },
    { site: 'a <b> & "c" | d', value: Number.NaN, people: null },
  ],
  [caution('x', 'Not for one person.'), information('y', 'Made by patient.')],
);

describe('tableHtml', () => {
  const html = tableHtml(table);

  it('has a caption, header cells with their scope, and row headers', () => {
    expect(html).toMatch(/<caption[^>]*>How far do &lt;they&gt; agree\?<\/caption>/);
    expect(html.match(/<th scope="col"/g)).toHaveLength(3);
    expect(html.match(/<th scope="row"/g)).toHaveLength(2);
    expect(html.match(/<td /g)).toHaveLength(4);
  });

  it('shows values as the table rounds them, numbers to the right', () => {
    expect(html).toMatch(/<td style="[^"]*text-align:right[^"]*">0\.46<\/td>/);
    expect(html).toContain('>1,234</td>');
    expect(html).toContain('>not defined</td>');
  });

  it('escapes what could be read as HTML', () => {
    expect(html).toContain('a &lt;b&gt; &amp; &quot;c&quot; | d');
  });

  it('puts notes after it, cautions named', () => {
    expect(html).toMatch(
      /<\/table>\n<p[^>]*><strong>Caution:<\/strong> Not for one person\.<\/p>\n<p[^>]*>Made by patient\.<\/p>/,
    );
  });

  it('takes its colors from the page, so it reads on light and dark', () => {
    expect(html).not.toMatch(/(?:[^-]color|background):(?!inherit)/);
  });

  it('has no row headers where the first column is a number', () => {
    const numbers = new Table('t', [{ key: 'n', label: 'n', kind: 'count' }], [{ n: 1 }]);
    expect(tableHtml(numbers)).not.toContain('scope="row"');
  });
});

describe('tableMarkdown', () => {
  it('is a table with its caption and notes', () => {
    expect(tableMarkdown(table).split('\n')).toEqual([
      '**How far do \\<they\\> agree?**',
      '',
      '| site | kappa | people |',
      '| :-- | --: | --: |',
      '| radial | 0.46 | 1,234 |',
      '| a \\<b\\> & "c" \\| d | not defined |  |',
      '',
      'Caution: Not for one person.',
      '',
      'Made by patient.',
      '',
      '*Not for sharing: small numbers are shown.*',
    ]);
  });
});
