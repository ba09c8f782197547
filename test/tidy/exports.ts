import { posix } from 'node:path'
import ts from 'typescript'
import type { SourceFile } from './sources.js'

/** An exported name: 'src/radio/port.ts: priorities'. */
const nameIn = (path: string, name: string): string => `${path}: ${name}`

interface Exported {
  readonly path: string
  readonly name: string
  /** an interface or a type: it belongs to the signatures of its file */
  readonly isType: boolean
  readonly isUsedInOwnFile: boolean
}

/**
 * Exports that the program has no use for, a line each: what nothing imports and its own file does not use either (dead, or
 * there for tests alone), and what only its own file uses and no test looks at (it needs no export).
 * @param program files of src/ and dsp/
 * @param tests files of test/
 */
export function idleExports(
  program: readonly SourceFile[],
  tests: readonly SourceFile[],
): { readonly name: string; readonly why: string }[] {
  const used = new Set(program.flatMap(importsOf))
  const tested = new Set(tests.flatMap(importsOf))
  return program.flatMap(exportsOf).flatMap(({ path, name, isType, isUsedInOwnFile }) => {
    const isIn = (names: ReadonlySet<string>): boolean =>
      names.has(nameIn(path, name)) || names.has(nameIn(path, '*'))
    if (isIn(used)) return []
    if (!isUsedInOwnFile)
      return [
        { name: nameIn(path, name), why: isIn(tested) ? 'only tests use it' : 'nothing uses it' },
      ]
    if (isType || isIn(tested)) return []
    return [{ name: nameIn(path, name), why: 'only its own file uses it: it needs no export' }]
  })
}

/** Names that a file imports or passes on; '*' for all of a file's, as a dynamic import has them. */
function importsOf({ path, text }: SourceFile): string[] {
  const names: string[] = []
  const from = (specifier: ts.Expression | undefined): string | undefined => {
    if (specifier === undefined || !ts.isStringLiteral(specifier)) return undefined
    if (!specifier.text.startsWith('.')) return undefined
    return posix.join(posix.dirname(path), specifier.text).replace(/\.js$/, '.ts')
  }
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) {
      const file = from(node.moduleSpecifier)
      const bindings = ts.isImportDeclaration(node)
        ? node.importClause?.namedBindings
        : node.exportClause
      if (file !== undefined && bindings !== undefined) names.push(...namesOf(bindings, file))
    } else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
      const file = from(node.arguments[0])
      if (file !== undefined) names.push(nameIn(file, '*'))
    }
    ts.forEachChild(node, visit)
  }
  visit(treeOf(path, text))
  return names
}

function namesOf(
  bindings: ts.NamedImportBindings | ts.NamedExportBindings,
  file: string,
): string[] {
  if (!ts.isNamedImports(bindings) && !ts.isNamedExports(bindings)) return [nameIn(file, '*')]
  return bindings.elements.map(({ name, propertyName }) =>
    nameIn(file, (propertyName ?? name).text),
  )
}

function exportsOf({ path, text }: SourceFile): Exported[] {
  const tree = treeOf(path, text)
  const uses = new Map<string, number>()
  const visit = (node: ts.Node): void => {
    if (ts.isIdentifier(node)) uses.set(node.text, (uses.get(node.text) ?? 0) + 1)
    ts.forEachChild(node, visit)
  }
  visit(tree)
  return tree.statements.filter(isExported).flatMap((statement) => {
    const isType = ts.isInterfaceDeclaration(statement) || ts.isTypeAliasDeclaration(statement)
    return declaredNames(statement).map((name) => ({
      ...{ path, name, isType },
      isUsedInOwnFile: (uses.get(name) ?? 0) > 1,
    }))
  })
}

const treeOf = (path: string, text: string): ts.SourceFile =>
  ts.createSourceFile(path, text, ts.ScriptTarget.Latest)

const isExported = (statement: ts.Statement): boolean =>
  ts.canHaveModifiers(statement) &&
  (ts.getModifiers(statement) ?? []).some(({ kind }) => kind === ts.SyntaxKind.ExportKeyword)

function declaredNames(statement: ts.Statement): string[] {
  if (ts.isVariableStatement(statement))
    return statement.declarationList.declarations.flatMap(({ name }) =>
      ts.isIdentifier(name) ? [name.text] : [],
    )
  const { name } = statement as ts.Statement & { readonly name?: ts.Identifier }
  return name === undefined ? [] : [name.text]
}
