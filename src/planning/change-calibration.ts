import { type ChangeModel, changeModelFit, changeProbabilities } from '../models/change-model.js';
import { locatedClassFit } from '../models/located-class-fit.js';
import { positionModelFit } from '../models/position-model-fit.js';
import { readingPatterns } from '../models/reading-patterns.js';
import type { ReadingParameters } from '../models/reading-probabilities.js';
import { continuumWeight } from '../progression/change-probability.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, DEFAULT_SEED, type LongWorkOptions } from '../shared/options.js';
import { type Random, seededRandom } from '../shared/random.js';
import { Table } from '../shared/table.js';
import { checkPlanning, type PlanningCheck } from './sample-size.js';
import {
  knownChange,
  type SimulatedPairs,
  simulatePairs,
  simulateStudy,
  THREE_READERS,
  type TrueWorld,
} from './simulate-change.js';

export interface ChangeCalibrationOptions extends LongWorkOptions {
  /** Where true limbs lie. Default `'continuum'`. */
  readonly world?: TrueWorld;
  /** Readings of each limb at each visit, by as many assessors drawn at random. Default 1. */
  readonly readingsEach?: number;
  /** Patients of the agreement study, whose four sites all assessors read once. Default 60. */
  readonly patients?: number;
  /** Limb-sites read at two visits, from which the spread of grades and their change are learned. Default 300. */
  readonly serialPairs?: number;
  /** Fresh limb-sites on which each study's chances are judged. Default 4,000. */
  readonly judgedPairs?: number;
  /** How the assessors truly read, such as `error.reading.continuum.reading` of your own study. Default: three invented assessors of five grades. */
  readonly reading?: ReadingParameters;
  /** `'known'` gives the chances every true number, which shows the method without the error of a study; not with small moves. Default `'estimated'`. */
  readonly numbers?: 'estimated' | 'known';
  /** Simulated studies; with known numbers one is enough. Default 100, or 1. */
  readonly studies?: number;
  /** Default 20260301. */
  readonly seed?: number;
}

/** One tenth of the limb-sites, by rising chance of change. */
export interface CalibrationTenth {
  /** Mean chance of change that was stated. */
  readonly stated: number;
  /** Share whose true grade changed. */
  readonly changed: number;
}

/** Chances as the library states them, and those of each of the two models behind them. */
export type ChanceKind = 'weighted' | 'continuum' | 'classes';

export interface CalibrationByChance {
  /** Ten, averaged over the studies. */
  readonly tenths: readonly CalibrationTenth[];
  /** Largest distance of stated from changed in these tenths. */
  readonly worst: number;
  /** Monte Carlo standard error of that distance, from how it differs between the studies; `NaN` with one study. */
  readonly worstError: number;
  /** The same within one study: the middle one of the studies. */
  readonly medianWorst: number;
}

/** How often a rule is right when it calls a change, and which share of the true changes it finds. */
export interface RuleRecord {
  readonly rule: string;
  readonly called: number;
  readonly right: number;
  readonly found: number;
}

/** Stated chances of change held against a known truth. */
export class ChangeCalibration {
  readonly kind = 'change-calibration';

  constructor(
    readonly world: TrueWorld,
    readonly readingsEach: number,
    readonly numbers: 'estimated' | 'known',
    readonly chances: Readonly<Record<ChanceKind, CalibrationByChance>>,
    readonly rules: readonly RuleRecord[],
    /** Share of limb-sites whose true grade changed. */
    readonly changed: number,
    /** Mean weight of the continuum in the stated chances. */
    readonly continuumWeight: number,
    readonly counts: {
      readonly studies: number;
      readonly patients: number;
      readonly assessors: number;
      readonly serialPairs: number;
      readonly judgedPairs: number;
      readonly notConverged: number;
    },
    readonly seed: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** Each rule: what it calls, how often that is right, and which share of the true changes it finds. */
  get table(): Table {
    const judged = this.counts.studies * this.counts.judgedPairs;
    return new Table(
      `How often is a call of change right? True limbs ${WORLDS[this.world]}, ${this.readingsEach === 1 ? 'one reading' : `${this.readingsEach} readings`} a visit; ${Math.round(100 * this.changed)} % of the limbs changed`,
      [
        { key: 'rule', label: 'rule', kind: 'text' },
        { key: 'called', label: 'called changed', kind: 'percent' },
        { key: 'right', label: 'right when called', kind: 'percent' },
        { key: 'found', label: 'true changes found', kind: 'percent' },
      ],
      this.rules.map(({ rule, called, right, found }) => ({ rule, called: called / judged, right, found })),
      this.notes,
      ABOUT_NOBODY,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/** A world in words that follow "true limbs". */
const WORLDS: Readonly<Record<TrueWorld, string>> = {
  continuum: 'anywhere on a continuum',
  'small moves': 'on a continuum, most moves small',
  classes: 'in classes',
};

const KINDS: readonly ChanceKind[] = ['weighted', 'continuum', 'classes'];
const LIMITS = [0.5, 0.8] as const;

/**
 * Is a chance of change of .8 right in eight of ten? Whole studies are invented with a known truth: an agreement study from which the reading of each assessor is estimated, serial readings from which
 * the spread and the change of grades are, and fresh limb-sites on which the chances, as `changeCalls` gives them, are held against what truly changed.
 *
 * Limb-sites are put in order of their stated chance and cut into tenths; in each, the mean stated chance is compared with the share that changed. Averages over studies show the method's
 * bias, one study's worst tenth what a reader of one study has to expect. Neither world moves as the fitted models assume (moves of another shape, sites of a patient correlated).
 *
 * Long work: yields between studies, reports progress, and keeps the studies it has when stopped. Study s of a seed is the same whatever their number.
 *
 * @throws InputError `bad-option`: every option that does not fit; `unknown-choice`.
 * @example (await changeCalibration({ world: 'classes', readingsEach: 2, studies: 20 })).chances.weighted.worst
 * Source: calibration as in Murphy AH, Winkler RL. Applied Statistics 1977;26:41–47, doi:10.2307/2346866 (from memory).
 */
export async function changeCalibration(options: ChangeCalibrationOptions = {}): Promise<ChangeCalibration> {
  const settings = checked(options);
  const { world, readingsEach, numbers, studies, seed } = settings;
  const records: StudyRecord[] = [];
  while (records.length < studies && options.signal?.aborted !== true) {
    const random = seededRandom(seed, records.length);
    records.push(numbers === 'known' ? judgeKnown(settings, random) : judgeStudy(settings, random));
    options.progress?.(records.length / studies, `study ${records.length} of ${studies}`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  const done = records.length;
  const mean = (pick: (record: StudyRecord) => number): number =>
    records.reduce((sum, record) => sum + pick(record), 0) / done;
  const byKind = (kind: ChanceKind): CalibrationByChance => {
    const tenths = Array.from({ length: 10 }, (_, d) => ({
      stated: mean(({ tenths }) => tenths[kind][d]!.stated),
      changed: mean(({ tenths }) => tenths[kind][d]!.changed),
    }));
    const gaps = tenths.map(({ stated, changed }) => Math.abs(stated - changed));
    const worst = Math.max(...gaps);
    const { stated, changed } = tenths[gaps.indexOf(worst)] ?? { stated: Number.NaN, changed: Number.NaN };
    const spread = mean(({ tenths }) => {
      const own = tenths[kind][gaps.indexOf(worst)]!;
      return (own.stated - own.changed - stated + changed) ** 2;
    });
    return {
      tenths,
      worst,
      worstError: done > 1 ? Math.sqrt(spread / (done - 1)) : Number.NaN,
      medianWorst: median(records.map((record) => worstGap(record.tenths[kind]))),
    };
  };
  const changes = records.reduce((sum, record) => sum + record.changes, 0);
  return new ChangeCalibration(
    world,
    readingsEach,
    numbers,
    { weighted: byKind('weighted'), continuum: byKind('continuum'), classes: byKind('classes') },
    (records[0]?.rules ?? []).map(({ rule }, at) => {
      const called = records.reduce((sum, record) => sum + record.rules[at]!.called, 0);
      const right = records.reduce((sum, record) => sum + record.rules[at]!.right, 0);
      return { rule, called, right: right / called, found: right / changes };
    }),
    changes / (done * settings.judgedPairs),
    mean(({ weight }) => weight),
    {
      studies: done,
      patients: settings.patients,
      assessors: settings.reading.tendencies.length,
      serialPairs: settings.serialPairs,
      judgedPairs: settings.judgedPairs,
      notConverged: records.filter(({ converged }) => !converged).length,
    },
    seed,
    notesOf(done, settings),
  );
}

type Settings = Required<Omit<ChangeCalibrationOptions, keyof LongWorkOptions>>;

/** What one study gave. */
interface StudyRecord {
  readonly tenths: Readonly<Record<ChanceKind, readonly CalibrationTenth[]>>;
  readonly rules: readonly { readonly rule: string; readonly called: number; readonly right: number }[];
  readonly changes: number;
  readonly weight: number;
  readonly converged: boolean;
}

function checked(options: ChangeCalibrationOptions): Settings {
  const reading = options.reading ?? THREE_READERS;
  const numbers = checkChoice('numbers', options.numbers ?? 'estimated', ['estimated', 'known']);
  const settings: Settings = {
    world: checkChoice('world', options.world ?? 'continuum', ['continuum', 'small moves', 'classes']),
    readingsEach: options.readingsEach ?? 1,
    patients: options.patients ?? 60,
    serialPairs: options.serialPairs ?? 300,
    judgedPairs: options.judgedPairs ?? 4000,
    reading,
    numbers,
    studies: options.studies ?? (numbers === 'known' ? 1 : 100),
    seed: options.seed ?? DEFAULT_SEED,
  };
  const assessors = reading.tendencies.length;
  const knowable = numbers === 'estimated' || settings.world !== 'small moves';
  const atLeast = (name: 'patients' | 'serialPairs' | 'judgedPairs' | 'studies', least: number): PlanningCheck => [
    name,
    settings[name],
    Number.isInteger(settings[name]) && settings[name] >= least,
    `a whole number, at least ${least}`,
  ];
  checkPlanning([
    ['numbers', numbers, knowable, '"estimated" where most moves are small'],
    [
      'readingsEach',
      settings.readingsEach,
      Number.isInteger(settings.readingsEach) && settings.readingsEach >= 1 && settings.readingsEach <= assessors,
      `a whole number from 1 to the number of assessors, ${assessors}`,
    ],
    ['reading.tendencies', assessors, assessors >= 2, 'at least 2 assessors'],
    atLeast('patients', 10),
    atLeast('serialPairs', 10),
    atLeast('judgedPairs', 100),
    atLeast('studies', 1),
    ['seed', settings.seed, Number.isSafeInteger(settings.seed), 'a whole number'],
  ]);
  return settings;
}

/** A study with its error: reading models from its agreement study, spread and change from its serial readings. */
function judgeStudy(settings: Settings, random: Random): StudyRecord {
  const { world, reading, patients, serialPairs, readingsEach } = settings;
  const patterns = readingPatterns(simulateStudy(world, reading, patients, random), reading.cuts.length + 1);
  const positions = positionModelFit(patterns, { pointOnly: true });
  const located = locatedClassFit(patterns, { scale: positions.reading, pointOnly: true });
  const serial = simulatePairs(world, reading, serialPairs, readingsEach, random);
  const continuum = changeModelFit(
    serial.pairs,
    { kind: 'positions', reading: positions.reading },
    { pointOnly: true },
  );
  const classes = changeModelFit(
    serial.pairs,
    { kind: 'classes', reading: located.reading, locations: located.locations },
    { pointOnly: true },
  );
  const judged = simulatePairs(world, reading, settings.judgedPairs, readingsEach, random);
  const weight = continuumWeight(continuum, classes);
  const byContinuum = chancesByPair(judged, continuum.model);
  const byClasses = chancesByPair(judged, classes.model);
  return recordOf(
    judged,
    {
      weighted: byContinuum.map((chance, i) => weight * chance + (1 - weight) * byClasses[i]!),
      continuum: byContinuum,
      classes: byClasses,
    },
    weight,
    [positions, located, continuum, classes].every(({ converged }) => converged),
  );
}

/** The truth's own chances, with every number known; both models and their mean are then the same. */
function judgeKnown({ world, reading, judgedPairs, readingsEach }: Settings, random: Random): StudyRecord {
  if (world === 'small moves') throw new Error('Small moves have no known model; checked() refuses them.');
  const judged = simulatePairs(world, reading, judgedPairs, readingsEach, random);
  const chances = chancesByPair(judged, knownChange(world, reading));
  return recordOf(
    judged,
    { weighted: chances, continuum: chances, classes: chances },
    Number(world !== 'classes'),
    true,
  );
}

/** The chance of change of each distinct pair: limbs read alike share it. */
function chancesByPair({ pairs }: SimulatedPairs, model: ChangeModel): Float64Array {
  const { stayed } = changeProbabilities(pairs, model);
  const chances = new Float64Array(pairs.firsts.length);
  for (let limb = 0; limb < stayed.length; limb++) chances[pairs.pairOfTarget[limb]!] = 1 - stayed[limb]!;
  return chances;
}

function recordOf(
  judged: SimulatedPairs,
  chances: Readonly<Record<ChanceKind, Float64Array>>,
  weight: number,
  converged: boolean,
): StudyRecord {
  const { pairs, changed, before, after } = judged;
  const ruleOf = (rule: string, calls: (limb: number) => boolean) => {
    let called = 0;
    let right = 0;
    for (let limb = 0; limb < changed.length; limb++) {
      if (!calls(limb)) continue;
      called++;
      right += changed[limb]!;
    }
    return { rule, called, right };
  };
  return {
    tenths: Object.fromEntries(KINDS.map((kind) => [kind, tenthsOf(chances[kind], judged)])) as unknown as Record<
      ChanceKind,
      CalibrationTenth[]
    >,
    rules: [
      ruleOf('any difference between two readings', (limb) => before[limb] !== after[limb]),
      ruleOf('two grades or more between two readings', (limb) => Math.abs(before[limb]! - after[limb]!) >= 2),
      ...LIMITS.map((limit) =>
        ruleOf(`chance of change ${limit} or more`, (limb) => chances.weighted[pairs.pairOfTarget[limb]!]! >= limit),
      ),
    ],
    changes: changed.reduce((sum, truth) => sum + truth, 0),
    weight,
    converged,
  };
}

function tenthsOf(stated: Float64Array, { pairs, changed }: SimulatedPairs): CalibrationTenth[] {
  const limbs = byRisingChance(stated, pairs.pairOfTarget);
  return Array.from({ length: 10 }, (_, d) => {
    const part = limbs.subarray(Math.floor((d * limbs.length) / 10), Math.floor(((d + 1) * limbs.length) / 10));
    let [sum, changes] = [0, 0];
    for (const limb of part) {
      sum += stated[pairs.pairOfTarget[limb]!]!;
      changes += changed[limb]!;
    }
    return { stated: sum / part.length, changed: changes / part.length };
  });
}

/** Limbs by rising chance, those of one chance in their own order. Only the distinct pairs are sorted; limbs are counted into place. */
function byRisingChance(stated: Float64Array, pairOfLimb: Int32Array): Int32Array {
  const pairs = Int32Array.from(stated.keys()).sort((a, b) => stated[a]! - stated[b]!);
  const rankOfPair = new Int32Array(pairs.length);
  for (let at = 1; at < pairs.length; at++)
    rankOfPair[pairs[at]!] = rankOfPair[pairs[at - 1]!]! + Number(stated[pairs[at]!] !== stated[pairs[at - 1]!]);
  const next = new Int32Array(pairs.length + 1);
  for (const pair of pairOfLimb) next[rankOfPair[pair]! + 1]!++;
  for (let rank = 1; rank < next.length; rank++) next[rank]! += next[rank - 1]!;
  const limbs = new Int32Array(pairOfLimb.length);
  for (let limb = 0; limb < limbs.length; limb++) limbs[next[rankOfPair[pairOfLimb[limb]!]!]!++] = limb;
  return limbs;
}

function worstGap(tenths: readonly CalibrationTenth[]): number {
  return Math.max(...tenths.map(({ stated, changed }) => Math.abs(stated - changed)));
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
}

function notesOf(done: number, settings: Settings): Note[] {
  return [
    information(
      'invented-limbs',
      'The limbs are invented: how right a chance is elsewhere rests on how far limbs and assessors there are like these.',
    ),
    ...(done < settings.studies
      ? [caution('stopped', `The simulation was stopped after ${done} of ${settings.studies} studies.`)]
      : []),
    caution(
      'not-for-one-person',
      'A chance of change is about limbs read like this one. It is not for the decision about the person in front of you.',
    ),
  ];
}
