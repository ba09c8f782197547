import { parsePayload } from '../../src/aprs/parse.js'
import { duplicateWindowMs } from '../../src/aprs/path.js'
import type { AprsPayload, MessagePayload } from '../../src/aprs/types.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import { readHeard } from '../../src/node/intake.js'
import type { Clock } from '../../src/runtime/clock.js'
import type { Oracle } from './oracle.js'

/** What is promised to those who call for help, and to everybody else about them. */
export interface HelpWatch {
  /** a frame came to the radio */
  delivered(octets: Uint8Array, repairedBits: number): void
  /** a frame of the node's own begins to go out */
  sent(octets: Uint8Array): void
  /** the node says that it has answered a station, which may have to wait for the channel */
  said(to: string, text: string): void
  /** @param hindered something that is no fault of the node's keeps it from sending even what has a reserve of airtime */
  tick(hindered: boolean): void
  lifeEnded(): void
  lifeBegan(): void
  /** what was in the database may be gone: who was answered is not known any more */
  forget(): void
  /** the wall clock was set, in a life or between two, by which alone the next life knows who was answered */
  clockSet(): void
}

export interface HelpWatchParts {
  readonly oracle: Oracle
  readonly clock: Clock
  readonly nodeCall: string
  /** time in which the node was able to send, and the channel free, ms */
  readonly ableMs: () => number
  /** somebody holds the radio just now */
  readonly isHeld: () => boolean
  /** the operator's words */
  readonly reply: string
}

/** In each call for help, so that it is known again wherever it turns up. */
export const callToken = (id: number): string => `H${id}`
const token = /\bH\d+\b/
const helpWords = /^(sos|mayday|au secours)(?![\p{L}\p{M}\p{N}])/iu
/** A token that somebody changed on its way leaves a call by its words. */
export const isCallForHelp = (text: string): boolean => token.test(text) || helpWords.test(text)

/** Its acknowledgement and its answer: two transmissions, each after a wait for the channel. */
const answeredWithinMs = 60_000
/** The node's own window; a little less, since what it knows of the last one may be that old after a restart. */
const oneAnswerInMs = 10 * 60_000 - 65_000
/** The node's own window for retries. */
const copyWindowMs = 15 * 60_000
/** The node answers ten stations at once in ten minutes; what comes then waits for its turn as any question does. */
const demandedAtOnce = 8

interface Call {
  readonly atAbleMs: number
  readonly number: string | undefined
  acknowledged: boolean
}

export const helpWatch = (parts: HelpWatchParts): HelpWatch => new Watch(parts)

class Watch implements HelpWatch {
  /** by station, what has not been answered */
  private readonly open = new Map<string, Call>()
  private readonly answers = new Map<string, { readonly number: string; readonly atMs: number }>()
  /** by station, when the node said that it had answered, and the time before */
  private readonly saidMs = new Map<string, { beforeMs: number | undefined; lastMs: number }>()
  /** by token, the stations that sent it */
  private readonly saidBy = new Map<string, Set<string>>()
  /** by station, the numbers of its calls */
  private readonly callsOf = new Map<string, Set<string>>()
  /** stations that had an acknowledgement of one of their calls */
  private readonly hadAcknowledgement = new Set<string>()
  /** by station, number and text */
  private readonly heardMs = new Map<
    string,
    { readonly firstMs: number; readonly lastMs: number }
  >()
  /** by station, when it called in something else than a message while the radio was held */
  private readonly heldMs = new Map<string, number>()
  /** with or without a number */
  private readonly answeredMs = new Map<string, number>()
  private firstMs: number[] = []
  private clockWasSet = false
  private forgottenMs = Number.NEGATIVE_INFINITY

  constructor(private readonly parts: HelpWatchParts) {}

  delivered(octets: Uint8Array, repairedBits: number): void {
    const called = token.exec(textOf(octets))?.[0]
    if (repairedBits > 1 || called === undefined) return
    const nowMs = this.parts.clock.monotonicMs()
    const intake = readHeard({
      ...{ octets, repairedBits, radio: 0, heardAtMs: nowMs, heardAtWallMs: 0, detector: '' },
    })
    if (!intake.ok || intake.heard.thirdParty) return
    const { from, payload } = intake.heard
    this.saidBy.set(called, (this.saidBy.get(called) ?? new Set()).add(from))
    if (!isWhole(payload, this.parts.nodeCall)) return
    const number = payload.kind === 'message' ? payload.number : undefined
    if (number !== undefined)
      this.callsOf.set(from, (this.callsOf.get(from) ?? new Set()).add(number))
    if (payload.kind !== 'message' && this.wasHeld(from)) return
    const answeredMs = this.answeredMs.get(from) ?? Number.NEGATIVE_INFINITY
    if (payload.kind === 'message' && this.isCopy(from, payload, answeredMs)) return
    if (this.open.has(from) || nowMs - answeredMs < 10 * 60_000) return
    this.firstMs = this.firstMs.filter((atMs) => nowMs - atMs < 11 * 60_000)
    this.firstMs.push(nowMs)
    // The node may know more of what was before than is known here.
    if (this.firstMs.length > demandedAtOnce || nowMs - this.forgottenMs < 10 * 60_000) return
    this.open.set(from, { atAbleMs: this.parts.ableMs(), number, acknowledged: false })
  }

  sent(octets: Uint8Array): void {
    const decoded = decodeFrame(octets)
    if (!decoded.ok) return
    const text = textOf(decoded.frame.payload)
    const payload = parsePayload(decoded.frame.payload, '')
    const to = 'addressee' in payload ? payload.addressee : undefined
    this.parts.oracle.check(
      'a call for help is never relayed',
      !this.isRelayed(text, to),
      () => text,
    )
    if (to === undefined) return
    if (payload.kind === 'acknowledgement') {
      const { number } = payload
      const call = this.open.get(to)
      if (call?.number === number && call !== undefined) call.acknowledged = true
      // The answer to one call of a station may go out when its next has been heard.
      if (this.callsOf.get(to)?.has(number)) this.hadAcknowledgement.add(to)
    } else if (payload.kind === 'message' && payload.text === this.parts.reply)
      this.answered(to, payload.number)
  }

  said(to: string, text: string): void {
    if (text !== this.parts.reply) return
    const beforeMs = this.saidMs.get(to)?.lastMs
    this.saidMs.set(to, { beforeMs, lastMs: this.parts.clock.monotonicMs() })
  }

  /** An answer that waited for the channel goes out when it was given long ago. */
  private wereSaidApart(to: string): boolean {
    const { beforeMs, lastMs } = this.saidMs.get(to) ?? {}
    return beforeMs !== undefined && lastMs! - beforeMs >= oneAnswerInMs
  }

  /** Whoever called in a frame that somebody changed on its way may be told which of its words are not known. */
  private isRelayed(text: string, to: string | undefined): boolean {
    const called = token.exec(text)?.[0]
    const isOwn = called !== undefined && to !== undefined && this.saidBy.get(called)?.has(to)
    return (called !== undefined && isOwn !== true) || /\b(sos|EMERGENCY)\b/.test(text)
  }

  tick(hindered: boolean): void {
    const { oracle, ableMs } = this.parts
    // What waited behind a hold may be too late when that ends.
    if (hindered) this.open.clear()
    for (const [from, { atAbleMs }] of this.open)
      oracle.check(
        'a call for help is answered at once',
        ableMs() - atAbleMs <= answeredWithinMs,
        () => `${from}: called ${Math.round((ableMs() - atAbleMs) / 1000)} s of good time ago`,
      )
  }

  lifeEnded(): void {
    // What was not acknowledged may not have been kept: it is called again.
    for (const [from, { acknowledged }] of this.open) if (!acknowledged) this.open.delete(from)
  }

  lifeBegan(): void {
    if (this.clockWasSet) this.forgetAnswers()
    this.clockWasSet = false
  }

  clockSet(): void {
    this.clockWasSet = true
  }

  forget(): void {
    this.open.clear()
    this.forgetAnswers()
  }

  /** A message under the same number, answered before: heard again, it is acknowledged, and answered once as any question is. */
  private isCopy(from: string, { number, text }: MessagePayload, answeredMs: number): boolean {
    if (number === undefined) return false
    const nowMs = this.parts.clock.monotonicMs()
    const key = `${from} ${number} ${text}`
    const before = this.heardMs.get(key)
    const isAgain = before !== undefined && nowMs - before.lastMs < copyWindowMs
    const firstMs = isAgain ? before.firstMs : nowMs
    this.heardMs.set(key, { firstMs, lastMs: nowMs })
    return isAgain && firstMs <= answeredMs
  }

  /** Of what is no message nothing waits behind a hold: the next one is answered, which a copy of it is not. */
  private wasHeld(from: string): boolean {
    const nowMs = this.parts.clock.monotonicMs()
    if (this.parts.isHeld()) this.heldMs.set(from, nowMs)
    return nowMs - (this.heldMs.get(from) ?? Number.NEGATIVE_INFINITY) <= duplicateWindowMs
  }

  private forgetAnswers(): void {
    this.answers.clear()
    this.answeredMs.clear()
    this.forgottenMs = this.parts.clock.monotonicMs()
  }

  private answered(to: string, number: string | undefined): void {
    const { oracle, clock } = this.parts
    const nowMs = clock.monotonicMs()
    const call = this.open.get(to)
    this.open.delete(to)
    this.answeredMs.set(to, nowMs)
    // What cannot be kept is answered without a number and not acknowledged, and the next life does not know of it.
    if (number === undefined) return
    if (call?.number !== undefined)
      oracle.check(
        'a call for help is answered at once',
        this.hadAcknowledgement.has(to),
        () => `${to} ${call.number}: answered, and not acknowledged`,
      )
    const last = this.answers.get(to)
    oracle.check(
      'one answer to the calls of a station',
      last === undefined ||
        last.number === number ||
        nowMs - last.atMs >= oneAnswerInMs ||
        this.wereSaidApart(to),
      () =>
        `${to}: ${last?.number} and ${number} within ${Math.round((nowMs - last!.atMs) / 1000)} s`,
    )
    if (last?.number !== number) this.answers.set(to, { number, atMs: nowMs })
  }
}

/** A frame that somebody changed on its way may have lost what made it a call, or be for another station. */
function isWhole(payload: AprsPayload, nodeCall: string): boolean {
  if ('addressee' in payload && payload.addressee !== nodeCall) return false
  const said = 'comment' in payload ? payload.comment : 'text' in payload ? payload.text : ''
  const begins = payload.kind === 'message' && helpWords.test(said)
  return begins || /(^|\s)EMERGENCY(\s|$)/.test(said)
}

const textOf = (octets: Uint8Array): string => Buffer.from(octets).toString('latin1')
