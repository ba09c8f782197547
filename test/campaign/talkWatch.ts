import { parsePayload } from '../../src/aprs/parse.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import { readHeard } from '../../src/node/intake.js'
import { nodeDestination } from '../../src/node/options.js'
import type { Clock } from '../../src/runtime/clock.js'
import type { Sqlite } from '../../src/store/sqliteDriver.js'
import { isCallForHelp } from './helpWatch.js'
import type { Oracle } from './oracle.js'
import { timesAsked, tokenIn, tokensAsked } from './talkTokens.js'

/** What is promised to those who ask and leave messages: looked at on the air, and in the database as it is. */
export interface TalkWatch {
  /** a frame came to the radio */
  delivered(octets: Uint8Array, repairedBits: number): void
  /** a frame of the node's own begins to go out */
  sent(octets: Uint8Array): void
  /** the node says that a letter was delivered */
  letterDelivered(to: string, text: string): void
  /** @param hindered something that is no fault of the node's keeps it from sending, or has just now */
  tick(hindered: boolean): void
  /** a life of the process has begun @param isSafe it has not taken up what earlier lives left open */
  lifeBegan(isSafe: boolean): void
  lifeEnded(): void
  /** what was in the database may be gone: nothing of before is expected any more */
  forget(): void
  /** the wall clock was set */
  clockSet(): void
}

export interface TalkWatchParts {
  readonly oracle: Oracle
  readonly clock: Clock
  readonly nodeCall: string
  /** time in which the node was able to answer, ms */
  readonly ableMs: () => number
  /** undefined where the node has none that stays */
  readonly database: () => Sqlite | undefined
}

/** The node's own window for retries; a little less, because what it knows of the last one may be that old after a restart. */
const numberedWindowMs = 15 * 60_000 - 65_000
const unnumberedWindowMs = 28_000
const answeredWithinMs = 13 * 60_000
const acknowledgedAgainWithinMs = 125_000
const acknowledgedLatelyMs = 36_000
/** Ten minutes that an answer is of use, and half an hour of the refusal that follows it. */
const answerAndRefusalMs = 40 * 60_000
const survivorsChecked = 60

/** That messages wait, what others left, and what became of what somebody left: no answer to anything. */
const unasked = /^\d+ messages? waits? for you|^Your message to |: .*\bL\d+\b/

interface Hearing {
  readonly from: string
  readonly number: string | undefined
  readonly text: string
  /** says by its own marks that a machine sent it: acknowledged, and not answered */
  readonly isMachine: boolean
  readonly firstMs: number
  lastMs: number
  /** so often it may have been taken for a new question */
  times: number
  acknowledgedMs: number | undefined
  wasAcknowledged: boolean
  /** as ableMs says it; until when an acknowledgement must come */
  againByMs: number | undefined
}

interface Acknowledged {
  readonly from: string
  readonly number: string
  readonly atMs: number
  readonly atAbleMs: number
}

interface Letter {
  readonly from: string
  readonly to: string
  readonly text: string
}

export const talkWatch = (parts: TalkWatchParts): TalkWatch => new Watch(parts)

class Watch implements TalkWatch {
  private readonly heard = new Map<string, Hearing>()
  /** of which it has againByMs */
  private readonly awaited = new Set<Hearing>()
  private readonly byToken = new Map<string, Hearing[]>()
  private readonly byNumber = new Map<string, Hearing[]>()
  private readonly queries = new Set<string>()
  private readonly acknowledgements = new Set<string>()
  private readonly misread = new Map<string, number>()
  private readonly touched = new Set<string>()
  /** when each station was sent a message last */
  private readonly saidMs = new Map<string, number>()
  private owed: Acknowledged[] = []
  /** what a safe start leaves as it is: owed again from the next start on that is none */
  private leftOpen: Acknowledged[] = []
  private survivors: Hearing[] = []
  private letters: Letter[] = []
  private readonly numbersOf = new Map<string, Set<string>>()
  private readonly countOf = new Map<string, number>()
  private lives = 0
  private beganMs = 0
  private clockWasSet = false
  private hinderedSinceMs: number | undefined
  private keepsNothing = false
  private forgottenMs = Number.NEGATIVE_INFINITY

  constructor(private readonly parts: TalkWatchParts) {}

  delivered(octets: Uint8Array, repairedBits: number): void {
    const { clock, nodeCall } = this.parts
    const nowMs = clock.monotonicMs()
    const frame = {
      octets,
      repairedBits,
      radio: 0,
      heardAtMs: nowMs,
      heardAtWallMs: 0,
      detector: '',
    }
    const intake = readHeard(frame)
    if (!intake.ok) return
    const { from, source, payload, destination } = intake.heard
    if (repairedBits > 1) {
      this.misread.set(from, nowMs)
      return
    }
    if (from === nodeCall || source === nodeCall || !('addressee' in payload)) return
    if (payload.addressee.trim().toUpperCase() !== nodeCall) return
    if (payload.kind === 'directedQuery') {
      this.queries.add(from)
      const [, inReturn] = (payload.numberAsSent ?? '').split('}')
      if (inReturn) this.acknowledgements.add(`${from} ${inReturn}`)
    }
    if (payload.kind === 'acknowledgement') this.acknowledgements.add(`${from} ${payload.number}`)
    if (payload.kind !== 'message') return
    const { number, text, replyAcknowledges } = payload
    if (replyAcknowledges) this.acknowledgements.add(`${from} ${replyAcknowledges}`)
    const key = `${from} ${number} ${text}`
    const known = this.heard.get(key)
    const windowMs = number === undefined ? unnumberedWindowMs : numberedWindowMs
    if (known === undefined) {
      const counts = {
        firstMs: nowMs,
        lastMs: nowMs,
        times: 1,
        acknowledgedMs: undefined,
        wasAcknowledged: false,
        againByMs: undefined,
      }
      const isMachine = destination === nodeDestination || /^AA:/.test(text)
      this.keep(key, { from, number, text, isMachine, ...counts })
      return
    }
    if (nowMs - known.lastMs >= windowMs) known.times++
    else if (
      known.acknowledgedMs !== undefined &&
      nowMs - known.acknowledgedMs > acknowledgedLatelyMs
    )
      this.awaitAgain(known)
    known.lastMs = nowMs
  }

  sent(octets: Uint8Array): void {
    const decoded = decodeFrame(octets)
    if (!decoded.ok) return
    const payload = parsePayload(decoded.frame.payload, '')
    if (!('addressee' in payload)) return
    const to = payload.addressee
    if (this.misread.has(to)) this.touched.add(to)
    if (payload.kind === 'acknowledgement' || payload.kind === 'rejection')
      this.responded(to, payload.number, payload.kind === 'acknowledgement')
    else if (payload.kind === 'message') this.said(to, payload.number, payload.text)
  }

  letterDelivered(to: string, text: string): void {
    const name = tokenIn(text)
    if (name === undefined) return
    const numbers = [...(this.numbersOf.get(`${to} ${name}`) ?? [])]
    this.parts.oracle.check(
      'delivered only when it was acknowledged',
      numbers.some((number) => this.acknowledgements.has(`${to} ${number}`)),
      () => `${name} to ${to}`,
    )
  }

  tick(hindered: boolean): void {
    if (hindered) this.awaitNone()
    const { oracle, ableMs, clock } = this.parts
    const nowMs = clock.monotonicMs()
    this.hinderedSinceMs = hindered ? (this.hinderedSinceMs ?? nowMs) : undefined
    // Such a hold outlasts an answer, and then the word that there is none.
    if (nowMs - (this.hinderedSinceMs ?? nowMs) > answerAndRefusalMs) this.owed = []
    const nowAbleMs = ableMs()
    for (const { from, number, atAbleMs } of this.owed)
      oracle.check(
        'who is acknowledged is answered or refused',
        nowAbleMs - atAbleMs <= answeredWithinMs,
        () => `${from} ${number}: acknowledged, and nothing was sent since`,
      )
    for (const hearing of this.awaited) {
      oracle.check(
        'heard again, acknowledged again',
        nowAbleMs <= hearing.againByMs!,
        () => `${hearing.from} ${hearing.number} ${hearing.text}`,
      )
    }
    for (const [from, atMs] of this.misread) {
      oracle.check(
        'a frame with two repaired bits is not acted on',
        !this.touched.has(from),
        () => from,
      )
      if (clock.monotonicMs() - atMs > 180_000) this.misread.delete(from)
    }
  }

  lifeBegan(isSafe: boolean): void {
    this.lives++
    this.beganMs = this.parts.clock.monotonicMs()
    this.takeUp(isSafe)
    // What a former process heard is known by the wall clock only.
    if (this.clockWasSet) for (const hearing of this.heard.values()) hearing.times++
    this.clockWasSet = false
    const database = this.parts.database()
    this.keepsNothing = database === undefined
    if (database === undefined) {
      // Nor does this life know what was heard before it.
      this.forget()
      return
    }
    for (const { from, number, text } of this.survivors.slice(-survivorsChecked)) {
      const found = database.get(
        'SELECT 1 FROM questions WHERE from_call = ? AND number = ?',
        from,
        number ?? '',
      )
      this.parts.oracle.check(
        'what was acknowledged survives',
        found !== undefined,
        () => `${from} ${number} ${text} is not in the database`,
      )
    }
    for (const letter of this.letters.slice(-survivorsChecked)) this.checkLetter(letter)
  }

  /** The operator is told at a safe start that what was left open waits: its time goes on when it is taken up. */
  private takeUp(isSafe: boolean): void {
    if (isSafe) {
      this.leftOpen.push(...this.owed)
      this.owed = []
      return
    }
    const { clock, ableMs } = this.parts
    const sinceMs = clock.monotonicMs() - answerAndRefusalMs
    for (const { from, number, atMs } of this.leftOpen)
      if (atMs > sinceMs) this.owed.push({ from, number, atMs, atAbleMs: ableMs() })
    this.leftOpen = []
  }

  lifeEnded(): void {
    // Safe start without the database: the next life knows nothing of this one.
    if (this.keepsNothing) this.forget()
    // A repetition that was heard by one process is not known to the next.
    this.awaitNone()
  }

  forget(): void {
    this.forgottenMs = this.parts.clock.monotonicMs()
    this.owed = []
    this.leftOpen = []
    this.survivors = []
    this.letters = []
    for (const hearing of this.heard.values()) {
      hearing.times++
      hearing.acknowledgedMs = undefined
    }
    this.awaitNone()
  }

  clockSet(): void {
    this.clockWasSet = true
    for (const hearing of this.heard.values()) if (hearing.lastMs < this.beganMs) hearing.times++
  }

  private awaitAgain(hearing: Hearing): void {
    hearing.againByMs ??= this.parts.ableMs() + acknowledgedAgainWithinMs
    this.awaited.add(hearing)
  }

  private awaitNone(): void {
    for (const hearing of this.awaited) hearing.againByMs = undefined
    this.awaited.clear()
  }

  private keep(key: string, hearing: Hearing): void {
    this.heard.set(key, hearing)
    append(this.byNumber, `${hearing.from} ${hearing.number}`, hearing)
    for (const name of tokensAsked(hearing.text)) append(this.byToken, name, hearing)
  }

  private responded(to: string, number: string, isAcknowledged: boolean): void {
    const { oracle, clock, ableMs } = this.parts
    const asked = this.byNumber.get(`${to} ${number}`) ?? []
    for (const one of asked) {
      if (one.againByMs !== undefined)
        oracle.check(
          'heard again, acknowledged again',
          ableMs() <= one.againByMs,
          () => `${to} ${number}`,
        )
      one.acknowledgedMs = clock.monotonicMs()
      one.againByMs = undefined
      this.awaited.delete(one)
    }
    if (!isAcknowledged || (asked.length === 0 && this.queries.has(to))) return
    const database = this.parts.database()
    if (database === undefined) return
    const found = database.get(
      'SELECT 1 FROM questions WHERE from_call = ? AND number = ?',
      to,
      number,
    )
    // Of a database that is gone, what was taken already is not missed: its acknowledgement may have waited for a hold.
    if (asked.some((one) => one.firstMs <= this.forgottenMs)) return
    oracle.check(
      'in the database before it is acknowledged',
      found !== undefined,
      () => `${to} ${number} is acknowledged`,
    )
    // What was heard first before its past was forgotten may have a stamp of another year, and is cleared away by that.
    for (const one of asked)
      if (one.firstMs > this.forgottenMs && !this.survivors.includes(one)) this.survivors.push(one)
    // What is acknowledged again has its answer.
    const saidMs = this.saidMs.get(to) ?? Number.NEGATIVE_INFINITY
    const isFirst = asked.some(
      (one) =>
        !one.wasAcknowledged &&
        !one.isMachine &&
        // Its answer may be among what is gone, or in a row that is damaged.
        one.firstMs > this.forgottenMs &&
        // Who calls for help again within ten minutes is acknowledged only.
        one.firstMs > saidMs + (isCallForHelp(one.text) ? 600_000 : 0),
    )
    for (const one of asked) one.wasAcknowledged = true
    if (isFirst) {
      const atMs = clock.monotonicMs()
      this.owed.push({ from: to, number, atMs, atAbleMs: ableMs() })
    }
  }

  private said(to: string, number: string | undefined, text: string): void {
    if (!unasked.test(text)) {
      this.owed = this.owed.filter((one) => one.from !== to)
      this.leftOpen = this.leftOpen.filter((one) => one.from !== to)
    }
    this.saidMs.set(to, this.parts.clock.monotonicMs())
    if (/^Kept /.test(text)) this.keptLetter(to, text)
    const name = tokenIn(text)
    if (name === undefined || /^(Your message|Not kept)/.test(text)) return
    if (name.startsWith('L'))
      this.onceOnly('each letter is carried under one number', to, number, name)
    else this.onceOnly('answered once', to, number, name)
  }

  private onceOnly(
    promise: 'answered once' | 'each letter is carried under one number',
    to: string,
    number: string | undefined,
    name: string,
  ): void {
    const key = `${to} ${name}`
    const isLetter = name.startsWith('L')
    const base = name.replace(/[a-c]$/, '')
    let allowed = 0
    for (const { from, times, text } of this.byToken.get(base) ?? [])
      if (isLetter) allowed += times
      else if (from === to) allowed += times * timesAsked(text, name)
    let count: number
    if (number === undefined) {
      count = (this.countOf.get(key) ?? 0) + 1
      this.countOf.set(key, count)
      // It cannot be known whether what has no number went out before the process ended.
      allowed += this.lives
    } else {
      const numbers = this.numbersOf.get(key) ?? new Set()
      numbers.add(number)
      this.numbersOf.set(key, numbers)
      count = numbers.size
    }
    this.parts.oracle.check(
      promise,
      count <= allowed,
      () => `${name} to ${to}: ${count} times, ${allowed} may be`,
    )
  }

  private keptLetter(from: string, text: string): void {
    const to = /for ([A-Z0-9-]+)/.exec(text)?.[1]
    const database = this.parts.database()
    if (to === undefined || database === undefined) return
    // Of a database that is gone or damaged, the letter may be missed, though the word that it was kept goes out again.
    const isSince = [...this.heard.values()].some(
      (one) => one.from === from && one.firstMs > this.forgottenMs && one.text.includes(to),
    )
    if (!isSince) return
    const rows = database.all<{ text: string }>(
      'SELECT text FROM mailbox WHERE from_call = ? AND to_call = ?',
      from,
      to,
    )
    this.parts.oracle.check(
      'a letter that was taken is kept',
      rows.length > 0,
      () => `${from}: ${text}`,
    )
    for (const row of rows) {
      const known = this.letters.some(
        (one) => one.from === from && one.to === to && one.text === row.text,
      )
      if (!known) this.letters.push({ from, to, text: row.text })
    }
  }

  private checkLetter({ from, to, text }: Letter): void {
    const found = this.parts
      .database()
      ?.get(
        'SELECT 1 FROM mailbox WHERE from_call = ? AND to_call = ? AND text = ?',
        from,
        to,
        text,
      )
    this.parts.oracle.check(
      'a letter that was taken is kept',
      found !== undefined,
      () => `${from} to ${to}: ${text} is gone`,
    )
  }
}

function append(lists: Map<string, Hearing[]>, key: string, hearing: Hearing): void {
  const list = lists.get(key)
  if (list === undefined) lists.set(key, [hearing])
  else list.push(hearing)
}
