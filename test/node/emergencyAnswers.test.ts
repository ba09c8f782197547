import { describe, expect, it } from 'vitest'
import { emergencyAnswers } from '../../src/node/emergencyAnswers.js'
import type { Heard } from '../../src/node/intake.js'
import type { Outgoing } from '../../src/node/transmitter.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { MessageRecord, NewMessage } from '../../src/store/messages.js'
import type { QuestionRecord } from '../../src/store/questions.js'
import { openStore } from '../../src/store/store.js'
import { failingStore } from './failingStore.js'

const minuteMs = 60_000
const reply = 'Nobody is here.'

function bench() {
  const ticking = virtualClock(1_790_000_000_000)
  let setMs = 0
  const clock = { ...ticking, wallMs: () => ticking.wallMs() + setMs }
  const store = openStore({ file: ':memory:', clock })
  const world = { failing: '', blocked: {} as Record<number, string> }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const added: MessageRecord[] = []
  const sent: Outgoing[] = []
  let number = 100
  const create = () =>
    emergencyAnswers({
      clock,
      store: failingStore(store, (doing) => doing === world.failing),
      note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
      options: defaultNodeOptions({ call: 'N0DE-10', emergency: { reply } }),
      outbox: () => ({ add: (messages) => void added.push(...messages) }),
      transmitter: {
        send: (outgoing) => {
          sent.push(outgoing)
          return () => {}
        },
        blockedBy: (radio) => world.blocked[radio],
      },
      pathTo: (call) => [`BY-${call}`],
      newNumber: () => `${++number}`,
    })
  const box = create()
  const durably = <Value>(work: () => Value): Value => {
    const done = store.durably('test', work)
    if (!done.ok) throw done.failure
    return done.value
  }
  const question = (change: Partial<QuestionRecord> = {}) =>
    ({ id: 7, from: 'Q1ABC', radio: 2, number: '5', ...change }) as QuestionRecord
  const heard = (from = 'Q1ABC', radio = 2, thirdParty = false) =>
    ({ from, frame: { radio }, thirdParty }) as Heard
  const message = (change: Partial<NewMessage> = {}, agoMs = 0): MessageRecord =>
    durably(() =>
      store.messages.insert({
        ...{ kind: 'emergency', to: 'Q1ABC', number: '11', replyTo: undefined, text: reply },
        ...{ questionId: 7, mailboxId: undefined, radio: 2, state: 'waiting' },
        createdWallMs: clock.wallMs() - agoMs,
        ...{ notAfterWallMs: clock.wallMs() + 10 * minuteMs, ...change },
      }),
    )
  const setClock = (byMs: number): void => {
    setMs += byMs
  }
  return {
    ...{ clock, store, world, events, added, sent, box, create, durably, question, heard, message },
    setClock,
  }
}

/** What is the same in each answer of the bench to Q1ABC. */
const standing = { to: 'Q1ABC', radio: 2, text: reply, mailboxId: undefined, state: 'waiting' }

describe('the answer to a call for help that is a message', () => {
  it.each([
    ['at once', 'emergency'],
    ['in turn', 'answer'],
  ] as const)('%s is kept as %s, with the words of the operator', (turn, kind) => {
    const { box, durably, question, clock } = bench()
    const answer = durably(() => box.insert(question(), turn, '05'))
    expect(answer).toEqual({
      ...{ ...standing, id: 1, kind, number: '101', replyTo: '05', questionId: 7, attempts: 0 },
      ...{ createdWallMs: clock.wallMs(), notAfterWallMs: clock.wallMs() + 10 * minuteMs },
      ...{ endedWallMs: undefined, reason: undefined },
    })
    expect(box.turnOf('Q1ABC')).toBe('not again')
    expect(box.wasAnsweredElse('Q1ABC', 7)).toBe(false)
    expect(box.wasAnsweredElse('Q1ABC', 8)).toBe(true)
  })

  it('without a number has none', () => {
    const { box, durably, question } = bench()
    const answer = durably(() => box.insert(question({ number: undefined }), 'at once', '05'))
    expect(answer).toMatchObject({ number: undefined, replyTo: undefined })
  })

  it('that cannot be kept is sent once, before all else', () => {
    const { box, sent, clock } = bench()
    clock.advanceBy(1_000)
    box.answerUnkept('Q1ABC', 2)
    expect(sent).toEqual([
      {
        payload: new TextEncoder().encode(`:Q1ABC    :${reply}`),
        ...{ path: ['BY-Q1ABC'], radio: 2, station: 'Q1ABC', text: reply, priority: 'emergency' },
        notAfterMs: 1_000 + 10 * minuteMs,
      },
    ])
    expect(box.turnOf('Q1ABC')).toBe('not again')
    expect(box.wasAnsweredElse('Q1ABC', 7)).toBe(true)
  })

  it('of which nothing went out is none; one that goes out again is one', () => {
    const { box, durably, question } = bench()
    durably(() => box.insert(question(), 'at once', undefined))
    box.lost('Q1ABC')
    expect(box.wasAnsweredElse('Q1ABC', 9)).toBe(false)
    expect(box.turnOf('Q1ABC')).toBe('at once')
    box.sentAgain('Q1ABC', 9)
    expect(box.turnOf('Q1ABC')).toBe('not again')
    expect(box.wasAnsweredElse('Q1ABC', 9)).toBe(false)
  })
})

describe('the answer to a call for help that is no message', () => {
  it('is a numbered message, told and given to the outbox', () => {
    const { box, heard, added, events, clock } = bench()
    expect(box.answerUnasked(heard())).toBeUndefined()
    expect(added).toEqual([
      {
        ...{ ...standing, id: 1, kind: 'emergency', number: '101', replyTo: undefined },
        ...{ questionId: undefined, attempts: 0, endedWallMs: undefined, reason: undefined },
        ...{ createdWallMs: clock.wallMs(), notAfterWallMs: clock.wallMs() + 10 * minuteMs },
      },
    ])
    expect(events).toEqual([
      { kind: 'answered', text: reply, station: 'Q1ABC', radio: 2, reference: 'M1' },
    ])
    expect(box.answerUnasked(heard())).toBe('its call for help was answered within ten minutes')
  })

  it('is none to what another station passed on', () => {
    const { box, heard, added } = bench()
    expect(box.answerUnasked(heard('Q1ABC', 2, true))).toBe(
      'a call for help that another station passed on is not answered',
    )
    expect(added).toEqual([])
  })

  it('is none where too many call', () => {
    const { box, heard } = bench()
    for (let count = 0; count < 10; count++) expect(box.turnOf(`Q${count}`)).toBe('at once')
    expect(box.answerUnasked(heard())).toBe('too many call for help: only messages are answered')
  })

  it('that cannot be kept is sent once', () => {
    const { box, heard, added, sent, world, events, clock } = bench()
    clock.advanceBy(1_000)
    world.failing = 'an answer to a call for help'
    expect(box.answerUnasked(heard())).toBeUndefined()
    expect([added, events]).toEqual([[], []])
    expect(sent).toMatchObject([{ station: 'Q1ABC', notAfterMs: 1_000 + 10 * minuteMs }])
    expect(box.answerUnasked(heard())).toBeDefined()
  })

  it('waits while its radio may not send, and has what is left of its time', () => {
    const { box, heard, added, world, clock } = bench()
    world.blocked = { 2: 'held by operator' }
    expect(box.answerUnasked(heard())).toBe('held by operator')
    expect(box.answerUnasked(heard('Q2ABC', 0))).toBeUndefined()
    expect(added.map(({ to }) => to)).toEqual(['Q2ABC'])
    clock.advanceBy(60_000)
    world.blocked = {}
    clock.advanceBy(4_999)
    expect(added).toHaveLength(1)
    clock.advanceBy(1)
    expect(added[1]).toMatchObject({
      ...{ to: 'Q1ABC', radio: 2 },
      notAfterWallMs: clock.wallMs() + 10 * minuteMs - 65_000,
    })
    clock.advanceBy(minuteMs)
    expect(added).toHaveLength(2)
    // and is looked for no more
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('goes out three times in six hours', () => {
    const { box, heard, clock } = bench()
    box.stop()
    for (let count = 0; count < 3; count++) {
      expect(box.answerUnasked(heard())).toBeUndefined()
      clock.advanceBy(10 * minuteMs)
    }
    const reason = 'its calls for help were answered 3 times in six hours'
    expect(box.answerUnasked(heard())).toBe(reason)
    clock.advanceBy(330 * minuteMs - 1)
    expect(box.answerUnasked(heard())).toBe(reason)
    clock.advanceBy(1)
    expect(box.answerUnasked(heard())).toBeUndefined()
  })

  it('is none at the moment from which it is of no use, nor once the node is stopped', () => {
    const { box, heard, added, world, clock } = bench()
    world.blocked = { 2: 'held' }
    box.answerUnasked(heard())
    clock.advanceBy(10 * minuteMs - 1)
    world.blocked = {}
    clock.advanceBy(1)
    expect(added).toEqual([])
    world.blocked = { 2: 'held' }
    box.answerUnasked(heard())
    box.stop()
    world.blocked = {}
    clock.advanceBy(minuteMs)
    expect(added).toEqual([])
  })

  it('waits for a hundred stations at most, the newest', () => {
    const { box, heard, added, world, clock } = bench()
    world.blocked = { 2: 'held' }
    for (let count = 0; count < 101; count++) box.answerUnasked(heard(`Q${count}AB`))
    clock.advanceBy(1)
    world.blocked = {}
    clock.advanceBy(4_999)
    // ten at once, of which the first is not the one that was forgotten
    expect(added.map(({ to }) => to)).toEqual(Array.from({ length: 10 }, (_, at) => `Q${at + 1}AB`))
  })
})

describe('after a restart', () => {
  it('who was answered within ten minutes is not answered again', () => {
    const { create, message, durably, store, clock } = bench()
    const ended = (to: string, agoMs: number, change: Partial<NewMessage> = {}) => {
      const { id } = message({ to, questionId: undefined, ...change }, agoMs)
      durably(() => store.messages.end(id, 'acknowledged', clock.wallMs()))
    }
    ended('Q1A', 10 * minuteMs - 1)
    ended('Q2A', 10 * minuteMs)
    ended('Q3A', 0, { kind: 'answer' })
    ended('Q4A', 0, { kind: 'answer', text: 'something else' })
    ended('Q5A', 0, { kind: 'refusal' })
    ended('Q6A', -minuteMs)
    message({ to: 'Q7A' })
    message({ to: 'Q8A', kind: 'answer', text: 'something else' })
    const next = create()
    next.resume()
    expect(
      [1, 2, 3, 4, 5, 6, 7, 8].map((at) => `Q${at}A`).map((call) => next.turnOf(call)),
    ).toEqual([
      ...['not again', 'at once', 'not again', 'at once', 'at once', 'at once', 'not again'],
      'at once',
    ])
    clock.advanceBy(1)
    expect(next.turnOf('Q1A')).toBe('at once')
  })

  it('who was answered at once counts among the ten of ten minutes; in their turn not', () => {
    const { create, message, durably, store, clock } = bench()
    for (let count = 0; count < 12; count++) {
      const kind = count < 9 ? 'emergency' : 'answer'
      const { id } = message({ to: `Q${count}A`, kind }, 9 * minuteMs)
      durably(() => store.messages.end(id, 'acknowledged', clock.wallMs()))
    }
    const next = create()
    next.resume()
    expect([next.turnOf('Q8BC'), next.turnOf('Q9BC')]).toEqual(['at once', 'in turn'])
    clock.advanceBy(minuteMs)
    expect(next.turnOf('Q9BC')).toBe('at once')
  })

  it.each([
    ['set back by a year', -365 * 24 * 60 * minuteMs],
    ['set forward by a year', 365 * 24 * 60 * minuteMs],
    ['set forward by ten minutes', 10 * minuteMs],
    ['not set', 0],
  ])('an answer that is under way counts, the clock %s, as of its question', (_, byMs) => {
    const { create, message, setClock, clock } = bench()
    message({ questionId: 7 })
    message({ to: 'Q2ABC', questionId: 8 })
    setClock(byMs)
    const next = create()
    next.resume()
    expect(next.turnOf('Q1ABC')).toBe('not again')
    expect(next.wasAnsweredElse('Q1ABC', 7)).toBe(false)
    expect(next.wasAnsweredElse('Q1ABC', 8)).toBe(true)
    clock.advanceBy(10 * minuteMs - 1)
    expect(next.turnOf('Q1ABC')).toBe('not again')
    clock.advanceBy(1)
    expect(next.turnOf('Q1ABC')).toBe('at once')
  })

  it('one that is under way and young enough has its own age', () => {
    const { create, message, clock } = bench()
    message({}, 9 * minuteMs)
    const next = create()
    next.resume()
    clock.advanceBy(minuteMs - 1)
    expect(next.turnOf('Q1ABC')).toBe('not again')
    clock.advanceBy(1)
    expect(next.turnOf('Q1ABC')).toBe('at once')
  })

  it('of several under way to a station the newest goes out, and the others are given up', () => {
    const { create, message, events, store, durably, clock } = bench()
    message()
    message({ to: 'Q2ABC' })
    message({ number: '12' })
    // a newer one that has ended counts as well
    message({ to: 'Q3ABC' })
    const { id } = message({ to: 'Q3ABC', number: '12' })
    durably(() => store.messages.end(id, 'acknowledged', clock.wallMs()))
    create().resume()
    const reason = 'a newer answer to its calls for help was given'
    expect(events).toEqual([
      { kind: 'given up', text: reply, station: 'Q1ABC', radio: 2, reference: 'M1', reason },
      { kind: 'given up', text: reply, station: 'Q3ABC', radio: 2, reference: 'M4', reason },
    ])
    expect(store.messages.query().map((one) => [one.id, one.state, one.reason])).toEqual([
      [1, 'given up', reason],
      [2, 'waiting', undefined],
      [3, 'waiting', undefined],
      [4, 'given up', reason],
      [5, 'acknowledged', undefined],
    ])
    expect(store.messages.find(1)?.endedWallMs).toBe(clock.wallMs())
  })

  it('that end is told also where it cannot be written', () => {
    const { create, message, events, world, store } = bench()
    message()
    message()
    world.failing = 'the end of a message'
    create().resume()
    expect(events).toHaveLength(1)
    expect(store.messages.find(1)?.state).toBe('waiting')
  })
})
