/** A code of a terminology with the label under which it was seen. */
export interface Code {
  readonly system: 'http://loinc.org' | 'http://snomed.info/sct';
  readonly code: string;
  readonly label: string;
}

/** Codes of one place for both sides and for each. */
export interface SidedCodes {
  readonly unsided?: Code;
  readonly left: Code;
  readonly right: Code;
}

const loinc = (code: string, label: string): Code => ({ system: 'http://loinc.org', code, label });
const snomed = (code: string, label: string): Code => ({ system: 'http://snomed.info/sct', code, label });

function artery(unsided: string, left: string, right: string, name: string): SidedCodes {
  return {
    unsided: snomed(unsided, `${name} artery`),
    left: snomed(left, `left ${name} artery`),
    right: snomed(right, `right ${name} artery`),
  };
}

/**
 * Codes of the arteries by site id. Only codes seen with the same label in two or more independent places; no
 * official browser could be reached, so a terminology check belongs before an exchange.
 */
export const siteCodes: Readonly<Record<string, SidedCodes>> = {
  brachial: artery('17137000', '723961002', '723962009', 'brachial'),
  radial: artery('45631007', '368504007', '368503001', 'radial'),
  ulnar: artery('44984001', '368506009', '368505008', 'ulnar'),
  femoral: artery('7657000', '113270003', '69833005', 'femoral'),
  popliteal: artery('43899006', '25885001', '57832007', 'popliteal'),
  'posterior-tibial': artery('13363002', '214912001', '214811007', 'posterior tibial'),
  'dorsalis-pedis': artery('86547008', '792817008', '792816004', 'dorsalis pedis'),
};

/** Lower limbs have confirmed codes; whole upper limbs have none (those often used mean the upper arm only). */
export const limbCodes: Readonly<Record<string, Code>> = {
  'left-leg': snomed('32153003', 'left lower limb'),
  'right-leg': snomed('62175007', 'right lower limb'),
};

export const sideCodes: SidedCodes = {
  left: snomed('7771000', 'left'),
  right: snomed('24028007', 'right'),
};

/** Codes of how a finding was made, by the word in the column `method`. */
export const methodCodes: Readonly<Record<string, Code>> = {
  palpation: snomed('113011001', 'palpation'),
  auscultation: snomed('37931006', 'auscultation'),
  inspection: snomed('32750006', 'inspection'),
  'doppler ultrasound': snomed('765172009', 'doppler ultrasound'),
};

/** Codes by sign id, none of which says on which scale the sign is. */
export const signCodes: Readonly<Record<string, readonly Code[]>> = {
  'pitting-edema': [loinc('44966-0', 'Edema'), snomed('284521000', 'Pitting edema')],
  'capillary-refill': [loinc('44963-7', 'Capillary refill time')],
  'skin-temperature': [loinc('39106-0', 'Temperature of skin')],
  'brachial-pressure': [loinc('8480-6', 'Systolic blood pressure')],
  'ankle-brachial-index': [
    loinc('77194-9', 'Ankle-brachial index'),
    snomed('446841001', 'Ankle brachial pressure index'),
  ],
};

/** Codes by scale id and category value. Those of pitting say nothing of millimeters or of the scale. */
export const categoryCodes: Readonly<Record<string, Readonly<Record<string, Code>>>> = {
  ...Object.fromEntries(
    ['pit.0-4.bands-2-4-6-8.long', 'pit.0-4.hogan', 'pit.0-4.depth-only'].map((scale) => [
      scale,
      {
        '1': snomed('420829009', 'Pitting edema 1+'),
        '2': snomed('421605005', 'Pitting edema 2+'),
        '3': snomed('421346005', 'Pitting edema 3+'),
        '4': snomed('421129002', 'Pitting edema 4+'),
      },
    ]),
  ),
  'refill.prolonged': {
    '0': snomed('45332005', 'Normal capillary filling'),
    '1': snomed('50427001', 'Increased capillary filling time'),
  },
};
