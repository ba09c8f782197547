import type { Clock } from '../runtime/clock.js'
import { createKissDecoder, encodeKiss } from './codec.js'
import { kissCommand } from './constants.js'
import { keepOpen, type OpenStream } from './octetStream.js'
import { type ChannelParameters, parameterFrames } from './parameters.js'

export interface ModemLinkOptions {
  readonly open: OpenStream
  readonly clock: Clock
  /** the modem's number for the radio that we use, 0 to 15 */
  readonly modemPort: number
  /** octets that may wait for a modem that does not read */
  readonly bufferOctetsMax: number
  /** wait before the first attempt to connect anew, ms; it doubles up to delayMsMax */
  readonly delayMs: number
  readonly delayMsMax: number
  /** an attempt to connect that takes longer is given up, ms */
  readonly openMsMax: number
  /** a frame that the modem heard, without FCS */
  readonly onFrame: (octets: Uint8Array) => void
  /** the modem was reached (undefined), or lost and why */
  readonly onState: (lost: string | undefined) => void
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

/** A connection to an external KISS modem, made anew whenever it was lost. */
export interface ModemLink {
  readonly connected: boolean
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

const frameOctetsMax = 2048

export function createModemLink(options: ModemLinkOptions): ModemLink {
  const { clock, modemPort, bufferOctetsMax } = options
  const decoder = createKissDecoder({ maxOctets: frameOctetsMax })
  const counts = { framesIn: 0, framesOut: 0, otherPort: 0, ignored: 0 }
  let parameters: ChannelParameters = {}

  const takeOctets = (chunk: Uint8Array): void => {
    for (const { port, command, data } of decoder.push(chunk)) {
      if (command !== kissCommand.data || data.length === 0) counts.ignored++
      else if (port !== modemPort) counts.otherPort++
      else {
        counts.framesIn++
        options.onFrame(data)
      }
    }
  }

  const writeParameters = (change: ChannelParameters): void => {
    for (const frame of parameterFrames(modemPort, change)) link.stream?.write(encodeKiss(frame))
  }

  const link = keepOpen({
    open: options.open,
    clock,
    delayMs: options.delayMs,
    delayMsMax: options.delayMsMax,
    openMsMax: options.openMsMax,
    handlers: {
      onOpen() {
        decoder.reset()
        writeParameters(parameters)
        options.onState(undefined)
      },
      onOctets: takeOctets,
      onClosed: options.onState,
    },
  })

  return {
    get connected() {
      return link.stream !== undefined
    },
    get hasRoom() {
      return (link.stream?.waitingOctets() ?? 0) <= bufferOctetsMax / 2
    },
    get nextAttemptMs() {
      return link.nextAttemptMs
    },
    sendFrames(frames) {
      const { stream } = link
      if (stream === undefined) return 'the modem is not connected'
      const encoded = frames.map((data) =>
        encodeKiss({ port: modemPort, command: kissCommand.data, data }),
      )
      const octetCount = encoded.reduce((sum, { length }) => sum + length, 0)
      if (stream.waitingOctets() + octetCount > bufferOctetsMax)
        return 'the modem takes no more octets'
      for (const octets of encoded) stream.write(octets)
      counts.framesOut += frames.length
      return undefined
    },
    setParameters(change) {
      parameters = { ...parameters, ...change }
      writeParameters(change)
    },
    get counters() {
      const { badEscape, tooLong, noise } = decoder.counters
      return { ...counts, malformed: badEscape + tooLong + noise, ...link.counters }
    },
    close: () => link.close(),
  }
}
