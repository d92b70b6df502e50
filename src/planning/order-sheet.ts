import { information } from '../shared/note.js';
import { type Cell, Table, type TableColumn } from '../shared/table.js';
import { ACTS } from './order-of-acts.js';
import type { StudyPlan } from './plan-study.js';

/**
 * The order sheet: who examines each patient in which turn, with the order of acts, the rests and the seed beneath.
 *
 * One row a patient and occasion, one column a turn; a second reading by the same assessor is marked. Give it to whoever leads the afternoon, not to the assessors.
 *
 * @example orderSheet(plan).rows.length // patients × occasions
 */
export function orderSheet(plan: StudyPlan): Table {
  const { design, examinations, findings } = plan;
  const turns = design.assessors.length * design.replicates;
  const columns: TableColumn[] = [
    { key: 'patient', label: 'patient', kind: 'text' },
    { key: 'phase', label: 'phase', kind: 'text' },
    ...(design.occasions > 1 ? [{ key: 'occasion', label: 'occasion', kind: 'count' } as const] : []),
    ...Array.from(
      { length: turns },
      (_, at): TableColumn => ({ key: `turn${at + 1}`, label: `turn ${at + 1}`, kind: 'text' }),
    ),
    { key: 'done', label: 'done', kind: 'text' },
  ];
  const rows = new Map<string, Record<string, Cell>>();
  for (const { patient, phase, occasion, order, assessor, replicate } of examinations) {
    const key = `${patient}/${occasion}`;
    const row = rows.get(key) ?? { patient, phase, occasion, done: '' };
    row[`turn${order}`] = replicate === 1 ? assessor : `${assessor} again`;
    rows.set(key, row);
  }
  const acts = ACTS.filter((_, at) => findings.some((finding) => finding.act === at));
  return new Table(
    `Order of assessors, ${design.title}: balanced, drawn with seed ${design.seed}`,
    columns,
    [...rows.values()],
    [
      information('rest', `Between two assessors the patient rests ${design.restMinutes} minutes.`),
      information(
        'out-of-earshot',
        'One assessor is with the patient; the others are out of earshot. Findings are written, not spoken, and nobody sees another’s sheet or skin marks that tell a grade.',
      ),
      ...acts.map((act, at) => information(`act-${act.id}`, `${at + 1}. ${act.label}. ${act.instruction}`)),
      information(
        'keep-order',
        'If an order cannot be kept, keep the change in writing: the turn that took place goes into the file.',
      ),
    ],
  );
}
