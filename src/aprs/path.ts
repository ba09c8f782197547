import { type Address, type PathEntry, sameAddress } from '../ax25/address.js'
import { digipeaterCountMax } from '../ax25/frame.js'

/*
 * Paths and the rules by which digipeaters use them (ch. 2 with the n-N paradigm).
 */

/** What a digipeater does with a frame. */
export type Repeat =
  | { readonly repeat: true; readonly path: readonly PathEntry[] }
  | { readonly repeat: false; readonly reason: string }

/**
 * The path with which a digipeater repeats a frame: it looks at the first unused address only,
 * answers to its own call, and to aliases WIDEn-N, which it counts down. Where counting down would
 * need a ninth address, it takes the place of the alias (the text gives no rule).
 */
export function repeatPath(path: readonly PathEntry[], own: Address): Repeat {
  const at = path.findIndex((entry) => !entry.repeated)
  const next = path[at]
  if (next === undefined) return { repeat: false, reason: 'no unused digipeater in the path' }
  const mine: PathEntry = { address: own, repeated: true }
  // All before the first unused address have repeated; one frame in it goes on being so.
  const before = path.slice(0, at)
  const after = path.slice(at + 1)
  if (sameAddress(next.address, own)) {
    return { repeat: true, path: [...before, mine, ...after] }
  }
  const hops = hopsLeft(next.address)
  if (hops === undefined) return { repeat: false, reason: 'the next digipeater is another one' }
  if (hops === 0) return { repeat: false, reason: 'the alias is used up' }
  if (hops === 1 || path.length >= digipeaterCountMax) {
    return { repeat: true, path: [...before, mine, ...after] }
  }
  const counted = { address: { ...next.address, ssid: next.address.ssid - 1 }, repeated: false }
  return { repeat: true, path: [...before, mine, counted, ...after] }
}

/** N of an alias WIDEn-N; undefined for any other address. */
function hopsLeft(address: Address): number | undefined {
  return /^WIDE[1-7]$/.test(address.call) ? address.ssid : undefined
}

/** How many digipeaters a path asks for in all, used and unused (WIDE2-2 counts two). */
export function hopCount(path: readonly PathEntry[]): number {
  return path.reduce((sum, { address, repeated }) => {
    const hops = hopsLeft(address)
    if (hops === undefined) return sum + 1
    return sum + (repeated ? 0 : hops)
  }, 0)
}

/**
 * How often a station may send its position, in minutes, by the digipeaters that its path asks for
 * (ch. 2).
 */
export function netCycleMinutes(path: readonly PathEntry[]): number {
  const hops = hopCount(path)
  if (hops < 2) return 10
  return hops === 2 ? 20 : 30
}

/** Two copies of a packet, whatever their paths, within this time are one (ch. 2: about 28 s). */
export const duplicateWindowMs = 28_000
