import type { ChanceKind, ChangeCalibration } from '../planning/change-calibration.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { type LegendEntry, legendLayers } from './legend.js';
import { type ChartOptions, type Theme, themeOf } from './theme.js';
import { countOf } from './words.js';

const COLUMNS = 3;
const SIDE = 178;
const WIDTH = 600;
const LEGEND = 24;
const MOST_PANELS = 9;

/**
 * Stated chances of change against what truly changed: a dot for each tenth of the limbs, on the diagonal where a chance is right as often as it says, below it where it says too much. Rings and
 * diamonds are the chances of each of the two models alone.
 *
 * One panel for each simulation, three in a row, in the order given. The title names the largest distance of a dot from the diagonal.
 *
 * @throws InputError `too-many-panels` for none or more than nine; `no-studies` where a simulation was stopped before its first study.
 */
export function calibrationChart(calibrations: readonly ChangeCalibration[], options: ChartOptions = {}): Chart {
  if (calibrations.length === 0 || calibrations.length > MOST_PANELS)
    throw refuse(
      'too-many-panels',
      ['calibrations'],
      `There are ${calibrations.length} simulations.`,
      `draw one to ${MOST_PANELS}.`,
    );
  if (calibrations.some(({ counts }) => counts.studies === 0))
    throw refuse('no-studies', ['calibrations'], 'A simulation was stopped before its first study.');
  const theme = themeOf(options);
  const { counts, seed } = calibrations[0]!;
  const estimated = calibrations.some(({ numbers }) => numbers === 'estimated');
  const { worst, worstError } = calibrations
    .map(({ chances }) => chances.weighted)
    .reduce((most, own) => (own.worst > most.worst ? own : most));
  const noise = Number.isNaN(worstError) ? '' : ` (simulation error ${formatNumber(worstError)})`;
  const title = `A stated chance of change is off by ${formatNumber(worst)} at most${counts.studies > 1 ? `, on average${noise}` : ''}`;
  const end = axisEnd(calibrations);
  return chartOf(
    {
      from: ABOUT_NOBODY,
      title,
      subtitle: [
        `Each dot is a tenth of the limbs, by rising chance; ${estimated ? countOf(counts.studies, 'simulated study', 'simulated studies') : `every number known, ${formatCount(counts.judgedPairs)} limbs`} a panel${estimated ? `, each with ${counts.patients} people in its agreement study, ${countOf(counts.assessors, 'assessor')} and ${counts.serialPairs} limb-sites seen twice` : ''}; seed ${seed}`,
        'Across: chance as stated; up: share whose true grade changed. On the line a chance is right as often as it says',
      ],
      details: `${calibrations
        .map(
          (one) =>
            `${panelWords(one)}: largest distance ${formatNumber(one.chances.weighted.worst)}, with a continuum alone ${formatNumber(one.chances.continuum.worst)}, with classes alone ${formatNumber(one.chances.classes.worst)}`,
        )
        .join('. ')}.`,
      caution:
        'Invented limbs: how right a chance is elsewhere rests on how far limbs and assessors there are like these.',
      view: {
        spacing: 14,
        vconcat: [
          ...(estimated ? [legendRow(theme)] : []),
          {
            // Spaced by the sizes of the panels alone: measured letters differ between what draws them.
            bounds: 'flush',
            columns: COLUMNS,
            spacing: { row: 84, column: 58 },
            concat: calibrations.map((one) => panelOf(one, theme, end)),
          },
        ],
      },
    },
    theme,
  );
}

function panelOf(one: ChangeCalibration, theme: Theme, end: number): object {
  const scale = { domain: [0, end], nice: false };
  const axis = { values: ticksTo(end), format: '.1f', grid: true, title: null };
  const position = {
    // A room of their own for the labels, so that the panels stand at the same places whatever measures them.
    x: { field: 'stated', type: 'quantitative', scale, axis: { ...axis, minExtent: 22, maxExtent: 22 } },
    y: { field: 'changed', type: 'quantitative', scale, axis: { ...axis, minExtent: 30, maxExtent: 30 } },
  };
  const points = (kind: ChanceKind) =>
    one.chances[kind].tenths.map(({ stated, changed }, tenth) => ({
      stated,
      changed,
      words: `Tenth ${tenth + 1} of 10, ${KIND_WORDS[kind]}: stated ${formatNumber(stated)}, truly changed ${formatNumber(changed)}.`,
    }));
  const alone = (kind: ChanceKind, shape: string, color: string) => ({
    data: { values: points(kind) },
    mark: { type: 'point', shape, filled: shape === 'diamond', strokeWidth: 1.5, size: 46, color, opacity: 1 },
    encoding: { ...position, tooltip: { field: 'words' } },
  });
  return {
    width: SIDE,
    height: SIDE,
    title: { text: panelWords(one), anchor: 'start', fontSize: 13, fontWeight: 600, offset: 8 },
    layer: [
      {
        data: { values: [{ from: 0, to: end }] },
        mark: { type: 'rule', color: theme.muted, strokeDash: [5, 4] },
        encoding: {
          x: { field: 'from', type: 'quantitative', scale, axis: position.x.axis },
          y: { field: 'from', type: 'quantitative', scale, axis: position.y.axis },
          x2: { field: 'to' },
          y2: { field: 'to' },
        },
      },
      ...(one.numbers === 'known'
        ? []
        : [alone('continuum', 'circle', theme.categories[1]!), alone('classes', 'diamond', theme.signal)]),
      {
        data: { values: points('weighted') },
        layer: [
          { mark: { type: 'line', color: theme.ink, strokeWidth: 1.25 }, encoding: position },
          {
            mark: { type: 'point', shape: 'circle', filled: true, color: theme.ink, size: 62, opacity: 1 },
            encoding: { ...position, tooltip: { field: 'words' } },
          },
        ],
      },
    ],
  };
}

/** The legend as a row of its own above the panels. */
function legendRow(theme: Theme): object {
  const entries: readonly LegendEntry[] = [
    { text: KIND_WORDS.weighted, mark: 'circle', color: theme.ink },
    { text: KIND_WORDS.continuum, mark: 'ring', color: theme.categories[1]! },
    { text: KIND_WORDS.classes, mark: 'diamond', color: theme.signal },
  ];
  return { width: WIDTH, height: LEGEND, layer: legendLayers([entries], theme, WIDTH, -LEGEND / 2) };
}

const KIND_WORDS: Readonly<Record<ChanceKind, string>> = {
  weighted: 'the chance as given',
  continuum: 'limbs on a continuum, alone',
  classes: 'limbs in classes, alone',
};

const WORLD_WORDS: Readonly<Record<ChangeCalibration['world'], string>> = {
  continuum: 'Continuum',
  'small moves': 'Small moves',
  classes: 'Classes',
};

/** Where true limbs lie and how often they were read: "Classes, 2 readings a visit". */
function panelWords(one: ChangeCalibration): string {
  return `${WORLD_WORDS[one.world]}, ${countOf(one.readingsEach, 'reading')} a visit`;
}

/** The next tenth above every dot, so that all panels share one scale. */
function axisEnd(calibrations: readonly ChangeCalibration[]): number {
  const most = Math.max(
    ...calibrations.flatMap(({ chances }) =>
      Object.values(chances).flatMap(({ tenths }) => tenths.flatMap(({ stated, changed }) => [stated, changed])),
    ),
  );
  return Math.min(1, Math.ceil(most * 10 + 0.25) / 10);
}

function ticksTo(end: number): readonly number[] {
  const step = end > 0.5 ? 0.2 : 0.1;
  return Array.from({ length: Math.floor(end / step + 1e-9) + 1 }, (_, at) => at * step);
}
