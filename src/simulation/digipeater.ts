import { duplicateWindowMs, repeatPath } from '../aprs/path.js'
import { parseAddress } from '../ax25/address.js'
import { decodeFrame, encodeFrame } from '../ax25/frame.js'
import { copies, copyKey } from '../node/copies.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'

const repeatWithinMs = 10_000

/** Repeats what it hears, by the n-N rules of the reference's chapter 2, and each frame once. */
export function digipeater(options: {
  readonly port: Port
  readonly clock: Clock
  readonly call: string
}): { readonly repeatedCount: number } {
  const { port, clock } = options
  const parsed = parseAddress(options.call)
  if (!parsed.ok) throw new RangeError(parsed.reason)
  const own = parsed.value
  const seen = copies(duplicateWindowMs)
  let repeatedCount = 0

  port.onFrame(({ octets }) => {
    const decoded = decodeFrame(octets)
    if (!decoded.ok) return
    const { frame } = decoded
    const repeated = repeatPath(frame.path, own)
    if (!repeated.repeat) return
    const nowMs = clock.monotonicMs()
    if (seen.note(copyKey(frame), '', nowMs) !== undefined) return
    repeatedCount++
    port.send({
      id: `${options.call}/${repeatedCount}`,
      octets: encodeFrame({ ...frame, path: repeated.path }),
      priority: 'answer',
      notAfterMs: nowMs + repeatWithinMs,
      origin: 'node',
    })
  })
  return {
    get repeatedCount() {
      return repeatedCount
    },
  }
}
