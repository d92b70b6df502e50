import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import type { HardLimbs } from '../teaching/hard-limbs.js';
import { type Chart, chartOf } from './chart.js';
import { markLegend, markStyles, pointEncoding } from './class-marks.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf } from './words.js';

export interface HardLimbsChartOptions extends ChartOptions {
  /** How many limbs are drawn, the hardest first. Default 14. */
  readonly most?: number;
}

const ROW = 26;
const WIDTH = 250;
/** Pixels of the middle column, with the number who read the same. */
const MIDDLE = 40;

/**
 * Hard limbs first: a row a limb; triangles to the left for those who read lower than the experts, to the right for those who read higher, the number
 * who read the same between them, and what the experts wrote at the right. Nobody is in it by code.
 *
 * @throws InputError `bad-option`.
 */
export function hardLimbsChart(hard: HardLimbs, options: HardLimbsChartOptions = {}): Chart {
  const theme = themeOf(options);
  const most = options.most ?? 14;
  if (!Number.isInteger(most) || most < 1)
    throw refuse('bad-option', ['options', 'most'], `most is ${most}.`, 'give a whole number of limbs from 1.');
  const styles = markStyles(theme);
  const limbs = hard.limbs.slice(0, most);
  const side = (WIDTH - MIDDLE) / 2;
  const widest = Math.max(1, ...limbs.flatMap(({ lower, higher }) => [lower, higher]));
  const step = Math.min(14, side / widest);
  const x = { type: 'quantitative', scale: { domain: [0, WIDTH], nice: false }, axis: null };
  const y = {
    field: 'limb',
    type: 'ordinal',
    sort: null,
    scale: { domain: limbs.map(({ label }) => label), paddingInner: 0.2, paddingOuter: 0.1 },
    axis: { title: null, labelLimit: 340, labelFontSize: TEXT_SIZES.small },
  };
  const dots = limbs.flatMap((limb) =>
    (['lower', 'higher'] as const).flatMap((mark) =>
      Array.from({ length: limb[mark] }, (_, at) => ({
        limb: limb.label,
        at: WIDTH / 2 + (mark === 'lower' ? -1 : 1) * (MIDDLE / 2 + step * (at + 0.5)),
        ...styles[mark],
        words: `${limb.label}: ${limb[mark]} of ${limb.lower + limb.same + limb.higher} read ${mark} than the experts.`,
      })),
    ),
  );
  const [first] = hard.limbs;
  const readings = first === undefined ? 0 : first.lower + first.same + first.higher;
  // A title that names a limb needs an interval that leaves no doubt that most read it apart or nearly so.
  const title =
    first !== undefined && first.apart.lower > 0.25
      ? `Hardest limb: ${first.label} (${first.lower + first.higher} of ${readings} read it apart from the experts)`
      : 'Which limbs are hard to read?';
  return chartOf(
    {
      from: hard,
      title,
      subtitle: [
        `${hard.signLabel}, ${hard.scaleLabel}; ${countOf(hard.learners, 'learner')}, the ${limbs.length} hardest of ${countOf(hard.limbs.length, 'limb')}`,
        'One triangle is one reading; the number between them read the same as the experts',
      ],
      details: `${limbs.map(({ label, lower, same, higher }) => `${label}: ${lower} lower, ${same} the same, ${higher} higher.`).join(' ')}`,
      caution: `Look at the limb before you look at people. ${CAUTIONS.agreementIsNotAccuracy}`,
      view: {
        width: WIDTH,
        height: ROW * limbs.length,
        layer: [
          {
            data: { values: limbs.map(({ label }) => ({ limb: label })) },
            mark: { type: 'rule', color: theme.hairline },
            encoding: { y, x: { datum: 0, ...x }, x2: { datum: WIDTH } },
          },
          {
            data: { values: dots },
            mark: { type: 'point', filled: true, opacity: 1 },
            encoding: { y, x: { field: 'at', ...x }, ...pointEncoding, tooltip: { field: 'words' } },
          },
          {
            data: {
              values: limbs.map(({ label, same, notRead }) => ({
                limb: label,
                same: String(same),
                words: `${label}: ${same} read the same as the experts${notRead > 0 ? `, ${notRead} did not read it` : ''}.`,
              })),
            },
            mark: { type: 'text', fontWeight: 600 },
            encoding: { y, x: { datum: WIDTH / 2, ...x }, text: { field: 'same' }, tooltip: { field: 'words' } },
          },
          {
            data: {
              values: limbs.map(({ label, against, fromExperts }) => ({
                limb: label,
                text: fromExperts ? against : `${against} (class)`,
              })),
            },
            mark: { type: 'text', align: 'left', fontSize: TEXT_SIZES.small, color: theme.muted },
            encoding: { y, x: { value: WIDTH + 14 }, text: { field: 'text' } },
          },
          {
            data: { values: [{}] },
            mark: { type: 'text', align: 'left', fontSize: TEXT_SIZES.small, color: theme.muted },
            encoding: { x: { value: WIDTH + 14 }, y: { value: -14 }, text: { value: 'the experts read' } },
          },
          ...markLegend(
            [
              ['lower', 'lower'],
              ['higher', 'higher'],
            ],
            theme,
            14,
          ),
        ],
      },
    },
    theme,
  );
}
