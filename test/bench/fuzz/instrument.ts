// Compiles src/ anew with a counter in each arm of each branch, so that a fuzzer sees which arms an input takes.
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import ts from 'typescript'

const root = fileURLToPath(new URL('../../..', import.meta.url))
const output = join(root, 'dist/fuzz')
/** The name of the counters, which all instrumented files share. */
const counters = '__fuzzArms'

export interface Instrumented {
  /** one counter an arm; count up only */
  readonly arms: Uint16Array
  /** the source file of each arm, 'src/node/node.ts' */
  readonly fileOfArm: readonly string[]
  /** @param path of a source, 'src/node/node.ts' */
  load<Module>(path: string): Promise<Module>
}

export function instrument(): Instrumented {
  rmSync(output, { recursive: true, force: true })
  const fileOfArm: string[] = []
  for (const folder of ['src', 'dsp'])
    for (const path of sourcesIn(folder))
      compileFile(path, folder === 'src' ? fileOfArm : undefined)
  // an even number
  const arms = new Uint16Array(2 * Math.ceil(fileOfArm.length / 2))
  Object.assign(globalThis, { [counters]: arms })
  return {
    arms,
    fileOfArm,
    load: <Module>(path: string) =>
      import(pathToFileURL(join(output, path.replace(/\.ts$/, '.js'))).href) as Promise<Module>,
  }
}

function sourcesIn(folder: string): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts') && !file.endsWith('.d.ts'))
    .map((file) => join(folder, file))
}

function compileFile(path: string, fileOfArm: string[] | undefined): void {
  const nextArm = fileOfArm && ((): number => fileOfArm.push(path) - 1)
  const { outputText } = ts.transpileModule(readFileSync(join(root, path), 'utf8'), {
    compilerOptions: {
      target: ts.ScriptTarget.ES2022,
      module: ts.ModuleKind.ESNext,
      verbatimModuleSyntax: true,
    },
    transformers: nextArm === undefined ? {} : { before: [counting(nextArm)] },
  })
  const file = join(output, path.replace(/\.ts$/, '.js'))
  mkdirSync(dirname(file), { recursive: true })
  writeFileSync(file, outputText)
}

const { factory } = ts

/** Puts a counter at the begin of functions, of the arms of if, ?:, switch and loops, and of the right sides of && || ??. */
const counting =
  (nextArm: () => number): ts.TransformerFactory<ts.SourceFile> =>
  (context) => {
    const count = (): ts.Expression =>
      factory.createPostfixIncrement(
        factory.createElementAccessExpression(factory.createIdentifier(counters), nextArm()),
      )
    const inFront = (expression: ts.Expression): ts.Expression =>
      factory.createParenthesizedExpression(factory.createComma(count(), expression))
    const block = (statement: ts.Statement | undefined): ts.Block => {
      const inner =
        statement === undefined ? [] : ts.isBlock(statement) ? statement.statements : [statement]
      return factory.createBlock([factory.createExpressionStatement(count()), ...inner], true)
    }
    const visit = (node: ts.Node): ts.Node => counted(ts.visitEachChild(node, visit, context))
    const counted = (node: ts.Node): ts.Node => {
      if (ts.isIfStatement(node))
        return factory.updateIfStatement(
          node,
          node.expression,
          block(node.thenStatement),
          block(node.elseStatement),
        )
      if (ts.isConditionalExpression(node))
        return factory.updateConditionalExpression(
          node,
          ...([node.condition, node.questionToken, inFront(node.whenTrue)] as const),
          ...([node.colonToken, inFront(node.whenFalse)] as const),
        )
      if (ts.isBinaryExpression(node) && isLogical(node.operatorToken.kind))
        return factory.updateBinaryExpression(
          node,
          node.left,
          node.operatorToken,
          inFront(node.right),
        )
      if (ts.isCaseClause(node) || ts.isDefaultClause(node)) {
        const statements = [factory.createExpressionStatement(count()), ...node.statements]
        return ts.isCaseClause(node)
          ? factory.updateCaseClause(node, node.expression, statements)
          : factory.updateDefaultClause(node, statements)
      }
      if (ts.isArrowFunction(node) && !ts.isBlock(node.body))
        return factory.updateArrowFunction(
          node,
          ...([node.modifiers, node.typeParameters, node.parameters, node.type] as const),
          ...([node.equalsGreaterThanToken, inFront(node.body)] as const),
        )
      if (ts.isBlock(node) && isCounted(node)) return block(node)
      return node
    }
    return (file) => ts.visitNode(file, visit) as ts.SourceFile
  }

const isLogical = (kind: ts.SyntaxKind): boolean =>
  kind === ts.SyntaxKind.AmpersandAmpersandToken ||
  kind === ts.SyntaxKind.BarBarToken ||
  kind === ts.SyntaxKind.QuestionQuestionToken

/** Bodies of functions, loops and catch clauses; those of if are counted there. */
function isCounted(node: ts.Block): boolean {
  const parent = ts.getOriginalNode(node).parent
  return (
    parent !== undefined &&
    (ts.isFunctionLike(parent) ||
      ts.isIterationStatement(parent, false) ||
      ts.isCatchClause(parent))
  )
}
