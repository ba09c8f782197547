import { readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import ts from 'typescript'

/** What the comment at a key or a table of the schema says, and the keys inside a table. */
export interface KeyComment {
  readonly text: string
  /** a value as TOML, for a key without a default: `@example "/dev/ttyUSB0"` at the comment's end */
  readonly example?: string | undefined
  /** the key that this one can stand for: `@or everyMinutes` */
  readonly insteadOf?: string | undefined
  readonly inner: ReadonlyMap<string, KeyComment>
}

/** An expression, and the file that it stands in. */
interface Place {
  readonly node: ts.Expression
  readonly source: ts.SourceFile
}

/**
 * Reads the comments of a zod schema: each stands once, in the source, where whoever changes the key sees it.
 * @param file that exports the schema
 * @param name of the schema
 * @throws Error where the schema is written in a form that is not known here
 */
export function keyComments(file: string, name: string): KeyComment {
  const place = declared(name, sourceOf(file))
  return { text: place.comment, inner: innerOf(place) }
}

const sources = new Map<string, ts.SourceFile>()

function sourceOf(file: string): ts.SourceFile {
  const known = sources.get(file)
  if (known !== undefined) return known
  const text = readFileSync(file, 'utf8')
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true)
  sources.set(file, source)
  return source
}

/** The expression behind a name, in this file or in the one that it is imported from. */
function declared(name: string, source: ts.SourceFile): Place & { readonly comment: string } {
  for (const statement of source.statements) {
    if (ts.isVariableStatement(statement))
      for (const { name: own, initializer } of statement.declarationList.declarations)
        if (own.getText() === name && initializer !== undefined)
          return { node: initializer, source, comment: commentOf(statement, source) }
    if (ts.isImportDeclaration(statement) && ts.isStringLiteral(statement.moduleSpecifier)) {
      const names = statement.importClause?.namedBindings
      if (names === undefined || !ts.isNamedImports(names)) continue
      if (!names.elements.some((element) => element.name.text === name)) continue
      const from = statement.moduleSpecifier.text.replace(/\.js$/, '.ts')
      return declared(name, sourceOf(join(dirname(source.fileName), from)))
    }
  }
  throw new Error(`${source.fileName}: ${name} is declared nowhere`)
}

/** The keys of the table that a schema describes; none for a value. */
function innerOf({ node, source }: Place): Map<string, KeyComment> {
  if (ts.isIdentifier(node)) return innerOf(declared(node.text, source))
  if (ts.isAsExpression(node)) return innerOf({ node: node.expression, source })
  if (ts.isObjectLiteralExpression(node)) return keysOf(node, source)
  if (!ts.isCallExpression(node) || !ts.isPropertyAccessExpression(node.expression))
    return new Map()
  const { expression: owner, name } = node.expression
  const [first] = node.arguments
  // z.strictObject({ … }), z.array(item); whatever else is called on a schema changes no key of it.
  const isZod = ts.isIdentifier(owner) && owner.text === 'z'
  if (!isZod) return innerOf({ node: owner, source })
  const hasKeys = ['strictObject', 'object', 'array'].includes(name.text)
  return hasKeys && first !== undefined ? innerOf({ node: first, source }) : new Map()
}

function keysOf(
  literal: ts.ObjectLiteralExpression,
  source: ts.SourceFile,
): Map<string, KeyComment> {
  const keys = new Map<string, KeyComment>()
  for (const property of literal.properties) {
    if (ts.isSpreadAssignment(property)) {
      for (const [name, key] of innerOf({ node: property.expression, source })) keys.set(name, key)
    } else if (ts.isPropertyAssignment(property)) {
      const place = { node: property.initializer, source }
      const own = commentOf(property, source)
      const comment = own === '' ? commentBehind(place) : own
      keys.set(property.name.getText(), { ...parted(comment), inner: innerOf(place) })
    }
  }
  return keys
}

/** A key without a comment is a table, whose comment stands where it is declared. */
function commentBehind({ node, source }: Place): string {
  let inner: ts.Expression = node
  while (ts.isCallExpression(inner) && ts.isPropertyAccessExpression(inner.expression)) {
    const [first] = inner.arguments
    const isList = inner.expression.getText() === 'z.array' && first !== undefined
    inner = isList ? first : inner.expression.expression
  }
  return ts.isIdentifier(inner) && inner.text !== 'z' ? declared(inner.text, source).comment : ''
}

function commentOf(node: ts.Node, source: ts.SourceFile): string {
  const ranges = ts.getLeadingCommentRanges(source.text, node.pos) ?? []
  const last = ranges.map(({ pos, end }) => source.text.slice(pos, end)).at(-1) ?? ''
  if (!last.startsWith('/**')) return ''
  return last
    .slice(3, -2)
    .replaceAll(/\n\s*\*/g, ' ')
    .replaceAll(/\s+/g, ' ')
    .trim()
}

function parted(comment: string): Omit<KeyComment, 'inner'> {
  const [text = '', ...tags] = comment.split(/ ?@(?=(?:example|or) )/)
  const tag = (name: string): string | undefined =>
    tags.find((one) => one.startsWith(`${name} `))?.slice(name.length + 1)
  return { text: text.trim(), example: tag('example'), insteadOf: tag('or') }
}
