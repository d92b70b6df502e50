import { refuse } from '../shared/input-error.js';
import type { Limb, Site } from './sign.js';

type SiteRow = readonly [id: string, label: string, region: Site['region'], ...aliases: string[]];

// Head to toe, arms before legs: the place in this list is the order of charts and sheets.
const rows: readonly SiteRow[] = [
  ['forehead', 'forehead', 'midline'],
  ['sternum', 'breastbone', 'midline'],
  ['brachial', 'inside of the elbow (brachial artery)', 'arm', 'brachial artery', 'elbow pulse'],
  ['forearm', 'forearm', 'arm'],
  ['radial', 'wrist, thumb side (radial artery)', 'arm', 'radial artery', 'radial pulse', 'rad'],
  ['ulnar', 'wrist, little-finger side (ulnar artery)', 'arm', 'ulnar artery', 'ulnar pulse'],
  ['dorsum-of-hand', 'back of the hand', 'arm'],
  ['thumb', 'thumb', 'arm'],
  ['index-finger', 'index finger', 'arm'],
  ['other-finger', 'another finger', 'arm'],
  ['sacrum', 'sacrum', 'midline'],
  ['femoral', 'groin (femoral artery)', 'leg', 'femoral artery', 'femoral pulse', 'fem'],
  ['thigh', 'thigh', 'leg'],
  ['knee', 'knee', 'leg'],
  ['popliteal', 'behind the knee (popliteal artery)', 'leg', 'popliteal artery', 'popliteal pulse', 'pop'],
  ['pretibial-shin', 'shin', 'leg', 'shin', 'pretibial', 'over the shin'],
  ['lower-calf', 'lower calf, above the ankle', 'leg'],
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
  ['dorsum-of-foot', 'top of the foot', 'leg'],
  ['dorsalis-pedis', 'top of the foot (dorsalis pedis artery)', 'leg', 'dorsalis pedis artery', 'dp pulse', 'dp'],
  ['great-toe', 'great toe', 'leg', 'big toe', 'hallux'],
  ['other-toe', 'another toe', 'leg'],
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
