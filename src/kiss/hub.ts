import { type Allowance, createAllowance } from '../runtime/allowance.js'
import type { Clock } from '../runtime/clock.js'
import { createKissDecoder, encodeKiss, type KissFrame } from './codec.js'
import { kissCommand } from './constants.js'
import { type ChannelParameters, readHostFrame } from './parameters.js'

/** What the KISS ends need of the rest of the program. */
export interface KissHost {
  /** radios that there are; a frame for another number is counted and dropped */
  readonly radios: readonly number[]
  /** takes a client's frame; it is for the host to judge and queue it */
  send(frame: ClientFrame): void
  /** a frame that the hub does not pass on, for the record */
  refuse(frame: ClientFrame, reason: string): void
  /** so many stretches of octets of this client were no KISS frame, for the record */
  malformed(client: KissClient, count: number): void
  /** @returns whether it was taken */
  setParameters(radio: number, change: ChannelParameters, client: KissClient): boolean
  /** the client is gone, and so is what it had set */
  gone(client: KissClient): void
}

/** Whose frame or setting it is; the same object for as long as the client is connected. */
export interface KissClient {
  /** such as "tcp 127.0.0.1:50412" */
  readonly name: string
  /** over loopback, a serial line or a pseudo-terminal: not from another machine of a network */
  readonly isLocal: boolean
}

export interface ClientFrame {
  readonly radio: number
  /** without FCS, as the client wrote them: nothing is checked yet */
  readonly octets: Uint8Array
  readonly client: KissClient
  /** call once the frame has been sent on the air: the client asked to be told */
  readonly onSent?: () => void
}

/** What the paper of 1991 adds for several modems on one line. */
export interface LineMode {
  /** each frame, both ways, ends with the XOR of its octets */
  readonly checksum: boolean
  /** nothing is said but what a poll asks for, a frame a poll */
  readonly polled: boolean
}

/** The near end of one client's connection, whatever it runs over. */
export interface ClientLink extends KissClient {
  write(octets: Uint8Array): void
  /** octets written that the other side has not taken yet */
  waitingOctets(): number
  /** octets that may wait; more is taken for a client that does not read */
  readonly waitingOctetsMax: number
  /** a full buffer drops the client ('client': it can come back) or the frame ('frame': a line cannot hang up) */
  readonly whenFull: 'client' | 'frame'
  /** how it is spoken to, beyond the paper of 1987; plain KISS where absent */
  readonly line?: LineMode | undefined
  /** hangs up at once, throwing away what waits */
  drop(): void
}

export interface HubOptions {
  readonly host: KissHost
  /** clients hear only; their data frames are counted and dropped */
  readonly receiveOnly: boolean
  readonly parametersAllowed: boolean
}

/** Everything that passed or did not, over all clients; each only grows. */
export interface HubCounters {
  clients: number
  /** heard frames given to clients, one for each client */
  framesOut: number
  /** data frames of clients passed on */
  framesIn: number
  parametersSet: number
  /** data frames dropped because of receiveOnly */
  receiveOnly: number
  /** parameter frames dropped because of parametersAllowed or receiveOnly, or refused by the host */
  parametersRefused: number
  /** frames for a radio that there is not */
  unknownRadio: number
  /** empty frames, undefined commands, parameters without a value */
  ignored: number
  /** broken escapes, frames over the limit, noise before the first frame end */
  malformed: number
  /** octets thrown away because they came faster than any channel, on a line that cannot be made to wait */
  floodedOctets: number
  /** clients dropped because they did not read */
  slowClients: number
  /** frames not given to a line that did not read */
  slowFrames: number
  /** polls answered */
  polls: number
  /** frames that nobody polled for while many came */
  unpolled: number
}

/** Joins any number of clients with the radios. */
export interface KissHub {
  /** Adds a client. */
  attach(link: ClientLink): ClientSession
  /** Gives a heard frame to every client. */
  heard(radio: number, octets: Uint8Array): void
  readonly clients: readonly string[]
  readonly counters: Readonly<HubCounters>
}

export interface ClientSession {
  /** octets that the client sent, cut anywhere */
  push(chunk: Uint8Array): void
  /** octets that the client sent and nobody read: the frame that they cut is dropped */
  lose(octetCount: number): void
  /** the client is gone */
  detach(): void
}

/**
 * What a client may send at once, and a second: a channel of 1200 baud takes 150 octets a second. More is left with it, or
 * thrown away, so that one that floods us waits and nobody else does.
 */
export const clientAllowance = (clock: Clock): Allowance => createAllowance(clock, 65_536, 16_384)

/** Type octet and data of a client's frame: twice what the paper asks for, more than a time-out timer lets pass. */
const frameOctetsMax = 2048

/** Frames that wait for the polls of one line; beyond it the oldest are dropped. */
const unpolledMax = 100

/** No I/O, no clock: links are passed in. Nothing that a client sends makes it throw. */
export const createKissHub = (options: HubOptions): KissHub => new Hub(options)

class Hub implements KissHub {
  readonly counters: HubCounters = {
    clients: 0,
    framesOut: 0,
    framesIn: 0,
    parametersSet: 0,
    receiveOnly: 0,
    parametersRefused: 0,
    unknownRadio: 0,
    ignored: 0,
    malformed: 0,
    floodedOctets: 0,
    slowClients: 0,
    slowFrames: 0,
    polls: 0,
    unpolled: 0,
  }
  /** with the frames that wait for polls */
  private readonly links = new Map<ClientLink, KissFrame[]>()

  constructor(private readonly options: HubOptions) {}

  get clients(): readonly string[] {
    return [...this.links.keys()].map((link) => link.name)
  }

  attach(link: ClientLink): ClientSession {
    this.links.set(link, [])
    this.counters.clients++
    const decoder = createKissDecoder({
      maxOctets: frameOctetsMax,
      checksum: link.line?.checksum ?? false,
    })
    let malformed = 0
    let gone = false
    return {
      push: (chunk) => {
        for (const frame of decoder.push(chunk)) {
          // an earlier frame of this chunk may have had its client dropped
          if (!this.links.has(link)) break
          this.take(link, frame)
        }
        const { badEscape, tooLong, noise, badChecksum } = decoder.counters
        const more = badEscape + tooLong + noise + badChecksum - malformed
        malformed += more
        this.counters.malformed += more
        if (more > 0) this.options.host.malformed(link, more)
      },
      lose: (octetCount) => {
        this.counters.floodedOctets += octetCount
        decoder.reset()
      },
      detach: () => {
        this.links.delete(link)
        if (!gone) this.options.host.gone(link)
        gone = true
      },
    }
  }

  heard(radio: number, octets: Uint8Array): void {
    if (this.links.size === 0) return
    const frame = { port: radio, command: kissCommand.data, data: octets }
    const plain = encodeKiss(frame)
    for (const link of [...this.links.keys()])
      if (this.tell(link, frame, plain)) this.counters.framesOut++
  }

  /** @param plain the frame as a line without a mode gets it, where that was made already */
  private tell(link: ClientLink, frame: KissFrame, plain?: Uint8Array): boolean {
    if (link.line === undefined) return this.write(link, plain ?? encodeKiss(frame))
    if (!link.line.polled) return this.write(link, encodeKiss(frame, link.line))
    const waiting = this.links.get(link)
    if (waiting === undefined) return false
    waiting.push(frame)
    if (waiting.length <= unpolledMax) return true
    waiting.shift()
    this.counters.unpolled++
    return true
  }

  /** One frame of this radio; the poll itself where there is none. */
  private answerPoll(link: ClientLink, poll: KissFrame): void {
    this.counters.polls++
    const waiting = this.links.get(link) ?? []
    const at = waiting.findIndex(({ port }) => port === poll.port)
    const [frame] = at < 0 ? [] : waiting.splice(at, 1)
    const answer = frame ?? { ...poll, data: new Uint8Array() }
    this.write(link, encodeKiss(answer, link.line))
  }

  private take(link: ClientLink, frame: KissFrame): void {
    const { host, parametersAllowed, receiveOnly } = this.options
    const request = readHostFrame(frame)
    const isPoll = frame.command === kissCommand.poll && link.line?.polled === true
    if (isPoll && host.radios.includes(frame.port)) this.answerPoll(link, frame)
    else if (request.kind === 'ignored') this.counters.ignored++
    else if (!host.radios.includes(frame.port)) {
      this.counters.unknownRadio++
      if (request.kind !== 'parameters')
        host.refuse(frameOf(link, frame.port, request.octets), `there is no radio ${frame.port}`)
    } else if (request.kind === 'data') this.sendData(link, frame.port, request.octets)
    else if (request.kind === 'acknowledgedData')
      this.sendData(link, frame.port, request.octets, request.tag)
    else if (receiveOnly || !parametersAllowed) this.counters.parametersRefused++
    else if (host.setParameters(frame.port, request.change, link)) this.counters.parametersSet++
    else this.counters.parametersRefused++
  }

  private sendData(link: ClientLink, radio: number, octets: Uint8Array, tag?: Uint8Array): void {
    const { host, receiveOnly } = this.options
    const frame = frameOf(link, radio, octets)
    if (receiveOnly) {
      this.counters.receiveOnly++
      host.refuse(frame, 'clients may only hear (kiss.receiveOnly, or --receive-only)')
      return
    }
    this.counters.framesIn++
    if (tag === undefined) {
      host.send(frame)
      return
    }
    const reply = { port: radio, command: kissCommand.acknowledgedData, data: tag }
    host.send({
      ...frame,
      onSent: () => {
        if (this.links.has(link)) this.tell(link, reply)
      },
    })
  }

  /** @returns false where the link's buffer is full: the frame or the client is dropped then */
  private write(link: ClientLink, octets: Uint8Array): boolean {
    if (link.waitingOctets() + octets.length <= link.waitingOctetsMax) {
      link.write(octets)
      return true
    }
    if (link.whenFull === 'frame') this.counters.slowFrames++
    else {
      this.counters.slowClients++
      this.links.delete(link)
      link.drop()
    }
    return false
  }
}

const frameOf = (client: KissClient, radio: number, octets: Uint8Array): ClientFrame => ({
  client,
  radio,
  octets,
})
