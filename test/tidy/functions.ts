import ts from 'typescript'
import type { SourceFile } from './sources.js'

export const functionLinesMax = 90

/**
 * Functions that are longer, each with its length of today: most are closures of small functions over one state. None may
 * grow, none may join them; who splits one takes it off.
 */
export const longFunctions: Readonly<Record<string, number>> = {
  'dsp/modem/frontEnd/impulseLimiter.ts: createImpulseLimiter': 119,
  'dsp/modem/receiver.ts: createListeningReceiver': 99,
  'dsp/modem/sequence/phaseStep.ts: createPhaseStepEstimator': 108,
  'dsp/modem/sequence/search.ts: createSequenceSearch': 117,
  'dsp/modem/sequence/timing.ts: createSequenceTiming': 154,
}

export interface FunctionLength {
  /** 'src/node/mail.ts: mail' */
  readonly name: string
  readonly lines: number
}

/** Every function of a file with a body, however deep. */
export function functionLengths({ path, text }: SourceFile): FunctionLength[] {
  const file = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true)
  const lineOf = (position: number): number => file.getLineAndCharacterOfPosition(position).line
  const found: FunctionLength[] = []
  const visit = (node: ts.Node): void => {
    if (ts.isFunctionLike(node) && 'body' in node && node.body !== undefined) {
      const named =
        node.name ?? (ts.isVariableDeclaration(node.parent) ? node.parent.name : undefined)
      const lines = lineOf(node.end) - lineOf(node.getStart(file)) + 1
      found.push({ name: `${path}: ${named?.getText(file) ?? 'a function'}`, lines })
    }
    ts.forEachChild(node, visit)
  }
  visit(file)
  return found
}
