import { type Cancel, type Clock, every } from '../../runtime/clock.js'
import { Failure } from '../../runtime/failure.js'

export interface UsableAgainOptions {
  readonly clock: Clock
  readonly database: string
  /** Opens the database and lets go of it. @throws whatever is in the way */
  readonly tryIt: () => void
  /** started by systemd, which starts it anew */
  readonly isService: boolean
  /** told in words, once, where nobody starts it anew */
  readonly onUsable: (text: string) => void
}

export interface UsableAgain {
  /** rejects when the program should end, to be started anew; settles otherwise never */
  readonly again: Promise<never>
  readonly cancel: Cancel
}

/** A disk that fails is spared. */
export const usableLookMs = 5 * 60_000

/**
 * A node that found its database unusable when it started, on a full disk, keeps nothing. Once the database can be opened,
 * a new start takes it up, with all that waits in it.
 */
export function usableAgain(options: UsableAgainOptions): UsableAgain {
  const { clock, database, isService } = options
  let cancel: Cancel = () => {}
  const again = new Promise<never>((_, reject) => {
    cancel = every(clock, usableLookMs, () => {
      try {
        options.tryIt()
      } catch {
        return // as it was said at the start
      }
      cancel()
      if (isService)
        reject(
          new Failure({
            code: 'store-usable-again',
            subject: database,
            problem: 'can be opened again: the node ends, to be started anew with it',
          }),
        )
      else options.onUsable(`${database} can be opened again: start the program anew to use it`)
    })
  })
  // It may come before anybody waits for it.
  again.catch(() => {})
  return { again, cancel: () => cancel() }
}
