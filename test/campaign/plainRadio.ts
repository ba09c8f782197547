import type { Clock } from '../../src/runtime/clock.js'
import type { Random } from '../../src/runtime/random.js'
import type { Channel } from '../../src/simulation/channel.js'
import { frameSpans } from '../../src/simulation/frameTimes.js'

export interface PlainRadioOptions {
  readonly clock: Clock
  readonly random: Random
  readonly channel: Channel
  readonly call: string
  readonly onFrame: (octets: Uint8Array) => void
  /** does not listen before it sends */
  readonly careless?: boolean
}

const waitingMax = 20
const preambleMs = 250
const tailMs = 30

/** A radio as people have them: it listens, waits a little, and sends. Nothing of the program's own is in it. */
export class PlainRadio {
  private readonly waiting: { readonly octets: Uint8Array; readonly notAfterMs: number }[] = []
  private busy = false
  private sendingUntilMs = 0
  private booked = false

  constructor(private readonly options: PlainRadioOptions) {
    options.channel.attach({
      name: options.call,
      heard: (octets) => options.onFrame(octets),
      busy: (busy) => {
        this.busy = busy
      },
    })
  }

  send(octets: Uint8Array, withinMs = 20_000): void {
    if (this.waiting.length >= waitingMax) return
    this.waiting.push({ octets, notAfterMs: this.options.clock.monotonicMs() + withinMs })
    this.book(20)
  }

  /** Begins at once, whoever else is on the air. @returns how long it takes, ms */
  sendNow(frames: readonly Uint8Array[]): number {
    const { clock, channel, call } = this.options
    const spans = frameSpans({ kind: 'frames', frames, preambleMs, tailMs: 0 })
    const lastsMs = (spans.at(-1)?.toMs ?? preambleMs) + tailMs
    this.sendingUntilMs = clock.monotonicMs() + lastsMs
    channel.transmit(call, lastsMs, spans)
    return lastsMs
  }

  private book(afterMs: number): void {
    if (this.booked) return
    this.booked = true
    const { clock } = this.options
    clock.at(clock.monotonicMs() + afterMs, () => {
      this.booked = false
      this.next()
    })
  }

  private next(): void {
    const { clock, random, careless } = this.options
    const nowMs = clock.monotonicMs()
    while (this.waiting[0] !== undefined && this.waiting[0].notAfterMs < nowMs) this.waiting.shift()
    if (this.waiting.length === 0) return
    if (nowMs < this.sendingUntilMs) this.book(this.sendingUntilMs - nowMs + 50 + 400 * random())
    else if (this.busy && !careless) this.book(100 + 800 * random())
    else {
      const { octets } = this.waiting.shift()!
      this.book(this.sendNow([octets]) + 50 + 400 * random())
    }
  }
}
