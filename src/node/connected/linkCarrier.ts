import type { Clock } from '../../runtime/clock.js'
import type { Transmitter } from '../transmitter.js'
import type { LinkCarrier } from './peerLink.js'

/** A carrier that knows how much of it waits. */
export interface BoundedCarrier extends LinkCarrier {
  readonly unsentCount: number
}

/** Frames of one connection on their way to its radio. */
export function boundedCarrier(parts: {
  readonly clock: Clock
  readonly transmitter: Pick<Transmitter, 'send'>
  readonly radio: number
  readonly station: string
  readonly notAfterMs: number
  readonly channelBusy: () => boolean
}): BoundedCarrier {
  const { clock, transmitter, radio, station } = parts
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
      const takeBack = transmitter.send({
        ...{ whole: octets, payload: octets, path: [], radio, station },
        priority: urgent ? 'acknowledgement' : 'answer',
        // Answers of one message go first: a connection has time.
        turn: 1,
        quiet: true,
        notAfterMs: clock.monotonicMs() + parts.notAfterMs,
        text: `a frame of the connection with ${station}`,
        onEnd() {
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
