import { chance } from './chance.mjs';
import { truthText } from './csv.mjs';

const EXAMINERS = [
  { code: 'A', tendency: 0 },
  { code: 'B', tendency: 0.1 },
  { code: 'C', tendency: -0.25 },
];
const PATIENTS = 16;
/** One leg ends below the knee, one foot is under a dressing. */
const AMPUTATION = { patient: 'S05', leg: 'R' };
const DRESSING = { patient: 'S11', leg: 'L' };
const COLUMNS = [
  'pt',
  'leg',
  'order',
  ...['dp', 'pt', 'pop', 'crt_toe', 'ankle_cm'].flatMap((what) => EXAMINERS.map(({ code }) => `${what}_${code}`)),
  'dp_A_again',
  'room',
];
/** The paper says these; the typist wrote something else. */
const SLIPS = [
  {
    patient: 'S07',
    leg: 'L',
    column: 'ankle_cm_B',
    typed: '247',
    paper: '24,7',
    fault: '24,7 typed without its comma',
  },
  { patient: 'S13', leg: 'R', column: 'dp_C', typed: '3-Feb', paper: '2/3', fault: 'a spreadsheet made a day of 2/3' },
  { patient: 'S14', leg: 'L', column: 'pop_A', typed: '7', paper: '1', fault: 'a grade that the scale does not have' },
];

const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
const comma = (value) => value.toFixed(1).replace('.', ',');

/**
 * A sheet as people keep one: a row a leg, a column for each finding and examiner, semicolons and decimal commas, a
 * title above, a total below, codes in cells, and three slips of the typist.
 */
export function examinationSheetFiles(seed) {
  const random = chance(seed);
  const lines = [];
  const slips = [];
  const scale = 'pulse.0-3.normal2';
  for (let i = 1; i <= PATIENTS; i++) {
    const patient = `S${String(i).padStart(2, '0')}`;
    const order = random.shuffled(EXAMINERS.map(({ code }) => code)).join('');
    const withoutC = i === 4 || i === 9;
    for (const leg of ['L', 'R']) {
      const cells = readings(random, { patient, leg, withoutC, repeats: i % 3 === 0 });
      const row = { pt: patient, leg, order, room: String(20 + (i % 3)), ...cells };
      for (const slip of SLIPS) {
        if (slip.patient !== patient || slip.leg !== leg) continue;
        // Title and header come first, and a spreadsheet counts from 1.
        slips.push({ row: lines.length + 3, column: slip.column, fault: slip.fault, paper: slip.paper });
        row[slip.column] = slip.typed;
      }
      lines.push(COLUMNS.map((column) => row[column] ?? '').join(';'));
    }
  }
  const title = 'Pulses, refill and ankles, ward U1, round 1';
  const total = `Total;${2 * PATIENTS} legs`;
  const rows = [title, COLUMNS.join(';'), ...lines, total];
  return {
    'examination-sheet.csv': `${rows.join('\n')}\n`,
    'examination-sheet.truth.json': truthText({
      about: 'What the typist should have written in examination-sheet.csv; the title is row 1.',
      scale,
      patients: PATIENTS,
      slips,
    }),
  };
}

function readings(random, { patient, leg, withoutC, repeats }) {
  const cells = {};
  const isAbsent = patient === AMPUTATION.patient && leg === AMPUTATION.leg;
  const isCovered = patient === DRESSING.patient && leg === DRESSING.leg;
  const isWeak = random.happens(0.3);
  const girth = random.normal(24.5, 1.4);
  const refill = random.between(1.2, isWeak ? 4.5 : 2.6);
  for (const place of ['dp', 'pt', 'pop']) {
    const truth = isWeak ? random.between(0, 1.4) : random.between(1.3, 2.6);
    for (const { code, tendency } of EXAMINERS) {
      const grade = clamp(Math.round(truth + tendency + random.normal(0, place === 'pop' ? 0.6 : 0.4)), 0, 3);
      cells[`${place}_${code}`] = grade === 0 && place === 'dp' && random.happens(0.6) ? '0D' : String(grade);
    }
    if (place === 'dp' && repeats) cells.dp_A_again = String(clamp(Math.round(truth + random.normal(0, 0.3)), 0, 3));
  }
  for (const { code } of EXAMINERS) {
    const seconds = Math.round((refill + random.normal(0, 0.4)) * 2) / 2;
    cells[`crt_toe_${code}`] = seconds < 2 && random.happens(0.7) ? '<2' : comma(Math.max(0.5, seconds));
    cells[`ankle_cm_${code}`] = comma(girth + random.normal(0, 0.2));
  }
  if (random.happens(0.06)) cells.pop_B = '?';
  for (const column of Object.keys(cells)) {
    const isFoot = !column.startsWith('pop');
    if (isAbsent && isFoot) cells[column] = column.endsWith('again') ? '' : 'BKA';
    else if (isCovered && (column.startsWith('dp') || column.startsWith('crt')))
      cells[column] = column.endsWith('again') ? '' : 'dressing';
    else if (withoutC && column.endsWith('_C')) cells[column] = '';
  }
  return cells;
}
