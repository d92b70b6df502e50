import { InputError } from '../shared/input-error.js';
import { arterialTestSigns } from './arterial-tests.js';
import { bruitAndNodeSigns } from './bruit-and-nodes.js';
import { capillaryRefillSigns } from './capillary-refill.js';
import { dopplerSigns } from './doppler.js';
import { edemaSigns } from './edema.js';
import { girthSigns } from './girth.js';
import { nearest } from './nearest.js';
import { nerveAndClassSigns } from './nerves-and-classes.js';
import { pressureSigns } from './pressure.js';
import { pulseSigns } from './pulse.js';
import type { Scale, Sign } from './sign.js';
import { skinSigns } from './skin.js';
import { techniqueSigns } from './technique.js';
import { ulcerSigns } from './ulcer.js';
import { veinSigns } from './veins.js';

/** Every sign the library knows, with its scales. */
export const codebook: readonly Sign[] = deepFreeze([
  ...pulseSigns,
  ...edemaSigns,
  ...capillaryRefillSigns,
  ...skinSigns,
  ...ulcerSigns,
  ...veinSigns,
  ...girthSigns,
  ...arterialTestSigns,
  ...bruitAndNodeSigns,
  ...dopplerSigns,
  ...pressureSigns,
  ...nerveAndClassSigns,
  ...techniqueSigns,
]);

const signById = new Map(codebook.map((sign) => [sign.id, sign]));
const scaleById = new Map(codebook.flatMap((sign) => sign.scales).map((scale) => [scale.id, scale]));

/**
 * The sign with an id. Throws `InputError` with code `unknown-sign` and the sign that comes closest.
 */
export function signOf(id: string): Sign {
  const sign = signById.get(id);
  if (sign !== undefined) return sign;
  throw unknown('unknown-sign', 'sign', id, [...signById.keys()]);
}

/**
 * The scale with an id. Throws `InputError` with code `unknown-scale` and the scale that comes closest.
 */
export function scaleOf(id: string): Scale {
  const scale = scaleById.get(id);
  if (scale !== undefined) return scale;
  throw unknown('unknown-scale', 'scale', id, [...scaleById.keys()]);
}

function unknown(code: string, kind: string, id: string, known: readonly string[]): InputError {
  const near = nearest(id, known);
  return new InputError([
    {
      code,
      path: [kind],
      message: `There is no ${kind} of that id.`,
      expected: `one of ${known.join(', ')}`,
      ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
    },
  ]);
}

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const inner of Object.values(value)) deepFreeze(inner);
  }
  return value;
}
