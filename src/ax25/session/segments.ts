import type { LinkData } from './linkEvents.js'

/** PID of a segment. */
const pidSegment = 0x08

const firstBit = 0x80
const segmentsMax = 128

/**
 * Cuts what is too long for one I frame into segments; between stations of version 2.2 only. The first one begins with the PID
 * of the whole (from memory).
 * @param octetsMax octets of an information field: N1
 * @throws RangeError if it takes more than 128 segments
 * @see AX.25 v2.2, 6.6 and figure 6.2
 */
export function segment({ pid, payload }: LinkData, octetsMax: number): LinkData[] {
  const whole = Uint8Array.of(pid, ...payload)
  const perSegment = octetsMax - 1
  const count = Math.ceil(whole.length / perSegment)
  if (count > segmentsMax) throw new RangeError(`${count} segments, at most ${segmentsMax} go`)
  return Array.from({ length: count }, (_, index) => {
    const head = (index === 0 ? firstBit : 0) | (count - 1 - index)
    const part = whole.subarray(index * perSegment, (index + 1) * perSegment)
    return { pid: pidSegment, payload: Uint8Array.of(head, ...part) }
  })
}

/** Joins segments again. */
export interface Reassembler {
  /** @returns what is whole now: what came, where it is no segment; undefined for a part, and for what fits nothing */
  take(data: LinkData): LinkData | undefined
  /** segments that fitted nothing */
  readonly lostCount: number
}

export function reassembler(): Reassembler {
  let parts: Uint8Array[] = []
  let following = 0
  let lostCount = 0

  const lose = (count: number): undefined => {
    lostCount += count
    parts = []
    return undefined
  }

  return {
    take(data) {
      if (data.pid !== pidSegment) return data
      const [head, ...part] = data.payload
      if (head === undefined) return lose(1)
      const left = head & ~firstBit
      if ((head & firstBit) !== 0) {
        lose(parts.length)
      } else if (parts.length === 0 || left !== following - 1) return lose(parts.length + 1)
      following = left
      parts.push(Uint8Array.from(part))
      if (left > 0) return undefined
      const whole = parts.flatMap((one) => [...one])
      parts = []
      const [pid, ...payload] = whole
      return pid === undefined ? lose(1) : { pid, payload: Uint8Array.from(payload) }
    },
    get lostCount() {
      return lostCount
    },
  }
}
