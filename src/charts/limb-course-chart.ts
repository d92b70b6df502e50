import type { CourseReading, LimbCourse } from '../progression/limb-course.js';
import { isMadeFor } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, linesOf, listOf, sentenceCase, widthOf } from './words.js';

const WIDTH = 560;
/** Pixels of the lane for visits without a reading. */
const LANE = 34;

/**
 * One limb's course: the readings as they were written, by day, as steps with the codes of who read
 * each; behind them the band of readings that the error of measurement alone would explain after the
 * reading each is compared with; a filled mark where a reading lies beyond it. Codes are for one's own eyes: a course that was made for others is drawn
 * without them.
 */
export function limbCourseChart(course: LimbCourse, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { grades } = course;
  const graded = grades !== undefined;
  const namesReaders = !isMadeFor(course, 'inside');
  const beyond = course.changes.filter((change) => change.call === 'beyond error');
  const written = course.readings.filter((reading) => reading.value !== null);
  const callOn = new Map(course.changes.map((change) => [placeKey(change.toDay, change.to), change]));
  const chained = course.changes.some((change) => change.fromDay !== course.changes[0]!.fromDay);
  const dots = dotsOf(written).map(({ day, value, assessors, fall }) => {
    const change = callOn.get(placeKey(day, value));
    return {
      day,
      value,
      assessor: namesReaders ? assessors.join(', ') : '',
      call: change?.call ?? 'not compared',
      fall,
      words: `Day ${day}: ${valueWords(value)}, read by ${namesReaders ? listOf(assessors) : countOf(assessors.length, 'assessor')}.${
        change === undefined
          ? ''
          : ` Change since day ${change.fromDay}: ${change.call} of measurement (${valueWords(change.from)} to ${valueWords(change.to)}).`
      }`,
    };
  });
  const missing = course.readings
    .filter((reading) => reading.value === null)
    .map((reading) => ({
      day: reading.day,
      text: missingWords(reading),
      words: `Day ${reading.day}: ${missingWords(reading)}${namesReaders ? ` (${reading.assessor})` : ''}.`,
    }));
  const bands = [...course.changes]
    .sort((first, second) => first.toDay - second.toDay)
    .map((change, at, all) => ({
      // Bands stand side by side: each reaches from the visit before to the visit it judges.
      from: Math.max(change.fromDay, all[at - 1]?.toDay ?? Number.NEGATIVE_INFINITY),
      to: change.toDay,
      lower: graded ? change.explained.lower - 0.5 : change.explained.lower,
      upper: graded ? change.explained.upper + 0.5 : change.explained.upper,
      words: `After ${valueWords(change.from)} on day ${change.fromDay}, readings from ${valueWords(change.explained.lower)} to ${valueWords(change.explained.upper)} are within the error of measurement.`,
    }));
  const days = course.readings.map((reading) => reading.day);
  const span = Math.max(1, Math.max(...days) - Math.min(...days));
  const x = {
    type: 'quantitative',
    scale: { domain: [Math.min(...days) - 0.03 * span, Math.max(...days) + 0.03 * span], nice: false },
    axis: { title: 'day', grid: false, tickMinStep: 1, tickCount: 10, domain: true, ticks: true },
  };
  const plot = graded ? Math.max(150, grades.length * 48) : 240;
  const lane = missing.length === 0 ? 0 : LANE;
  const values = [...dots.map((dot) => dot.value), ...bands.flatMap((band) => [band.lower, band.upper])];
  const low = Math.min(...values);
  const room = 0.12 * (Math.max(...values) - low || 1);
  const y = {
    type: 'quantitative',
    scale: graded
      ? { domain: [-0.5, grades.length - 0.5], nice: false, zero: false, range: [plot, 0] }
      : { domain: [low - room, Math.max(...values) + room], nice: true, zero: false, range: [plot, 0] },
    axis: graded
      ? {
          title: null,
          values: grades.map((_, at) => at),
          labelExpr: `${JSON.stringify(grades.map((grade) => linesOf(grade, 175, TEXT_SIZES.label)))}[datum.value]`,
          labelLimit: 0,
          labelLineHeight: 16,
          grid: true,
          labelPadding: 10,
        }
      : { title: null, grid: true, labelExpr: `datum.label + ' ${course.unitLabel ?? ''}'`, labelPadding: 8 },
  };
  const title = titleOf();
  const filled = {
    condition: { test: "datum.call === 'beyond error'", value: theme.signal },
    value: theme.paper,
  };
  return chartOf(
    {
      from: course,
      title,
      subtitle: [
        `${sentenceCase(course.limbLabel)}: ${course.signLabel.toLowerCase()}, ${course.scaleLabel}; ${countOf(written.length, 'reading')} by ${countOf(new Set(written.map((reading) => reading.assessor)).size, 'assessor')}${namesReaders ? ', whose codes stand at the marks' : ''}`,
        course.errorSentence,
      ],
      details: detailsOf(),
      caution: `${CAUTIONS.onePerson} ${CAUTIONS.notForCare} ${CAUTIONS.oneLimbWithinError}`,
      view: {
        width: WIDTH,
        height: plot + lane,
        layer: [
          {
            data: { values: bands },
            mark: { type: 'rect', color: theme.categories[4], opacity: 0.28 },
            encoding: {
              x: { field: 'from', ...x },
              x2: { field: 'to' },
              y: { field: 'lower', ...y },
              y2: { field: 'upper' },
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: dots },
            mark: { type: 'line', interpolate: 'step-after', color: theme.muted, strokeWidth: 1.5 },
            encoding: { x: { field: 'day', ...x }, y: { field: 'value', ...y } },
          },
          {
            data: { values: dots },
            mark: { type: 'point', filled: true, opacity: 1, strokeWidth: 2, size: 120 },
            encoding: {
              x: { field: 'day', ...x },
              y: { field: 'value', ...y },
              fill: filled,
              stroke: { condition: { test: "datum.call === 'beyond error'", value: theme.signal }, value: theme.ink },
              shape: { condition: { test: "datum.call === 'beyond error'", value: 'diamond' }, value: 'circle' },
              size: { condition: { test: "datum.call === 'beyond error'", value: 190 }, value: 100 },
              tooltip: { field: 'words' },
            },
          },
          ...[true, false].map((fall) => ({
            data: { values: dots.filter((dot) => dot.fall === fall) },
            mark: { type: 'text', dy: fall ? 17 : -16, fontWeight: 600, fontSize: TEXT_SIZES.small },
            encoding: { x: { field: 'day', ...x }, y: { field: 'value', ...y }, text: { field: 'assessor' } },
          })),
          ...missingLayers(),
          ...legendLayers(
            [
              [
                { text: 'written reading', mark: 'ring', color: theme.ink },
                { text: 'beyond the error', mark: 'diamond', color: theme.signal },
                { text: `within the error of the ${chained ? 'reading before' : 'first reading'}`, mark: 'band' },
              ],
            ],
            theme,
            WIDTH,
          ),
        ],
      },
    },
    theme,
  );

  function missingLayers(): object[] {
    if (missing.length === 0) return [];
    const y = { value: plot + LANE / 2 };
    const room = (at: number): number => {
      const next = missing[at + 1]?.day ?? Number.POSITIVE_INFINITY;
      const right = x.scale.domain[1]!;
      return ((Math.min(next, right) - missing[at]!.day) / (right - x.scale.domain[0]!)) * WIDTH;
    };
    const named = missing.map((each, at) => ({
      ...each,
      text: room(at) > widthOf(each.text, TEXT_SIZES.small) + 14 ? each.text : '',
    }));
    return [
      {
        data: { values: named },
        mark: { type: 'point', shape: 'cross', angle: 45, filled: true, opacity: 1, size: 70, color: theme.muted },
        encoding: { x: { field: 'day', ...x }, y, tooltip: { field: 'words' } },
      },
      {
        data: { values: named },
        mark: { type: 'text', align: 'left', dx: 9, color: theme.muted, fontSize: TEXT_SIZES.small },
        encoding: { x: { field: 'day', ...x }, y, text: { field: 'text' } },
      },
      {
        data: { values: [{}] },
        mark: { type: 'text', align: 'right', text: 'no reading', color: theme.muted, fontSize: TEXT_SIZES.small },
        encoding: { x: { value: -10 }, y },
      },
    ];
  }

  function valueWords(value: number): string {
    if (graded) return grades[Math.max(0, Math.min(grades.length - 1, Math.round(value)))]!;
    return `${formatNumber(value, course.decimals ?? 1)}${course.unitLabel === undefined ? '' : ` ${course.unitLabel}`}`;
  }

  /** "grade 3" where the grade is a digit with long words. */
  function shortWords(value: number): string {
    const words = valueWords(value);
    const digit = /^([^ :]+): /.exec(words)?.[1];
    return digit === undefined ? words : `grade ${digit}`;
  }

  function titleOf(): string {
    if (course.changes.length === 0) return `What was written about ${course.signLabel.toLowerCase()} on this limb?`;
    const judged = course.changes.length;
    const what = chained ? 'the one before' : 'the first';
    if (beyond.length === 0) return `No later reading differs from ${what} by more than the error of measurement`;
    const [only] = beyond;
    if (beyond.length === 1)
      return `At one of ${countOf(judged, 'later visit')} the reading differs from ${what} by more than the error of measurement: ${shortWords(only!.to)} on day ${only!.toDay}, after ${shortWords(only!.from)} on day ${only!.fromDay}`;
    return `At ${beyond.length} of ${countOf(judged, 'later visit')} the reading differs from ${what} by more than the error of measurement`;
  }

  function detailsOf(): string {
    return [
      `Course of ${course.signLabel.toLowerCase()} on one limb, ${countOf(written.length, 'reading')} over ${countOf(Math.round(span), 'day')}.`,
      `Readings: ${written.map((reading) => `day ${reading.day} ${shortWords(reading.value!)}`).join(', ')}.`,
      ...beyond.map(
        (change) =>
          `Beyond the error: day ${change.fromDay} to ${change.toDay}, ${shortWords(change.from)} to ${shortWords(change.to)}.`,
      ),
      ...missing.map(({ day, text }) => `Day ${day}: ${text}.`),
      sentenceCase(course.errorSentence),
    ].join(' ');
  }
}

function placeKey(day: number, value: number): string {
  return `${day}/${value}`;
}

/** "not-assessed" as people say it. */
function missingWords(reading: CourseReading): string {
  return (reading.missing ?? 'no reading').replaceAll('-', ' ');
}

/** One mark for each day and value, with the codes of all who read it; `fall` when the reading before was higher. */
function dotsOf(written: readonly CourseReading[]) {
  const dots: { day: number; value: number; assessors: string[]; fall: boolean }[] = [];
  for (const { day, value, assessor } of written) {
    const known = dots.find((dot) => dot.day === day && dot.value === value);
    if (known !== undefined) known.assessors.push(assessor);
    // The step then comes down from above, so the codes stand below the mark.
    else dots.push({ day, value: value!, assessors: [assessor], fall: (dots.at(-1)?.value ?? value!) > value! });
  }
  return dots;
}
