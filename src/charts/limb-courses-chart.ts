import type { LimbCourse } from '../progression/limb-course.js';
import { narrowestOf } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, PLOT_WIDTH, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, linesOf, sentenceCase } from './words.js';

/** More panels than this are too small to read. */
const MOST_COURSES = 12;
const WIDTH = 560;
const COLUMN_GAP = 24;
/** Pixels above each panel for its name, and for the days of a panel that ends its column above a longer one. */
const ROW_GAP = 52;
/** Pixels at the foot of a panel for visits without a reading. */
const LANE = 16;
const NAME_LINE = 15;

/**
 * Several courses of one sign side by side, in the order given (`limbCourses` gives head to toe), all on one scale and one axis of
 * days: readings as steps, the band that the error of measurement explains, a filled mark where a reading lies beyond it, a cross
 * for a visit without a reading.
 *
 * @throws InputError `no-courses` (none, or none with a reading), `too-many-courses` (more than twelve), `several-scales`.
 */
export function limbCoursesChart(courses: readonly LimbCourse[], options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const [first] = courses;
  const written = courses.flatMap((course) => course.readings.filter((reading) => reading.value !== null));
  if (first === undefined || written.length === 0)
    throw refuse('no-courses', ['courses'], 'There is no course with a reading to draw.');
  if (courses.length > MOST_COURSES)
    throw refuse(
      'too-many-courses',
      ['courses'],
      `There are ${courses.length} courses; more than ${MOST_COURSES} in one picture cannot be read.`,
      'draw arms and legs apart, as with courses.slice(0, 12).',
    );
  const scaleWords = (course: LimbCourse): string => `${course.signLabel}, ${course.scaleLabel}`;
  if (courses.some((course) => scaleWords(course) !== scaleWords(first)))
    throw refuse('several-scales', ['courses'], 'The courses are not of one sign on one scale, so they share no axis.');
  const days = courses.flatMap((course) => course.readings.map((reading) => reading.day));
  const { grades } = first;
  // Two columns keep left beside right; more courses than six would make the picture too tall.
  const columns = Math.min(courses.length, courses.length <= 6 && courses.length % 2 === 0 ? 2 : 3);
  const rows = Math.ceil(courses.length / columns);
  const wide = (WIDTH - (columns - 1) * COLUMN_GAP) / columns;
  const plot = grades === undefined ? 104 : Math.max(84, grades.length * 22);
  const tall = plot + (days.length > written.length ? LANE : 0);
  const height = rows * tall + (rows - 1) * ROW_GAP;

  const [firstDay, lastDay] = [Math.min(...days), Math.max(...days)];
  const span = Math.max(1, lastDay - firstDay);
  const values = [
    ...written.map((reading) => reading.value!),
    ...courses.flatMap((course) => course.changes.flatMap(({ explained }) => [explained.lower, explained.upper])),
  ];
  const room = 0.08 * (Math.max(...values) - Math.min(...values) || 1);
  const [low, high] =
    grades === undefined ? [Math.min(...values) - room, Math.max(...values) + room] : [-0.5, grades.length - 0.5];
  const leftOf = (at: number): number => (at % columns) * (wide + COLUMN_GAP);
  const topOf = (at: number): number => Math.floor(at / columns) * (tall + ROW_GAP);
  const across = (at: number, day: number): number => leftOf(at) + wide * (0.05 + (0.9 * (day - firstDay)) / span);
  const down = (at: number, value: number): number => topOf(at) + (plot * (high - value)) / (high - low);

  const valueWords = (value: number): string =>
    grades === undefined
      ? `${formatNumber(value, first.decimals ?? 1)}${first.unitLabel === undefined ? '' : ` ${first.unitLabel}`}`
      : grades[Math.round(value)]!;
  const panels = courses.map((course, at) => {
    const name = sentenceCase(course.limbLabel);
    const changes = [...course.changes].sort((a, b) => a.toDay - b.toDay);
    const dots = dotsOf(course).map(({ day, value, readings }) => {
      const change = changes.find((each) => each.toDay === day && each.to === value);
      return {
        panel: at,
        day,
        value,
        left: across(at, day),
        top: down(at, value),
        call: change?.call ?? 'not compared',
        words: `${name}, day ${day}: ${valueWords(value)} (${countOf(readings, 'reading')})${
          change === undefined ? '' : `, ${change.call} of measurement since day ${change.fromDay}`
        }.`,
      };
    });
    const bands = changes.map((change, each) => ({
      // Bands stand side by side: each reaches from the visit before to the visit it judges.
      left: across(at, Math.max(change.fromDay, changes[each - 1]?.toDay ?? Number.NEGATIVE_INFINITY)),
      right: across(at, change.toDay),
      upper: down(at, grades === undefined ? change.explained.upper : change.explained.upper + 0.5),
      lower: down(at, grades === undefined ? change.explained.lower : change.explained.lower - 0.5),
      words: `${name}: after ${valueWords(change.from)} on day ${change.fromDay}, ${valueWords(change.explained.lower)} to ${valueWords(change.explained.upper)} is within the error of measurement.`,
    }));
    const gaps = course.readings
      .filter((reading) => reading.value === null)
      .map((reading) => ({
        left: across(at, reading.day),
        top: topOf(at) + plot + LANE / 2,
        words: `${name}, day ${reading.day}: ${(reading.missing ?? 'no reading').replaceAll('-', ' ')}.`,
      }));
    return { name, dots, bands, gaps, beyond: changes.filter((change) => change.call === 'beyond error') };
  });
  const pixel = (field: string) => ({ field, type: 'quantitative', scale: null });
  const place = { x: pixel('left'), y: pixel('top') };
  const small = { fontSize: TEXT_SIZES.small, color: theme.muted };
  const ticks = grades === undefined ? ticksOf(low, high, 4) : grades.map((_, at) => at);
  const tickWords = (value: number): string => {
    if (grades === undefined)
      return `${formatNumber(value, Number.isInteger(value) ? 0 : 1)}${first.unitLabel === undefined ? '' : ` ${first.unitLabel}`}`;
    const label = grades[value]!;
    const [line, ...rest] = linesOf(/^([^ :]+): /.exec(label)?.[1] ?? label, 150, TEXT_SIZES.small);
    return rest.length === 0 ? line! : `${line}…`;
  };
  const at = courses.map((_, index) => index);
  const changed = panels.filter(({ beyond }) => beyond.length > 0);
  const compared = courses.filter((course) => course.changes.length > 0).length;
  const title =
    compared === 0
      ? `What was written about ${first.signLabel.toLowerCase()} on these limbs?`
      : `On ${changed.length === 0 ? 'none' : changed.length} of ${countOf(compared, 'limb and site', 'limbs and sites')} a later reading differs by more than the error of measurement`;
  // The legend stands clear of the longest name of the first row.
  const nameLines = Math.max(
    ...panels.slice(0, columns).map(({ name }) => linesOf(name, wide, TEXT_SIZES.small, 'semibold').length),
  );
  const filled = (yes: unknown, no: unknown) => ({
    condition: { test: "datum.call === 'beyond error'", value: yes },
    value: no,
  });
  return chartOf(
    {
      from: narrowestOf(courses),
      title,
      subtitle: [
        `${scaleWords(first)}: ${countOf(courses.length, 'limb and site', 'limbs and sites')}, ${countOf(written.length, 'reading')}; one scale for all`,
        first.errorSentence,
      ],
      details: [
        `${countOf(courses.length, 'course')} of ${first.signLabel.toLowerCase()} side by side over ${countOf(Math.round(span), 'day')}.`,
        ...panels.map(
          ({ name, dots, gaps, beyond }) =>
            `${name}: ${
              dots.length === 0
                ? 'never read'
                : dots.map(({ day, value }) => `day ${day} ${valueWords(value)}`).join(', ')
            }${beyond.length === 0 ? '' : `; beyond the error on ${beyond.map(({ toDay }) => `day ${toDay}`).join(', ')}`}${
              gaps.length === 0 ? '' : `; ${countOf(gaps.length, 'visit')} without a reading`
            }.`,
        ),
        sentenceCase(first.errorSentence),
      ].join(' '),
      caution: `${CAUTIONS.onePerson} ${CAUTIONS.notForCare} ${CAUTIONS.oneLimbWithinError} Every further limb is one more chance for a difference from error alone.`,
      view: {
        width: WIDTH,
        height,
        layer: [
          {
            data: {
              values: at.flatMap((index) =>
                ticks.map((value) => ({
                  left: leftOf(index),
                  right: leftOf(index) + wide,
                  top: down(index, value),
                })),
              ),
            },
            mark: { type: 'rule', color: theme.hairline },
            encoding: { ...place, x2: { field: 'right' } },
          },
          {
            data: { values: panels.flatMap(({ bands }) => bands) },
            mark: { type: 'rect', color: theme.categories[4], opacity: 0.28 },
            encoding: {
              x: pixel('left'),
              x2: { field: 'right' },
              y: pixel('upper'),
              y2: { field: 'lower' },
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: panels.flatMap(({ dots }) => dots) },
            mark: { type: 'line', interpolate: 'step-after', color: theme.muted, strokeWidth: 1.5 },
            encoding: { ...place, detail: { field: 'panel', type: 'nominal' } },
          },
          {
            data: { values: panels.flatMap(({ dots }) => dots) },
            mark: { type: 'point', filled: true, opacity: 1, strokeWidth: 1.5 },
            encoding: {
              ...place,
              fill: filled(theme.signal, theme.paper),
              stroke: filled(theme.signal, theme.ink),
              shape: filled('diamond', 'circle'),
              size: filled(120, 55),
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: panels.flatMap(({ gaps }) => gaps) },
            mark: {
              type: 'point',
              shape: 'cross',
              angle: 45,
              filled: true,
              opacity: 1,
              size: 45,
              color: theme.muted,
            },
            encoding: { ...place, tooltip: { field: 'words' } },
          },
          {
            data: {
              values: panels.map(({ name }, index) => {
                const text = linesOf(name, wide, TEXT_SIZES.small, 'semibold');
                return { left: leftOf(index), top: topOf(index) - 6 - (text.length - 1) * NAME_LINE, text };
              }),
            },
            mark: {
              type: 'text',
              align: 'left',
              baseline: 'line-bottom',
              lineHeight: NAME_LINE,
              fontWeight: 600,
              fontSize: TEXT_SIZES.small,
            },
            encoding: { ...place, text: { field: 'text' } },
          },
          {
            data: {
              values: at
                .filter((index) => index % columns === 0)
                .flatMap((index) =>
                  ticks.map((value) => ({ left: -8, top: down(index, value), text: tickWords(value) })),
                ),
            },
            mark: { type: 'text', align: 'right', ...small, color: theme.ink },
            encoding: { ...place, text: { field: 'text' } },
          },
          {
            data: {
              // Days stand under the lowest panel of each column.
              values: at
                .filter((index) => index + columns >= courses.length)
                .flatMap((index) =>
                  ticksOf(firstDay, lastDay, 4).map((day, each) => ({
                    left: across(index, day),
                    top: topOf(index) + tall + 10,
                    text: each === 0 ? `day ${day}` : String(day),
                  })),
                ),
            },
            mark: { type: 'text', ...small },
            encoding: { ...place, text: { field: 'text' } },
          },
          ...legendLayers(
            [
              [
                { text: 'written reading', mark: 'ring', color: theme.ink },
                { text: 'beyond the error', mark: 'diamond', color: theme.signal },
                { text: 'within the error', mark: 'band' },
                ...(days.length > written.length
                  ? [{ text: 'cross at the foot: no reading', mark: 'words' } as const]
                  : []),
              ],
            ],
            theme,
            PLOT_WIDTH - 80,
            30 + NAME_LINE * nameLines,
          ),
        ],
      },
    },
    theme,
  );
}

/** One mark for each day and value, with how many read so. */
function dotsOf(course: LimbCourse): { day: number; value: number; readings: number }[] {
  const dots: { day: number; value: number; readings: number }[] = [];
  for (const { day, value } of course.readings) {
    if (value === null) continue;
    const known = dots.find((dot) => dot.day === day && dot.value === value);
    if (known === undefined) dots.push({ day, value, readings: 1 });
    else known.readings++;
  }
  return dots;
}

/** At most `most` + 1 round numbers from `low` to `high`. */
function ticksOf(low: number, high: number, most: number): number[] {
  const raw = Math.max(high - low, 1e-9) / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * (raw <= power ? 1 : raw <= 2 * power ? 2 : raw <= 5 * power ? 5 : 10);
  const ticks: number[] = [];
  for (let each = Math.ceil(low / step - 1e-9); each * step <= high + 1e-9; each++)
    ticks.push(Number((each * step).toPrecision(12)));
  return ticks;
}
