import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { writeLearnerPages } from '../../src/command/write-learner-pages.ts';
import { learnerPage } from '../../src/reports/learner-page.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { learnerCard } from '../../src/teaching/learner-card.ts';
import { type ClassLine, classFile, demoClass } from './class-file.ts';

describe('a learner’s private card', () => {
  it('has own readings, the experts’ range, and the others without their lowest and highest', async () => {
    const lines: ClassLine[] = [
      ['V1', 'left', 'dorsalis-pedis', 'X1', 1],
      ['V1', 'left', 'dorsalis-pedis', 'X2', 2],
      ...[3, 0, 1, 1, 2, 4].map((grade, at): ClassLine => ['V1', 'left', 'dorsalis-pedis', `L${at}`, grade]),
    ];
    const card = learnerCard(classSession(await classFile(lines), { sign: 'pulse-grade' }), 'L0');
    expect(card.limbs).toEqual([
      {
        label: expect.stringMatching(/^V1, left leg/),
        own: 3,
        experts: { lower: 1, upper: 2 },
        others: { lower: 1, upper: 2 },
      },
    ]);
    expect(card.sentences).toEqual([]);
    expect(card.notes.map(({ code }) => code)).toEqual(['unconnected']);
  });

  it('says a tendency to the one who has it', async () => {
    const { assessments } = await demoClass();
    const session = classSession(assessments, { sign: 'pulse-grade', round: '1' });
    expect(learnerCard(session, 'L05').sentences[0]).toMatch(/^You tend to read high: /);
    expect(learnerCard(session, 'L08').sentences).toEqual([]);
    expect(() => learnerCard(session, 'X1')).toThrow(/No learner/);
  });
});

describe('private pages', () => {
  it('are one file a code, without index, link, other codes, totals, ranks, pass or fail', async () => {
    const { assessments } = await demoClass();
    const folder = mkdtempSync(join(tmpdir(), 'pages-'));
    try {
      expect(await writeLearnerPages(assessments.where({ sign: 'pulse-grade', round: '2' }), folder)).toBe(12);
      const names = readdirSync(folder).sort();
      expect(names).toEqual(Array.from({ length: 12 }, (_, at) => `L${String(at + 1).padStart(2, '0')}.html`));
      for (const name of names) {
        const page = readFileSync(join(folder, name), 'utf8');
        const own = name.slice(0, 3);
        const words = page.replaceAll(/<style[\s\S]*?<\/style>|data:[^"')]*/g, '');
        expect([...new Set(words.match(/\bL\d\d\b/g))]).toEqual([own]);
        expect(words).not.toMatch(/\b(rank|percentile|passed|failed|score|total|average)\b/i);
        expect(words).not.toMatch(/<a |<script|src="http|href="http/);
      }
    } finally {
      rmSync(folder, { recursive: true });
    }
  }, 120_000);

  it('are never of two learners at once', async () => {
    const { assessments } = await demoClass();
    const session = classSession(assessments, { sign: 'pitting-edema', round: '1' });
    await expect(learnerPage([learnerCard(session, 'L01'), learnerCard(session, 'L02')])).rejects.toThrow(
      /exactly one/,
    );
  });
});
