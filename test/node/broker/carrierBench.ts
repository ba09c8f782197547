import type { BrokerMessage } from '../../../src/node/broker/broker.js'
import { brokerCarrier } from '../../../src/node/broker/brokerCarrier.js'
import {
  onlinePayload,
  type PieceWord,
  piecePayload,
  readPiece,
} from '../../../src/node/broker/topics.js'
import type { OpenSession, Peer } from '../../../src/node/connected/session.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'

export const own = 'Q5OWN'
/** sorts before our call, so that its session stands where both call; the other sorts behind it */
export const first = 'Q1AAA'
export const last = 'Q9ZZZ'
export const id = (letter: string): string => letter.repeat(16)
export const octets = (text: string): Uint8Array => new TextEncoder().encode(text)
export const timeLimitMs = 60_000

/** A carrier at a broker that a test plays, with sessions that note what comes. */
export function startCarrier() {
  const clock = virtualClock()
  const broker = { isUp: true, takes: undefined as boolean | undefined }
  const published: { message: BrokerMessage; confirm: (isTaken: boolean) => void }[] = []
  const log: string[] = []
  const peers: Peer[] = []
  const state = { begins: 'hello', isRefused: false, closes: false }
  let sessions = 0
  const carrier = brokerCarrier({
    ...{ clock, prefix: 'air', own, neighbours: [first, last], everyMs: 7, turnOctets: 9 },
    ...{ timeLimitMs, newSession: () => id('bcdefghij'[sessions++]!) },
    broker: {
      publish: (message, onEnd) => {
        published.push({ message, confirm: (isTaken) => onEnd?.(isTaken) })
        if (broker.takes !== undefined) onEnd?.(broker.takes)
        return true
      },
      get state() {
        return { isUp: broker.isUp } as never
      },
    },
  })
  const session =
    (name: string): OpenSession =>
    (peer) => {
      peers.push(peer)
      return {
        begin: () => {
          log.push(`${name} begins with ${peer.call}`)
          if (state.begins !== '') peer.write(octets(state.begins))
        },
        receive: (got, pid) => {
          log.push(`${name} got ${Buffer.from(got)} ${pid}`)
          if (state.closes) peer.close()
        },
        drained: () => log.push(`${name} drained`),
        reset: () => log.push(`${name} reset`),
        ended: () => log.push(`${name} ended`),
      }
    }
  carrier.start({
    sessionFor: (call) => (state.isRefused ? undefined : session(`for ${call}`)),
    reached: (call) => log.push(`reached ${call}`),
  })
  const call = (to: string) =>
    carrier.call(to, session(`to ${to}`), () => log.push(`over with ${to}`))
  const online = (from: string, isOnline = true, named = from) =>
    carrier.message(`air/${from}/online`, onlinePayload(named, isOnline, []))
  const piece = (from: string, session: string, number: number, word: PieceWord, text = '') =>
    carrier.message(
      `air/${from}/to/${own}`,
      piecePayload({ session, number, word, octets: octets(text) }),
    )
  let told = 0
  /** what was published since */
  const said = (): string[] => {
    const since = published.slice(told)
    told = published.length
    return since.map(({ message }) => {
      const { session, number, word, octets: text } = readPiece(message.payload)!
      return `${message.topic} ${session[0]} ${number} ${word} ${Buffer.from(text)}`.trimEnd()
    })
  }
  const heard = (): string[] => log.splice(0)
  return { clock, broker, published, log, peers, carrier, call, online, piece, said, heard, state }
}
