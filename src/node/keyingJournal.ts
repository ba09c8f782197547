import type { RadioEvent } from '../radio/radioEvent.js'
import type { Store } from '../store/store.js'

/** Keeps when each radio's key line was on, as its events tell. */
export function keyingJournal({ keyings }: Pick<Store, 'keyings'>): (event: RadioEvent) => void {
  const keyed = new Map<number, RadioEvent>()
  return (event) => {
    const { kind, radio, atMs } = event
    if (kind === 'keyed') keyed.set(radio, event)
    const begun = kind === 'unkeyed' ? keyed.get(radio) : undefined
    if (begun === undefined) return
    keyed.delete(radio)
    keyings.add({ atWallMs: begun.atWallMs, radio, durationMs: Math.max(0, atMs - begun.atMs) })
  }
}
