import { createInterface } from 'node:readline'
import type { Edges } from '../../devices/edges.js'

/** Puts a question on standard error and takes a line of standard input; anything but a yes, and no line at all, is a no. */
export async function confirm(edges: Edges, question: string): Promise<boolean> {
  edges.stderr.write(`${question} [y/N] `)
  const lines = createInterface({ input: edges.stdin, terminal: false })
  try {
    for await (const line of lines) return /^\s*(y|yes)\s*$/i.test(line)
    return false
  } finally {
    lines.close()
    edges.stderr.write('\n')
  }
}
