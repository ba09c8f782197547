import { formatAddress, isWellFormed } from '../../src/ax25/address.js'
import { decodeFrame, digipeaterCountMax, informationOctetCountMax } from '../../src/ax25/frame.js'
import type { TransmitRequest } from '../../src/radio/port.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import type { Clock } from '../../src/runtime/clock.js'
import type { FrameRadio } from './frameRadio.js'
import type { Oracle } from './oracle.js'

/** What the law, and the licensee's limits, say of the key line: looked at from outside of the controller. */
export interface TransmitWatch {
  requested(request: TransmitRequest): void
  ended(id: string): void
  /** @returns the requests whose frames go out now, in order */
  keyed(content: TransmissionContent, radio: FrameRadio): TransmitRequest[]
  unkeyed(whole: boolean): void
  /** @param ableForMs so long the node has been able to send without a break */
  tick(ableForMs: number): void
  /** the process is gone, and what it was asked for with it */
  lifeEnded(): void
  /** what was owed is not known any more */
  forgetDebt(): void
  /** nor what was sent: the disk could not be written to until the process was gone, and can be now */
  forgetSpans(): void
}

const identifiedWithinMs = 600_000
/** Time enough to find a free moment. */
const momentMs = 60_000
const lateMsMax = 30_000
const roundingMs = 1

export function transmitWatch(
  oracle: Oracle,
  clock: Clock,
  limits: TransmitOptions,
): TransmitWatch {
  const pending = new Map<string, TransmitRequest>()
  const byOctets = new Map<string, string[]>()
  const spans: { readonly fromMs: number; readonly toMs: number }[] = []
  const keepMs = 2 * Math.max(...limits.dutyLimits.map(({ windowMs }) => windowMs))
  let running: { readonly fromMs: number; readonly identifies: boolean } | undefined
  let owedSinceMs: number | undefined
  /** A transmission that a process did not live to the end of is taken to have lasted as long as it may have. */
  let mayHaveLastedMs = 0

  const take = (octets: Uint8Array): TransmitRequest | undefined => {
    const id = byOctets.get(hex(octets))?.shift()
    return id === undefined ? undefined : pending.get(id)
  }

  const checkDuty = (): void => {
    while (spans[0] !== undefined && spans[0].toMs < clock.monotonicMs() - keepMs) spans.shift()
    const newest = spans.at(-1)!
    for (const { share, windowMs } of limits.dutyLimits) {
      // Windows without the newest stretch were looked at before: those that end with it, or begin with an earlier one.
      const fromMs = newest.toMs - windowMs
      let most = spans.reduce(
        (ms, span) => ms + Math.max(0, span.toMs - Math.max(span.fromMs, fromMs)),
        0,
      )
      let sum = 0
      for (let index = spans.length - 1; index >= 0; index--) {
        const span = spans[index]!
        const endMs = span.fromMs + windowMs
        if (endMs <= newest.fromMs) break
        sum += span.toMs - span.fromMs
        most = Math.max(most, sum - Math.max(0, newest.toMs - endMs))
      }
      oracle.check(
        'never keyed beyond the duty limit',
        most <= share * windowMs + roundingMs,
        () => `${Math.round(most)} ms in ${windowMs / 60_000} minutes: at most ${share * windowMs}`,
      )
    }
  }

  return {
    requested(request) {
      pending.set(request.id, request)
      const key = hex(request.octets)
      byOctets.set(key, [...(byOctets.get(key) ?? []), request.id])
    },
    ended(id) {
      const request = pending.get(id)
      oracle.check('each request ends once', request !== undefined, () => `${id} ended again`)
      if (request === undefined) return
      pending.delete(id)
      const key = hex(request.octets)
      const others = (byOctets.get(key) ?? []).filter((other) => other !== id)
      if (others.length > 0) byOctets.set(key, others)
      else byOctets.delete(key)
    },
    keyed(content, radio) {
      const nowMs = clock.monotonicMs()
      oracle.check(
        'never keyed while it is held or deaf',
        radio.heldBy.size === 0,
        () => `held by ${[...radio.heldBy].join()}`,
      )
      const deafMs = nowMs - (radio.deafSinceMs ?? nowMs)
      oracle.check(
        'never keyed while it is held or deaf',
        deafMs <= 1_000,
        () => `deaf for ${deafMs} ms`,
      )
      oracle.check(
        'never keyed while the channel is busy',
        radio.hearsCarrier !== true,
        () => 'a carrier is heard',
      )
      if (content.kind !== 'frames') return []
      const requests = content.frames.map(take)
      for (const request of requests)
        if (request !== undefined)
          oracle.check(
            'never sent past its time',
            request.notAfterMs >= nowMs,
            () => `${request.priority} ${request.id}: ${nowMs - request.notAfterMs} ms late`,
          )
      running = {
        fromMs: nowMs,
        identifies: content.frames.some((octets) => isOurs(octets, limits.call)),
      }
      for (const [index, octets] of content.frames.entries())
        checkFrame(oracle, octets, requests[index]?.origin === 'kiss', limits.call)
      return requests.flatMap((request) => request ?? [])
    },
    unkeyed(whole) {
      if (running === undefined) return
      const span = { fromMs: running.fromMs, toMs: clock.monotonicMs() }
      spans.push(span)
      const lastedMs = span.toMs - span.fromMs
      mayHaveLastedMs = whole ? 0 : limits.timeOutMs
      oracle.check(
        'never keyed past the time-out timer',
        lastedMs <= limits.timeOutMs + roundingMs,
        () => `${lastedMs} ms`,
      )
      checkDuty()
      if (running.identifies && whole) owedSinceMs = undefined
      else owedSinceMs ??= running.fromMs
      running = undefined
    },
    tick(ableForMs) {
      const nowMs = clock.monotonicMs()
      const quietMs = nowMs - (spans.at(-1)?.toMs ?? nowMs)
      if (owedSinceMs !== undefined && ableForMs >= momentMs)
        oracle.check(
          'identified within ten minutes, and at the end',
          quietMs <= limits.identification.quietMs + momentMs + mayHaveLastedMs,
          () => `quiet for ${Math.round(quietMs / 1000)} s, and our call is owed`,
        )
      if (spans.length > 0)
        oracle.check(
          'identified within ten minutes, and at the end',
          owedSinceMs === undefined ||
            nowMs - owedSinceMs <= identifiedWithinMs ||
            ableForMs < momentMs,
          () => `owed for ${Math.round((nowMs - (owedSinceMs ?? 0)) / 1000)} s`,
        )
      for (const { id, priority, notAfterMs } of pending.values())
        oracle.check(
          'each request ends once',
          nowMs <= notAfterMs + lateMsMax,
          () =>
            `${priority} ${id} has not ended ${Math.round((nowMs - notAfterMs) / 1000)} s after its time`,
        )
    },
    lifeEnded() {
      pending.clear()
      byOctets.clear()
    },
    forgetDebt() {
      owedSinceMs = undefined
    },
    forgetSpans() {
      spans.length = 0
    },
  }
}

function checkFrame(oracle: Oracle, octets: Uint8Array, ofClient: boolean, call: string): void {
  // Only who knows the connection knows how its frames count.
  const inEight = decodeFrame(octets, { strict: true })
  const decoded = inEight.ok ? inEight : decodeFrame(octets, { strict: true, modulo: 128 })
  oracle.check('what is sent is well formed', decoded.ok || ofClient, () => hex(octets))
  if (!decoded.ok || ofClient) return
  const { source, path, payload } = decoded.frame
  oracle.check(
    'what is sent is well formed',
    formatAddress(source) === call && payload.length <= informationOctetCountMax,
    () => `${formatAddress(source)}: ${payload.length} octets`,
  )
  const names = path.map(({ address }) => formatAddress(address))
  oracle.check(
    'no unusable way back',
    path.every(({ address, repeated }) => isWellFormed(address) && !repeated) &&
      path.length <= digipeaterCountMax &&
      !names.includes(call) &&
      new Set(names).size === names.length,
    () => names.join(),
  )
}

function isOurs(octets: Uint8Array, call: string): boolean {
  const decoded = decodeFrame(octets)
  return decoded.ok && decoded.frame.source.call === call.split('-')[0]
}

const hex = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')
