import type { Assessments } from '../assessments/assessments.js';
import { studentT } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { type ClassSession, yardstickOf } from './class-session.js';

/** Readings made in one way, and how many were those of the experts. */
export interface TechniqueCount {
  readonly method: string;
  readonly readings: number;
  readonly same: number;
}

/** Does technique matter? Readings of a class by how they were made. */
export interface TechniqueComparison {
  readonly kind: 'technique-comparison';
  readonly methods: readonly TechniqueCount[];
  /** Share the same as the experts, first method less second, averaged over learners who used both. */
  readonly difference: Estimate;
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * Does technique matter: how often were readings made in one way those of the experts, and how often those made in another, such as both sides at once
 * against one at a time?
 *
 * A reading is the same when it lies within the experts' range (the class's middle where no expert read). difference = mean over learners who used both ways of (share
 * the same, first − second), t interval over learners, so that a careful learner who always works one way does not decide it.
 *
 * Undefined (`NaN` with a note): fewer than 3 learners used both. Missing values: readings without a method or a value do not enter.
 *
 * @param assessments the file the session was made from. @param methods the two ways, as they are written in the column method.
 * @throws InputError `unknown-method`, `bad-option`.
 * @example techniqueComparison(session, assessments, ['both sides at once', 'one at a time']).methods[0].readings
 * Source: paired comparison within learners, common practice, no source.
 */
export function techniqueComparison(
  session: ClassSession,
  assessments: Assessments,
  methods: readonly [string, string],
  options: { readonly confidenceLevel?: number } = {},
): TechniqueComparison {
  const { confidenceLevel } = checkIntervalOptions(options);
  const unknown = methods.find((method) => !assessments.method.values.includes(method));
  if (unknown !== undefined)
    throw refuse(
      'unknown-method',
      ['methods'],
      `No reading was made by "${unknown}".`,
      `choose two of ${assessments.method.values.join(', ')}.`,
    );
  const places = new Map(
    session.limbs.flatMap((limb) => {
      const yardstick = yardstickOf(session, limb);
      return yardstick === undefined ? [] : [[`${limb.volunteer}/${limb.limb}/${limb.site}`, yardstick] as const];
    }),
  );
  const own = assessments.where({
    sign: session.ratings.subject?.sign ?? '',
    scale: session.ratings.subject?.scale ?? '',
    assessor: session.learners,
    ...(session.round === undefined ? {} : { round: session.round }),
  });
  const volunteers = new Set<string | null>();
  const tallies = new Map<string, { readings: number; same: number }>();
  for (let row = 0; row < own.length; row++) {
    const yardstick = places.get(`${own.wordAt('patient', row)}/${own.wordAt('limb', row)}/${own.wordAt('site', row)}`);
    const grade = own.category[row]!;
    const method = own.wordAt('method', row);
    if (yardstick === undefined || grade < 0 || method === null) continue;
    if (methods.includes(method)) volunteers.add(own.wordAt('patient', row));
    const key = `${own.wordAt('assessor', row)}/${method}`;
    const tally = tallies.get(key) ?? { readings: 0, same: 0 };
    tallies.set(key, tally);
    tally.readings++;
    if (grade >= yardstick.lower && grade <= yardstick.upper) tally.same++;
  }
  const counts = methods.map((method): TechniqueCount => {
    const of = session.learners.flatMap((code) => tallies.get(`${code}/${method}`) ?? []);
    return {
      method,
      readings: of.reduce((sum, { readings }) => sum + readings, 0),
      same: of.reduce((sum, { same }) => sum + same, 0),
    };
  });
  const differences = session.learners.flatMap((code) => {
    const [first, second] = methods.map((method) => tallies.get(`${code}/${method}`));
    return first === undefined || second === undefined
      ? []
      : [first.same / first.readings - second.same / second.readings];
  });
  const n = differences.length;
  const value = differences.reduce((sum, difference) => sum + difference, 0) / n;
  const standardError =
    n < 3 ? Number.NaN : Math.sqrt(differences.reduce((sum, each) => sum + (each - value) ** 2, 0) / (n * (n - 1)));
  const reach = n < 3 ? Number.NaN : studentT.quantile(0.5 + confidenceLevel / 2, n - 1) * standardError;
  const notes = [
    information('chosen-by-learners', 'Who worked in which way was not drawn by lot; limbs and habits may differ.'),
    ...(n < 3 ? [caution('few-learners', `Only ${n} learners used both ways, so there is no interval.`)] : []),
  ];
  return {
    kind: 'technique-comparison',
    methods: counts,
    difference: new Estimate({
      statistic: `share read as the experts, ${methods[0]} less ${methods[1]}`,
      value: n < 3 ? Number.NaN : value,
      standardError,
      interval: { lower: value - reach, upper: value + reach, level: confidenceLevel, method: 't over learners' },
      counts: {
        targets: places.size,
        clusters: volunteers.size,
        assessors: n,
        ratings: counts.reduce((sum, { readings }) => sum + readings, 0),
        excluded: session.learners.length - n,
      },
      options: { methods },
      notes,
    }),
    table: new Table(
      'Does technique matter? (readings of the class that were those of the experts)',
      [
        { key: 'method', label: 'made by', kind: 'text' },
        { key: 'same', label: 'as the experts', kind: 'count' },
        { key: 'readings', label: 'readings', kind: 'count' },
        { key: 'share', label: 'share', kind: 'percent' },
      ],
      counts.map(({ method, same, readings }) => ({ method, same, readings, share: same / readings })),
      notes,
    ),
    notes,
  };
}
