import fc from 'fast-check';

/** Invented identifiers of every form that the guard knows. None may ever be said. */
export const SECRETS = [
  'Henrik Lindqvist',
  'LINDQVIST, HENRIK',
  'Mrs. Okonkwo-Bright',
  'h.lindqvist@post.example.org',
  '1951-03-07',
  '03/07/1951',
  '7 March 1951',
  '555-123-4567',
  '078-05-1120',
  'MRN 4471182',
  '44711829034',
  '12 Elm Tree Street',
  'Springfield, IL 62704',
  '10.20.30.417'.replace('417', '41'),
  'https://portal.example.org/p/771',
  '90210-1234',
  'face-0042.jpg',
  '97 years old',
  'GB29 NWBK 6016 1331 9268 19',
] as const;

export const secret = fc.constantFrom(...SECRETS);

/** Names that every object of the language has, or that change it. */
export const prototypeWord = fc.constantFrom(
  '__proto__',
  'constructor',
  'prototype',
  'toString',
  'valueOf',
  'hasOwnProperty',
  'isPrototypeOf',
  '__defineGetter__',
  'toLocaleString',
);

/** What a spreadsheet would run. */
export const formula = fc.constantFrom(
  '=1+1',
  '=HYPERLINK("http-x","y")',
  '+1+cmd|calc',
  '-1+1',
  '@SUM(1,1)',
  "=cmd|' /C calc'!A0",
  "'=1+1",
  "''=1",
  "'plain",
  '-',
  '+x',
);

/** Text that upsets readers: quotation marks, delimiters, line ends, letters of many lengths, numbers at limits. */
export const oddText = fc.oneof(
  prototypeWord,
  formula,
  fc.constantFrom(
    '"',
    '""',
    'a"b',
    "it's",
    'a,b;c\td|e',
    'two\nlines',
    'two\r\nlines',
    'ä',
    '漢字',
    '👩🏽‍⚕️',
    'e\u0301',
    '\u202Eabc',
    '\u200B',
    'NaN',
    'Infinity',
    'null',
    'undefined',
    'true',
    '1e400',
    '9007199254740993',
    '0x10',
    '007',
    '-0',
    '\\',
    '\\N',
    '%s%n',
    '%{x}',
    '<b>&amp;</b>',
    '#REF!',
  ),
  fc.string({ unit: 'grapheme', maxLength: 12 }),
  fc.integer({ min: 100, max: 3000 }).map((length) => 'x'.repeat(length)),
);
