import { gradeLabel } from '../shared/grade-label.js';
import { caution, type Note } from '../shared/note.js';
import { Table } from '../shared/table.js';
import type { ClassSession } from './class-session.js';

/** Share of readings in one grade above which nothing is said about agreement or tendencies. */
export const NEARLY_ALIKE = 0.8;

/** Whether there is enough variety among the limbs for a session to teach anything. */
export interface GradeVariety {
  readonly kind: 'grade-variety';
  /** Share of all readings that are the commonest grade. */
  readonly commonest: number;
  /** Sites at which over 80 % of readings are one grade. */
  readonly alike: readonly string[];
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * Are the limbs different enough? The commonest grade at each site and how much of all readings it is.
 *
 * share = readings of the commonest grade / readings, learners and experts together. Where over 80 % are one grade, everybody agrees and nothing is learned: no
 * coefficient and no tendency means much there. In healthy volunteers pulses are like that; edema, refill in seconds, girths or people with known
 * findings are not.
 *
 * Undefined (`NaN`): a site without readings. Missing values: gaps do not enter.
 *
 * @example gradeVariety(session).alike // ['Radial artery']
 * Source: simulation of classes (see the calibration script of the unit's charts and classes); the 80 % is common practice.
 */
export function gradeVariety(session: ClassSession): GradeVariety {
  const { ratings } = session;
  const sites = ratings.attributes.site === undefined ? [] : ratings.groups('site');
  const rows = sites.map((site) => {
    const here = ratings.ofGroup('site', site);
    const label = session.limbs
      .find((limb) => limb.site === site)!
      .label.split(', ')
      .at(-1)!;
    return { site: label, ...commonestOf(here.codes, ratings.categories.length) };
  });
  const all = commonestOf(ratings.codes, ratings.categories.length);
  const alike = rows.filter(({ share }) => share > NEARLY_ALIKE).map(({ site }) => site);
  const notes =
    alike.length === 0
      ? []
      : [
          caution(
            'nearly-alike',
            `Over 80 % of the readings are one grade at: ${alike.join('; ')}. Nothing is learned about agreement there. Healthy volunteers have healthy pulses: practice edema, refill in seconds or girth, or invite people with known findings.`,
          ),
        ];
  return {
    kind: 'grade-variety',
    commonest: all.share,
    alike,
    table: new Table(
      'What is the commonest grade at each site, and how much of all readings is it?',
      [
        { key: 'site', label: 'site', kind: 'text' },
        { key: 'grade', label: 'commonest grade', kind: 'text' },
        { key: 'most', label: 'readings of it', kind: 'count' },
        { key: 'readings', label: 'readings', kind: 'count' },
        { key: 'share', label: 'share', kind: 'percent' },
      ],
      rows.map(({ site, code, most, readings, share }) => ({
        site,
        grade: code < 0 ? '' : gradeLabel(ratings.categories[code]!),
        most,
        readings,
        share,
      })),
      notes,
    ),
    notes,
  };
}

function commonestOf(
  codes: Int32Array,
  grades: number,
): { code: number; most: number; readings: number; share: number } {
  const counts = new Int32Array(grades);
  for (const code of codes) if (code >= 0) counts[code]!++;
  const readings = counts.reduce((sum, count) => sum + count, 0);
  const most = Math.max(...counts);
  return { code: readings === 0 ? -1 : counts.indexOf(most), most, readings, share: most / readings };
}
