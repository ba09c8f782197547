import { type Address, formatAddress, parseAddress, sameAddress } from '../ax25/address.js'
import { type Ax25Frame, decodeFrame, digipeaterCountMax, encodeFrame } from '../ax25/frame.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'

/** Same frame, path left out, within so long: not repeated again (APRS reference, chapter 2). */
const copyWindowMs = 28_000
const repeatWithinMs = 10_000

/** Repeats what it hears, by the n-N rules of the reference's chapter 2. */
export function digipeater(options: {
  readonly port: Port
  readonly clock: Clock
  readonly call: string
}): { readonly repeatedCount: number } {
  const { port, clock } = options
  const parsed = parseAddress(options.call)
  if (!parsed.ok) throw new RangeError(parsed.reason)
  const own = parsed.value
  const seen = new Map<string, number>()
  let repeatedCount = 0

  port.onFrame(({ octets }) => {
    const decoded = decodeFrame(octets)
    if (!decoded.ok) return
    const { frame } = decoded
    const repeated = repeatedPath(frame, own)
    if (repeated === undefined) return
    const nowMs = clock.monotonicMs()
    const key = `${formatAddress(frame.source)}>${formatAddress(frame.destination)}:${Buffer.from(frame.payload).toString('latin1')}`
    if (nowMs - (seen.get(key) ?? -copyWindowMs) < copyWindowMs) return
    for (const [old, atMs] of seen) if (nowMs - atMs >= copyWindowMs) seen.delete(old)
    seen.set(key, nowMs)
    repeatedCount++
    port.send({
      id: `${options.call}/${repeatedCount}`,
      octets: encodeFrame({ ...frame, path: repeated }),
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

/** The path after repeating; undefined when the frame is not to be repeated here. */
export function repeatedPath(frame: Ax25Frame, own: Address): Ax25Frame['path'] | undefined {
  const index = frame.path.findIndex(({ repeated }) => !repeated)
  const next = frame.path[index]
  if (next === undefined) return undefined
  const before = frame.path.slice(0, index)
  const after = frame.path.slice(index + 1)
  const mine = { address: own, repeated: true }
  if (sameAddress(next.address, own)) return [...before, mine, ...after]
  const alias = /^WIDE([1-7])$/.exec(next.address.call)
  const left = next.address.ssid
  if (alias === null || left === 0 || left > Number(alias[1])) return undefined
  if (left === 1) return [...before, mine, ...after]
  if (frame.path.length >= digipeaterCountMax) return undefined
  const lowered = { address: { ...next.address, ssid: left - 1 }, repeated: false }
  return [...before, mine, lowered, ...after]
}
