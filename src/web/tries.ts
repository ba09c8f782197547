import type { Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'

/** Whether a password may be tried now. */
export type Leave = { readonly ok: true } | { readonly ok: false; readonly waitS: number }

/** Keeps guessing slow: few tries for each address, one at a time, and a growing pause for everybody. */
export interface Tries {
  /** Runs `check` in its turn. @returns its verdict, or how long to wait */
  take(address: string, check: () => Promise<boolean>): Promise<boolean | Leave>
}

const windowMs = 15 * 60_000
const perAddress = 5
const addressesMax = 500
const waitingMax = 4
const pauseMs = { first: 100, max: 4000 }

export function createTries(clock: Clock): Tries {
  /** moments of the latest failures, by address */
  const failed = new Map<string, number[]>()
  let lately: number[] = []
  let waiting = 0
  let turn: Promise<unknown> = Promise.resolve()

  const within = (moments: readonly number[]): number[] =>
    moments.filter((atMs) => clock.monotonicMs() - atMs < windowMs)
  const pause = (ms: number): Promise<void> =>
    new Promise((resolve) => void clock.at(clock.monotonicMs() + ms, resolve))

  const note = (address: string): void => {
    const nowMs = clock.monotonicMs()
    lately = [...within(lately), nowMs].slice(-100)
    const own = [...within(failed.get(address) ?? []), nowMs]
    setNewest(failed, address, own, addressesMax)
  }

  const leave = (address: string): Leave => {
    const own = within(failed.get(address) ?? [])
    if (own.length >= perAddress) {
      const waitMs = own[0]! + windowMs - clock.monotonicMs()
      return { ok: false, waitS: Math.ceil(waitMs / 1000) }
    }
    return waiting < waitingMax ? { ok: true } : { ok: false, waitS: 5 }
  }

  return {
    async take(address, check) {
      const given = leave(address)
      if (!given.ok) return given
      waiting++
      const run = turn.then(async () => {
        // Others of this address may have failed while this one waited.
        const still = within(failed.get(address) ?? []).length < perAddress
        if (!still) return leave(address)
        lately = within(lately)
        if (lately.length > 0)
          await pause(Math.min(pauseMs.max, pauseMs.first * 2 ** (lately.length - 1)))
        const right = await check()
        if (right) failed.delete(address)
        else note(address)
        return right
      })
      turn = run.catch(() => {})
      try {
        return await run
      } finally {
        waiting--
      }
    },
  }
}
