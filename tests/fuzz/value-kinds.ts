import fc from 'fast-check';
import { brennanPrediger } from '../../src/agreement/brennan-prediger.ts';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { congerKappa } from '../../src/agreement/conger-kappa.ts';
import { fleissKappa } from '../../src/agreement/fleiss-kappa.ts';
import { gwetAgreement } from '../../src/agreement/gwet-agreement.ts';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { percentAgreement } from '../../src/agreement/percent-agreement.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import { specificAgreement } from '../../src/agreement/specific-agreement.ts';
import { measurementErrorFromText, measurementErrorText } from '../../src/measurement-error/measurement-error-file.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { checkSettings, setting } from '../../src/notebook/check-settings.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { Table } from '../../src/shared/table.ts';
import { noFormula, objectOf, unescaped } from './assessment-kinds.ts';
import { kind, outcomeOf, same, withoutSecrets } from './kind.ts';
import { damaged, damages } from './made-table.ts';
import { referenceTable } from './reference-table.ts';
import { formula, oddText, prototypeWord, secret } from './secrets.ts';

const circular: Record<string, unknown> = {};
circular.itself = circular;

function deep(levels: number): unknown {
  let value: unknown = 1;
  for (let level = 0; level < levels; level++) value = [value];
  return value;
}

const RULES = {
  sign: setting.oneOf(['pulse-grade', 'edema', 'constructor']),
  signs: setting.someOf(['pulse-grade', 'edema'], ['edema']),
  share: setting.numberFrom(0, 1, 0.5),
  rounds: setting.wholeNumberFrom(1, 9, 3),
  file: setting.text('x.csv'),
  repeat: setting.trueOrFalse(false),
} as const;

const settingValue = fc.oneof(
  oddText,
  prototypeWord,
  secret,
  fc.constantFrom('pulse-grade', 'edema', 0.5, 3, -0, Number.NaN, Number.POSITIVE_INFINITY, true, null, undefined),
  fc.array(fc.oneof(secret, fc.constantFrom('edema', 'pulse-grade', '__proto__'))),
  fc.anything({
    maxDepth: 4,
    withBigInt: true,
    withDate: true,
    withMap: true,
    withNullPrototype: true,
    withTypedArray: true,
  }),
  fc.constant(circular),
  fc.constant(Symbol('s')),
  fc.func(fc.nat()),
  fc.constantFrom(10, 5000, 100_000).map(deep),
);

/** Any settings: what is let through is as the rule says. */
const settings = kind(
  'settings',
  40,
  fc.array(fc.tuple(fc.oneof(fc.constantFrom(...Object.keys(RULES)), prototypeWord, secret, oddText), settingValue), {
    maxLength: 6,
  }),
  async (entries) => {
    // Half of them with what must be there, and nothing that is no setting.
    const known = entries.filter(([name]) => name in RULES);
    const written = objectOf(entries.length % 2 === 0 ? entries : [['sign', 'edema'], ...known]);
    const { value } = await outcomeOf(() => checkSettings(written, RULES));
    if (value === undefined) return;
    if (!['pulse-grade', 'edema', 'constructor'].includes(value.sign)) throw new Error('No such sign.');
    if (!value.signs.every((sign) => sign === 'edema' || sign === 'pulse-grade')) throw new Error('No such signs.');
    if (!(value.share >= 0 && value.share <= 1)) throw new Error('No share.');
    if (!Number.isInteger(value.rounds) || value.rounds < 1 || value.rounds > 9) throw new Error('No rounds.');
    if (typeof value.repeat !== 'boolean' || value.file.trim() === '') throw new Error('No repeat or file.');
  },
);

const errors = [
  measurementErrorOf(
    ratingsOf(
      [
        [1.2, 1.4, 1.1],
        [2.2, 2.1, null],
        [3, null, 3.3],
        [4.1, 4, 4.2],
      ],
      { clusters: ['Qz1', 'Qz2', 'Qz3', 'Qz4'] },
    ),
    { as: 'lengths' },
  ),
  measurementErrorOf(
    ratingsOf(
      Array.from({ length: 40 }, (_, at) => [at % 4, (at + (at % 7 === 0 ? 1 : 0)) % 4, at % 4]),
      {
        categories: [0, 1, 2, 3],
        clusters: Array.from({ length: 40 }, (_, at) => `Qz${at}`),
      },
    ),
    { as: 'grades' },
  ),
];
const texts = errors.map((error) => measurementErrorText(error));

const errorText = fc.oneof(
  {
    weight: 5,
    arbitrary: fc
      .tuple(fc.nat(1), damages)
      .map(([which, list]) => damaged(Buffer.from(texts[which] ?? ''), list).toString()),
  },
  { weight: 2, arbitrary: fc.nat(1).map((which) => texts[which] ?? '') },
  {
    weight: 2,
    arbitrary: fc
      .tuple(
        fc.nat(1),
        fc.constantFrom(
          '1',
          '2',
          'null',
          '{}',
          '"x"',
          '{"kind":"grades"}',
          '{"kind":"lengths"}',
          '{"__proto__":{"kind":"grades"}}',
        ),
      )
      .map(([format, error]) => `{"format":${format + 1},"error":${error}}`),
  },
  { weight: 1, arbitrary: fc.json({ maxDepth: 6 }) },
  {
    weight: 1,
    arbitrary: fc
      .tuple(
        fc.constantFrom('[', '{"error":', '{"format":2,"error":[', '{"__proto__":'),
        fc.integer({ min: 1, max: 200_000 }),
      )
      .map(([start, count]) => start.repeat(count)),
  },
  {
    weight: 1,
    arbitrary: fc
      .integer({ min: 1, max: 60_000 })
      .map((count) => `{"format":2,"sha256":"","error":${'['.repeat(count)}${']'.repeat(count)}}`),
  },
);

/** A saved error of measurement: as it was saved, or refused. */
const saved = kind('saved error', 40, errorText, async (text) => {
  const { value } = await outcomeOf(() => measurementErrorFromText(text));
  if (value === undefined) return;
  const again = measurementErrorText(value);
  if (!texts.includes(again)) throw new Error('An error that nobody saved was loaded.');
});

const COEFFICIENTS: readonly ((ratings: Ratings) => unknown)[] = [
  cohenKappa,
  percentAgreement,
  specificAgreement,
  fleissKappa,
  congerKappa,
  scottPi,
  brennanPrediger,
  gwetAgreement,
  krippendorffAlpha,
];

const grades = fc.uniqueArray(fc.oneof(prototypeWord, oddText, fc.integer(), formula), {
  minLength: 2,
  maxLength: 4,
  selector: String,
});

/** The same ratings under odd names and plain ones have the same coefficients, to the last digit. */
const renamed = kind(
  'ratings: odd names',
  15,
  fc.tuple(
    grades,
    fc.array(fc.array(fc.option(fc.nat(3)), { minLength: 2, maxLength: 2 }), { minLength: 1, maxLength: 12 }),
    fc.array(fc.oneof(prototypeWord, oddText), { minLength: 12, maxLength: 12 }),
    fc.nat(COEFFICIENTS.length - 1),
  ),
  async ([categories, rows, patients, which]) => {
    const coefficient = COEFFICIENTS[which] as (ratings: Ratings) => unknown;
    const given = (names: readonly (string | number)[], clusters: readonly string[], assessors: readonly string[]) =>
      ratingsOf(
        rows.map((row) => row.map((at) => (at === null ? null : (names[at % names.length] ?? null)))),
        {
          categories: names.map((value, score) => ({ value, words: `w${score}`, score })),
          clusters: clusters.slice(0, rows.length),
          assessors,
        },
      );
    const plain = categories.map((_, at) => `g${at}`);
    const distinct = new Map(patients.map((patient) => [patient, `p${patients.indexOf(patient)}`]));
    const odd = await outcomeOf(() => coefficient(given(categories, patients, ['__proto__', 'constructor'])));
    const usual = await outcomeOf(() =>
      coefficient(
        given(
          plain,
          patients.map((patient) => distinct.get(patient) ?? ''),
          ['a', 'b'],
        ),
      ),
    );
    same(figuresOf(odd.value), figuresOf(usual.value), 'Figures');
    same(
      odd.refused?.problems.map(({ code }) => code),
      usual.refused?.problems.map(({ code }) => code),
      'Refusals',
    );
  },
);

/** Every number of a result, in order; names of categories are not among them. */
function figuresOf(result: unknown): unknown {
  if (typeof result === 'number') return Number.isNaN(result) ? 'NaN' : result;
  if (typeof result !== 'object' || result === null) return null;
  return (
    Array.isArray(result)
      ? result
      : Object.entries(result)
          .filter(([key]) => !['options', 'notes', 'category'].includes(key))
          .map(([, value]) => value as unknown)
  ).map(figuresOf);
}

const number = fc.oneof(
  fc.nat(6),
  fc.double(),
  fc.constantFrom(-1, 0.5, 1e7, 1e9, 2 ** 31, 2 ** 53, Number.NaN, Number.POSITIVE_INFINITY, -0),
);
const counts = fc.array(fc.array(number, { maxLength: 4 }), { maxLength: 4 });
const names = fc.array(fc.oneof(fc.nat(3), fc.double(), prototypeWord, oddText, secret), { maxLength: 4 });

/** Counts and rows of any numbers. */
const ratings = kind(
  'ratings: noise',
  45,
  fc.tuple(
    counts,
    names,
    fc.array(fc.array(fc.oneof(fc.constant(null), number, prototypeWord, oddText, secret), { maxLength: 4 }), {
      maxLength: 5,
    }),
    fc.option(names, { nil: undefined }),
  ),
  async ([table, categories, rows, given]) => {
    const made = [
      await outcomeOf(() => ratingsOfTable(table, { categories })),
      await outcomeOf(() => ratingsOfCounts(table, { categories })),
      await outcomeOf(() => ratingsOf(rows, given === undefined ? {} : { categories: given })),
    ];
    const [square, , free] = made;
    if (square?.value !== undefined)
      same(
        square.value.targets,
        table.flat().reduce((sum, one) => sum + one, 0),
        'Targets',
      );
    if (free?.value !== undefined) {
      const { codes, columns, categories: known } = free.value;
      rows.forEach((row, target) =>
        row.forEach((reading, column) => {
          const code = codes[target * columns + column] ?? -1;
          if (reading === null ? code !== -1 : known[code]?.value !== reading) throw new Error('A reading is another.');
        }),
      );
    }
    for (const { value } of made)
      if (value !== undefined && value.columns <= 50) await outcomeOf(() => percentAgreement(value));
  },
);

/** Result tables on the way out: every text comes back, no formula runs, a number stays a number. */
const exports = kind(
  'result tables',
  60,
  fc.array(
    fc.tuple(
      fc.oneof(oddText, formula),
      fc.oneof(fc.double(), fc.constant(null)),
      fc.oneof(formula, fc.constantFrom('-5', '+3', '-1e-7', '-.5', '−5')),
    ),
    { minLength: 1, maxLength: 5 },
  ),
  (rows) => {
    const table = new Table(
      '',
      [
        { key: 'word', label: '=label', kind: 'text' },
        { key: 'number', label: 'number', kind: 'number' },
        { key: '__proto__', label: '__proto__', kind: 'text' },
      ],
      rows.map(
        ([word, value, other]) =>
          objectOf([
            ['word', word],
            ['number', value],
            ['__proto__', other],
          ]) as Record<string, string | number | null>,
      ),
    );
    const read = referenceTable(table.toCsv(), ',');
    if (read === undefined) throw new Error('The file is no table.');
    for (const row of read) row.forEach(noFormula);
    same(
      read.slice(1).map(([word = '', value = '', other = '']) => [back(word), value, back(other)]),
      rows.map(([word, value, other]) => [word, value === null || Number.isNaN(value) ? '' : String(value), other]),
      'Written',
    );
    withoutSecrets(table.toText());
  },
);

/** As `unescaped`, also for a text that begins with a blank that spreadsheets pass over. */
function back(cell: string): string {
  return /^'+[\t\r\n]/.test(cell) ? cell.slice(1) : unescaped(cell);
}

export const valueKinds = [settings, saved, renamed, ratings, exports];
