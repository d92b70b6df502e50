// @ts-check
// Writes the table at the end of DEVELOPERS.md: every value that the library exports, the file it lives in, and the
// first sentence of its docstring. usage: npm run list-statistics
import { readFileSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import ts from 'typescript';
import { root } from './set-up.mjs';

const HEADING = '## Where each statistic lives';

const page = join(root, 'DEVELOPERS.md');
const [before = ''] = readFileSync(page, 'utf8').split(HEADING);
const rows = exportedValues().map(({ name, file, meaning }) => `| \`${name}\` | \`${file}\` | ${meaning} |`);
writeFileSync(
  page,
  [`${before}${HEADING}`, '', '| name | file in `src` | meaning |', '|---|---|---|', ...rows, ''].join('\n'),
);

/** In the order of src/index.ts, which is the order of the folders by name. */
function exportedValues() {
  const configuration = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile).config;
  const { options } = ts.parseJsonConfigFileContent(configuration, ts.sys, root);
  const index = join(root, 'src/index.ts');
  const program = ts.createProgram([index], options);
  const checker = program.getTypeChecker();
  const file = program.getSourceFile(index);
  const library = file === undefined ? undefined : checker.getSymbolAtLocation(file);
  if (library === undefined) throw new Error('src/index.ts exports nothing.');
  return checker
    .getExportsOfModule(library)
    .map((symbol) => ({ name: symbol.name, origin: checker.getAliasedSymbol(symbol) }))
    .filter(({ origin }) => (origin.flags & ts.SymbolFlags.Value) !== 0)
    .map(({ name, origin }) => ({
      name,
      file: relative(join(root, 'src'), origin.valueDeclaration?.getSourceFile().fileName ?? '').replaceAll('\\', '/'),
      meaning: firstSentence(ts.displayPartsToString(origin.getDocumentationComment(checker))),
    }));
}

/** @param {string} text */
function firstSentence(text) {
  const [paragraph = ''] = text.split(/\n\s*\n/);
  const words = paragraph.replace(/\s+/g, ' ').trim();
  return (/^.*?\.(?= [A-Z"'(]|$)/.exec(words)?.[0] ?? words).replaceAll('|', '\\|');
}
