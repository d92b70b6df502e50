import { CAUTIONS } from '../shared/cautions.js';
import type { Estimate } from '../shared/estimate.js';
import { formatNumber } from '../shared/table.js';
import type { BeforeAndAfter, RetrainingEffect } from '../teaching/retraining-effect.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf } from './words.js';

/**
 * Before and after retraining in two panels: limbs that nobody had read, and limbs read in both rounds. Each shows the share of readings that were the
 * experts', the interval of the change, and the change expected anyway.
 */
export function beforeAndAfterChart(effect: RetrainingEffect, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const panels: readonly (readonly [string, BeforeAndAfter, number])[] = [
    ['new limbs', effect.newLimbs, effect.expectedAnyway],
    ...(effect.controlLimbs === undefined
      ? []
      : [['limbs read in both rounds (control)', effect.controlLimbs, 0] as const]),
  ];
  const x = {
    type: 'quantitative',
    scale: { domain: [-0.5, 1.5], nice: false },
    axis: { title: null, values: [0, 1], labelExpr: "datum.value < 0.5 ? 'before' : 'after'", grid: false },
  };
  const y = {
    type: 'quantitative',
    scale: { domain: [0, 1] },
    axis: { title: null, labelExpr: PERCENT_LABELS, tickCount: 5, grid: true },
  };
  return chartOf(
    {
      from: effect,
      title: effect.sentence,
      subtitle: [
        `${effect.signLabel}, share of readings that were the experts’: mean over ${countOf(effect.learners, 'learner')}`,
        `Bars are ${formatNumber(100 * effect.newLimbs.change.interval.level, 0)} % intervals of the change (t over learners), drawn from the share before`,
      ],
      details: `${panels.map(([name, { before, after, change }]) => `On ${name}: ${percent(before)} before, ${percent(after)} after (${changeWords(change)}).`).join(' ')}`,
      caution: `A gain on limbs seen before may be memory; new limbs may be easier or harder. ${CAUTIONS.agreementIsNotAccuracy}`,
      view: {
        spacing: 60,
        hconcat: panels.map(([name, { limbs, before, after, change }, anyway]) => ({
          width: 260,
          height: 220,
          title: {
            text: `On ${name}`,
            subtitle: `${countOf(limbs.before, 'limb')} before, ${countOf(limbs.after, 'limb')} after`,
            fontSize: TEXT_SIZES.label,
            subtitleFontSize: TEXT_SIZES.small,
            anchor: 'start',
            offset: 14,
          },
          layer: [
            {
              data: {
                values: [
                  { at: 1, lower: clip(before + change.interval.lower), upper: clip(before + change.interval.upper) },
                ],
              },
              mark: { type: 'rule', strokeWidth: 5, opacity: 0.25, color: theme.ink, strokeCap: 'round' },
              encoding: { x: { field: 'at', ...x }, y: { field: 'lower', ...y }, y2: { field: 'upper' } },
            },
            {
              data: {
                values: [
                  { at: 0, value: before },
                  { at: 1, value: clip(before + anyway) },
                ],
              },
              mark: { type: 'line', strokeDash: [4, 4], color: theme.muted },
              encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y } },
            },
            {
              data: {
                values: [
                  {
                    at: 0,
                    value: before,
                    words: `On ${name}, before: ${percent(before)} of readings were the experts’ (${countOf(limbs.before, 'limb')}, ${countOf(effect.learners, 'learner')}).`,
                  },
                  {
                    at: 1,
                    value: after,
                    words: `On ${name}, after: ${percent(after)} of readings were the experts’ (${countOf(limbs.after, 'limb')}, ${countOf(effect.learners, 'learner')}); ${changeWords(change)}.`,
                  },
                ],
              },
              layer: [
                {
                  mark: { type: 'line', color: theme.ink, strokeWidth: 2 },
                  encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y } },
                },
                {
                  mark: { type: 'point', size: 110, filled: true, opacity: 1, color: theme.ink },
                  encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, tooltip: { field: 'words' } },
                },
              ],
            },
            {
              data: { values: [{ at: 0, value: before, text: percent(before) }] },
              mark: { type: 'text', align: 'right', dx: -12 },
              encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, text: { field: 'text' } },
            },
            {
              data: { values: [{ at: 1, value: after, text: percent(after) }] },
              mark: { type: 'text', align: 'left', dx: 12 },
              encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, text: { field: 'text' } },
            },
            {
              data: { values: [{ at: 0.5, value: clip(before + anyway / 2), text: 'expected anyway' }] },
              mark: { type: 'text', dy: after < before ? -12 : 14, color: theme.muted, fontSize: TEXT_SIZES.small },
              encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, text: { field: 'text' } },
            },
          ],
        })),
      },
    },
    theme,
  );
}

/** "change 18 in a hundred, 95 % interval 9 to 27". */
function changeWords({ value, interval }: Estimate): string {
  const points = (share: number): string => formatNumber(100 * share, 0);
  if (Number.isNaN(value)) return 'change not defined';
  return `change ${points(value)} in a hundred, ${points(interval.level)} % interval ${points(interval.lower)} to ${points(interval.upper)}`;
}

function clip(share: number): number {
  return Math.max(0, Math.min(1, share));
}

function percent(share: number): string {
  return Number.isNaN(share) ? 'not defined' : `${formatNumber(100 * share, 0)} %`;
}
