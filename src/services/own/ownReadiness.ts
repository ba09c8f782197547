import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import type { Readiness } from '../service.js'
import type { OwnSettings } from './ownProtocol.js'
import type { OwnThread } from './ownThread.js'

/** What one own service says of itself: asked now and then, because whoever reads `help` does not wait for a thread. */
export interface OwnReadinessKeeper {
  /** as it was said last */
  readonly known: Readiness
  /** Asks again. Never rejects: a service that fails at this is not ready. */
  look(): Promise<void>
  /** as look, where that was last done a minute ago */
  lookNowAndThen(): Promise<void>
  /** as look, around a question; what failed at it is only asked now and then, because askers would wait for that */
  lookAsked(): Promise<void>
  /** What its thread says from now on is not told. */
  close(): void
}

const lookEveryMs = 60_000
const saysNothing = { state: 'empty', reason: 'it does not say whether it is ready' } as const

/**
 * @param inTurn so that one that hangs takes no answer with it
 * @param onFault told once for each reason
 */
export function ownReadiness(
  thread: OwnThread,
  settings: OwnSettings,
  parts: {
    readonly clock: Clock
    readonly inTurn: (work: () => Promise<void>) => Promise<void>
    readonly onFault: (reason: string) => void
  },
): OwnReadinessKeeper {
  const { clock, inTurn, onFault } = parts
  let known: Readiness = { state: 'ready' }
  let lookedAtMs = clock.monotonicMs()
  let faultTold: string | undefined
  let waiting: Promise<void> | undefined
  let closed = false

  const lookOnce = async (): Promise<void> => {
    waiting = undefined
    lookedAtMs = clock.monotonicMs()
    try {
      known = await thread.ready({ nowWallMs: clock.wallMs(), settings })
      faultTold = undefined
    } catch (error) {
      const text = errorText(error)
      const reason = text.startsWith('ready') ? text : `ready: ${text}`
      known = saysNothing
      if (closed || reason === faultTold) return
      faultTold = reason
      onFault(reason)
    }
  }
  const look = (): Promise<void> => {
    if (!thread.manifest.saysReady || closed) return Promise.resolve()
    // One that waits for its turn already will say it as well.
    waiting ??= inTurn(lookOnce)
    return waiting
  }
  const lookNowAndThen = (): Promise<void> =>
    clock.monotonicMs() - lookedAtMs < lookEveryMs ? Promise.resolve() : look()
  return {
    get known() {
      return known
    },
    look,
    lookNowAndThen,
    lookAsked: () => (known === saysNothing ? lookNowAndThen() : look()),
    close() {
      closed = true
    },
  }
}
