import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'

/** A frame in a line of a trace. */
export function frameText(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  return decoded.ok ? formatLine(decoded.frame) : `${octets.length} octets`
}
