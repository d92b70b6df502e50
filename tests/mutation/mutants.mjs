// Faults that a program can plant in a TypeScript file: what may be exchanged for what, and where.
// Texts are left alone: nothing inside a string, a template (`${…}` included), a type, an import or a thrown refusal is changed.
import ts from 'typescript';

const EXCHANGED = new Map([
  [ts.SyntaxKind.PlusToken, ['-']],
  [ts.SyntaxKind.MinusToken, ['+']],
  [ts.SyntaxKind.AsteriskToken, ['/']],
  [ts.SyntaxKind.SlashToken, ['*']],
  [ts.SyntaxKind.PercentToken, ['*']],
  [ts.SyntaxKind.AsteriskAsteriskToken, ['*']],
  [ts.SyntaxKind.LessThanToken, ['<=', '>=']],
  [ts.SyntaxKind.LessThanEqualsToken, ['<', '>']],
  [ts.SyntaxKind.GreaterThanToken, ['>=', '<=']],
  [ts.SyntaxKind.GreaterThanEqualsToken, ['>', '<']],
  [ts.SyntaxKind.EqualsEqualsEqualsToken, ['!==']],
  [ts.SyntaxKind.ExclamationEqualsEqualsToken, ['===']],
  [ts.SyntaxKind.AmpersandAmpersandToken, ['||']],
  [ts.SyntaxKind.BarBarToken, ['&&']],
  [ts.SyntaxKind.PlusEqualsToken, ['-=']],
  [ts.SyntaxKind.MinusEqualsToken, ['+=']],
  [ts.SyntaxKind.AsteriskEqualsToken, ['/=']],
  [ts.SyntaxKind.SlashEqualsToken, ['*=']],
]);
const MATH = { min: 'max', max: 'min', floor: 'ceil', ceil: 'floor' };
const DROPPED_MATH = new Set(['abs', 'sqrt', 'exp', 'log', 'round']);
const METHODS = {
  some: 'every',
  every: 'some',
  push: 'unshift',
  unshift: 'push',
  indexOf: 'lastIndexOf',
  lastIndexOf: 'indexOf',
};
const DROPPED_METHODS = new Set(['filter', 'slice', 'sort', 'reverse', 'toSorted', 'toReversed', 'concat']);

/** Every fault of one file: `{ kind, start, end, text }`, places counted in characters of the source. */
export function mutantsOf(source) {
  const file = ts.createSourceFile('a.ts', source, ts.ScriptTarget.ES2022, true);
  const mutants = [];
  const add = (kind, node, text) => mutants.push({ kind, start: node.getStart(file), end: node.getEnd(), text });
  const visit = (node) => {
    if (isText(node)) return;
    if (ts.isBinaryExpression(node)) {
      const token = node.operatorToken;
      for (const text of EXCHANGED.get(token.kind) ?? []) add(kindOf(token.kind), token, text);
      if (token.kind === ts.SyntaxKind.QuestionQuestionToken) add('logical', node, node.left.getText(file));
    } else if (ts.isPrefixUnaryExpression(node)) {
      const { operator, operand } = node;
      if (operator === ts.SyntaxKind.MinusToken || operator === ts.SyntaxKind.ExclamationToken)
        add(operator === ts.SyntaxKind.MinusToken ? 'arithmetic' : 'condition', node, operand.getText(file));
      if (operator === ts.SyntaxKind.PlusPlusToken) add('arithmetic', node, `--${operand.getText(file)}`);
      if (operator === ts.SyntaxKind.MinusMinusToken) add('arithmetic', node, `++${operand.getText(file)}`);
    } else if (ts.isPostfixUnaryExpression(node)) {
      const other = node.operator === ts.SyntaxKind.PlusPlusToken ? '--' : '++';
      add('arithmetic', node, `${node.operand.getText(file)}${other}`);
    } else if (ts.isNumericLiteral(node)) constants(node);
    else if (node.kind === ts.SyntaxKind.TrueKeyword) add('constant', node, 'false');
    else if (node.kind === ts.SyntaxKind.FalseKeyword) add('constant', node, 'true');
    else if (ts.isIfStatement(node) || ts.isWhileStatement(node) || ts.isDoStatement(node))
      add('condition', node.expression, `!(${node.expression.getText(file)})`);
    else if (ts.isConditionalExpression(node)) add('condition', node.condition, `!(${node.condition.getText(file)})`);
    else if (ts.isCallExpression(node)) calls(node);
    removals(node);
    ts.forEachChild(node, visit);
  };
  const constants = (node) => {
    const value = Number(node.text.replaceAll('_', ''));
    if (Number.isInteger(value)) {
      add('constant', node, String(value + 1));
      if (value > 0) add('constant', node, String(value - 1));
    } else {
      add('constant', node, String(value * 1.5));
      add('constant', node, String(value * 0.5));
    }
  };
  const calls = (node) => {
    const called = node.expression;
    if (!ts.isPropertyAccessExpression(called)) return;
    const name = called.name.text;
    const object = called.expression.getText(file);
    if (object === 'Math') {
      if (Object.hasOwn(MATH, name)) add('call', called.name, MATH[name]);
      else if (DROPPED_MATH.has(name)) add('call', called, '');
    } else if (Object.hasOwn(METHODS, name)) add('call', called.name, METHODS[name]);
    else if (DROPPED_METHODS.has(name)) add('call', node, object);
  };
  const removals = (node) => {
    if (ts.isExpressionStatement(node) && !isHook(node, file)) add('removal', node, ';');
    else if (ts.isReturnStatement(node) && node.expression === undefined) add('removal', node, ';');
    else if (ts.isBreakStatement(node) || ts.isContinueStatement(node)) add('removal', node, ';');
    else if (ts.isThrowStatement(node)) add('removal', node, ';');
  };
  visit(file);
  return mutants;
}

const isText = (node) =>
  ts.isTypeNode(node) ||
  ts.isTypeAliasDeclaration(node) ||
  ts.isInterfaceDeclaration(node) ||
  ts.isImportDeclaration(node) ||
  ts.isExportDeclaration(node) ||
  ts.isTemplateExpression(node) ||
  ts.isStringLiteralLike(node) ||
  (ts.isNewExpression(node) && ts.isThrowStatement(node.parent));

const isHook = (node, file) => node.getText(file).startsWith('super(');

const kindOf = (token) =>
  [
    ts.SyntaxKind.LessThanToken,
    ts.SyntaxKind.LessThanEqualsToken,
    ts.SyntaxKind.GreaterThanToken,
    ts.SyntaxKind.GreaterThanEqualsToken,
    ts.SyntaxKind.EqualsEqualsEqualsToken,
    ts.SyntaxKind.ExclamationEqualsEqualsToken,
  ].includes(token)
    ? 'comparison'
    : token === ts.SyntaxKind.AmpersandAmpersandToken || token === ts.SyntaxKind.BarBarToken
      ? 'logical'
      : 'arithmetic';

export const planted = (source, { start, end, text }) => source.slice(0, start) + text + source.slice(end);
