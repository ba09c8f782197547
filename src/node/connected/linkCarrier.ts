import type { Priority } from '../../radio/port.js'
import type { Clock } from '../../runtime/clock.js'
import type { Transmitter } from '../transmitter.js'
import type { LinkCarrier } from './peerLink.js'

/** A carrier that knows how much of it waits. */
export interface BoundedCarrier extends LinkCarrier {
  readonly unsentCount: number
}

/** Keeps a connection within a share of the time. */
export interface LinkMeter {
  /** false: a frame is given up unsent, and the link asks for it again */
  maySend(): boolean
  note(airtimeMs: number): void
}

/** Frames of one connection on their way to its radio. */
export function boundedCarrier(parts: {
  readonly clock: Clock
  readonly transmitter: Pick<Transmitter, 'send'>
  readonly radio: number
  readonly station: string
  readonly notAfterMs: number
  readonly channelBusy: () => boolean
  /** for a connection between nodes, which gives way to people */
  readonly meter?: LinkMeter | undefined
}): BoundedCarrier {
  const { clock, transmitter, radio, station, meter } = parts
  let unsentCount = 0
  return {
    channelBusy: parts.channelBusy,
    get unsentCount() {
      return unsentCount
    },
    send(octets, urgent, onEnd) {
      unsentCount++
      let open = true
      const end = (): void => {
        if (open) unsentCount--
        open = false
      }
      if (meter?.maySend() === false) {
        const cancel = clock.at(clock.monotonicMs(), () => {
          end()
          onEnd()
        })
        return () => {
          end()
          cancel()
        }
      }
      const takeBack = transmitter.send({
        ...{ whole: octets, payload: octets, path: [], radio, station },
        priority: priorityOf(urgent, meter !== undefined),
        // Answers of one message go first: a connection has time.
        turn: 1,
        quiet: true,
        notAfterMs: clock.monotonicMs() + parts.notAfterMs,
        text: `a frame of the connection with ${station}`,
        onEnd(outcome) {
          if (outcome.kind === 'sent') meter?.note(outcome.airtimeMs)
          end()
          onEnd()
        },
      })
      return () => {
        end()
        takeBack('the connection is over')
      }
    },
  }
}

/** Between nodes nobody waits: people go first. */
const priorityOf = (urgent: boolean, isBetweenNodes: boolean): Priority =>
  isBetweenNodes ? 'mailbox' : urgent ? 'acknowledgement' : 'answer'
