/**
 * What must stand beside a result that a reader could act on. One short sentence each, in our own
 * words, named by what it guards against, so that charts, notebooks and reports say the same thing.
 */
export const CAUTIONS = {
  notForCare: 'Not a medical device: not for the care of the person in front of you, and not to be charted from.',
  onePerson: 'The readings of one person: not for sharing.',
  emergency:
    'A pulse newly absent, or a limb newly painful, pale, cold, numb or weak, is an emergency: follow local escalation now. Nobody watches these data.',
  pulseIsNoDiagnosis: 'A felt pulse does not rule out arterial disease, and a missing one does not prove it.',
  anklePressureIndex:
    'The ankle-brachial index can read falsely high in diabetes, kidney disease and old age; compression is for a qualified clinician and local policy to decide.',
  swollenCalf: 'One swollen, painful calf may hide a clot; nothing here scores that or rules it out.',
  skinColor:
    'Color and refill are harder to judge on dark skin, and most published figures come from lighter skin: do not carry them over.',
  edemaHasManyCauses: 'Edema may come from the heart, the kidneys or a medicine; a grade does not say why.',
  localPolicy: 'Local policy, the scope of a license and the patient’s own plan come before any figure here.',
  practiceOnPeople:
    'Practice on people needs their consent; never press, squeeze or raise a limb that is sore, ulcerated, cold or may hold a clot.',
  agreementIsNotAccuracy: 'Agreement is not accuracy: all assessors may be wrong together.',
  habitsAreNotSkill: 'Habits are not skill: who differs from the others is not therefore wrong.',
  noRanking: 'Not a ranking: assessors saw different patients, and small numbers swing.',
  oneLimbWithinError: 'A change smaller than the error of measurement cannot be told from no change.',
  smallestChangeIsForOne: 'The smallest detectable change is about one limb, not about the mean of a group.',
  ratesAreNotPersons: 'A unit’s rate does not say who is at risk, nor why.',
  notAssessedIsNotNormal: 'Not assessed is not normal.',
  independentLimbs: 'Patients are not known here, so limbs are taken as independent and intervals are too narrow.',
  fewPeople: 'Few people: the interval is wide, and a label for the value would mislead.',
  correlationIsNotAgreement: 'A correlation would not show agreement: two assessors can rise together and never agree.',
  probabilityIsForMany:
    'The probability that a change is real holds over many such changes, not for the person in front of you.',
} as const;

export type CautionName = keyof typeof CAUTIONS;
