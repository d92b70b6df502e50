import type { Assessments } from '../assessments/assessments.js';
import { checkChoice } from '../shared/options.js';
import { type LimbSeries, limbSeriesOf, type SeriesReading } from './limb-series.js';
import type { TrendSeries } from './mann-kendall-test.js';
import { type OneScale, ofOneScale } from './of-one-scale.js';

export interface TrendSeriesOptions extends OneScale {
  /**
   * `'each limb'`: the readings of every limb-site. `'left less right'`: for every site of a patient, the difference of both sides read by the same assessor on the same day, in the sign's unit or in steps of
   * its scale. Default `'each limb'`.
   */
  readonly of?: 'each limb' | 'left less right';
}

/** A series for `mannKendallTest` with the place it belongs to. */
export interface NamedTrendSeries extends TrendSeries {
  readonly patient: string;
  /** Empty for a difference of the sides. */
  readonly limb: string;
  readonly site: string;
  readonly values: readonly number[];
}

/**
 * The readings of a file as series over days, one a limb-site, or one a site with the left–right difference of each visit, ready for `mannKendallTest` and `theilSenSlope`. A difference within a visit has taken
 * out what both sides share: the day, the position, and the assessor's tendency.
 *
 * Values are the measured figure or the step of the grade on its scale (0 for the lowest). Several readings of one day stay several figures, tied in time. Missing values and bounds (`<2`) do not enter;
 * a day with one side has no difference.
 *
 * @throws InputError `sign-not-present`, `scale-needed`, `unknown-choice`.
 * @example mannKendallTest(trendSeriesOf(assessments, { sign: 'ankle-girth', of: 'left less right' }))
 */
export function trendSeriesOf(assessments: Assessments, options: TrendSeriesOptions): NamedTrendSeries[] {
  const of = checkChoice('of', options.of ?? 'each limb', ['each limb', 'left less right']);
  const here = ofOneScale(assessments, options);
  const all = limbSeriesOf(here, here.scales[0]!);
  if (of === 'each limb')
    return all.map(({ patient, limb, site, readings }) => ({
      patient,
      limb,
      site,
      times: readings.map(({ day }) => day),
      values: readings.map(figureOf),
    }));
  const right = new Map(all.filter(({ limb }) => limb.startsWith('right')).map((series) => [placeOf(series), series]));
  return all
    .filter(({ limb }) => limb.startsWith('left'))
    .flatMap((left) => {
      const other = right.get(placeOf(left));
      const pairs = left.readings.flatMap((reading) => {
        const match = other?.readings.find(({ day, assessor }) => day === reading.day && assessor === reading.assessor);
        return match === undefined ? [] : [{ day: reading.day, difference: figureOf(reading) - figureOf(match) }];
      });
      if (pairs.length === 0) return [];
      return [
        {
          patient: left.patient,
          limb: '',
          site: left.site,
          times: pairs.map(({ day }) => day),
          values: pairs.map(({ difference }) => difference),
        },
      ];
    });
}

function figureOf(reading: SeriesReading): number {
  return Number.isNaN(reading.step) ? reading.value : reading.step;
}

/** Patient, arm or leg, and site: what the two sides have in common. */
function placeOf({ patient, limb, site }: LimbSeries): string {
  return [patient, limb.replace(/^(left|right)-/, ''), site].join('\u0000');
}
