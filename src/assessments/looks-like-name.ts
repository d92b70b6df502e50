import { codebook } from '../signs/codebook.js';
import { sites } from '../signs/site.js';
import { FIRST_NAMES } from './first-names.js';

/** Words of sheets, wards, roles and medicine that are no names, beside every word of the codebook. */
const PLAIN_WORDS = `
  about above absent acute admission after again all also amputated analysis and ankle answer area arm arterial artery assessed
  assessment assessor average back baseline bandage bay bed before below better blind block board body both bypass calf cancer
  cardiac care case cast category center central change chart check chronic class clinic clinical code cohort cold comment
  community completed compression condition consensus control cool copy count course critical data day dead deep degree dermatology
  device diabetes diabetic diagnosis dialysis difference digit discharge disease doctor done doppler dorsal dry duplex dusk each early east
  edema educator elbow elevated emergency end error evening exam examination examiner expert extra failure family feet female femoral
  few finger first fistula follow foot form full general good grade graft group groin hand head health heart heel high home hospital
  hot hour icu idle index infection initial inner intensive interval item joint junior kidney kit knee known lab late lateral learner
  left leg length level limb limited line list long low lower lumen lying machine main male manual medial medical medicine method middle
  mild minor minute missing mixed moderate month morning nail neither neurology neuropathy never new night no node none normal north not note
  nothing number nurse nursing observer obstetrics occluded old oncology only open operative orthopedic other outer outpatient overall
  pad paged pain palm panel part patient pause pedal peripheral period person phase physician pilot plan plantar popliteal position post
  practice practitioner preoperative pressure primary probe procedure protocol provider pulse quality radial random range rater ready
  read reader reading record recovery red reduced reference rehab rehabilitation renal repeat research researcher resident rest result
  right room round sample scale scan score second secondary section self senior session set severe shift shin shoulder side sign simple
  single site sitting skill skin slow slowly small sock soft sole sore south special staff stage stable standing start station status step stocking
  stopped strong student study supine surgery surgical swelling swollen table team technician temperature temporary test therapist
  therapy thigh third thumb time tip toe total trainee training trauma treatment trial type ulcer ulnar under unit unknown unsure upper
  urgent usual value vascular vein venous version very view visit volunteer waiting ward warm week weak west wet white with without worse worst
  subtotal total totals mean means median sum wound wrist year yellow zone january february march april may june july august september october november december monday tuesday
  wednesday thursday friday saturday sunday`.split(/\s+/);

/** Common family names (public lists of the United States Census, a selection from memory) that are no words of sheets, wards or the body. */
const FAMILY_NAMES = new Set(
  `adams aguilar ahmed alexander allen alvarez anderson andrews bailey barnes bennett brooks bryant butler campbell carter castillo castro chavez chen cooper cox cruz
  davis diaz edwards evans fernandez fisher flores foster garcia gomez gonzalez gonzales gutierrez hamilton harris hernandez hughes ibrahim jackson jenkins jimenez johnson johnston
  jones kelly kennedy khan kim kumar lee lewis lopez martin martinez mcdonald medina mendoza miller mitchell mohamed moore morales morgan morris murphy murray myers nelson
  nguyen ortiz parker patel perez perry peterson phillips powell ramirez ramos reyes reynolds richardson rivera roberts robinson rodriguez rogers romero ruiz russell sanchez sanders
  schmidt silva simmons singh smith stewart sullivan taylor thomas thompson torres tran turner vargas vasquez walker washington watson williams wilson wong wright wu yang zhang`.split(
    /\s+/,
  ),
);

let vocabulary: ReadonlySet<string> | undefined;

/** Every word that has a meaning here: those above and those of the codebook. Made at the first question. */
function knownWords(): ReadonlySet<string> {
  vocabulary ??= new Set([...PLAIN_WORDS, ...wordsOf(JSON.stringify(codebook)), ...wordsOf(JSON.stringify(sites))]);
  return vocabulary;
}

function wordsOf(text: string): string[] {
  return text.toLowerCase().match(/\p{L}+/gu) ?? [];
}

/** Whether a word has a meaning at the bedside, on a ward or in a sheet. */
export function isKnownWord(word: string): boolean {
  const plain = word.toLowerCase().replaceAll(/[.'’]/g, '');
  return knownWords().has(plain) || (plain.endsWith('s') && knownWords().has(plain.slice(0, -1)));
}

const isCapitalized = (word: string): boolean => /^\p{Lu}/u.test(word);
/** A capital and small letters, also O'Neill, Lopez-Diaz, McKay. */
const isTitled = (word: string): boolean =>
  /^\p{Lu}(?:['’]\p{Lu})?\p{L}*\p{Ll}[\p{L}'’-]*$/u.test(word) && word.length > 2;
const isInitial = (word: string): boolean => /^\p{Lu}\.?$/u.test(word);
const isFirstName = (word: string): boolean => FIRST_NAMES.has(word.toLowerCase().replaceAll(/[.'’]/g, ''));

/** A common family name, in any letters. */
export function isFamilyName(word: string): boolean {
  return FAMILY_NAMES.has(word.toLowerCase()) && !isKnownWord(word);
}

/** A common first or family name written with a capital, of four letters or more: enough where no name has its place. */
export function isPersonsName(word: string): boolean {
  return word.length > 3 && isTitled(word) && (isFamilyName(word) || (isFirstName(word) && !isKnownWord(word)));
}

/**
 * Whether a text looks like the name of a person: a title or an initial with a word that means nothing here, a
 * common first name with such a word, or two such words with capitals. In a column of codes for people (`isCode`) a
 * single capitalized word and small letters are enough.
 */
export function looksLikeName(text: string, isCode: boolean): boolean {
  if (text.length > 60 || !/^[\p{L}'’.,\s-]+$/u.test(text)) return false;
  const words = text.split(/[\s,]+/).filter((word) => word !== '');
  const withoutDegree = words.filter((word) => !/^(?:rn|lpn|md|do|np|pa-c|phd|bsn|msn|jr|sr|ii|iii)\.?$/i.test(word));
  const title = /^(?:mr|mrs|ms|miss|mx|dr|prof|sr|sister|nurse|father|rev)\.?$/i.test(withoutDegree[0] ?? '');
  const names = title ? withoutDegree.slice(1) : withoutDegree;
  const [first] = names;
  if (first === undefined || names.length > 4) return false;
  if (/^(?:\p{Lu}\.){2,3}$/u.test(text)) return true;
  const full = names.filter((word) => !isInitial(word));
  const strange = full.filter((word) => !isKnownWord(word));
  if (strange.length === 0 && !full.some(isFirstName)) return false;
  if (title) return strange.some(isTitled) || full.some((word) => isFirstName(word) && isCapitalized(word));
  if (names.length === 1) return isCode && strange.length === 1 && (isTitled(first) || isFirstName(first));
  // An initial and a surname, in either order and with a comma or a full stop to tell them from "Ward B".
  if (full.length === 1) return (isTitled(full[0] ?? '') && /[.,]/.test(text)) || (isCode && strange.some(isTitled));
  const allCapital = names.every(isCapitalized);
  if (full.some(isFirstName) && full.every((word) => isFirstName(word) || !isKnownWord(word)))
    return allCapital || isCode || names.length === 2;
  // "SURNAME, NAME" as hospital systems write it.
  const isListed = text.includes(',') && full.every((word) => /^\p{Lu}{4,}$/u.test(word));
  return strange.length === full.length && (full.every(isTitled) || isListed || (isCode && allCapital));
}
