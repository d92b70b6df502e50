// The regions of a file: stretches of code that run as one (module, bodies, branches). Which tests reach which region decides
// which tests a fault is shown to.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';

export const FOLDERS = ['agreement', 'measurement-error', 'progression', 'models'];

/** The files of the four folders in a fixed order, with their source and the number of their first region. */
export function sourceFiles(root) {
  let first = 0;
  return FOLDERS.flatMap((folder) =>
    readdirSync(join(root, 'src', folder))
      .filter((name) => name.endsWith('.ts'))
      .sort()
      .map((name) => {
        const path = join(root, 'src', folder, name);
        const source = readFileSync(path, 'utf8');
        const regions = regionsOf(source);
        const file = { folder, name: `src/${folder}/${name}`, path, source, regions, first };
        first += regions.length;
        return file;
      }),
  );
}

function regionsOf(source) {
  const file = ts.createSourceFile('a.ts', source, ts.ScriptTarget.ES2022, true);
  const regions = [{ start: 0, end: source.length, form: 'module' }];
  const add = (node, form) => regions.push({ start: node.getStart(file), end: node.getEnd(), form });
  const branch = (node) => node && !ts.isIfStatement(node) && add(node, ts.isBlock(node) ? 'block' : 'statement');
  const visit = (node) => {
    if (ts.isFunctionLike(node) && node.body) add(node.body, ts.isBlock(node.body) ? 'block' : 'expression');
    if (ts.isIfStatement(node)) [node.thenStatement, node.elseStatement].forEach(branch);
    if (ts.isIterationStatement(node, false)) branch(node.statement);
    if (ts.isConditionalExpression(node)) [node.whenTrue, node.whenFalse].forEach((one) => add(one, 'expression'));
    ts.forEachChild(node, visit);
  };
  visit(file);
  return regions;
}

/** The region of a fault: the smallest around it. */
export const regionOf = ({ first, regions }, { start, end }) =>
  first +
  regions.reduce(
    (best, one, at) =>
      one.start <= start && end <= one.end && one.end - one.start <= regions[best].end - regions[best].start
        ? at
        : best,
    0,
  );

/** The source with a mark set at the entry of each region. */
export function marked({ source, regions, first }) {
  const put = regions.flatMap(({ start, end, form }, at) => {
    const mark = `__reached[${first + at}] = 1`;
    if (form === 'module') return [{ at: 0, text: `const __reached = globalThis.__reached ?? []; ${mark}; `, size: 0 }];
    const size = end - start;
    if (form === 'block') return [{ at: start + 1, text: ` ${mark}; `, size }];
    const [open, close] = form === 'statement' ? [`{ ${mark}; `, ' }'] : [`(${mark}, `, ')'];
    return [
      { at: start, text: open, size },
      { at: end, text: close, size, closes: true },
    ];
  });
  // At one place the outer opens first and the inner closes first.
  put.sort(
    (a, b) =>
      a.at - b.at ||
      Number(b.closes ?? false) - Number(a.closes ?? false) ||
      (a.closes ? a.size - b.size : b.size - a.size),
  );
  let text = '';
  let from = 0;
  for (const { at, text: piece } of put) {
    text += source.slice(from, at) + piece;
    from = at;
  }
  return text + source.slice(from);
}
