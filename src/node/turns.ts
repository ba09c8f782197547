import { isSameAnswer, laneOf, type UnderWay } from './underWay.js'

export interface TurnOptions {
  /** messages to one station that may be unacknowledged at a time */
  readonly window: number
  /** others wait for the radio: then the parts of an answer follow each other without an acknowledgement in between */
  readonly isBusy: boolean
}

/**
 * What may be given to the transmitter now.
 * @param own messages to one station, in order
 */
export function dueMessages(own: readonly UnderWay[], options: TurnOptions): readonly UnderWay[] {
  const lane = (name: ReturnType<typeof laneOf>): UnderWay[] =>
    own.filter(({ message, state }) => laneOf(message) === name && state !== 'parked')
  return [
    ...oneByOne(lane('emergency'), options),
    ...dueAnswers(lane('answers'), options),
    ...oneByOne(lane('mail'), options),
  ]
}

/**
 * All parts of an answer go out once before any is repeated, and a part goes out first when those before it have: whatever
 * the channel does, they are heard in order. While nothing of an answer was acknowledged, its first open part alone is
 * repeated: a receiver that acknowledges that will acknowledge the others.
 */
function dueAnswers(
  own: readonly UnderWay[],
  { window, isBusy }: TurnOptions,
): readonly UnderWay[] {
  let room = window - own.filter(isOpen).length
  const unsent = own.find(({ sentCount }) => sentCount === 0)
  if (unsent !== undefined) {
    const mayGo = room > 0 || isBusy || unsent.message.number === undefined
    return unsent.state === 'waiting' && mayGo ? [unsent] : []
  }
  return own.filter((one) => {
    if (one.state !== 'due' || room <= 0) return false
    const first = own.find(({ message }) => isSameAnswer(message, one.message))
    if (first !== one && !one.partAcknowledged) return false
    room--
    return true
  })
}

/** Sent, or about to be, and not acknowledged. What wants no acknowledgement, or is sent only once, holds nothing up. */
const isOpen = ({ state, onlyOnce, message }: UnderWay): boolean =>
  (state === 'sending' && message.number !== undefined) ||
  (state === 'sent' && onlyOnce === undefined)

/** Each message until it is acknowledged or given up, then the next. */
const oneByOne = (own: readonly UnderWay[], { window }: TurnOptions): readonly UnderWay[] =>
  own.slice(0, window).filter(({ state }) => state === 'waiting' || state === 'due')
