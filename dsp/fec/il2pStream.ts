import { encodeIl2p, il2pCrcOctets, il2pOctetCount, il2pSyncWord } from './il2p.js'

export interface Il2pStreamOptions {
  /** each without FCS */
  readonly frames: readonly Uint8Array[]
  /** alternating octets before the first sync word and after the last frame */
  readonly leadingOctets: number
  readonly trailingOctets: number
  /** a CRC after each frame */
  readonly hasCrc: boolean
}

/**
 * A transmission of IL2P as line levels, 1 mark: there is no NRZI.
 * @returns undefined where a frame is too long for it
 */
export function il2pLevels(options: Il2pStreamOptions): Uint8Array | undefined {
  const octets: number[] = []
  const alternate = (count: number): void => {
    for (let at = 0; at < count; at++) octets.push(0x55)
  }
  alternate(options.leadingOctets)
  for (const frame of options.frames) {
    const coded = encodeIl2p(frame)
    if (coded === undefined) return undefined
    octets.push(...il2pSyncWord, ...(options.hasCrc ? coded : coded.subarray(0, -il2pCrcOctets)))
  }
  alternate(options.trailingOctets)
  return Uint8Array.from(
    { length: 8 * octets.length },
    (_, at) => (octets[at >> 3]! >> (7 - (at & 7))) & 1,
  )
}

/** How many they are, without making them. */
export function il2pLevelCount(options: Il2pStreamOptions): number | undefined {
  let octetCount = options.leadingOctets + options.trailingOctets
  for (const frame of options.frames) {
    const own = il2pOctetCount(frame)
    if (own === undefined) return undefined
    octetCount += il2pSyncWord.length + own - (options.hasCrc ? 0 : il2pCrcOctets)
  }
  return 8 * octetCount
}
