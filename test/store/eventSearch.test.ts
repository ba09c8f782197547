import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../src/runtime/random.js'
import type { EventFilter, EventKind, NodeEvent } from '../../src/store/events.js'
import { openTestStore } from './openTestStore.js'

const kinds: readonly EventKind[] = ['heard', 'heard', 'heard', 'asked', 'answered', 'fault']
const stations = ['N0CALL', 'N0CALL-7', 'N0CALL-15', 'N0CALLX', 'N0CAL', 'Q1ABC-7', undefined]
const references = ['Q1', 'Q2', 'M1', 'M2', 'M3', undefined, undefined]

/** Events whose clock stepped forward and back now and then. */
function someEvents(count: number, seed: number): NodeEvent[] {
  const random = seededRandom(seed)
  const oneOf = <Value>(values: readonly Value[]): Value =>
    values[Math.floor(random() * values.length)]!
  let atWallMs = 1_000_000
  return Array.from({ length: count }, (_, index) => {
    atWallMs += random() < 0.02 ? Math.round((random() - 0.5) * 400_000) : 1_000
    return {
      ...{ atWallMs: Math.max(0, atWallMs), kind: oneOf(kinds), station: oneOf(stations) },
      ...{ radio: oneOf([0, 1]), reference: oneOf(references), text: `event ${index}` },
    }
  })
}

/** What the words of the filter mean, one event at a time. */
function fits(event: NodeEvent, id: number, filter: EventFilter): boolean {
  const { station } = filter
  const called = station?.includes('-')
    ? event.station === station
    : event.station === station || event.station?.startsWith(`${station}-`)
  // question 1 was answered by the messages 1 and 3
  const wanted = filter.reference === 'Q1' ? ['Q1', 'M1', 'M3'] : [filter.reference]
  return (
    (filter.sinceWallMs === undefined || event.atWallMs >= filter.sinceWallMs) &&
    (filter.untilWallMs === undefined || event.atWallMs < filter.untilWallMs) &&
    (station === undefined || called === true) &&
    (filter.kinds === undefined || filter.kinds.includes(event.kind)) &&
    (filter.radio === undefined || event.radio === filter.radio) &&
    (filter.reference === undefined || wanted.includes(event.reference)) &&
    (filter.afterId === undefined || id > filter.afterId)
  )
}

describe('searches of the log', () => {
  it('find what their words mean, in the order in which it happened, whatever is combined', () => {
    const events = someEvents(3_000, 1)
    const { store } = openTestStore()
    for (const event of events) store.events.add(event)
    store.durably('messages', () => {
      for (const questionId of [1, 2, 1])
        store.messages.insert({
          ...{
            kind: 'answer',
            to: 'N0CALL',
            number: '1',
            replyTo: undefined,
            text: 'x',
            questionId,
          },
          ...{ mailboxId: undefined, radio: 0, state: 'sent', createdWallMs: 1, notAfterWallMs: 2 },
        })
    })
    const random = seededRandom(2)
    const maybe = <Value>(value: Value): Value | undefined => (random() < 0.4 ? value : undefined)
    for (let round = 0; round < 300; round++) {
      const filter: EventFilter = {
        sinceWallMs: maybe(1_000_000 + Math.round(random() * 3_000_000)),
        untilWallMs: maybe(1_000_000 + Math.round(random() * 3_000_000)),
        station: maybe(random() < 0.5 ? 'N0CALL' : 'N0CALL-7'),
        kinds: maybe(random() < 0.5 ? ['heard'] : ['asked', 'heard', 'fault']),
        radio: maybe(1),
        reference: maybe(random() < 0.5 ? 'Q1' : 'M2'),
        afterId: maybe(Math.round(random() * 3_000)),
      }
      const expected = events.flatMap((event, index) =>
        fits(event, index + 1, filter) ? [index + 1] : [],
      )
      const label = JSON.stringify(filter)
      expect(
        [...store.events.each(filter)].map(({ id }) => id),
        label,
      ).toEqual(expected)
      for (const limit of [1, 7, 600])
        expect(
          store.events.query({ ...filter, limit }).map(({ id }) => id),
          label,
        ).toEqual(expected.slice(-limit))
      expect(store.events.isMoreThan(7, filter), label).toBe(expected.length > 7)
      const count = Object.values(store.events.count(filter)).reduce((sum, one) => sum + one, 0)
      expect(count, label).toBe(expected.length)
    }
  })
})
