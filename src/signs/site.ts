import { refuse } from '../shared/input-error.js';
import type { Limb, Site } from './sign.js';

type SiteRow = readonly [id: string, label: string, region: Site['region'], ...aliases: string[]];

// Head to toe, arms before legs: the place in this list is the order of charts and sheets.
const rows: readonly SiteRow[] = [
  ['forehead', 'forehead', 'midline'],
  ['sternum', 'breastbone', 'midline'],
  ['armpit', 'armpit', 'arm', 'axilla'],
  ['upper-arm', 'upper arm', 'arm'],
  ['brachial', 'inside of the elbow (brachial artery)', 'arm', 'brachial artery', 'brachial pulse'],
  ['medial-elbow', 'above the inner elbow (epitrochlear)', 'arm', 'epitrochlear'],
  ['forearm', 'forearm', 'arm'],
  ['radial', 'wrist, thumb side (radial artery)', 'arm', 'radial artery', 'radial pulse', 'rad'],
  ['ulnar', 'wrist, little-finger side (ulnar artery)', 'arm', 'ulnar artery', 'ulnar pulse'],
  ['wrist-extension', 'bending the wrist back', 'arm'],
  ['hand', 'hand', 'arm'],
  ['dorsum-of-hand', 'back of the hand', 'arm'],
  ['first-web-space-hand', 'between thumb and index finger', 'arm'],
  ['finger-abduction', 'spreading the fingers', 'arm'],
  ['thumb-opposition', 'thumb to little finger', 'arm'],
  ['fingers', 'fingers', 'arm'],
  ['fingernails', 'fingernails', 'arm'],
  ['thumb', 'thumb', 'arm'],
  ['index-finger', 'index finger', 'arm'],
  ['index-pulp', 'pad of the index finger', 'arm'],
  ['little-finger-pulp', 'pad of the little finger', 'arm'],
  ['other-finger', 'another finger', 'arm'],
  ['sacrum', 'sacrum', 'midline'],
  ['iliac', 'lower belly beside the midline (iliac artery)', 'leg', 'iliac artery'],
  ['groin', 'groin', 'leg', 'inguinal'],
  ['femoral', 'groin (femoral artery)', 'leg', 'femoral artery', 'femoral pulse', 'fem'],
  ['common-femoral-vein', 'groin (common femoral vein)', 'leg'],
  ['thigh', 'thigh', 'leg'],
  ['knee', 'knee', 'leg'],
  ['popliteal', 'behind the knee (popliteal artery)', 'leg', 'popliteal artery', 'popliteal pulse', 'pop'],
  ['popliteal-vein', 'behind the knee (popliteal vein)', 'leg'],
  ['other-vein', 'another vein', 'leg'],
  ['lower-leg', 'lower leg', 'leg', 'leg'],
  ['pretibial-shin', 'shin', 'leg', 'shin', 'pretibial'],
  ['lower-calf', 'lower calf, above the ankle', 'leg'],
  ['medial-gaiter', 'inside of the lower leg above the ankle', 'leg', 'gaiter'],
  ['lateral-malleolus', 'outer ankle bone', 'leg'],
  ['behind-medial-malleolus', 'behind the inner ankle bone', 'leg', 'inner ankle bone', 'medial malleolus'],
  [
    'posterior-tibial',
    'inner ankle (posterior tibial artery)',
    'leg',
    'posterior tibial artery',
    'pt pulse',
    'pt',
    'tp',
  ],
  ['ankle-dorsiflexion', 'pulling the foot up', 'leg'],
  ['plantarflexion', 'pushing the foot down', 'leg'],
  ['foot', 'foot', 'leg'],
  ['heel', 'heel', 'leg'],
  ['sole', 'sole', 'leg', 'plantar foot'],
  ['metatarsal-head', 'ball of the foot', 'leg'],
  ['dorsum-of-foot', 'top of the foot', 'leg', 'dorsum'],
  ['dorsalis-pedis', 'top of the foot (dorsalis pedis artery)', 'leg', 'dorsalis pedis artery', 'dp pulse', 'dp'],
  ['first-web-space-foot', 'between great and second toe', 'leg'],
  ['toe-extension', 'pulling the toes up', 'leg'],
  ['toes', 'toes', 'leg'],
  ['between-toes', 'between the toes', 'leg'],
  ['toenails', 'toenails', 'leg'],
  ['toe-tip', 'tip of a toe', 'leg'],
  ['great-toe', 'great toe', 'leg', 'big toe', 'hallux'],
  ['other-toe', 'another toe', 'leg'],
  ['other-arm-site', 'another place on the arm', 'arm'],
  ['other-leg-site', 'another place on the leg', 'leg'],
];

/** Every site, head to toe, arms before legs. */
export const sites: readonly Site[] = Object.freeze(
  rows.map(([id, label, region, ...aliases], order) => Object.freeze({ id, label, region, order, aliases })),
);

const byId = new Map(sites.map((site) => [site.id, site]));

/**
 * The site with an id: its label, whether it is on an arm, a leg or the midline, and its place head to toe.
 * Throws `InputError` with code `unknown-site`.
 */
export function siteOf(id: string): Site {
  const site = byId.get(id);
  if (site === undefined)
    throw refuse('unknown-site', ['site'], `There is no such site. Known: ${[...byId.keys()].join(', ')}.`);
  return site;
}

/** Limbs in the order of charts and sheets. */
export const limbs: readonly Limb[] = Object.freeze(['right-arm', 'left-arm', 'right-leg', 'left-leg']);

export const armLimbs: readonly Limb[] = Object.freeze(['right-arm', 'left-arm']);
export const legLimbs: readonly Limb[] = Object.freeze(['right-leg', 'left-leg']);
