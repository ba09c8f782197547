import { formatAddress } from '../../ax25/address.js'
import type { Port } from '../../radio/port.js'
import type { Clock } from '../../runtime/clock.js'
import type { ClockTrust } from '../../runtime/clockTrust.js'
import { dispatchLong, type Offer } from '../../services/dispatch.js'
import type { Store } from '../../store/store.js'
import type { ContextFor } from '../answering.js'
import type { EmergencyCall } from '../emergency.js'
import type { SaidSomething } from '../emergencyMarks.js'
import type { Journal } from '../journal.js'
import type { KeptByServices } from '../keptByServices.js'
import type { Mail } from '../mail.js'
import type { WordingFor } from '../nodeWording.js'
import type { NodeOptions } from '../options.js'
import type { Outbox } from '../outbox.js'
import type { Transmitter } from '../transmitter.js'
import { type ConnectionOptions, type Connections, connections } from './connections.js'
import { type LetterOptions, letters } from './letters.js'
import type { LinkMeter } from './linkCarrier.js'
import type { OpenSession } from './session.js'
import { type TerminalParts, terminal } from './terminal.js'

export interface ConnectedOptions extends ConnectionOptions {
  readonly welcome: string
  readonly letters: LetterOptions
}

export interface ConnectedParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly nextId: () => string
  readonly ports: readonly Port[]
  readonly transmitter: Transmitter
  readonly mail: Mail
  readonly offer: Offer
  readonly contextFor: ContextFor
  readonly storage: KeptByServices
  readonly outbox: Pick<Outbox, 'add'>
  readonly nodeOptions: NodeOptions
  readonly wording: WordingFor
  readonly quietUntil: () => string | undefined
  /** Marks and tells a call for help. @returns undefined for what is none */
  readonly noticeEmergency: (said: SaidSomething) => EmergencyCall | undefined
  /** what stands at our end for another node that connects; undefined for everybody else */
  readonly sessionFor?: ((call: string) => OpenSession | undefined) | undefined
  readonly meterFor?: ((call: string) => LinkMeter | undefined) | undefined
  readonly options: ConnectedOptions
}

/** What the node gives. */
export type ConnectedNeeds = Omit<ConnectedParts, 'options'>

/** Builds the connected mode of a node; given to createNode only where it is configured. */
export type MakeConnected = (parts: ConnectedNeeds) => Connections

/** Connected mode with a terminal for whoever connects, and with a session of their own for other nodes. */
export function connectedMode(parts: ConnectedParts): Connections {
  const { clock, note, mail, options } = parts
  const own = formatAddress(options.own)
  const kept = letters({ ...parts, options: options.letters })

  const openSession =
    (radio: number): OpenSession =>
    (peer) => {
      const ofNode = parts.sessionFor?.(peer.call)
      if (ofNode !== undefined) return ofNode(peer)
      const detail = { station: peer.call, radio }
      const shared: TerminalParts = {
        ...{ own, welcome: options.welcome, letters: kept, ask: askServices(parts) },
        messagesFor: (call) => mail.waitingFor(call),
        messagesShowing: (messages) => mail.showing(messages.map(({ id }) => Number(id.slice(1)))),
        messagesRead: (call, messages) =>
          mail.handedOver(
            messages.map(({ id }) => Number(id.slice(1))),
            call,
            radio,
          ),
        tellOfLetter: tellOfLetter(parts, own),
        callForHelp: (text) => answerToCall(parts, peer.call, radio, text),
        onAsked: (text) => note('asked', text, detail),
        onAnswered: (text) => note('answered', text.slice(0, loggedCharacters), detail),
        onFault: (text, reason) => note('fault', text, { ...detail, reason }),
        wallMs: () => clock.wallMs(),
        wording: parts.wording(),
      }
      return terminal(shared, peer)
    }
  return connections({ ...parts, openSession })
}

const loggedCharacters = 1_000

/** A line is a call for help as a message with the same words is. @returns the operator's words; undefined for what is none */
function answerToCall(
  { noticeEmergency, nodeOptions, options }: ConnectedParts,
  from: string,
  radio: number,
  text: string,
): string | undefined {
  const addressee = formatAddress(options.own)
  const payload = { kind: 'message', addressee, text } as const
  const call = noticeEmergency({ from, payload, thirdParty: false, frame: { radio } })
  return call && nodeOptions.emergency.reply
}

/** The services as they answer messages, in long form. What they keep is kept with the answer. */
function askServices(parts: ConnectedParts): TerminalParts['ask'] {
  const { offer, store, note, nextId, storage, outbox } = parts
  return async (from, text) => {
    const written = storage.begin()
    let collects = false
    // What is collected over a connection is read there, by the terminal: it is not sent as messages besides.
    const collect = (): [] => {
      collects = true
      return []
    }
    try {
      const context = parts.contextFor(from, offer.services, written)
      const id = nextId()
      const { lines, fault, keyword } = await dispatchLong({ id, from, text }, offer, {
        ...context,
        mailbox: { ...context.mailbox, collect },
      })
      if (fault !== undefined)
        note('fault', text, { station: from, reason: `${keyword}: ${fault}` })
      if (collects) return 'collect'
      if (fault !== undefined || written.isEmpty) return lines
      const kept = store.durably('what a service keeps', () => written.commit(id))
      // An answer that says that it was done must not go out where it was not.
      if (!kept.ok) return [parts.wording().say('failedHere')]
      outbox.add(kept.value)
      return lines
    } finally {
      written.end()
    }
  }
}

/** Word for the receiver of a letter, as a short message of its sender. That there is no room for one harms nothing. */
const tellOfLetter =
  ({ mail, nextId, wording }: ConnectedParts, own: string): TerminalParts['tellOfLetter'] =>
  (from, to, octetCount) => {
    const text = wording().say('letterWaits', { count: octetCount, call: own })
    mail.leave({ id: nextId(), from, text, words: [], rest: text }, to, text)
  }
