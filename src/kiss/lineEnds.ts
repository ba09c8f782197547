import type { Clock } from '../runtime/clock.js'
import { quietEvents } from '../runtime/quietEvents.js'
import { type ClientSession, clientAllowance, type KissHub, type LineMode } from './hub.js'
import { type KeptOpen, keepOpen, type OpenStream } from './octetStream.js'
import { closedByProgram } from './streams.js'

export interface LineEndOptions {
  readonly hub: KissHub
  readonly clock: Clock
  /** such as "serial /dev/ttyUSB0" */
  readonly name: string
  readonly open: OpenStream
  /** wait before the first new attempt, ms; it doubles up to delayMsMax */
  readonly delayMs: number
  readonly delayMsMax: number
  /** as for keepOpen */
  readonly soundMs?: number
  /** plain KISS where absent */
  readonly line?: LineMode | undefined
  /** told in words when the line comes and goes */
  readonly onEvent: (text: string) => void
}

/** A line (serial, pseudo-terminal) at whose far end a KISS host may be. */
export interface LineEnd {
  readonly name: string
  readonly counters: KeptOpen['counters']
  close(): void
}

/** A host that is behind by more than that (some 14 s at 9600 bit/s) gets the news, not what is old. */
const waitingOctetsMax = 16_384

/** Offers KISS on a line; a lost line is opened anew, and a host that does not read loses frames, not the line. */
export function startKissLine(options: LineEndOptions): LineEnd {
  const { hub, clock, name, onEvent } = options
  const allowance = clientAllowance(clock)
  const tellQuietly = quietEvents(clock, onEvent)
  let session: ClientSession | undefined
  let trouble: string | undefined
  const link = keepOpen({
    ...options,
    handlers: {
      onOpen() {
        trouble = undefined
        const stream = link.stream!
        session = hub.attach({
          name,
          isLocal: true,
          write: (octets) => stream.write(octets),
          waitingOctets: () => stream.waitingOctets(),
          waitingOctetsMax,
          whenFull: 'frame',
          line: options.line,
          drop: () => stream.close(),
        })
        onEvent(`KISS on ${name}: open`)
      },
      onOctets(chunk) {
        if (allowance.take(chunk.length)) {
          session?.push(chunk)
          return
        }
        session?.lose(chunk.length)
        tellQuietly('flood', `KISS on ${name}: more octets than any channel takes: dropped`)
      },
      onClosed(reason) {
        session?.detach()
        session = undefined
        // A device that is away for hours is told of once.
        if (reason !== trouble) onEvent(`KISS on ${name}: closed: ${reason}`)
        trouble = reason === closedByProgram ? undefined : reason
      },
    },
  })
  return {
    name,
    counters: link.counters,
    close() {
      session?.detach()
      link.close()
    },
  }
}
