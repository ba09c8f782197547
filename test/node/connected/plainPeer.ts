import { encodeControl } from '../../../src/ax25/control.js'
import { decodeFrame, encodeFrame } from '../../../src/ax25/frame.js'
import type { LinkCarrier } from '../../../src/node/connected/peerLink.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'
import { address } from './linkSession.js'

/**
 * A laptop's station of version 2.0, modulo 8, written from the text of the standard (6.3 to 6.7) without a look at our
 * machine: one timer, go back to N(R) on REJ, ask again with RR at T1, answer polls. It answers SABME and XID with FRMR.
 */
export class PlainPeer {
  readonly received: number[] = []
  state: 'off' | 'calling' | 'on' | 'leaving' = 'off'
  gone: string | undefined
  frmrCount = 0
  private carrier!: LinkCarrier
  private vs = 0
  private va = 0
  private vr = 0
  private window: Uint8Array[] = []
  private queue: Uint8Array[] = []
  private tries = 0
  private rejecting = false
  private peerBusy = false
  private timer: () => void = () => {}
  onText: (peer: PlainPeer) => void = () => {}

  constructor(
    private readonly clock: VirtualClock,
    readonly own: string,
    private readonly other: string,
    private readonly k = 4,
    private readonly t1Ms = 6000,
  ) {}

  use(carrier: LinkCarrier): this {
    this.carrier = carrier
    return this
  }

  call(): void {
    this.state = 'calling'
    this.tries = 0
    this.repeat()
  }

  say(text: string): void {
    const octets = new TextEncoder().encode(text)
    for (let at = 0; at < octets.length; at += 128) this.queue.push(octets.slice(at, at + 128))
    this.flush()
  }

  leave(): void {
    this.state = 'leaving'
    this.tries = 0
    this.repeat()
  }

  get text(): string {
    return new TextDecoder().decode(Uint8Array.from(this.received))
  }

  get isDone(): boolean {
    return this.queue.length === 0 && this.window.length === 0
  }

  hear(octets: Uint8Array): void {
    const read = decodeFrame(octets)
    if (!read.ok) return
    const { control, command, payload } = read.frame
    const asked = command === 'command' && control.pollFinal
    if (control.type === 'U') this.hearU(control.name, control.pollFinal)
    else if (this.state !== 'on') {
      if (asked && this.state === 'off') this.sendU('DM', false, true)
    } else if (control.type === 'I')
      this.hearI(control.sendSequence, control.receiveSequence, payload, asked)
    else if (control.type === 'S') this.hearS(control.name, control.receiveSequence, command, asked)
  }

  private hearU(name: string, final: boolean): void {
    if (name === 'SABME' || name === 'XID') {
      this.frmrCount++
      this.send(Uint8Array.of(0x87 | (final ? 0x10 : 0)), false, Uint8Array.of(0x7f, 0, 1))
    } else if (name === 'SABM') {
      this.begin()
      this.sendU('UA', false, final)
    } else if (name === 'DISC') {
      this.sendU(this.state === 'off' ? 'DM' : 'UA', false, final)
      this.end('they left')
    } else if (name === 'UA' && this.state === 'calling') this.begin()
    else if (name === 'UA' && this.state === 'leaving') this.end('we left')
    else if (name === 'DM' && this.state !== 'off') this.end('refused')
  }

  private hearI(ns: number, nr: number, payload: Uint8Array, asked: boolean): void {
    this.acknowledged(nr)
    if (ns === this.vr) {
      this.vr = (this.vr + 1) % 8
      this.rejecting = false
      this.received.push(...payload)
      this.onText(this)
      this.sendS(0x01, false, asked)
    } else if (!this.rejecting) {
      this.rejecting = true
      this.sendS(0x09, false, asked)
    } else if (asked) this.sendS(0x01, false, true)
  }

  private hearS(name: string, nr: number, command: string, asked: boolean): void {
    this.peerBusy = name === 'RNR'
    this.acknowledged(nr)
    if (asked) this.sendS(0x01, false, true)
    const answersUs = command === 'response'
    if (name === 'REJ' || (answersUs && this.tries > 0)) {
      this.tries = 0
      this.resend()
    }
    if (this.peerBusy) this.startTimer()
  }

  private acknowledged(nr: number): void {
    const count = (nr - this.va + 8) % 8
    if (count > this.window.length) return
    this.window = this.window.slice(count)
    this.va = nr
    if (count > 0) this.tries = 0
    if (this.window.length === 0) this.timer()
    else if (count > 0) this.startTimer()
    this.flush()
  }

  private resend(): void {
    for (const [at, octets] of this.window.entries()) this.sendI((this.va + at) % 8, octets)
    if (this.window.length > 0) this.startTimer()
    this.flush()
  }

  private flush(): void {
    while (this.state === 'on' && !this.peerBusy && this.window.length < this.k) {
      const octets = this.queue.shift()
      if (octets === undefined) return
      this.window.push(octets)
      this.sendI(this.vs, octets)
      this.vs = (this.vs + 1) % 8
      this.startTimer()
    }
  }

  private begin(): void {
    this.timer()
    this.state = 'on'
    this.vs = this.va = this.vr = this.tries = 0
    this.window = []
    this.rejecting = this.peerBusy = false
    this.flush()
  }

  private end(why: string): void {
    this.timer()
    this.state = 'off'
    this.gone ??= why
  }

  private startTimer(): void {
    this.timer()
    this.timer = this.clock.at(this.clock.monotonicMs() + this.t1Ms, () => this.repeat())
  }

  private repeat(): void {
    if (++this.tries > 10) {
      this.end('no answer')
      return
    }
    if (this.state === 'calling') this.sendU('SABM', true, true)
    else if (this.state === 'leaving') this.sendU('DISC', true, true)
    else if (this.state === 'on') this.sendS(0x01, true, true)
    this.startTimer()
  }

  private sendI(ns: number, payload: Uint8Array): void {
    const octet = (this.vr << 5) | (ns << 1)
    this.send(Uint8Array.of(octet), true, payload, 0xf0)
  }

  private sendS(kind: number, command: boolean, pf: boolean): void {
    this.send(Uint8Array.of((this.vr << 5) | (pf ? 0x10 : 0) | kind), command, new Uint8Array())
  }

  private sendU(name: 'SABM' | 'DISC' | 'UA' | 'DM', command: boolean, pf: boolean): void {
    this.send(encodeControl({ type: 'U', name, pollFinal: pf }), command, new Uint8Array())
  }

  private send(
    controlOctets: Uint8Array,
    command: boolean,
    payload: Uint8Array,
    pid?: number,
  ): void {
    const octets = encodeFrame({
      ...{ destination: address(this.other), source: address(this.own), path: [], payload },
      command: command ? 'command' : 'response',
      control: { type: 'U', name: 'unknown', pollFinal: false },
      controlOctets,
      ...(pid !== undefined && { pid }),
    })
    this.carrier.send(octets, false, () => {})
  }
}
