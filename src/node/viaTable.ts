import { duplicateWindowMs } from '../aprs/path.js'
import { setNewest } from '../runtime/setNewest.js'
import type { Heard } from './intake.js'

/** How each station's messages came lately, for the way back to it. */
export interface ViaTable {
  note(heard: Heard, nowMs: number): void
  /** digipeaters, first to last; undefined for a station that sent no message yet */
  find(call: string): readonly string[] | undefined
}

const stationsMax = 2_000

export function viaTable(): ViaTable {
  const byCall = new Map<string, { via: readonly string[]; atMs: number }>()
  return {
    note({ from, via }, nowMs) {
      // Of the copies of one message, the one with the fewest digipeaters counts.
      const known = byCall.get(from)
      if (known && nowMs - known.atMs < duplicateWindowMs && known.via.length < via.length) return
      setNewest(byCall, from, { via, atMs: nowMs }, stationsMax)
    },
    find: (call) => byCall.get(call)?.via,
  }
}
