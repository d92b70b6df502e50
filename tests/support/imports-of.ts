import ts from 'typescript';

/** One place where a source text asks for another module. */
export interface ImportedModule {
  /** What stands between the quotes; `undefined` where the address is computed and cannot be read. */
  readonly address: string | undefined;
  /** Loaded with the importing file itself, so neither `import()` nor types alone. */
  readonly atLoad: boolean;
  readonly line: number;
}

/**
 * Every module that a TypeScript text imports, in any form: static, side-effect, re-export, type-only, dynamic,
 * `require`, `import x = require`, `import('x').T`, a reference comment or an augmentation.
 */
export function importsOf(text: string): readonly ImportedModule[] {
  const file = ts.createSourceFile('file.ts', text, ts.ScriptTarget.Latest, true);
  const found: ImportedModule[] = [];
  const note = (node: ts.Node, address: ts.Node | undefined, atLoad: boolean) => {
    found.push({
      address: address !== undefined && ts.isStringLiteralLike(address) ? address.text : undefined,
      atLoad,
      line: file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1,
    });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node)) {
      note(node, node.moduleSpecifier, node.importClause?.phaseModifier !== ts.SyntaxKind.TypeKeyword);
    } else if (ts.isExportDeclaration(node) && node.moduleSpecifier !== undefined) {
      note(node, node.moduleSpecifier, !node.isTypeOnly);
    } else if (ts.isImportEqualsDeclaration(node) && ts.isExternalModuleReference(node.moduleReference)) {
      note(node, node.moduleReference.expression, !node.isTypeOnly);
    } else if (ts.isImportTypeNode(node)) {
      note(node, ts.isLiteralTypeNode(node.argument) ? node.argument.literal : undefined, false);
    } else if (ts.isCallExpression(node) && isLoader(node.expression)) {
      note(node, node.arguments[0], node.expression.kind !== ts.SyntaxKind.ImportKeyword);
    } else if (ts.isModuleDeclaration(node) && ts.isStringLiteral(node.name)) {
      note(node, node.name, false);
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  for (const reference of file.referencedFiles) {
    const { line } = file.getLineAndCharacterOfPosition(reference.pos);
    found.push({ address: reference.fileName, atLoad: false, line: line + 1 });
  }
  return found;
}

function isLoader(callee: ts.Expression): boolean {
  return callee.kind === ts.SyntaxKind.ImportKeyword || (ts.isIdentifier(callee) && callee.text === 'require');
}
