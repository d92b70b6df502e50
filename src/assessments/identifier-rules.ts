/**
 * The kinds of identifiers of 45 CFR 164.514(b)(2)(i), as far as the name of a column or the form of a value shows
 * them. The guard names the rule and the row, never the value. It cannot see everything: a name written as a code
 * passes, so looking at a file before sharing it stays with its owner.
 */
export type IdentifierRule =
  | 'name'
  | 'address or place'
  | 'birth date'
  | 'date'
  | 'telephone or fax number'
  | 'e-mail address'
  | 'social security number'
  | 'record, plan or account number'
  | 'device, vehicle or license number'
  | 'web address'
  | 'network address'
  | 'photograph or biometric'
  | 'age over 89'
  | 'long number'
  | 'free text';

/** Compared with a header in small letters without anything between its letters and digits. */
export const HEADER_RULES: readonly (readonly [IdentifierRule, RegExp])[] = [
  [
    'name',
    /^(?:(?:patient|pt|person|nurse|assessor|examiner|learner|student|user|clinician|doctor|physician|provider|staff|resident|client|subject|contact|emergencycontact|kin|guardian|mother|mothers|father|spouse|employer)?(?:first|last|middle|full|given|family|maiden|sur|fore|legal|preferred)?names?(?:first|last|middle)?|initials|(?:patient|pt|nurse|assessor)initials|nameofpatient|nextofkin|nok|relatives?|employer|guardian|emergencycontact|household|referringdoctor|gp|attending|signature)$/,
  ],
  ['birth date', /^(?:(?:patient|pt)?(?:dob|birthdate|dateofbirth|birthday|born|birth|yob))$/],
  [
    'address or place',
    /^(?:(?:home|street|mailing|postal|patient|pt|email|billing)?addr(?:ess)?(?:line)?\d?|street|streetname|city|town|village|parish|precinct|zip|zip\d|zipcode|postcode|postal|postalcode|county|geocode|latitude|longitude|lat|lon|long|gps|coordinates|census(?:tract|block)?|neighborhood|residence)$/,
  ],
  [
    'telephone or fax number',
    /^(?:(?:home|work|mobile|cell|patient|pt|contact|daytime)?(?:phone|telephone|tel|fax|mobile|cell|pager|phoneno)(?:number|no|num|\d)?)$/,
  ],
  ['e-mail address', /^(?:(?:patient|pt|contact|home|work)?e?mail(?:address|id)?)$/],
  [
    'social security number',
    /^(?:ssn|ss|socialsecurity(?:number|no|num)?|socsec|nationalid|nationalinsurance(?:number|no)?|nhs(?:number|no)?|sin|nino|taxid|tin)$/,
  ],
  [
    'record, plan or account number',
    /^(?:mrn|mr|medicalrecord(?:number|no|num)?|medrec(?:number|no)?|record(?:number|no|num)|chart(?:number|no|num)?|hospital(?:number|no|num|id)|hosp(?:no|id)|account(?:number|no|num|id)?|acct(?:number|no|num)?|insurance(?:number|no|num|id)?|policy(?:number|no|num)?|member(?:number|no|id)|subscriber(?:id|number)|beneficiary(?:number|id)?|healthplan(?:number|id)?|plan(?:number|id)|medicare(?:number|no|id)?|medicaid(?:number|no|id)?|encounter(?:number|no|id)|visit(?:number|no)|csn|fin|har|empi|mpi|accession(?:number|no)?|specimen(?:number|no|id)?|iban|creditcard(?:number)?)$/,
  ],
  [
    'device, vehicle or license number',
    /^(?:licen[cs]e(?:number|no|num|plate)?|driver(?:s)?licen[cs]e(?:number|no)?|certificate(?:number|no)?|passport(?:number|no)?|npi|dea(?:number)?|vin|vehicle(?:id|number)?|numberplate|licenseplate|plate(?:number|no)?|serial(?:number|no|num)?|sn|device(?:serial(?:number|no)?|id|number)|implant(?:serial|number|id)?|udi|macaddress|mac|imei)$/,
  ],
  ['web address', /^(?:url|website|webaddress|homepage|link|facebook|twitter|instagram|handle)$/],
  ['network address', /^(?:ip|ipaddress|ipaddr|hostname)$/],
  [
    'photograph or biometric',
    /^(?:photo|photograph|picture|image|facephoto|portrait|fingerprints?|voiceprint|retina(?:scan)?|biometrics?|dna)$/,
  ],
  [
    'date',
    /^(?:(?:admission|admit|discharge|visit|exam|examination|assessment|assessed|death|surgery|operation|procedure|service|test|reading|event|index|start|end|entry|record|study|observation|session|collection)?(?:date|datetime|dateandtime|timestamp|dt)|dateof\w+|timestamp|admittedon|dischargedon|assessedon|recordedon|createdat|updatedat|dod|doa|dos)$/,
  ],
];

const MONTHS =
  'jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?';
const WEEKDAY = '(?:(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\\.?,?\\s+)?';
const DAY = '(?:0?[1-9]|[12]\\d|3[01])';
const MONTH = '(?:0?[1-9]|1[0-2])';
const YEAR = '(?:19|20)\\d{2}';
const REST = '(?:[T\\s,;_]+.*)?';

const whole = (form: string): RegExp => new RegExp(`^(?:${form})$`, 'i');
/** Anywhere in a text, not as part of a longer word or number. */
const inside = (form: string): RegExp => new RegExp(`(?<![\\w.-])(?:${form})(?![\\w-])`, 'i');

export const VALUE_RULES: readonly (readonly [IdentifierRule, RegExp])[] = [
  ['date', inside(`${YEAR}[-/.]${MONTH}[-/.]${DAY}(?:T[\\d:.+Z-]*)?`)],
  ['date', inside(`${DAY}[-/.]${DAY}[-/.]${YEAR}`)],
  ['date', whole(`${WEEKDAY}${DAY}\\s?[-/.]\\s?${DAY}\\s?[-/.]\\s?\\d{2}${REST}`)],
  ['date', whole(`${DAY}\\.${MONTH}\\.`)],
  [
    'date',
    whole(`${YEAR}[-/]${MONTH}|${MONTH}[-/.]${YEAR}|${YEAR}-?W\\d{2}(?:-?\\d)?|${YEAR}-?Q[1-4]|Q[1-4][\\s/-]*${YEAR}`),
  ],
  [
    'date',
    whole(
      `${WEEKDAY}${DAY}(?:st|nd|rd|th)?(?:\\s+of)?[-/.\\s]*(?:${MONTHS})\\.?(?:[-/.,'’\\s]*(?:\\d{4}|\\d{2}))?${REST}`,
    ),
  ],
  ['date', whole(`${WEEKDAY}(?:${MONTHS})\\.?[-/.\\s]*${DAY}(?:st|nd|rd|th)?(?:[-/.,'’\\s]+\\d{2,4})?${REST}`)],
  ['date', whole(`(?:${MONTHS})\\.?[-/.,'’\\s]*(?:${YEAR}|['’]\\d{2})`)],
  ['date', inside(`${DAY}(?:st|nd|rd|th)?(?:\\s+of)?[-\\s](?:${MONTHS})\\.?,?[-\\s]${YEAR}`)],
  ['date', inside(`(?:${MONTHS})\\.?\\s${DAY}(?:st|nd|rd|th)?,?\\s${YEAR}`)],
  ['date', whole(`${YEAR}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\\d|3[01])(?:[T\\s_-]?\\d{4,6}Z?)?`)],
  ['e-mail address', /[^\s@<>]+@[^\s@<>]+\.[a-z]{2,}/i],
  ['e-mail address', /\S+\s*[([]at[)\]]\s*\S+\s*(?:[([]dot[)\]]|\.)\s*\w+/i],
  ['web address', /\b(?:https?:\/\/|ftp:\/\/|www\.)\S+/i],
  ['web address', whole('(?:[a-z\\d-]+\\.)+(?:com|org|net|edu|gov|info|io|health)(?:/\\S*)?')],
  ['web address', /^@[a-z_][\w.]{2,}$/i],
  ['network address', inside('(?:(?:25[0-5]|2[0-4]\\d|1?\\d?\\d)\\.){3}(?:25[0-5]|2[0-4]\\d|1?\\d?\\d)(?::\\d+)?')],
  ['network address', /^(?=.*::|(?:[\da-f]+:){7})(?:[\da-f]{0,4}:){2,7}[\da-f]{0,4}$/i],
  ['device, vehicle or license number', whole('(?:[\\da-f]{2}[:-]){5}[\\da-f]{2}')],
  ['device, vehicle or license number', /^(?=.*\d.*\d.*\d)(?=.*[A-HJ-NPR-Z].*[A-HJ-NPR-Z])[A-HJ-NPR-Z\d]{17}$/],
  [
    'device, vehicle or license number',
    /^(?:s\/?n|serial|device|udi|vin|plate|lic(?:en[cs]e)?|npi|dea)\b[\s#:.no]*[a-z]*[-\s]?\d[\w-]{3,}$/i,
  ],
  ['device, vehicle or license number', /^\(01\)\d{14}/],
  ['social security number', inside('\\d{3}[-\\s]\\d{2}[-\\s]\\d{4}|[xX*]{3}[-\\s][xX*]{2}[-\\s]\\d{4}')],
  [
    'telephone or fax number',
    inside(
      '(?:\\+?\\d{1,3}[\\s.-]?)?(?:\\(\\d{3}\\)\\s?|\\d{3}[\\s.-])\\d{3}[\\s.-]\\d{4}(?:\\s*(?:x|ext\\.?)\\s*\\d+)?',
    ),
  ],
  ['telephone or fax number', /^\(\d{3}\)\s*\d{3}-?\d{4}$/],
  ['telephone or fax number', /^(?:\+|00)\d{1,3}[\s.()/-]*\d[\d\s.()/-]{6,}$/],
  ['telephone or fax number', /^0\d{2,4}[\s/-]+\d{3,4}[\s-]?\d{3,4}$/],
  ['telephone or fax number', /^\d{3}[-.\s]\d{4}$/],
  ['telephone or fax number', /^\d{3}\/\d{3}-\d{4}$|\bext(?:ension)?\.?\s*\d{3,}/i],
  ['telephone or fax number', /\b(?:tel|phone|ph|fax|mobile|cell|pager)\b[\s.:#]*\+?\(?\d[\d\s().-]{5,}/i],
  [
    'record, plan or account number',
    /\b(?:mrn|mr#|med(?:ical)? ?rec(?:ord)?|chart|acct|account|policy|member|ins(?:urance)?|medicare|medicaid|nhs|hosp(?:ital)?|enc(?:ounter)?|csn|fin)\b[\s.:#]*(?:no\.?|num(?:ber)?|id)?[\s.:#]*[a-z]{0,3}-?\d{4,}/i,
  ],
  ['record, plan or account number', /^(?:mrn|ssn|acct|nhs|csn|har|pid)[-_\s#:]*\d{4,}$/i],
  ['record, plan or account number', /^#\s?\d{5,}$|^\d{2,3}-\d{2,3}-\d{2,3}$/],
  ['record, plan or account number', /^(?:\d{4}[\s-]){2,4}\d{1,4}$/],
  ['record, plan or account number', /^[A-Z]{2}\d{2}(?:\s?[A-Z\d]{4}){3,7}(?:\s?[A-Z\d]{1,4})?$/],
  ['record, plan or account number', /^\d[A-Z][A-Z\d]\d-?[A-Z][A-Z\d]\d-?[A-Z]{2}\d{2}$/],
  ['address or place', /^\d{5}-\d{4}$|\bzip\b\D{0,8}\d{5}|^[A-Z]\p{Ll}+ (?:County|Parish|Township)$/u],
  ['address or place', /^[A-Z]{1,2}\d[A-Z\d]?\s+\d[A-Z]{2}$/i],
  ['address or place', /^[A-Z]\d[A-Z]\s\d[A-Z]\d$/i],
  ['address or place', /^-?\d{1,3}\.\d{3,}\s*[,;]\s*-?\d{1,3}\.\d{3,}$/],
  [
    'address or place',
    /\b\d{1,6}[a-z]?\s+(?:[nsew]\.?\s+)?(?:[\p{L}\d.'’-]+\s+){1,4}(?:street|st|avenue|ave|road|rd|lane|ln|drive|dr|boulevard|blvd|court|ct|way|place|pl|terrace|highway|hwy|parkway|pkwy|circle|cir|square|sq|trail)\b\.?/iu,
  ],
  ['address or place', /\bp\.?\s?o\.?\s+box\s+\d+/i],
  ['address or place', /^(?:apt|apartment|suite|ste)\.?\s*#?\s*\d+[a-z]?$/i],
  [
    'address or place',
    /^[A-Z][\p{L} .'-]+,\s*(?:A[KLRZ]|C[AOT]|D[CE]|FL|GA|HI|I[ADLN]|K[SY]|LA|M[ADEINOST]|N[CDEHJMVY]|O[HKR]|PA|RI|S[CD]|T[NX]|UT|V[AT]|W[AIVY])(?:\s+\d{5}(?:-\d{4})?)?$/u,
  ],
  ['photograph or biometric', /\b(?:fingerprint|retina|iris|voiceprint|face)[\w-]*\.\w{2,4}$/i],
  ['photograph or biometric', /\.(?:jpe?g|png|heic|bmp|gif|tiff?|dcm)$/i],
  ['age over 89', /^(?:aged?\s*[:=]?\s*)?(?:9\d|1[0-2]\d)\s*-?\s*(?:y|yr|yrs|years?|y\/o|yo)\b(?:[\s-]*old)?\.?$/i],
  ['age over 89', /\b(?:9\d|1[0-2]\d)[\s-]*(?:years?|yrs?|y)[\s/-]*(?:old|o)\b/i],
  ['age over 89', /^aged?\s*[:=]?\s*(?:9\d|1[0-2]\d)$/i],
  // Relatives and members of the household are covered by the rule as the patient is.
  [
    'free text',
    /\b(?:wife|husband|daughter|son|mother|father|sister|brother|neighbou?r|employer|caregiver|roommate)\b/i,
  ],
];
