import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import { Table } from '../shared/table.js';
import { siteOf } from '../signs/site.js';

/** Something on a sheet that the educator should ask about, privately. It proves nothing. */
export interface ClassQuestion {
  readonly about: 'swapped sides' | 'identical readings';
  readonly codes: readonly string[];
  readonly volunteer: string | undefined;
  readonly question: string;
}

export interface ClassQuestions {
  readonly kind: 'class-questions';
  readonly questions: readonly ClassQuestion[];
  /** For the educator only. */
  readonly table: Table;
}

/** Steps by which the swapped sheet must fit better, and pairs of sides that must tell left from right. */
const STEPS_BETTER = 4;
const TELLING_PAIRS = 2;
/** Grades between the two sides, in the middle of the others, from which one place alone tells. */
const CLEARLY_APART = 2;
/** Share of the others who must have the sides in the same order for a place to tell. */
const SAME_ORDER = 0.8;
/** Shared readings below which two sheets are not compared. */
const SHARED_READINGS = 12;
/** Expected number of identical pairs in the whole class below which a pair is asked about. */
const RARE = 0.01;

/**
 * What to ask before a class is looked at: left and right swapped for a volunteer, and two sheets with identical readings.
 *
 * Swapped: over the places of one volunteer whose sides four fifths of the others have in one order, the sheet lies at least 4 steps closer to them with left and right exchanged, no place
 * further off, and at least 2 pairs tell; or, at one place where the others find the sides 2 or more grades apart, the sheet has them the other way round. Identical: two sheets agree on all of 12 or more shared readings, and by how often any two readers agree on each of these limbs so many
 * equal readings would be expected in fewer than one of a hundred classes. All graded signs together. Both are questions: friends may read alike.
 *
 * Undefined: nothing. Missing values: gaps do not enter. Readings eaten by a spreadsheet (`2/3` turned into a date) are refused by `loadAssessments`, with their row.
 *
 * @throws InputError `round-needed` as in `classSession`.
 * @example classQuestions(assessments, { round: '1' }).questions.length // 2
 * Source: common practice, no source.
 */
export function classQuestions(assessments: Assessments, options: { readonly round?: string } = {}): ClassQuestions {
  if (options.round === undefined && assessments.round.values.length > 1)
    throw refuse(
      'round-needed',
      ['options', 'round'],
      `The file holds ${assessments.round.values.length} rounds; a sheet is of one.`,
      'name one in the option round.',
    );
  const sheets = sheetsOf(options.round === undefined ? assessments : assessments.where({ round: options.round }));
  const questions = [...swapped(sheets), ...identical(sheets)];
  return {
    kind: 'class-questions',
    questions,
    table: new Table(
      'What should the educator ask, privately?',
      [
        { key: 'about', label: 'about', kind: 'text' },
        { key: 'codes', label: 'sheets', kind: 'text' },
        { key: 'question', label: 'question', kind: 'text' },
      ],
      questions.map(({ about, codes, question }) => ({ about, codes: codes.join(' and '), question })),
    ),
  };
}

interface Place {
  readonly volunteer: string;
  /** Sign, scale, part and site without its side. */
  readonly pair: string;
  readonly side: string;
  readonly site: string;
}

interface Sheets {
  readonly places: ReadonlyMap<string, Place>;
  /** Reader → place → grade. */
  readonly readers: ReadonlyMap<string, ReadonlyMap<string, number>>;
  readonly learners: readonly string[];
}

function sheetsOf(assessments: Assessments): Sheets {
  const places = new Map<string, Place>();
  const readers = new Map<string, Map<string, number>>();
  const references = new Set<string>();
  for (let row = 0; row < assessments.length; row++) {
    const reader = assessments.wordAt('assessor', row);
    const grade = assessments.category[row]!;
    const replicate = assessments.replicate[row]!;
    if (reader === null || grade < 0 || replicate > 1) continue;
    if (assessments.reference[row] === 1) references.add(reader);
    const [side = '', part = ''] = (assessments.wordAt('limb', row) ?? '').split('-');
    const volunteer = assessments.wordAt('patient', row) ?? '';
    const pair = [
      assessments.wordAt('sign', row),
      assessments.wordAt('scale', row),
      part,
      assessments.wordAt('site', row),
    ].join('/');
    const key = `${volunteer}/${side}/${pair}`;
    places.set(key, { volunteer, pair, side, site: assessments.wordAt('site', row) ?? '' });
    const sheet = readers.get(reader) ?? new Map<string, number>();
    readers.set(reader, sheet);
    sheet.set(key, grade);
  }
  return { places, readers, learners: [...readers.keys()].filter((reader) => !references.has(reader)).sort() };
}

function swapped({ places, readers, learners }: Sheets): ClassQuestion[] {
  const volunteers = [...new Set([...places.values()].map(({ volunteer }) => volunteer))].sort();
  const pairs = [...places].filter(([, { side }]) => side === 'left');
  return learners.flatMap((learner) => {
    const own = readers.get(learner)!;
    return volunteers.flatMap((volunteer): ClassQuestion[] => {
      const found = pairs.flatMap(([left, place]) => {
        if (place.volunteer !== volunteer) return [];
        const right = left.replace(`${volunteer}/left/`, `${volunteer}/right/`);
        const [mine, mineRight] = [own.get(left), own.get(right)];
        const [middle, middleRight] = [middleOf(readers, left, learner), middleOf(readers, right, learner)];
        if (mine === undefined || mineRight === undefined || middle === undefined || middleRight === undefined)
          return [];
        if (middle === middleRight || mine === mineRight || !inOneOrder(readers, left, right, learner)) return [];
        const gain =
          Math.abs(mine - middle) +
          Math.abs(mineRight - middleRight) -
          (Math.abs(mineRight - middle) + Math.abs(mine - middleRight));
        return [{ site: place.site, gain, apart: Math.abs(middle - middleRight) }];
      });
      const better = found.reduce((sum, { gain }) => sum + gain, 0);
      const telling = found.filter(({ gain }) => gain > 0);
      const all = better >= STEPS_BETTER && telling.length >= TELLING_PAIRS && found.every(({ gain }) => gain >= 0);
      const clear = telling.filter(({ apart }) => apart >= CLEARLY_APART);
      if (!all && clear.length === 0) return [];
      const where = all ? '' : ` at the ${siteOf(clear[0]!.site).label.toLowerCase()}`;
      return [
        {
          about: 'swapped sides',
          codes: [learner],
          volunteer,
          question: all
            ? `Left and right of ${volunteer} may be swapped: exchanged, the sheet lies ${better} steps closer to the others, on ${telling.length} places. Ask.`
            : `Left and right of ${volunteer}${where} may be swapped: the others find the sides ${clear[0]!.apart} grades apart, the other way round. Ask.`,
        },
      ];
    });
  });
}

/** Whether most others who tell the two sides apart have them in the same order. */
function inOneOrder(readers: Sheets['readers'], left: string, right: string, without: string): boolean {
  const orders = [...readers].flatMap(([reader, sheet]) => {
    const order = (sheet.get(left) ?? Number.NaN) - (sheet.get(right) ?? Number.NaN);
    return reader === without || Number.isNaN(order) ? [] : [Math.sign(order)];
  });
  return [-1, 1].some((sign) => orders.filter((order) => order === sign).length >= SAME_ORDER * orders.length);
}

/** The middle of the others' readings at a place. */
function middleOf(readers: Sheets['readers'], key: string, without: string): number | undefined {
  const grades = [...readers].flatMap(([reader, sheet]) => {
    const grade = sheet.get(key);
    return reader === without || grade === undefined ? [] : [grade];
  });
  if (grades.length < 3) return undefined;
  grades.sort((a, b) => a - b);
  return (grades[Math.floor((grades.length - 1) / 2)]! + grades[Math.floor(grades.length / 2)]!) / 2;
}

function identical({ places, readers, learners }: Sheets): ClassQuestion[] {
  const pairsOfSheets = (learners.length * (learners.length - 1)) / 2;
  const alike = new Map([...places.keys()].map((key) => [key, shareAlike(readers, learners, key)]));
  return learners.flatMap((first, at) =>
    learners.slice(at + 1).flatMap((second): ClassQuestion[] => {
      const [one, other] = [readers.get(first)!, readers.get(second)!];
      const shared = [...one.keys()].filter((key) => other.has(key));
      if (shared.length < SHARED_READINGS || shared.some((key) => one.get(key) !== other.get(key))) return [];
      const chance = shared.reduce((product, key) => product * alike.get(key)!, 1);
      if (chance * pairsOfSheets >= RARE) return [];
      return [
        {
          about: 'identical readings',
          codes: [first, second],
          volunteer: undefined,
          question: `All ${shared.length} shared readings are identical, which two people who read apart would hardly reach. It proves nothing. Ask.`,
        },
      ];
    }),
  );
}

/** How often two readers of a place agree, over all pairs, with one more pair that agrees and one that does not. */
function shareAlike(readers: Sheets['readers'], learners: readonly string[], key: string): number {
  const counts = new Map<number, number>();
  let n = 0;
  for (const learner of learners) {
    const grade = readers.get(learner)!.get(key);
    if (grade === undefined) continue;
    n++;
    counts.set(grade, (counts.get(grade) ?? 0) + 1);
  }
  const agreeing = [...counts.values()].reduce((sum, count) => sum + (count * (count - 1)) / 2, 0);
  return (agreeing + 1) / ((n * (n - 1)) / 2 + 2);
}
