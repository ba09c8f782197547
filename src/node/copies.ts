import { formatAddress } from '../ax25/address.js'
import type { Ax25Frame } from '../ax25/frame.js'
import { setNewest } from '../runtime/setNewest.js'

/** What makes two frames the same whatever way they came: sender, destination and payload (28 s rule of digipeaters). */
export function copyKey({ source, destination, payload }: Ax25Frame): string {
  const text = Buffer.from(payload).toString('latin1')
  return `${formatAddress(source)}>${formatAddress(destination)}:${text}`
}

/** What is known of a frame that was heard before. */
export interface Copy {
  readonly firstMs: number
  readonly count: number
  /** heard before with exactly this path: the sender sent it again, or a digipeater that repeats itself */
  readonly samePath: boolean
}

/** Recognises the same frame heard again, within a time and however it came. */
export interface Copies {
  /** Notes a hearing; undefined for the first one. */
  note(key: string, path: string, nowMs: number): Copy | undefined
}

interface Entry {
  firstMs: number
  count: number
  paths: Set<string>
}

/** @param keysMax the key first heard longest ago is forgotten beyond it */
export function copies(windowMs: number, keysMax = 2_000): Copies {
  const entries = new Map<string, Entry>()
  return {
    note(key, path, nowMs) {
      const entry = entries.get(key)
      if (entry === undefined || nowMs - entry.firstMs > windowMs) {
        setNewest(entries, key, { firstMs: nowMs, count: 1, paths: new Set([path]) }, keysMax)
        return undefined
      }
      entry.count++
      const samePath = entry.paths.has(path)
      entry.paths.add(path)
      return { firstMs: entry.firstMs, count: entry.count, samePath }
    },
  }
}
