import { CAUTIONS } from '../shared/cautions.js';
import { ACTS } from './order-of-acts.js';
import type { StudyPlan } from './plan-study.js';

/** What stands where only a person can write. */
export const TO_FILL_IN = '[to fill in]';

/**
 * A page of Markdown for the ethics form: who is examined how often and for how long, what is done, what is kept, and what happens when something is found. What only a person can
 * write is left open and marked `[to fill in]`.
 *
 * @example ethicsPage(plan).includes('[to fill in]') // true
 */
export function ethicsPage(plan: StudyPlan): string {
  const { design, effort, findings } = plan;
  const { assessors, replicates, occasions, restMinutes, daysBetween } = design;
  const examinations = assessors.length * replicates;
  const signs = [...new Set(findings.map(({ sign }) => sign.label))];
  const acts = ACTS.filter((_, at) => findings.some((finding) => finding.act === at));
  const blank = TO_FILL_IN;
  return `# ${design.title}: for the ethics committee

## What is asked
Whether ${assessors.length} assessors, each examining the same people apart from the others, find the same: ${signs.join(', ')}. Nothing is treated or changed by the study.

## Who is examined, how often, for how long
- ${design.patients} people (${effort.invited} invited)${design.pilotPatients > 0 ? `, after a pilot of ${design.pilotPatients} whose findings are kept apart` : ''}. Who may take part and who may not: ${blank}.
- Each is examined ${examinations} times on ${occasions === 1 ? 'one afternoon' : `each of ${occasions} occasions, ${daysBetween} days apart`}, with ${restMinutes} minutes of rest between examinations: ${effort.minutesPerPatient} minutes in all${occasions === 1 ? '' : ' each time'}. They may stop at any time and skip any part.
- How they are asked, by whom, and how long they may think it over: ${blank}.

## What is done
${acts.map((act) => `- ${act.label}. ${act.instruction}`).join('\n')}
- ${CAUTIONS.practiceOnPeople}

## If something is found
Whoever finds a limb that is newly painful, pale, cold, numb or weak, or a pulse that is newly absent, stops the study for that person and follows local escalation at once. A pulse that one assessor does not feel is looked for again by ${blank}, with Doppler where there is one; the person is told privately by ${blank}; their own clinician is informed by ${blank} within ${blank}, if they agree. The reading in the study stays as it was written.

## The assessors
${assessors.length} assessors appear under codes. They have been asked and agreed: ${blank}. They were told how results are used: for the method, never to judge a person. Who can link a code to a name, and until when: ${blank}.

## Data
Codes, days counted from the first examination, readings. No names, no dates of birth, no calendar dates. The key is kept by ${blank}, apart from the data and from any shared or synchronized folder, and destroyed ${blank}. The order of assessors was drawn with seed ${design.seed}.

## Approval
Committee and number: ${blank}. Date: ${blank}. Or: judged a quality project that needs no approval, by ${blank}.
`;
}
