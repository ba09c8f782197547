import { findCode, timeCounter } from './oneTimeCode.js'

/** A secret by which somebody may stop the station; a person may have two, one of each kind. */
export interface ControlSecret {
  /** call sign without SSID: any SSID of it is theirs */
  readonly call: string
  /** codes by a counter need no clock (RFC 4226); codes by the clock (RFC 6238) are taken only while it is trusted */
  readonly goesBy: 'counter' | 'clock'
  readonly secret: Uint8Array
  /** counter of the next code that was not used; of a code by the clock, its step */
  readonly counter: number
}

/** Where the secrets and their counters are kept. Neither call throws. */
export interface SecretBook {
  of(call: string): readonly ControlSecret[]
  /** @returns whether it is on the disk now */
  keepCounter(secret: ControlSecret, counter: number): boolean
}

export type CodeVerdict =
  | { readonly ok: true }
  | {
      readonly ok: false
      readonly why: 'NotEnrolled' | 'Tries' | 'Disk' | 'Wrong'
      /** for the log */
      readonly reason: string
    }

export interface CodeCheckOptions {
  readonly book: SecretBook
  /** codes that are looked at from the next one on */
  readonly window: number
  /** wall clock, ms; undefined while it is not trusted */
  readonly trustedWallMs: () => number | undefined
}

/** Wrong codes within this time ... */
export const triesWindowMs = 15 * 60_000
/** ... after which only `hold` is still listened to. */
export const triesMax = 5

/** Steps before and after now in which a code by the clock is good (RFC 6238, section 5.2). */
const timeStepsEitherWay = 1

/** Judges the codes that come with commands. */
export interface CodeCheck {
  /**
   * @param call without SSID
   * @param stops the command only stops the station: it is never refused because of wrong codes before it, nor because
   *   the disk does not take the counter, since silence is the safe side
   */
  judge(call: string, code: string, stops: boolean, nowMs: number): CodeVerdict
  /** Whether a command that only stops would be obeyed; counts nothing, and leaves the code good. */
  isGood(call: string, code: string): boolean
}

/**
 * A code is good once. Its counter is on the disk before anything is done, so that neither a restart nor a cut of the power
 * makes it good again. Wrong codes are limited over all calls, because a call can be forged.
 */
export function createCodeCheck(options: CodeCheckOptions): CodeCheck {
  const { book, window } = options
  const wrongAtMs: number[] = []
  /** counters that the disk did not take */
  const reached = new Map<string, number>()

  // Whoever is enrolled anew has another secret, and begins at 0.
  const nameOf = ({ call, goesBy, secret }: ControlSecret): string =>
    `${call} ${goesBy} ${Buffer.from(secret).toString('hex')}`

  /** @returns the counter of the code */
  const find = (secret: ControlSecret, code: string): number | undefined => {
    const counter = Math.max(secret.counter, reached.get(nameOf(secret)) ?? 0)
    if (secret.goesBy === 'counter') return findCode(secret.secret, code, counter, window)
    const wallMs = options.trustedWallMs()
    if (wallMs === undefined) return undefined
    const first = Math.max(counter, timeCounter(wallMs) - timeStepsEitherWay)
    const steps = timeCounter(wallMs) + timeStepsEitherWay + 1 - first
    return steps > 0 ? findCode(secret.secret, code, first, steps) : undefined
  }

  return {
    isGood: (call, code) => book.of(call).some((secret) => find(secret, code) !== undefined),
    judge(call, code, stops, nowMs) {
      const secrets = book.of(call)
      if (secrets.length === 0)
        return { ok: false, why: 'NotEnrolled', reason: 'this call is not enrolled' }
      while (wrongAtMs[0] !== undefined && nowMs - wrongAtMs[0] >= triesWindowMs) wrongAtMs.shift()
      if (!stops && wrongAtMs.length >= triesMax)
        return {
          ...{ ok: false, why: 'Tries' },
          reason: `${triesMax} wrong codes: only hold is listened to for a while`,
        }
      for (const secret of secrets) {
        const found = find(secret, code)
        if (found === undefined) continue
        reached.set(nameOf(secret), found + 1)
        if (!book.keepCounter(secret, found + 1) && !stops)
          return {
            ok: false,
            why: 'Disk',
            reason: 'the disk does not take the counter of the code',
          }
        return { ok: true }
      }
      // Only the newest are kept: a flood must not fill the memory.
      if (wrongAtMs.length >= triesMax) wrongAtMs.shift()
      wrongAtMs.push(nowMs)
      return { ok: false, why: 'Wrong', reason: 'the code is wrong, or was used before' }
    },
  }
}
