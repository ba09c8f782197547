import type { Cancel, Clock } from '../runtime/clock.js'
import { createKissDecoder, encodeKiss, type KissFrame } from './codec.js'
import { kissCommand } from './constants.js'
import { keepOpen, type OpenStream } from './octetStream.js'
import { type ChannelParameters, parameterFrames } from './parameters.js'
import { createTextWatch } from './textWatch.js'

export interface ModemLinkOptions {
  readonly open: OpenStream
  readonly clock: Clock
  /** the modem's number for the radio that we use, 0 to 15 */
  readonly modemPort: number
  /** lines of text that bring the modem to KISS, sent whenever it was reached */
  readonly startup: readonly string[]
  /** a modem that tells nothing for that long is reported, ms; 0 never */
  readonly silentAfterMs: number
  /** octets that may wait for a modem that does not read */
  readonly bufferOctetsMax: number
  /** wait before the first attempt to connect anew, ms; it doubles up to delayMsMax */
  readonly delayMs: number
  readonly delayMsMax: number
  /** an attempt to connect that takes longer is given up, ms */
  readonly openMsMax: number
  /** a frame that the modem heard, without FCS */
  readonly onFrame: (octets: Uint8Array) => void
  /** the modem may be given frames (undefined), or was lost and why */
  readonly onState: (lost: string | undefined) => void
  /** it has told nothing for silentAfterMs (true), and tells again */
  readonly onSilent: (silent: boolean) => void
}

export interface ModemLinkCounters {
  framesIn: number
  framesOut: number
  /** frames that the modem heard on another radio than ours */
  otherPort: number
  /** empty frames and anything but data from the modem: the protocol has none (KISS s.4) */
  ignored: number
  /** broken escapes, frames over the limit, noise */
  malformed: number
  opened: number
  failed: number
  lost: number
}

/**
 * A connection to an external KISS modem, made anew whenever it was lost. KISS has no answer by which a modem could show that
 * it listens: what shows that it does not is taken note of.
 */
export interface ModemLink {
  /** it may be given frames */
  readonly connected: boolean
  /** why what it is given may not go out, in words; undefined where nothing speaks against it */
  readonly doubt: string | undefined
  /** most of what it was given has been taken */
  readonly hasRoom: boolean
  /** when the next attempt to connect comes, monotonicMs */
  readonly nextAttemptMs: number | undefined
  /** Writes all frames or none. @returns in words why they were not written; undefined when they were */
  sendFrames(frames: readonly Uint8Array[]): string | undefined
  /** Sets the modem's parameters now, and anew after each reconnection: a modem forgets them without power. */
  setParameters(change: ChannelParameters): void
  readonly counters: Readonly<ModemLinkCounters>
  close(): void
}

export const createModemLink = (options: ModemLinkOptions): ModemLink => new Link(options)

const frameOctetsMax = 2048
/** Between two lines of the start: a modem has to read, and may have to begin anew. */
const startupPauseMs = 500
/** After its parameters were set: a modem that takes them for text has said so, or sent them back, by then. */
const provingMs = 1000

class Link implements ModemLink {
  private readonly decoder = createKissDecoder({ maxOctets: frameOctetsMax })
  private readonly text
  private readonly link
  private readonly counts = { framesIn: 0, framesOut: 0, otherPort: 0, ignored: 0 }
  private parameters: ChannelParameters = {}
  /** starting: what it sends is not judged; proving: it is, and no frame is given yet */
  private phase: 'away' | 'starting' | 'proving' | 'ready' = 'away'
  private sinceMs = 0
  private hasTold = false
  private isSilent = false
  private cancelPhase: Cancel = () => {}
  private cancelSilence: Cancel = () => {}

  constructor(private readonly options: ModemLinkOptions) {
    const { open, clock, delayMs, delayMsMax, openMsMax } = options
    this.text = createTextWatch(options.modemPort)
    this.link = keepOpen({
      ...{ open, clock, delayMs, delayMsMax, openMsMax },
      handlers: {
        onOpen: () => this.opened(),
        onOctets: (chunk) => this.take(chunk),
        onClosed: (reason) => this.lost(reason),
      },
    })
  }

  get connected(): boolean {
    return this.phase === 'ready'
  }

  get doubt(): string | undefined {
    const { clock, silentAfterMs } = this.options
    if (silentAfterMs === 0 || this.phase !== 'ready') return undefined
    if (!this.hasTold) return 'the modem has told nothing since it was connected'
    const silentMs = clock.monotonicMs() - this.sinceMs
    return silentMs < silentAfterMs
      ? undefined
      : `the modem has told nothing for ${Math.floor(silentMs / 60_000)} min`
  }

  get hasRoom(): boolean {
    return (this.link.stream?.waitingOctets() ?? 0) <= this.options.bufferOctetsMax / 2
  }

  get nextAttemptMs(): number | undefined {
    return this.link.nextAttemptMs
  }

  get counters(): ModemLinkCounters {
    const { badEscape, tooLong, noise } = this.decoder.counters
    return { ...this.counts, malformed: badEscape + tooLong + noise, ...this.link.counters }
  }

  sendFrames(frames: readonly Uint8Array[]): string | undefined {
    const { stream } = this.link
    if (stream === undefined || !this.connected) return 'the modem is not connected'
    const { bufferOctetsMax, modemPort: port } = this.options
    const encoded = frames.map((data) => encodeKiss({ port, command: kissCommand.data, data }))
    const octetCount = encoded.reduce((sum, { length }) => sum + length, 0)
    if (stream.waitingOctets() + octetCount > bufferOctetsMax)
      return 'the modem takes no more octets'
    for (const octets of encoded) stream.write(octets)
    this.counts.framesOut += frames.length
    return undefined
  }

  setParameters(change: ChannelParameters): void {
    this.parameters = { ...this.parameters, ...change }
    if (this.phase === 'ready') this.writeParameters(change)
  }

  close(): void {
    this.phase = 'away'
    this.cancelPhase()
    this.cancelSilence()
    this.link.close()
  }

  private opened(): void {
    this.decoder.reset()
    this.text.reset()
    this.phase = 'starting'
    this.startFrom(0)
  }

  private startFrom(index: number): void {
    const line = this.options.startup[index]
    if (line === undefined) {
      this.phase = 'proving'
      this.writeParameters(this.parameters)
      this.after(provingMs, () => this.becomeReady())
      return
    }
    this.link.stream?.write(Buffer.from(`${line}\r`, 'latin1'))
    this.after(startupPauseMs, () => this.startFrom(index + 1))
  }

  private becomeReady(): void {
    this.cancelPhase()
    this.phase = 'ready'
    this.hasTold = false
    this.watchSilence()
    this.options.onState(undefined)
  }

  private take(chunk: Uint8Array): void {
    for (const frame of this.decoder.push(chunk)) this.takeFrame(frame)
    if (this.phase === 'starting' || this.phase === 'away') return
    const text = this.text.push(chunk)
    if (text !== undefined) this.link.drop(`it sends text in place of KISS: "${text}"`)
  }

  private takeFrame({ port, command, data }: KissFrame): void {
    if (this.phase === 'away') return
    if (isParameter(command) && this.phase !== 'starting') {
      // Only a host sets parameters: these are our own.
      this.link.drop('it sends back what it is given')
      return
    }
    if (command !== kissCommand.data || data.length === 0) {
      this.counts.ignored++
      return
    }
    if (this.phase === 'ready') this.showsLife()
    if (port !== this.options.modemPort) {
      this.counts.otherPort++
      return
    }
    this.counts.framesIn++
    this.options.onFrame(data)
  }

  private showsLife(): void {
    const wasSilent = this.isSilent
    this.hasTold = true
    this.watchSilence()
    if (wasSilent) this.options.onSilent(false)
  }

  private watchSilence(): void {
    const { clock, silentAfterMs, onSilent } = this.options
    this.isSilent = false
    this.sinceMs = clock.monotonicMs()
    this.cancelSilence()
    if (silentAfterMs === 0) return
    this.cancelSilence = clock.at(this.sinceMs + silentAfterMs, () => {
      this.isSilent = true
      onSilent(true)
    })
  }

  private lost(reason: string): void {
    this.phase = 'away'
    this.isSilent = false
    this.cancelPhase()
    this.cancelSilence()
    this.options.onState(reason)
  }

  private writeParameters(change: ChannelParameters): void {
    for (const frame of parameterFrames(this.options.modemPort, change))
      this.link.stream?.write(encodeKiss(frame))
  }

  private after(ms: number, run: () => void): void {
    const { clock } = this.options
    this.cancelPhase()
    this.cancelPhase = clock.at(clock.monotonicMs() + ms, run)
  }
}

const isParameter = (command: number): boolean =>
  command >= kissCommand.txDelay && command <= kissCommand.fullDuplex
