import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import type { ControllerAction, ControllerInput } from '../../src/radio/controllerTypes.js'
import type { KeyedSpan } from '../../src/radio/dutyLedger.js'
import { identificationLimitMs } from '../../src/radio/identification.js'
import { priorities, type TransmitOutcome, type TransmitRequest } from '../../src/radio/port.js'
import type { ChannelAccess, ToneRequest } from '../../src/radio/radioPort.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import { TransmitController } from '../../src/radio/transmitController.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'

/** One random life of a transmitter, on a virtual clock, with a checker that knows the rules but not the controller. */
export interface ScheduleResult {
  /** broken rules, in words; empty when all held */
  readonly broken: readonly string[]
  readonly counts: Readonly<Record<string, number>>
}

const ownCall = 'QQ1RP'
const overheadMs = 200
const marginMs = 30

export function runSchedule(seed: number): ScheduleResult {
  const random = seededRandom(seed)
  const life = new Life(random)
  life.run()
  return { broken: life.broken, counts: life.counts }
}

class Life {
  readonly broken: string[] = []
  readonly counts: Record<string, number> = {}
  private readonly clock: VirtualClock = virtualClock()
  private readonly options: TransmitOptions
  private readonly controller: TransmitController
  private readonly requests = new Map<string, { readonly notAfterMs: number }>()
  private readonly finals = new Map<string, TransmitOutcome>()
  /** ids in transmissions whose audio ran to its end */
  private readonly aired = new Set<string>()
  private readonly spans: KeyedSpan[] = []
  private readonly holds = new Set<string>()
  private access: ChannelAccess
  private busy = true
  private content: TransmissionContent | undefined
  private contentAtMs = 0
  private lineOnMs: number | undefined
  /** the hang of the transmitter included */
  private onAirUntilMs = 0
  private audioDone = false
  private transmission = 0
  private wake = (): void => {}
  /** first transmission without our call since it went out last */
  private owedSinceMs: number | undefined
  /** transmissions that should have ended with our call and did not, since it was owed */
  private failedIdentifications = 0
  private lateTold = false
  private readonly withFaults: boolean
  /** of all transmissions: their audio hangs, or a dead-man ends them */
  private readonly hangShare: number
  /** most lives are short, so that there can be many; some are longer than every window and interval */
  private readonly activeMs: number

  constructor(private readonly random: Random) {
    this.access = this.randomAccess()
    this.withFaults = this.chance(0.3)
    this.hangShare = this.chance(0.5) ? 0.02 : 0.2
    this.activeMs = (this.chance(0.2) ? 15 : 3) * 60_000
    this.options = {
      enabled: true,
      call: `${ownCall}-7`,
      access: this.access,
      timeOutMs: this.between(9500, 14_000),
      hangMs: this.chance(0.4) ? this.between(1, 2000) : 0,
      attackMs: this.chance(0.2) ? this.between(1, 500) : 0,
      dutyLimits: [
        { windowMs: this.between(60_000, 360_000), share: this.between(10, 40) / 50 },
        { windowMs: this.between(360_000, 900_000), share: this.between(8, 40) / 100 },
      ].map((limit) => ({ ...limit, share: Math.max(limit.share, 20_000 / limit.windowMs) })),
      identification: {
        intervalMs: this.between(30_000, identificationLimitMs),
        quietMs: this.between(2000, 400_000),
        destination: 'ID',
      },
      queueMax: this.between(2, 40),
    }
    this.controller = new TransmitController({
      ...this.options,
      random,
      durationMs,
      keyOverheadMs: overheadMs,
      unkeyMarginMs: marginMs,
    })
  }

  run(): void {
    this.bookChannel()
    this.bookRequests()
    this.bookDisturbances()
    this.clock.advanceTo(this.activeMs)
    // Then all is quiet: what is owed and what waits must come to its end.
    for (const source of [...this.holds]) {
      this.holds.delete(source)
      this.feed({ kind: 'release', source })
    }
    this.setBusy(false)
    this.clock.advanceTo(this.activeMs + 3_600_000)
    this.checkEnd()
  }

  private feed(input: ControllerInput): void {
    const nowMs = this.clock.monotonicMs()
    for (const action of this.controller.handle(input, nowMs)) this.perform(action)
    this.checkNow()
    this.wake()
    const nextMs = this.controller.nextAtMs()
    if (nextMs !== undefined && !(nextMs > nowMs)) this.broken.push(`wakes in the past: ${nextMs}`)
    this.wake =
      nextMs === undefined ? () => {} : this.clock.at(nextMs, () => this.feed({ kind: 'time' }))
  }

  private perform(action: ControllerAction): void {
    switch (action.kind) {
      case 'key':
        this.beginKeying(action.content)
        break
      case 'play':
        this.play()
        break
      case 'unkey':
        this.lineOff(this.between(0, marginMs))
        break
      case 'outcome':
        this.take(action.outcome)
        break
      case 'event':
        this.count(action.event.kind)
    }
  }

  private beginKeying(content: TransmissionContent): void {
    const nowMs = this.clock.monotonicMs()
    if (this.busy && !this.access.fullDuplex)
      this.broken.push(`keyed on a busy channel at ${nowMs}`)
    if (this.holds.size > 0) this.broken.push(`keyed during a hold at ${nowMs}`)
    if (this.content !== undefined) this.broken.push(`keyed twice at ${nowMs}`)
    if (nowMs < this.onAirUntilMs) this.broken.push(`keyed while its hang had it on, at ${nowMs}`)
    this.content = content
    this.contentAtMs = nowMs
    this.audioDone = false
    const transmission = ++this.transmission
    if (this.fault(0.01)) return // the line never comes on
    this.clock.at(nowMs + this.between(0, 40), () => {
      if (transmission !== this.transmission || this.content === undefined) return
      this.lineOnMs = this.clock.monotonicMs()
      this.feed({ kind: 'keyed', atMs: this.lineOnMs })
    })
  }

  private play(): void {
    if (this.content === undefined) {
      this.broken.push('plays nothing')
      return
    }
    const transmission = this.transmission
    const nowMs = this.clock.monotonicMs()
    const lastsMs = durationMs(this.content) + this.between(0, overheadMs - 50)
    if (this.fault(this.hangShare)) return // the audio hangs
    if (this.fault(this.hangShare)) {
      // a dead-man that fires
      this.clock.at(nowMs + this.random() * lastsMs, () => {
        if (transmission === this.transmission && this.lineOnMs !== undefined)
          this.lineOff(0, 'no sign of life')
      })
    }
    this.clock.at(nowMs + lastsMs, () => {
      if (transmission !== this.transmission || this.lineOnMs === undefined) return
      this.audioDone = true
      this.feed({ kind: 'audioEnded' })
    })
  }

  private lineOff(afterMs: number, reason?: string): void {
    const transmission = this.transmission
    this.clock.at(this.clock.monotonicMs() + afterMs, () => {
      if (transmission !== this.transmission || this.content === undefined) return
      const atMs = this.clock.monotonicMs()
      if (!this.audioDone && this.endsWithOurCall()) this.failedIdentifications++
      // One whose line did not answer may have been on the air as well.
      this.onAirUntilMs = atMs + this.options.hangMs!
      if (this.lineOnMs !== undefined)
        this.noteSpan({ fromMs: this.lineOnMs, toMs: this.onAirUntilMs })
      this.content = undefined
      this.lineOnMs = undefined
      this.feed({ kind: 'unkeyed', atMs, reason })
    })
  }

  private noteSpan(span: KeyedSpan): void {
    const content = this.content!
    this.spans.push(span)
    const lengthMs = span.toMs - span.fromMs
    if (lengthMs > this.options.timeOutMs) this.broken.push(`keyed for ${lengthMs} ms`)
    if (this.audioDone && content.kind === 'frames')
      for (const frame of content.frames) this.aired.add(idIn(frame))
    if (this.audioDone && content.kind === 'tone') this.aired.add(toneId(content.durationMs))
    if (this.audioDone && this.endsWithOurCall()) {
      this.owedSinceMs = undefined
      this.failedIdentifications = 0
      this.lateTold = false
    } else this.owedSinceMs ??= span.fromMs
  }

  private endsWithOurCall(): boolean {
    const last = this.content?.kind === 'frames' ? this.content.frames.at(-1) : undefined
    return last !== undefined && sourceOf(last) === ownCall
  }

  private take(outcome: TransmitOutcome): void {
    const request = this.requests.get(outcome.id)
    if (request === undefined) this.broken.push(`outcome of nothing: ${outcome.id}`)
    if ('reason' in outcome && outcome.reason === '') this.broken.push(`${outcome.id}: no reason`)
    if (this.finals.has(outcome.id)) this.broken.push(`${outcome.id}: told after its end`)
    if (outcome.kind === 'held') return
    this.finals.set(outcome.id, outcome)
    if (outcome.kind === 'expired' && request!.notAfterMs > outcome.atMs)
      this.broken.push(`${outcome.id}: expired too early`)
    if (outcome.kind === 'sent' && !this.aired.has(outcome.id))
      this.broken.push(`${outcome.id}: told as sent, but was not`)
    if (outcome.kind === 'sent' && this.contentAtMs >= request!.notAfterMs)
      this.broken.push(`${outcome.id}: sent too late`)
  }

  /** An identification that is due goes out at the first moment that allows it. */
  private checkNow(): void {
    if (this.owedSinceMs === undefined || this.lateTold || this.content !== undefined) return
    if (this.clock.monotonicMs() < this.onAirUntilMs) return
    // More failures than airtime is set aside for: then the duty limit wins.
    if (this.failedIdentifications >= this.triesSetAside()) return
    const dueMs = this.owedSinceMs + Math.min(this.options.identification.intervalMs, 570_000)
    if (this.clock.monotonicMs() < dueMs || this.holds.size > 0) return
    if (this.busy && !this.access.fullDuplex) return
    this.broken.push(`identification is late: owed since ${this.owedSinceMs}`)
    this.lateTold = true
  }

  /** As many identifications as a tenth of the smallest allowance holds, one at least and two at most. */
  private triesSetAside(): number {
    const frames = [frameOf(ownCall, `${ownCall}-7`, 0)]
    const { keyDelayMs: preambleMs, tailMs } = { keyDelayMs: 1000, tailMs: 200 }
    const longest = { kind: 'frames', frames, preambleMs, tailMs } as const
    const onceMs = durationMs(longest) + overheadMs + marginMs + this.options.hangMs! + 300
    const allowances = this.options.dutyLimits.map(({ share, windowMs }) => share * windowMs)
    return Math.max(1, Math.min(2, Math.floor(Math.min(...allowances) / 10 / onceMs)))
  }

  private checkEnd(): void {
    for (const id of this.requests.keys())
      if (!this.finals.has(id)) this.broken.push(`${id}: lost without a word`)
    if (this.owedSinceMs !== undefined) this.broken.push('an identification is owed at the end')
    for (const limit of this.options.dutyLimits) {
      const mostMs = mostOnTime(this.spans, limit.windowMs)
      if (mostMs > limit.share * limit.windowMs + 1e-3)
        this.broken.push(`on for ${mostMs} ms of ${limit.windowMs}, allowed ${limit.share}`)
    }
    this.counts.transmissions = this.spans.length
  }

  private bookChannel(): void {
    const foreverMs = this.chance(0.05) ? this.between(0, this.activeMs) : this.activeMs
    const flip = (): void => {
      const nowMs = this.clock.monotonicMs()
      if (nowMs >= this.activeMs) return
      this.setBusy(nowMs >= foreverMs || (!this.busy && this.chance(0.9)))
      this.clock.at(nowMs + this.between(50, this.busy ? 4000 : 30_000), flip)
    }
    flip()
  }

  private setBusy(busy: boolean): void {
    this.busy = busy
    this.feed({ kind: 'channel', busy })
  }

  private bookRequests(): void {
    const gapMs = this.between(4000, 90_000)
    const ownShare = this.random()
    const next = (): void => {
      const nowMs = this.clock.monotonicMs()
      if (nowMs >= this.activeMs - 1000) return
      for (let burst = this.between(1, this.chance(0.1) ? 12 : 3); burst > 0; burst--)
        this.request(ownShare)
      this.clock.at(nowMs + this.between(10, 2 * gapMs), next)
    }
    this.clock.at(this.between(0, gapMs), next)
  }

  private request(ownShare: number): void {
    if (this.chance(0.02)) {
      this.tone()
      return
    }
    const id = `r${this.requests.size}`
    const octets = frameOf(
      this.chance(ownShare) ? ownCall : 'QQ2XY',
      id,
      this.chance(0.03) ? 1500 : this.between(0, 200),
    )
    const request: TransmitRequest = {
      id,
      octets: this.chance(0.01) ? octets.slice(0, 9) : octets,
      priority: priorities[1 + this.between(0, 4)]!,
      notAfterMs: this.clock.monotonicMs() + this.between(0, 300_000),
      origin: 'node',
    }
    this.requests.set(id, request)
    this.feed({ kind: 'request', request })
  }

  private tone(): void {
    // each of another length, so that it can be told which one was on the air
    const durationMs = this.between(1, 9) * 1000 + this.requests.size / 1000
    const notAfterMs = this.clock.monotonicMs() + this.between(0, 300_000)
    const request: ToneRequest = { id: toneId(durationMs), tone: 'mark', durationMs, notAfterMs }
    this.requests.set(request.id, request)
    this.feed({ kind: 'tone', request })
  }

  private bookDisturbances(): void {
    const calm = this.chance(0.5)
    const next = (): void => {
      const nowMs = this.clock.monotonicMs()
      if (nowMs >= this.activeMs - 1000) return
      const source = this.chance(0.5) ? 'operator' : 'file'
      if (this.holds.delete(source)) this.feed({ kind: 'release', source })
      else if (this.chance(0.5)) {
        this.access = this.randomAccess()
        this.feed({ kind: 'access', change: this.access })
      } else {
        this.holds.add(source)
        const transmission = this.transmission
        this.feed({ kind: 'hold', source, reason: 'a test' })
        this.clock.at(nowMs + marginMs, () => {
          if (this.content !== undefined && transmission === this.transmission)
            this.broken.push(`on the air ${marginMs} ms after a hold at ${nowMs}`)
        })
      }
      this.clock.at(nowMs + this.between(100, this.holds.size > 0 ? 30_000 : 200_000), next)
    }
    if (!calm) this.clock.at(this.between(0, 100_000), next)
  }

  private randomAccess(): ChannelAccess {
    return {
      keyDelayMs: this.between(0, 100) * 10,
      tailMs: this.between(0, 20) * 10,
      slotTimeMs: this.chance(0.1) ? 0 : this.between(1, 50) * 10,
      persistence: this.between(1, 255),
      fullDuplex: this.chance(0.15),
    }
  }

  private fault(probability: number): boolean {
    return this.withFaults && this.chance(probability)
  }

  private chance(probability: number): boolean {
    return this.random() < probability
  }

  /** a whole number from low to high, both included */
  private between(low: number, high: number): number {
    return low + Math.floor(this.random() * (high - low + 1))
  }

  private count(what: string): void {
    this.counts[what] = (this.counts[what] ?? 0) + 1
  }
}

/** Most time on in any window: that time is piecewise linear in the window's end, with corners where an edge enters or leaves. */
function mostOnTime(spans: readonly KeyedSpan[], windowMs: number): number {
  let most = 0
  for (const edge of spans.flatMap((span) => [span.fromMs, span.toMs])) {
    for (const endMs of [edge, edge + windowMs]) {
      let sum = 0
      for (const { fromMs, toMs } of spans)
        sum += Math.max(0, Math.min(toMs, endMs) - Math.max(fromMs, endMs - windowMs))
      most = Math.max(most, sum)
    }
  }
  return most
}

/** Near enough to the real modulator's, and much faster. */
function durationMs(content: TransmissionContent): number {
  if (content.kind === 'tone') return content.durationMs
  let octetCount = 1
  for (const frame of content.frames) octetCount += frame.length + 3
  return content.preambleMs + content.tailMs + (octetCount * 8) / 1.2
}

/** Longer, too, than a frame of ours may be: clients send what they like. */
function frameOf(source: string, id: string, padding: number): Uint8Array {
  const begin = encodeFrame(
    uiFrame({
      source: { call: source, ssid: 3 },
      destination: { call: 'APZ001', ssid: 0 },
      payload: new TextEncoder().encode(`${id} `),
    }),
  )
  return Uint8Array.of(...begin, ...new Uint8Array(padding).fill(0x2e))
}

const toneId = (durationMs: number): string => `t${durationMs}`

const idIn = (frame: Uint8Array): string =>
  new TextDecoder().decode(frame.subarray(16)).split(' ')[0]!

const sourceOf = (frame: Uint8Array): string =>
  String.fromCharCode(...frame.subarray(7, 13).map((octet) => octet >> 1)).trim()
