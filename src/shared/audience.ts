import { refuse } from './input-error.js';

/** Who will see it: oneself, people inside the hospital, or anybody. Set once, at the top of a notebook. */
export type Audience = 'own' | 'inside' | 'outside';

/** From the fewest eyes to the most. */
export const AUDIENCES: readonly Audience[] = ['own', 'inside', 'outside'];

/** Somebody's decision to give out every figure, with the reason to be read later: "asked for by the second referee". */
export interface FullRelease {
  readonly reason: string;
}

/** Whom a result, a table or a chart was made for. Without an audience: one's own eyes. */
export interface MadeFor {
  readonly audience?: Audience;
  /** The decision by which figures are shown that would else be hidden. */
  readonly release?: FullRelease;
}

/** What holds nobody's figures, such as a plan, is for everybody. */
export const ABOUT_NOBODY: MadeFor = { audience: 'outside' };

/** Only audience and release of a thing that carries them. */
export function madeForOf({ audience, release }: MadeFor): MadeFor {
  return { ...(audience === undefined ? {} : { audience }), ...(release === undefined ? {} : { release }) };
}

/** Whom a thing made of several may be shown to: those who may see each of them. */
export function narrowestOf(things: readonly MadeFor[]): MadeFor {
  const narrowest = things.reduce<MadeFor | undefined>(
    (found, thing) => (found === undefined || !isMadeFor(thing, found.audience ?? 'own') ? thing : found),
    undefined,
  );
  const release = things.find((thing) => thing.release !== undefined)?.release;
  return { ...madeForOf(narrowest ?? {}), ...(release === undefined ? {} : { release }) };
}

/** Whether a thing may be seen by an audience: it was made for it or for more eyes. */
export function isMadeFor(thing: MadeFor, audience: Audience): boolean {
  return AUDIENCES.indexOf(thing.audience ?? 'own') >= AUDIENCES.indexOf(audience);
}

/** Refuses to give a thing to an audience that it was not made for (`not-for-audience`). */
export function requireMadeFor(thing: MadeFor, audience: Audience | undefined, words: string): void {
  if (audience === undefined || isMadeFor(thing, audience)) return;
  throw refuse(
    'not-for-audience',
    ['audience'],
    `${words} was made for ${WORDS[thing.audience ?? 'own']}; it cannot be given to ${WORDS[audience]}, because small numbers in it could point at somebody.`,
    `pass the result it comes from through forAudience(result, '${audience}') first.`,
  );
}

/** What is printed on a thing so that it travels with it; nothing where everybody may see all of it. */
export function markOf({ audience = 'own', release }: MadeFor): string | undefined {
  if (release !== undefined) return `Every figure is shown by decision: ${release.reason.trim().replace(/\.$/, '')}.`;
  if (audience === 'own') return 'Not for sharing: small numbers are shown.';
  return audience === 'inside' ? 'For inside the hospital only.' : undefined;
}

const WORDS: Readonly<Record<Audience, string>> = {
  own: 'your own eyes',
  inside: 'people inside the hospital',
  outside: 'people outside the hospital',
};
