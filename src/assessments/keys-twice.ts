/** Where a name stands in JSON: names of objects and places in lists, from the outside in. */
export type JsonPath = readonly (string | number)[];

interface Open {
  /** The names so far of an object; absent for a list. */
  readonly names?: Set<string>;
  /** The name, or the place in the list, of what comes next. */
  at: string | number;
}

const [QUOTE, BACKSLASH, OPEN_BRACE, CLOSE_BRACE, OPEN_BRACKET, CLOSE_BRACKET, COLON, COMMA] = [...'"\\{}[]:,'].map(
  (sign) => sign.charCodeAt(0),
) as [number, number, number, number, number, number, number, number];

/**
 * The names that an object in a JSON text gives twice, each with where it stands. `JSON.parse` keeps the last value of such a name and says nothing, so the text has to be looked
 * through; it must be one that `JSON.parse` has taken.
 *
 * @example keysTwice('{"a": [{"b": 1, "b": 2}]}') // [['a', 0, 'b']]
 */
export function keysTwice(json: string): readonly JsonPath[] {
  const found: JsonPath[] = [];
  const open: Open[] = [];
  for (let at = 0; at < json.length; at++) {
    const inner = open.at(-1);
    switch (json.charCodeAt(at)) {
      case QUOTE: {
        const start = at++;
        while (json.charCodeAt(at) !== QUOTE) at += json.charCodeAt(at) === BACKSLASH ? 2 : 1;
        if (inner?.names === undefined || !isName(json, at + 1)) break;
        const name = JSON.parse(json.slice(start, at + 1)) as string;
        inner.at = name;
        if (inner.names.has(name)) found.push(open.map((each) => each.at));
        inner.names.add(name);
        break;
      }
      case OPEN_BRACE:
        open.push({ names: new Set(), at: '' });
        break;
      case OPEN_BRACKET:
        open.push({ at: 0 });
        break;
      case CLOSE_BRACE:
      case CLOSE_BRACKET:
        open.pop();
        break;
      case COMMA:
        if (inner !== undefined && typeof inner.at === 'number') inner.at++;
    }
  }
  return found;
}

/** Whether what ended before `at` is a name: a colon comes next. */
function isName(json: string, at: number): boolean {
  let next = at;
  while (/\s/.test(json.charAt(next))) next++;
  return json.charCodeAt(next) === COLON;
}
