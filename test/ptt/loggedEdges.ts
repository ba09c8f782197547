/** An edge of a key line, as src/ptt/edgeLog.ts writes it down. */
export interface LoggedEdge {
  readonly wallMs: number
  readonly monotonicMs: number
  readonly edge: 'keyed' | 'unkeyed'
  readonly note: string
}

/** Reads such a log back; lines that are none of it are left out. */
export function parseEdgeLog(text: string): LoggedEdge[] {
  const edges: LoggedEdge[] = []
  for (const line of text.split('\n')) {
    const match = /^(\S+Z) (\d+\.\d+) (keyed|unkeyed)(?: (.*))?$/.exec(line)
    if (match === null) continue
    edges.push({
      wallMs: Date.parse(match[1]!),
      monotonicMs: Number(match[2]),
      edge: match[3] as LoggedEdge['edge'],
      note: match[4] ?? '',
    })
  }
  return edges
}
