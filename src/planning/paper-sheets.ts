import { MISSING_REASONS } from '../assessments/missing-reason.js';
import { CAUTIONS } from '../shared/cautions.js';
import type { Scale } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import { ACTS } from './order-of-acts.js';
import type { PlannedExamination, PlannedFinding, StudyPlan } from './plan-study.js';

/**
 * Paper for the bedside: one self-contained HTML page to print, a sheet for each assessor at each patient, arms then legs, from the top down, right and left side by side, with the
 * wording of every scale on the sheet.
 *
 * The sheet of one assessor shows nothing of another. Who comes when is on it, so that a turn that changed can be written down.
 *
 * @param only one phase, one patient or one assessor. Default everything.
 * @example paperSheets(plan, { patient: 'P01' }) // '<!doctype html>…'
 */
export function paperSheets(
  plan: StudyPlan,
  only: { readonly phase?: 'pilot' | 'main'; readonly patient?: string; readonly assessor?: string } = {},
): string {
  const sheets = plan.examinations.filter(
    ({ phase, patient, assessor }) =>
      phase === (only.phase ?? phase) &&
      patient === (only.patient ?? patient) &&
      assessor === (only.assessor ?? assessor),
  );
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>${escaped(plan.design.title)}: sheets for the bedside</title>
<style>${STYLE}</style>
</head>
<body>
${sheets.map((examination) => sheetOf(plan, examination)).join('\n')}
</body>
</html>
`;
}

const STYLE = `
@page { size: A4; margin: 14mm; }
body { font: 11pt "Source Sans 3", "Segoe UI", Arial, sans-serif; color: #1b2a49; margin: 0; }
section { break-after: page; max-width: 182mm; margin: 0 auto; padding: 4mm 0; }
h1 { font-size: 14pt; margin: 0 0 1mm; }
h2 { font-size: 11pt; margin: 5mm 0 1mm; }
p { margin: 0 0 1.5mm; }
.head { display: flex; gap: 8mm; border-bottom: 1px solid #5b6b82; padding-bottom: 2mm; margin-bottom: 2mm; }
.head strong { font-size: 13pt; }
table { border-collapse: collapse; width: 100%; break-inside: avoid; }
th, td { border: 1px solid #8aa0b8; padding: 1.6mm 2mm; text-align: left; vertical-align: top; }
th { font-weight: 600; background: #f4f6f9; }
td.read { width: 29%; height: 8mm; white-space: nowrap; }
.small { color: #5b6b82; font-size: 9pt; }
.box { display: inline-block; border: 1px solid #1b2a49; min-width: 4mm; text-align: center; margin-right: 1.6mm; padding: 0 1mm; }
`;

function sheetOf(
  plan: StudyPlan,
  { patient, phase, occasion, assessor, order, replicate }: PlannedExamination,
): string {
  const { design, findings } = plan;
  const parts = ACTS.flatMap((act, at) => {
    const own = findings.filter((finding) => finding.act === at);
    return own.length === 0
      ? []
      : [`<h2>${escaped(act.label)}</h2>\n<p class="small">${escaped(act.instruction)}</p>\n${tableOf(own)}`];
  });
  const scales = [...new Map(findings.map(({ sign, scale }) => [scale.id, { sign, scale }])).values()];
  const wording = scales.flatMap(({ sign, scale }) =>
    scale.categories === undefined
      ? []
      : [
          `<p class="small"><b>${escaped(sign.label)}</b> (${escaped(scale.id)}): ${scale.categories.map(({ value, words }) => `<b>${escaped(value)}</b> ${escaped(words)}`).join('; ')}</p>`,
        ],
  );
  return `<section>
<h1>${escaped(design.title)}</h1>
<div class="head"><span>Patient <strong>${escaped(patient)}</strong></span><span>Assessor <strong>${escaped(assessor)}</strong>${replicate > 1 ? ' again' : ''}</span><span>Turn <strong>${order}</strong></span>${design.occasions > 1 ? `<span>Occasion <strong>${occasion}</strong></span>` : ''}${phase === 'pilot' ? '<span><strong>Pilot</strong></span>' : ''}</div>
<p class="small">Mark one box, or write a number. No reading? Write the letter: ${MISSING_REASONS.map((reason) => `${LETTERS[reason]} ${reason.replaceAll('-', ' ')}`).join(', ')}. Say nothing aloud.</p>
${parts.join('\n')}
<h2>The wording</h2>
${wording.join('\n')}
<p class="small">${escaped(CAUTIONS.emergency)} ${escaped(CAUTIONS.notForCare)}</p>
</section>`;
}

const LETTERS: Readonly<Record<(typeof MISSING_REASONS)[number], string>> = {
  'not-assessed': 'N',
  'out-of-time': 'T',
  'not-assessable': 'X',
  covered: 'C',
  'part-absent': 'P',
  refused: 'R',
  unsure: 'U',
};

/** One row a sign and site, right and left side by side; what has no side goes over both columns. */
function tableOf(findings: readonly PlannedFinding[]): string {
  const rows = new Map<
    string,
    { words: string; right?: PlannedFinding; left?: PlannedFinding; both?: PlannedFinding }
  >();
  for (const finding of findings) {
    const { sign, limb, site } = finding;
    const region = limb?.split('-')[1] ?? '';
    const key = `${sign.id}/${site ?? ''}/${region}`;
    const regions = new Set(sign.limbs.map((one) => one.split('-')[1]));
    const place = site !== undefined ? siteOf(site).label : regions.size > 1 ? region : '';
    const row = rows.get(key) ?? { words: place === '' ? sign.label : `${sign.label}, ${place}` };
    if (limb === undefined) row.both = finding;
    else if (limb.startsWith('right')) row.right = finding;
    else row.left = finding;
    rows.set(key, row);
  }
  const cell = (finding: PlannedFinding | undefined): string =>
    `<td class="read">${finding === undefined ? '' : blanks(finding.scale)}</td>`;
  const lines = [...rows.values()].map(({ words, right, left, both }) =>
    both === undefined
      ? `<tr><td>${escaped(words)}</td>${cell(right)}${cell(left)}</tr>`
      : `<tr><td>${escaped(words)}</td><td class="read" colspan="2">${blanks(both.scale)}</td></tr>`,
  );
  return `<table><thead><tr><th></th><th>Right</th><th>Left</th></tr></thead><tbody>\n${lines.join('\n')}\n</tbody></table>`;
}

/** Values longer than a few letters would not fit side by side in a cell: there the grade is written by hand. */
function blanks(scale: Scale): string {
  if (scale.categories === undefined) return `________ ${escaped(scale.unit ?? '')}`;
  const values = scale.categories.map(({ value }) => value);
  return values.join('').length > 14
    ? '________'
    : values.map((value) => `<span class="box">${escaped(value)}</span>`).join('');
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
