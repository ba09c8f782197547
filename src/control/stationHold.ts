import type { Cancel, Clock } from '../runtime/clock.js'
import type { KeptHold } from './controlFile.js'

/** Between a command and the hold: time for its acknowledgement and its answer to go out. */
export const confirmMs = 8_000

export interface StationHoldOptions {
  readonly clock: Clock
  /** holds every radio, and lets go of every radio */
  readonly hold: (reason: string) => void
  readonly release: () => void
  /** keeps the hold over restarts; @returns whether it is on the disk */
  readonly keep: (hold: KeptHold | undefined) => boolean
  /** what a former run kept */
  readonly kept: KeptHold | undefined
}

/** The control operator's own hold of the whole station. It holds beside all others and releases only itself. */
export interface StationHold {
  /**
   * Holds soon, once the answer had time to go out.
   * @param durationMs undefined until it is released
   * @returns whether it will be there after a restart
   */
  begin(by: string, durationMs: number | undefined): boolean
  /** @returns false when the disk still has the hold: it would be back after a restart */
  end(): boolean
  readonly holding: boolean
  close(): void
}

/**
 * A hold with a time ends by itself; one without survives restarts until it is released. After a restart a hold with a time
 * begins its time anew: the station may not know how long it was off.
 */
export function createStationHold(options: StationHoldOptions): StationHold {
  const { clock } = options
  let holding = false
  let cancelBegin: Cancel | undefined
  let cancelEnd: Cancel | undefined

  const stopWaiting = (): void => {
    cancelBegin?.()
    cancelEnd?.()
    cancelBegin = undefined
    cancelEnd = undefined
  }
  const end = (): boolean => {
    stopWaiting()
    holding = false
    options.release()
    return options.keep(undefined)
  }
  const start = (by: string, durationMs: number | undefined): void => {
    holding = true
    options.hold(`${by} by radio`)
    if (durationMs !== undefined) cancelEnd = clock.at(clock.monotonicMs() + durationMs, end)
  }

  if (options.kept !== undefined) start(options.kept.by, options.kept.durationMs)
  return {
    begin(by, durationMs) {
      stopWaiting()
      const isKept = options.keep({ by, durationMs })
      if (holding) start(by, durationMs)
      else cancelBegin = clock.at(clock.monotonicMs() + confirmMs, () => start(by, durationMs))
      return isKept
    },
    end,
    get holding() {
      return holding || cancelBegin !== undefined
    },
    close: stopWaiting,
  }
}
