import type { Clock } from '../runtime/clock.js'

/** A wait that can be cut short; settles once either way. */
export interface Wait {
  readonly over: Promise<void>
  cut(): void
}

export function waitUntil(clock: Clock, atMonotonicMs: number): Wait {
  let cut = (): void => {}
  const over = new Promise<void>((resolve) => {
    const cancel = clock.at(atMonotonicMs, resolve)
    cut = () => {
      cancel()
      resolve()
    }
  })
  return { over, cut }
}

export const durationMs = (sampleCount: number, sampleRateHz: number): number =>
  (sampleCount * 1000) / sampleRateHz

/** A second play() before the first settled is a mistake of the caller. */
export function refuseSecondPlay(name: string, playing: boolean): void {
  if (playing) throw new RangeError(`${name}: asked to play while it plays`)
}
