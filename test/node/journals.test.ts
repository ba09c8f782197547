import { describe, expect, it } from 'vitest'
import { hourlyJournal } from '../../src/node/hourlyJournal.js'
import {
  journal,
  mailboxReference,
  messageReference,
  questionReference,
  referenceOfUniqueId,
} from '../../src/node/journal.js'
import { keyingJournal } from '../../src/node/keyingJournal.js'
import { radioJournal } from '../../src/node/radioJournal.js'
import type { RadioEvent, RadioEventKind } from '../../src/radio/radioEvent.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NodeEvent } from '../../src/store/events.js'

const hourMs = 3_600_000

function bench() {
  const clock = virtualClock(1_000)
  const listed: NodeEvent[] = []
  const store = { events: { add: (event: NodeEvent) => void listed.push(event) } } as never
  return { clock, listed, store }
}

describe('the log', () => {
  it('keeps and tells what happens, with the time', () => {
    const { clock, listed, store } = bench()
    const told: NodeEvent[] = []
    const note = journal(store, clock, (event) => void told.push(event))
    clock.advanceTo(5)
    note('asked', 'sun', { radio: 2, station: 'Q1', reference: 'Q7', reason: 'why' })
    note('started', 'node')
    const asked = { radio: 2, station: 'Q1', reference: 'Q7', reason: 'why' }
    expect(listed).toEqual([
      { atWallMs: 1_005, kind: 'asked', text: 'sun', ...asked },
      { atWallMs: 1_005, kind: 'started', text: 'node' },
    ])
    expect(told).toEqual(listed)
    journal(store, clock, undefined)('started', 'again')
    expect(listed).toHaveLength(3)
  })

  it('names questions, messages and entries of the mailbox', () => {
    expect([questionReference(12), messageReference(31), mailboxReference(4)]).toEqual([
      ...['Q12', 'M31', 'B4'],
    ])
    expect([referenceOfUniqueId('Q12-abc-d'), referenceOfUniqueId('Q12')]).toEqual(['Q12', 'Q12'])
  })
})

describe('events that may come without end', () => {
  const event = (change: Partial<NodeEvent> = {}): NodeEvent => ({
    ...{ atWallMs: 7, kind: 'fault', radio: 0, text: 'text', reason: 'why', ...change },
  })

  it('are listed as they are, so many in an hour; the first that is left out says so', () => {
    const { clock, listed, store } = bench()
    const take = hourlyJournal(store, clock, 2)
    for (let count = 0; count < 4; count++) take(event({ atWallMs: count }), 'hill')
    const more = { kind: 'fault', radio: 0, text: 'hill' }
    const reason = 'this happens often: no more of it is listed in this hour'
    expect(listed).toEqual([
      event({ atWallMs: 0 }),
      event({ atWallMs: 1 }),
      { ...more, atWallMs: 2, reason },
    ])
    clock.advanceTo(hourMs - 1)
    take(event(), 'hill')
    expect(listed).toHaveLength(3)
    clock.advanceTo(hourMs)
    take(event({ atWallMs: 9 }), 'hill')
    expect(listed.slice(3)).toEqual([
      { ...more, atWallMs: 9, reason: '3 more of these in an hour, not listed' },
      event({ atWallMs: 9 }),
    ])
  })

  it('are counted by kind and radio; an hour without any left out says nothing', () => {
    const { clock, listed, store } = bench()
    const take = hourlyJournal(store, clock, 1)
    take(event(), 'hill')
    take(event({ radio: 1 }), 'valley')
    take(event({ kind: 'cut' }), 'hill')
    expect(listed).toEqual([event(), event({ radio: 1 }), event({ kind: 'cut' })])
    clock.advanceTo(hourMs)
    take(event({ atWallMs: 8 }), 'hill')
    expect(listed.slice(3)).toEqual([event({ atWallMs: 8 })])
    // the new hour began with that
    clock.advanceTo(2 * hourMs - 1)
    take(event(), 'hill')
    expect(listed.at(-1)?.reason).toMatch(/happens often/)
  })
})

describe('events of a radio', () => {
  const event = (kind: RadioEventKind, atMs = 0): RadioEvent => ({
    ...{ kind, radio: 1, atMs, atWallMs: 100 + atMs, reason: 'why' },
  })

  it.each([...['cut', 'hold', 'release', 'settings', 'fault', 'recovered']] as const)(
    '%s is listed under the name of the radio',
    (kind) => {
      const { clock, listed, store } = bench()
      radioJournal(store, clock)('hill', event(kind))
      expect(listed).toEqual([{ atWallMs: 100, kind, radio: 1, text: 'hill', reason: 'why' }])
    },
  )

  it.each([
    ...['queued', 'held', 'sent', 'refused', 'expired', 'keyed', 'unkeyed', 'unheard'],
    'identified',
  ] as const)('%s is not listed', (kind) => {
    const { clock, listed, store } = bench()
    radioJournal(store, clock)('hill', event(kind))
    expect(listed).toEqual([])
  })

  it('tell how long its key line was on', () => {
    const kept: unknown[] = []
    const take = keyingJournal({ keyings: { add: (one: unknown) => kept.push(one) } as never })
    take(event('unkeyed', 1))
    take(event('keyed', 10))
    take({ ...event('keyed', 15), radio: 2 })
    take(event('sent', 20))
    take(event('unkeyed', 910))
    take(event('unkeyed', 920))
    take({ ...event('unkeyed', 14), radio: 2 })
    expect(kept).toEqual([
      { atWallMs: 110, radio: 1, durationMs: 900 },
      { atWallMs: 115, radio: 2, durationMs: 0 },
    ])
  })
})
