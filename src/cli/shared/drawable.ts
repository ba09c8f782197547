import type { Edges } from '../../devices/edges.js'

/**
 * Whether a picture may be drawn over itself there: on a terminal that can, and not where somebody listens to its lines.
 * A terminal that calls itself dumb, or does not say what it is, gets plain lines.
 */
export const isDrawable = (
  stream: Edges['stdout'],
  { TERM }: NodeJS.ProcessEnv,
  plot = true,
): boolean => plot && stream.isTTY === true && TERM !== undefined && TERM !== 'dumb'
