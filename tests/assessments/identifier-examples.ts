import { seededRandom } from '../../src/shared/random.ts';

const random = seededRandom(20261125);
const pick = <T>(list: readonly T[]): T => list[random.below(list.length)] as T;
const between = (lowest: number, highest: number): number => lowest + random.below(highest - lowest + 1);
const two = (number: number): string => String(number).padStart(2, '0');
const digits = (count: number): string =>
  Array.from({ length: count }, (_, at) => (at === 0 ? between(1, 9) : between(0, 9))).join('');

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];
// Invented people: common names drawn together at random.
const FIRST = ['Mary', 'John', 'Linda', 'Robert', 'Fatima', 'Wei', 'Carlos', 'Priya', 'Olga', 'Emma', 'Noah', 'Aisha'];
const LAST = [
  'Smith',
  'Garcia',
  'Okafor',
  'Nguyen',
  'Petrov',
  'O’Brien',
  "O'Neill",
  'Lopez-Diaz',
  'Kowalski',
  'Haddad',
  'Johnson',
  'Müller',
];

const date = (): { y: number; m: number; d: number; month: string } => {
  const m = between(1, 12);
  return { y: between(1931, 2026), m, d: between(1, 28), month: MONTHS[m - 1] ?? '' };
};

/** How each identifying value is written; called again and again with new digits. */
const identifying: readonly (readonly [kind: string, make: () => string])[] = [
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${y}-${two(m)}-${two(d)}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${y}/${m}/${d}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${m}/${d}/${y}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${two(d)}.${two(m)}.${y}`;
    },
  ],
  [
    'date',
    () => {
      const { m, d } = date();
      return `${m}/${d}/${two(between(20, 26))}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${y}-${two(m)}-${two(d)}T${two(between(0, 23))}:${two(between(0, 59))}:00Z`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${y}-${two(m)}-${two(d)} ${two(between(0, 23))}:${two(between(0, 59))}`;
    },
  ],
  [
    'date',
    () => {
      const { month, d } = date();
      return `${d}-${month.slice(0, 3)}`;
    },
  ],
  [
    'date',
    () => {
      const { month, d } = date();
      return `${month} ${d}`;
    },
  ],
  [
    'date',
    () => {
      const { y, month, d } = date();
      return `${month} ${d}, ${y}`;
    },
  ],
  [
    'date',
    () => {
      const { y, month, d } = date();
      return `${d} ${month} ${y}`;
    },
  ],
  [
    'date',
    () => {
      const { month, d } = date();
      return `Monday, ${d} ${month}`;
    },
  ],
  [
    'date',
    () => {
      const { y, month } = date();
      return `${month} ${y}`;
    },
  ],
  [
    'date',
    () => {
      const { y, month, d } = date();
      return `${d}${month.slice(0, 3).toUpperCase()}${y}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `${y}${two(m)}${two(d)}`;
    },
  ],
  [
    'date',
    () => {
      const { y, m, d } = date();
      return `seen on ${m}/${d}/${y}, wife says worse`;
    },
  ],
  ['name', () => `${pick(FIRST)} ${pick(LAST)}`],
  ['name', () => `${pick(LAST)}, ${pick(FIRST)}`],
  ['name', () => `${pick(LAST)}, ${pick(FIRST).slice(0, 1)}.`],
  ['name', () => `${pick(FIRST).slice(0, 1)}. ${pick(LAST)}`],
  ['name', () => `${pick(['Mr.', 'Mrs', 'Ms.', 'Dr', 'Prof.'])} ${pick(LAST)}`],
  ['name', () => `${pick(FIRST)} ${pick(['A.', 'T.', 'M.'])} ${pick(LAST)}`],
  ['name', () => `${pick(FIRST)} ${pick(LAST)}, RN`],
  ['name', () => `${pick(FIRST).toUpperCase()} ${pick(LAST).toUpperCase()}`],
  ['telephone', () => `(${between(201, 989)}) 555-${two(between(0, 99))}${two(between(0, 99))}`],
  ['telephone', () => `${between(201, 989)}-555-01${two(between(0, 99))}`],
  ['telephone', () => `${between(201, 989)}.555.01${two(between(0, 99))}`],
  ['telephone', () => `+1 ${between(201, 989)} 555 01${two(between(0, 99))}`],
  ['telephone', () => `1-${between(201, 989)}-555-01${two(between(0, 99))}`],
  ['telephone', () => `+44 20 7946 0${digits(3)}`],
  ['telephone', () => `555-01${two(between(0, 99))}`],
  ['telephone', () => `tel: ${between(201, 989)} 555 01${two(between(0, 99))}`],
  ['telephone', () => `fax ${between(201, 989)}5550${digits(3)}`],
  [
    'e-mail',
    () => `${pick(FIRST).toLowerCase()}.${pick(['smith', 'lopez', 'haddad'])}@example.${pick(['org', 'com', 'net'])}`,
  ],
  ['e-mail', () => `nurse${digits(2)}@mail.example.org`],
  ['e-mail', () => `write to ${pick(FIRST).toLowerCase()}@example.com`],
  ['social security', () => `${digits(3)}-${two(between(1, 99))}-${digits(4)}`],
  ['social security', () => `${digits(3)} ${two(between(1, 99))} ${digits(4)}`],
  ['record', () => `MRN ${digits(6)}`],
  ['record', () => `MRN: ${digits(8)}`],
  ['record', () => `MRN${digits(6)}`],
  ['record', () => digits(between(7, 8))],
  ['record', () => digits(between(9, 12)).replace(/(?:00|01|02|10|11|12)(\d)$/, '77$1')],
  ['record', () => `00${digits(7)}`],
  ['record', () => `H${digits(8)}`],
  ['record', () => `acct #${digits(7)}`],
  ['record', () => `#${digits(7)}`],
  ['record', () => `${digits(4)}-${digits(4)}-${digits(4)}-${digits(4)}`],
  ['record', () => `${digits(3)} ${digits(3)} ${digits(4)}`],
  ['record', () => `Policy no. ${digits(6)}`],
  ['record', () => `4.${digits(5)}E+08`],
  ['device', () => `SN: ${pick(['A', 'K', 'ZX'])}${digits(6)}`],
  ['device', () => `serial ${digits(5)}`],
  ['device', () => `00:1B:44:11:3A:${digits(2)}`],
  ['device', () => `1HGCM82633A${digits(6)}`],
  ['web', () => `https://example.org/p/${digits(5)}`],
  ['web', () => `www.example.com/${pick(FIRST).toLowerCase()}`],
  ['network', () => `192.0.2.${between(1, 254)}`],
  ['network', () => `203.0.113.${between(1, 254)}:8080`],
  ['network', () => `2001:db8::${digits(3)}`],
  [
    'address',
    () =>
      `${between(1, 9999)} ${pick(['Elm', 'Oak', 'Maple', 'Second'])} ${pick(['Street', 'Ave', 'Road', 'Lane', 'Blvd.'])}`,
  ],
  ['address', () => `${between(1, 9999)} N. ${pick(['Elm', 'Oak'])} St, Apt ${between(1, 40)}`],
  ['address', () => `PO Box ${digits(3)}`],
  ['address', () => `${digits(5)}-${digits(4)}`],
  ['address', () => `${pick(['Springfield', 'Fairview', 'Salem'])}, ${pick(['OH', 'TX', 'OR'])} ${digits(5)}`],
  ['age', () => `${between(90, 104)} years`],
  ['age', () => `${between(90, 104)}-year-old`],
  ['age', () => `${between(90, 104)} y/o`],
  [
    'date',
    () => {
      const { m, d } = date();
      return `${d}.${m}.${two(between(20, 26))} 8:15`;
    },
  ],
  [
    'date',
    () => {
      const { y, month, d } = date();
      return `${month} ${d}${pick(['st', 'nd', 'rd', 'th'])} ${y}`;
    },
  ],
  [
    'date',
    () => {
      const { y, month, d } = date();
      return `admitted ${d} ${month} ${y} with pain`;
    },
  ],
  [
    'date',
    () => {
      const { y, m } = date();
      return `${two(m)}/${y}`;
    },
  ],
  [
    'name',
    () =>
      `${pick(['Zoran', 'Ingrid', 'Tomasz', 'Siobhan'])} ${pick(['Petrovic', 'Lindqvist', 'Wozniak', 'Gallagher'])}`,
  ],
  ['name', () => `${pick(FIRST).toLowerCase()} ${pick(['petrovic', 'lindqvist', 'okafor'])}`],
  ['name', () => `Nurse ${pick(['Kowalski', 'Haddad', 'Okafor'])}`],
  ['name', () => `${pick(LAST)} ${pick(FIRST)}`],
  ['name', () => `${pick(['J.S.', 'M.K.', 'A.B.C.'])}`],
  ['relative', () => `${pick(['wife', 'daughter', 'his son'])} says it is worse`],
  ['telephone', () => `${digits(10)}`.replace(/(?:00|01|02|10|11|12)(\d)$/, '77$1')],
  ['telephone', () => `call ${between(201, 989)}-555-01${two(between(0, 99))} after six`],
  ['record', () => `${digits(2)}-${digits(2)}-${digits(2)}`],
  ['record', () => `1EG4-TE5-MK${digits(2)}`],
  ['license', () => `D${digits(3)}-${digits(3)}-${digits(3)}`],
  ['license', () => `NPI ${digits(10)}`],
  ['account', () => `GB${digits(2)} BUKB ${digits(4)} ${digits(4)} ${digits(4)} ${digits(2)}`],
  ['address', () => `${between(1, 99)} ${pick(['Rue', 'Old'])} ${pick(['Mill', 'Church'])} Road`],
  ['address', () => `${pick(['Cook', 'Orange', 'Wayne'])} County`],
  ['address', () => `40.${digits(4)}, -73.${digits(4)}`],
  ['web', () => `${pick(['clinic', 'ward'])}${digits(1)}.example.org`],
  ['photograph', () => `IMG_${digits(4)}.${pick(['jpg', 'png', 'heic'])}`],
];

const fixedInnocent: readonly string[] = [
  'A01',
  'RN-07',
  'N123456',
  'L12',
  'REF1',
  'REF2',
  'nurse 3',
  'Nurse A',
  'Learner 12',
  'Ward B',
  'Unit 4',
  'Bay C',
  'examiner A',
  'DP',
  'PT',
  'AT',
  'RA',
  'LA',
  'POP',
  'FEM',
  'May',
  'Mar',
  'Sat',
  'Sun',
  'L',
  'R',
  'left',
  'right',
  'left-leg',
  'Left Leg',
  'L_arm',
  'left lower limb',
  'dorsalis pedis',
  'Dorsalis Pedis',
  'Posterior Tibial',
  'posterior-tibial',
  'Great Toe',
  'Index Finger',
  'Knee Bent',
  'Both Sides At Once',
  'one at a time',
  'hip and knee eased',
  '10 cm below the bump under the kneecap',
  'narrowest point',
  'midway from shoulder tip to elbow tip',
  '15 cm above the kneecap',
  'widest point',
  'lying',
  'sitting',
  'supine',
  'ulnar artery released',
  '792817008',
  '792816004',
  '24781000205105',
  '86547008',
  '13363002',
  '43899006',
  '7657000',
  '45631007',
  '44984001',
  '32153003',
  '62175007',
  '420829009',
  '421605005',
  '284521000',
  '446841001',
  '44963-7',
  '77194-9',
  '44966-0',
  '39106-0',
  '8480-6',
  '0',
  '1',
  '2',
  '3',
  '4',
  '2+',
  '+2',
  '1+',
  '4+',
  '2/4',
  '1/3',
  '3/3',
  '0/4',
  '2/3',
  '1-2',
  '2-3',
  'trace',
  'Tr',
  '0D',
  'D',
  'dop',
  'BKA',
  'AKA',
  'dressing',
  'cast',
  '?',
  '<2',
  '>15',
  '≤3',
  '<= 2',
  '2.5',
  '2,5',
  '24.7',
  '27.45',
  '0.90',
  '1.00',
  '1.404',
  '24.700000000000003',
  '-1.25',
  '90',
  '91',
  '95',
  '120',
  '180',
  '-365',
  '365',
  '1825',
  '14',
  '-3',
  '10.5 s',
  '2 s',
  '24 cm',
  '247 mm',
  '98.6',
  '36.6',
  '110 mm[Hg]',
  '85 mmHg',
  '60 %',
  '45 deg',
  '90 deg',
  '10234',
  '90210',
  '00123',
  '2026',
  '1999',
  'P01',
  'P001',
  'P-0001',
  'S-12',
  'pt-17',
  'ID0042',
  'K7Q2X',
  'qz41',
  'x9-ab',
  '7f3a',
  'c0ffee',
  '3f2504e0-4f89-41d3-9a0c-0305e82c3301',
  'pulse.0-4.normal2',
  'pit.0-4.bands-2-4-6-8.long',
  'refill.seconds.toe',
  'abi.band.acc-aha-2024',
  'pulse-grade',
  'pitting-edema',
  'capillary-refill',
  'not-assessed',
  'part absent',
  'out of time',
  'refused',
  'covered',
  'unsure',
  'not assessable',
  'absent',
  'weak or thready',
  'normal',
  'full, bounding',
  'brisk',
  'sluggish',
  'punched out',
  'blue',
  'dusky or red',
  'equal',
  'left weaker',
  'right weaker',
  'not compared',
  'yes',
  'no',
  'y',
  'n',
  'true',
  'false',
  'main',
  'pilot',
  'retrain',
  'Round 2',
  'Visit 3',
  'Week 12',
  'Day 14',
  'Month 3',
  'baseline',
  'Phase 1',
  'Period 7',
  'night shift',
  'Night',
  'Evening',
  'morning',
  '08:30',
  '14:05',
  '08:30-10:00',
  'ABC',
  'ACB',
  'CAB',
  'IIa',
  'IIb',
  'III',
  'C4b',
  'C6r',
  'C2',
  'Fontaine IIb',
  'V1',
  'V6',
  'G2',
  'W19',
  '5-10',
  '0-1',
  '10-15 s',
  '3-4 mm',
  '2.2',
  's',
  'mm',
  'cm',
  'Cel',
  'mm[Hg]',
  '{ratio}',
  'kappa',
  'Expert',
  'expert',
  'Consensus',
  'higher ankle artery',
  'cones every 4 cm',
  'felt, small, mobile, not tender',
  'no flush until stopped',
  'A',
  'B',
  'C',
  'R1',
  'r2',
  'Doppler Only',
  'not felt, Doppler not used',
  'Medical East',
  'Surgical West',
  'Cardiac Unit',
  'Main Clinic',
  'Step Down',
  'ICU',
  'ER',
  'Skin Shiny',
  'Hair Reduced',
  'Lower Leg',
  'Upper Arm',
  '1:1',
  '1/2',
  '12/15',
  '9/10',
  '3-2',
  '0.5',
  '.5',
  '100',
  '1000',
  '9999',
  '123456',
  '654321',
  'W1',
  'u-03',
  'bed 12',
  'room 21',
  '21',
  '22.5',
  'stay-004',
  'S0017',
  'occ-3',
  'v2.1',
  '1.0.3',
  '#3',
  'No. 4',
  'n = 22',
  '10 s',
  'T2',
  'q4h',
];

function* take(count: number): Generator<readonly [string, string]> {
  for (let at = 0; at < count; at++) {
    const [kind, make] = identifying[at % identifying.length] ?? ['', () => ''];
    yield [kind, make()];
  }
}

/** Invented identifying values, with their kind: 900 of 91 forms. */
export const identifyingValues: readonly (readonly [kind: string, value: string])[] = [...take(900)];

/** Values of bedside sheets that identify nobody: words, grades, codes, offsets, and numbers drawn at random. */
export const innocentValues: readonly string[] = [
  ...fixedInnocent,
  ...Array.from({ length: 60 }, () => `P${digits(between(1, 5))}`),
  ...Array.from({ length: 60 }, () => (between(0, 999) / 10).toFixed(1)),
  ...Array.from({ length: 40 }, () => `${pick(['A', 'N', 'RN-', 'L', 'EX'])}${between(1, 99)}`),
  ...Array.from({ length: 40 }, () => String(between(-400, 4000))),
];
