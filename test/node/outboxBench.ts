import type { AnswerOptions } from '../../src/node/options.js'
import { type OutboxParts, outbox } from '../../src/node/outbox.js'
import { tally } from '../../src/node/tally.js'
import type { Outgoing } from '../../src/node/transmitter.js'
import type { FinalOutcome } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { MessageRecord, NewMessage } from '../../src/store/messages.js'
import { openStore } from '../../src/store/store.js'
import { failingStore } from './failingStore.js'
import { trustedClock } from './trustedClock.js'

export const minuteMs = 60_000

/** A frame that the outbox gave to the transmitter. */
export interface GivenFrame extends Omit<Outgoing, 'payload' | 'onEnd'> {
  readonly payload: string
  readonly end: (outcome: FinalOutcome) => void
  /** why it was taken back */
  takenBack: string | undefined
}

export const sent: FinalOutcome = { id: 'f', kind: 'sent', atMs: 0, airtimeMs: 400 }
export const refused = (
  reason: string,
  more: { airtimeMs?: number; isFinal?: true } = {},
): FinalOutcome => ({ id: 'f', kind: 'refused', atMs: 0, reason, ...more })
export const tooLate = (reason: string): FinalOutcome => ({
  ...{ id: 'f', kind: 'expired', atMs: 0, reason },
})

/** What the test says of the world around an outbox. */
interface World {
  /** why no radio may send */
  blockedBy: string | undefined
  /** radios for which others wait */
  busy: readonly number[]
  /** what a frame ends with as soon as it is given */
  endsAtOnce: FinalOutcome | undefined
  /** what the database undoes */
  failing: string
  /** what the end of a message has sent after it */
  followedBy: (message: MessageRecord) => MessageRecord[]
}

/** The outbox on a store in memory, a virtual clock and a transmitter that does what the test says. */
export function outboxBench(
  answers: Partial<AnswerOptions> = {},
  given: Partial<OutboxParts> = {},
) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world: World = {
    ...{ blockedBy: undefined, busy: [], endsAtOnce: undefined, failing: '' },
    followedBy: () => [],
  }
  const frames: GivenFrame[] = []
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const ends: string[] = []
  const lost: string[] = []
  const counts = tally()
  const send = ({ payload, onEnd, ...outgoing }: Outgoing) => {
    const text = Buffer.from(payload).toString('latin1')
    const frame: GivenFrame = { ...outgoing, payload: text, end: onEnd!, takenBack: undefined }
    frames.push(frame)
    if (world.endsAtOnce !== undefined) onEnd!(world.endsAtOnce)
    return (reason: string) => {
      frame.takenBack = reason
    }
  }
  const standard = { gapsMs: [8_000, 16_000], jitter: 0, window: 1, notAfterMs: 20 * minuteMs }
  const box = outbox({
    ...{ clock, clockTrust: trustedClock, random: () => 0.5, tally: counts },
    store: failingStore(store, (doing) => doing === world.failing),
    note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
    options: { ...standard, ...answers } as AnswerOptions,
    pathTo: (call) => [`BY-${call.split('-')[1]}`],
    transmitter: {
      ...{ send, blockedBy: () => world.blockedBy, isBusy: (radio) => world.busy.includes(radio) },
      ...{ airtime: () => undefined, waiting: () => [], drop: () => false, stop: () => {} },
    },
    onEnd: (message, state, reason) => {
      ends.push(`${message.text}: ${state}, ${reason}`)
      return world.followedBy(message)
    },
    onLost: (message) => {
      lost.push(message.text)
      return []
    },
    ...given,
  })

  /** A message in the database: an answer to a question, with a number. */
  const message = (change: Partial<NewMessage> = {}): MessageRecord => {
    const wallMs = clock.wallMs()
    const kept = store.durably('test', () =>
      store.messages.insert({
        ...{ kind: 'answer', to: 'N0CALL-7', number: '11', replyTo: undefined, text: 'hi' },
        ...{ questionId: 1, mailboxId: undefined, radio: 0, state: 'waiting' },
        ...{ createdWallMs: wallMs, notAfterWallMs: wallMs + 20 * minuteMs, ...change },
      }),
    )
    if (!kept.ok) throw new Error('the message was not kept')
    return kept.value
  }
  let told = 0

  return {
    ...{ store, clock, world, frames, events, ends, lost, counts, box, message },
    /** Takes up messages with these texts and the numbers 11, 12 ... */
    add(texts: readonly string[], change: Partial<NewMessage> = {}, turn = 0): MessageRecord[] {
      const all = texts.map((text, at) => message({ text, number: `${11 + at}`, ...change }))
      box.add(all, turn)
      return all
    },
    /** Ends the newest frame. */
    end(outcome: FinalOutcome = sent): void {
      frames.at(-1)!.end(outcome)
    },
    /** texts given to the transmitter since the last call */
    texts(): string[] {
      const texts = frames.slice(told).map(({ text }) => text)
      told = frames.length
      return texts
    },
    /** 'text: state, transmissions, reason' of all messages */
    states: (): string[] =>
      store.messages
        .query()
        .map(({ text, state, attempts, reason }) => `${text}: ${state}, ${attempts}, ${reason}`),
  }
}
