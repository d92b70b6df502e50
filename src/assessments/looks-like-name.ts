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
  wound wrist year yellow zone january february march april may june july august september october november december monday tuesday
  wednesday thursday friday saturday sunday`.split(/\s+/);

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
  return strange.length === full.length && (full.every(isTitled) || (isCode && allCapital));
}
