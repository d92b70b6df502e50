// Whether a planted fault still compiles: what the compiler refuses needs no test and is not drawn.
import { join } from 'node:path';
import ts from 'typescript';

// Names, imports and code that nobody uses any more do not keep a program from running.
const HARMLESS = new Set([6133, 6138, 6192, 6196, 6198, 7027]);

/** `compiles(path, text)`: whether the file at `path` has no error of type with `text` in place of its own. */
export function typeChecker(root) {
  const { config } = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile);
  const { options, fileNames } = ts.parseJsonConfigFileContent(config, ts.sys, root);
  const changed = { path: '', text: '', version: 0 };
  const service = ts.createLanguageService(
    {
      getCompilationSettings: () => ({ ...options, noEmit: true }),
      getScriptFileNames: () => fileNames,
      getScriptVersion: (path) => (path === changed.path ? String(changed.version) : '0'),
      getScriptSnapshot: (path) => {
        const text = path === changed.path ? changed.text : ts.sys.readFile(path);
        return text === undefined ? undefined : ts.ScriptSnapshot.fromString(text);
      },
      getCurrentDirectory: () => root,
      getDefaultLibFileName: ts.getDefaultLibFilePath,
      fileExists: ts.sys.fileExists,
      readFile: ts.sys.readFile,
      readDirectory: ts.sys.readDirectory,
      directoryExists: ts.sys.directoryExists,
      getDirectories: ts.sys.getDirectories,
    },
    ts.createDocumentRegistry(),
  );
  return (path, text) => {
    Object.assign(changed, { path, text, version: changed.version + 1 });
    if (service.getSyntacticDiagnostics(path).length > 0) return false;
    return service.getSemanticDiagnostics(path).every(({ code }) => HARMLESS.has(code));
  };
}
