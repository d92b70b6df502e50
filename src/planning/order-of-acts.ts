/** What is done before what at the bedside, since one act disturbs the next. */
export interface Act {
  readonly id: 'undisturbed' | 'cuff' | 'pressing' | 'hand-occlusion' | 'raising';
  readonly label: string;
  /** What whoever examines, and whoever comes next, must mind. */
  readonly instruction: string;
}

/** The acts in their order (common practice, no source). */
export const ACTS: readonly Act[] = Object.freeze([
  {
    id: 'undisturbed',
    label: 'Look, feel, measure',
    instruction:
      'Arms, then legs, from the top down, the right side beside the left. Girth is measured here, before anything is pressed.',
  },
  {
    id: 'cuff',
    label: 'Cuff pressures',
    instruction: 'After pulses and refill, which a cuff disturbs. Let the limb rest before it is pressed or squeezed.',
  },
  {
    id: 'pressing',
    label: 'Press for edema',
    instruction:
      'A pressed spot can stay pitted for minutes: the next assessor presses a neighboring marked spot, or waits for the rest. Never press where it is sore, ulcerated, cold or where a clot may be.',
  },
  {
    id: 'hand-occlusion',
    label: 'Modified Allen test',
    instruction:
      'Pause between hands and between assessors until the color is back; a hand is not occluded more often than the plan says.',
  },
  {
    id: 'raising',
    label: 'Raise and lower the legs',
    instruction:
      'Last of all, and followed by the rest lying flat. Stop for pain; never raise a leg that hurts at rest.',
  },
]);

const SIGNS: Readonly<Record<string, Act['id']>> = {
  'brachial-pressure': 'cuff',
  'ankle-pressure': 'cuff',
  'toe-pressure': 'cuff',
  'ankle-brachial-index': 'cuff',
  'toe-brachial-index': 'cuff',
  'pitting-edema': 'pressing',
  'edema-overall': 'pressing',
  'non-pitting-edema': 'pressing',
  'edema-extent': 'pressing',
  'pit-depth': 'pressing',
  'pit-recovery': 'pressing',
  'allen-test': 'hand-occlusion',
  'leg-raised': 'raising',
  'buerger-angle': 'raising',
  'leg-lowered': 'raising',
  'dependent-rubor': 'raising',
  'color-return': 'raising',
  'venous-filling': 'raising',
};

/** Place of a sign in the order of acts: an index into `ACTS`. */
export function actOf(sign: string): number {
  const id = SIGNS[sign] ?? 'undisturbed';
  return ACTS.findIndex((act) => act.id === id);
}
