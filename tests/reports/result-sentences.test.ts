import { expect, it } from 'vitest';
import { resultSentences } from '../../src/reports/result-sentences.ts';
import { resultsFile } from '../../src/reports/results-file.ts';
import { formatNumber } from '../../src/shared/table.ts';
import { inventedStudy } from './study.ts';

it('traces every sentence to rows that hold its numbers, and uses each row once', async () => {
  const study = await inventedStudy();
  const sentences = resultSentences(study);
  const { rows } = resultsFile(study);
  expect(sentences.flatMap((sentence) => sentence.rows)).toEqual(rows.map((row) => row.id));
  for (const { text, rows: ids } of sentences)
    for (const id of ids) {
      const row = rows.find((one) => one.id === id)!;
      const percent = !['primary', 'error of one reading'].includes(row.role as string);
      for (const number of [row.value, row.lower, row.upper] as number[])
        if (!Number.isNaN(number))
          expect(text).toContain(percent ? formatNumber(100 * number, 0) : formatNumber(number));
    }
});

it('names counts and method, says what was explored or asked for later, and has no adjective', async () => {
  const texts = resultSentences(await inventedStudy()).map(({ text }) => text);
  expect(texts[0]).toMatch(
    /^Pulse strength, all together: Conger kappa, quadratic weights .*95 % interval.*bootstrap.*56 findings, 14 people, 3 assessors.*\[R001 to R003\]/,
  );
  expect(texts.some((text) => /\(explored, not planned\)/.test(text))).toBe(true);
  expect(texts.some((text) => /linear weights .*|amended 2026-09-14/.test(text))).toBe(true);
  expect(texts.some((text) => /Girth of the ankle.*error of one reading \d.* cm/.test(text))).toBe(true);
  expect(texts.join(' ')).not.toMatch(/substantial|moderate|excellent|poor\b/i);
});
