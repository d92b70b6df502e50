import type { Readable } from 'node:stream';
import { InputError } from '../shared/input-error.js';
import { keysTwice } from './keys-twice.js';
import { textLines } from './source-form.js';

/** The elements of a resource, as they come. */
export type Fields = Readonly<Record<string, unknown>>;

/** Told of an element, by the name that FHIR gives it, and of its row. */
type OfElement = (element: string, row: number) => void;

/** What is told while resources are read. */
export interface WhileReading {
  /** Something that can identify people. */
  readonly identifying: OfElement;
  /** An element of a resource, or of the Bundle, in which a name is given twice; the last value alone would be seen. */
  readonly twice: OfElement;
}

const BUNDLE_ELEMENTS = ['resourceType', 'type', 'total', 'id', 'entry', 'language', 'implicitRules'];

/** The resources of a file or text, with the line, or the place in a Bundle or array, of each. Throws `InputError`: `file-unreadable`, `file-encoding`. */
export async function* resourcesOf(
  open: () => Readable,
  told: WhileReading,
): AsyncGenerator<{ resource: unknown; row: number }> {
  let line = 0;
  let isFirst = true;
  for await (const json of textLines(open())) {
    line++;
    if (json.trim() === '') continue;
    const resource = parse(json);
    // A first line that is no whole resource begins a file that is one.
    if (isFirst && resource === undefined) break;
    isFirst = false;
    tellTwice(json, resource, line, told);
    yield* expand(resource, line, told);
  }
  if (!isFirst) return;
  const lines: string[] = [];
  for await (const text of textLines(open())) lines.push(text);
  const text = lines.join('\n');
  const whole = parse(text);
  if (whole === undefined)
    throw new InputError([
      {
        code: 'file-unreadable',
        message: 'The file begins as FHIR resources and could not be read.',
        expected: 'one resource a line, or one Bundle',
        mend: 'look whether it is whole and in UTF-8.',
      },
    ]);
  tellTwice(text, whole, 1, told);
  yield* expand(whole, 1, told);
}

/** Names given twice, told with the row of their resource. */
function tellTwice(json: string, value: unknown, row: number, { twice }: WhileReading): void {
  const isBundle = fieldsOf(value)?.resourceType === 'Bundle';
  for (const path of keysTwice(json)) {
    const [first, second] = path;
    if (typeof first === 'number') twice(String(second), first + 1);
    else if (!isBundle) twice(String(first), row);
    else if (first === 'entry' && typeof second === 'number')
      twice(path[2] === 'resource' && path.length > 3 ? String(path[3]) : 'Bundle.entry', second + 1);
    else twice('Bundle', row);
  }
}

function* expand(
  value: unknown,
  row: number,
  { identifying }: WhileReading,
): Generator<{ resource: unknown; row: number }> {
  const bundle = fieldsOf(value);
  if (Array.isArray(value)) for (const [at, resource] of value.entries()) yield { resource, row: at + 1 };
  else if (bundle?.resourceType === 'Bundle') {
    for (const name of Object.keys(bundle))
      if (!BUNDLE_ELEMENTS.includes(name))
        identifying(/^(?:identifier|timestamp|link|signature|meta)$/.test(name) ? `Bundle.${name}` : 'Bundle', row);
    for (const [at, item] of listOf(bundle.entry).entries()) {
      const { resource, fullUrl } = fieldsOf(item) ?? {};
      if (typeof fullUrl === 'string' && !fullUrl.startsWith('urn:')) identifying('Bundle.entry.fullUrl', at + 1);
      yield { resource, row: at + 1 };
    }
  } else yield { resource: value, row };
}

function parse(json: string): unknown {
  try {
    return JSON.parse(json) as unknown;
  } catch {
    return undefined;
  }
}

export function fieldsOf(value: unknown): Fields | undefined {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Fields) : undefined;
}

export function listOf(value: unknown): readonly unknown[] {
  return Array.isArray(value) ? value : [];
}
