import { describe, expect, it } from 'vitest'
import type { Admission } from '../../src/node/admission.js'
import type { QuestionStorage } from '../../src/node/keptByServices.js'
import type { Mail } from '../../src/node/mail.js'
import type { Outbox } from '../../src/node/outbox.js'
import { questionEnding, type Task } from '../../src/node/questionEnding.js'
import { questionKeeping } from '../../src/node/questionKeeping.js'
import { tally } from '../../src/node/tally.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { MessageRecord } from '../../src/store/messages.js'
import { openStore } from '../../src/store/store.js'
import { failingStore } from './failingStore.js'

const minuteMs = 60_000
const task: Task = { to: { kind: 'us' }, replyTo: '05', turn: 2 }
const word = (text: string) => ({ text, kind: 'refusal' }) as MessageRecord

function bench(options: Parameters<typeof defaultNodeOptions>[0] = {}) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world = { failing: '', busy: true, acknowledged: true, collected: [] as MessageRecord[] }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const told: string[] = []
  const given: [readonly MessageRecord[], number | undefined][] = []
  const counts = tally()
  let number = 100
  const shared = {
    ...{ clock, tally: counts, options: defaultNodeOptions({ call: 'N0DE-10', ...options }) },
    store: failingStore(store, (doing) => doing === world.failing),
    note: ((kind, text, detail) => void events.push({ kind, text, ...detail })) as Parameters<
      typeof questionEnding
    >[0]['note'],
  }
  const ending = questionEnding({
    ...shared,
    admission: {
      isBusy: (radio) => world.busy && radio === 3,
      end: (id, octets) => void told.push(`over Q${id}: ${octets} octets`),
    } as Partial<Admission> as Admission,
    outbox: {
      add: (messages, turn) => void given.push([messages, turn]),
    } as Partial<Outbox> as Outbox,
    mail: {
      collectedBy(id, radio) {
        told.push(`collected by ${id}, radio ${radio}`)
        return world.collected
      },
    } as Partial<Mail> as Mail,
    refusals: {
      owed: ({ id }) => [word(`owed to Q${id}`)],
      owedAtOnce: ({ id }) => void told.push(`owed at once to Q${id}`),
      polite: () => {},
    },
    isAcknowledged: () => world.acknowledged,
    newNumber: () => `${++number}`,
  })
  const keeping = questionKeeping({ ...shared, nextId: () => 'own' })
  const question = (change: { number?: string | undefined; heardAgoMs?: number } = {}) => {
    const { heardAgoMs = 0, ...others } = change
    const kept = store.durably('test', () =>
      store.questions.insert({
        ...{ from: 'Q1ABC-7', addressee: 'N0DE-10', number: '1', text: 'ask', radio: 3 },
        ...{ ownPart: 'x', heardWallMs: clock.wallMs() - heardAgoMs, ...others },
      }),
    )
    if (!kept.ok) throw kept.failure
    return kept.value
  }
  const detail = { station: 'Q1ABC-7', radio: 3, reference: 'Q1' }
  return { store, clock, world, events, told, given, counts, ending, keeping, question, detail }
}

describe('a question that is answered', () => {
  it('ends with its answer in one transaction, and all of it goes to the outbox in its turn', () => {
    const { store, clock, ending, question, events, told, given, detail } = bench()
    ending.answered(question(), task, { messages: ['one', 'two'], keyword: 'echo' }, undefined)
    const createdWallMs = clock.wallMs()
    const message = {
      ...{ kind: 'answer', to: 'Q1ABC-7', replyTo: '05', questionId: 1, mailboxId: undefined },
      ...{ radio: 3, state: 'waiting', attempts: 0, createdWallMs },
      ...{
        notAfterWallMs: createdWallMs + 10 * minuteMs,
        endedWallMs: undefined,
        reason: undefined,
      },
    }
    const answers = [
      { ...message, id: 1, number: '101', text: 'one' },
      { ...message, id: 2, number: '102', text: 'two' },
    ]
    expect(given).toEqual([[answers, 2]])
    expect(store.messages.query()).toEqual(answers)
    expect(store.questions.find(1)).toMatchObject({ state: 'answered', reason: undefined })
    expect(told).toEqual(['over Q1: 74 octets', 'collected by Q1-x, radio 3'])
    expect(events).toEqual([{ kind: 'answered', text: 'one / two', ...detail }])
  })

  it('without a number has an answer without one', () => {
    const { ending, question, given } = bench()
    ending.answered(
      question({ number: undefined }),
      task,
      { messages: ['one'], keyword: 'echo' },
      undefined,
    )
    expect(given[0]?.[0]).toMatchObject([{ number: undefined, replyTo: undefined }])
  })

  it.each([
    ['answer', { keyword: 'echo' }],
    ['answer', { keyword: 'greeting' }],
    ['error', { keyword: undefined }],
    ['error', { keyword: 'echo', fault: 'x' }],
  ] as const)('is an %s: %j', (kind, dispatched) => {
    const { ending, question, given } = bench()
    ending.answered(question(), task, { messages: ['one'], ...dispatched }, undefined)
    expect(given[0]?.[0]).toMatchObject([{ kind }])
  })

  it('has what it collected, and what its service sends, follow', () => {
    const { ending, question, given, world } = bench()
    world.collected = [word('mail')]
    const asked: string[] = []
    const commit = (id: string) => asked.push(id) > 0 && [word('besides')]
    ending.answered(question(), task, { messages: ['one'], keyword: 'echo' }, {
      commit,
    } as Partial<QuestionStorage> as QuestionStorage)
    expect(given[0]?.[0].map(({ text }) => text)).toEqual(['one', 'mail', 'besides'])
    expect(asked).toEqual(['Q1-x'])
  })

  it.each([
    ['is cut to its first message where much is promised', true, true, ['one', 'two'], ['one..']],
    ['is not cut where it is one message', true, true, ['one'], ['one']],
    ['is not cut where little is promised', true, false, ['one', 'two'], ['one', 'two']],
    [
      'is not cut where the operator does not allow it',
      false,
      true,
      ['one', 'two'],
      ['one', 'two'],
    ],
    ['has room for the two dots', true, true, ['x'.repeat(67), 'two'], [`${'x'.repeat(65)}..`]],
  ])('%s', (_, shortWhenBusy, busy, messages, expected) => {
    const { ending, question, given, world, told } = bench({ answers: { shortWhenBusy } })
    world.busy = busy
    ending.answered(question(), task, { messages, keyword: 'echo' }, undefined)
    expect(given[0]?.[0].map(({ text }) => text)).toEqual(expected)
    const octets = expected.reduce((sum, { length }) => sum + 34 + length, 0)
    expect(told[0]).toBe(`over Q1: ${octets} octets`)
  })

  it('is given up where that cannot be kept, which its asker is told', () => {
    const { store, ending, question, given, events, world, counts, detail } = bench()
    world.failing = 'an answer'
    ending.answered(question(), task, { messages: ['one'], keyword: 'echo' }, undefined)
    const reason = 'its answer could not be kept in the database'
    expect(events).toEqual([{ kind: 'given up', text: 'ask', ...detail, reason }])
    expect(given).toEqual([[[word('owed to Q1')], undefined]])
    expect(store.questions.find(1)).toMatchObject({ state: 'given up', reason })
    expect(store.messages.query()).toEqual([])
    expect(counts.endings).toEqual([{ what: 'given up', reason, count: 1 }])
  })
})

describe('a question that is given up', () => {
  it.each([
    ['owes its asker a word', true, 60 * minuteMs, [word('owed to Q1')]],
    ['owes nothing to who asked more than an hour ago', true, 60 * minuteMs + 1, []],
    ['owes nothing to who was never told that it arrived', false, 0, []],
  ])('%s', (_, acknowledged, heardAgoMs, owed) => {
    const { ending, question, given, world, told } = bench()
    world.acknowledged = acknowledged
    ending.givenUp(question({ heardAgoMs }), 'why')
    expect([given, told]).toEqual([[[owed, undefined]], []])
  })

  it.each([true, false])(
    'that cannot be kept: the word is sent at once where it is owed (%s)',
    (owed) => {
      const { ending, question, given, world, told, events } = bench()
      world.failing = 'a question that is given up'
      world.acknowledged = owed
      ending.givenUp(question(), 'why')
      expect([given, told]).toEqual([[], owed ? ['owed at once to Q1'] : []])
      expect(events).toMatchObject([{ kind: 'given up', reason: 'why' }])
    },
  )
})

describe('a question that is kept', () => {
  const payload = { kind: 'message', addressee: 'N0DE-10', number: '1', text: 'ask' } as const
  const heard = (clock: { wallMs(): number }) =>
    ({ from: 'Q1ABC-7', frame: { radio: 3, heardAtWallMs: clock.wallMs() - 5 } }) as never

  it('is in the database with all that was heard of it, and is told', () => {
    const { keeping, clock, events, detail, counts } = bench()
    const kept = keeping.keep(heard(clock), payload, undefined, () => [])
    expect(kept).toEqual({
      question: {
        ...{ id: 1, uniqueId: 'Q1-own', from: 'Q1ABC-7', addressee: 'N0DE-10', number: '1' },
        ...{ text: 'ask', radio: 3, state: 'accepted', reason: undefined },
        ...{ heardWallMs: clock.wallMs() - 5, lastHeardWallMs: clock.wallMs() - 5 },
      },
      answers: [],
    })
    expect(events).toEqual([{ kind: 'asked', text: 'ask', ...detail }])
    expect(counts.endings).toEqual([])
  })

  it('and refused is over, with the reason; what it is answered with at once is told', () => {
    const { keeping, clock, events, detail, counts, store } = bench()
    const refusal = { reason: 'too many', how: 'reject' } as const
    const kept = keeping.keep(heard(clock), payload, refusal, ({ id }) => [word(`to Q${id}`)])
    expect(kept?.answers).toEqual([word('to Q1')])
    expect(store.questions.find(1)).toMatchObject({ state: 'refused', reason: 'too many' })
    expect(events).toEqual([
      { kind: 'asked', text: 'ask', ...detail },
      { kind: 'refused', text: 'ask', ...detail, reason: 'too many' },
      { kind: 'answered', text: 'to Q1', ...detail },
    ])
    expect(counts.endings).toEqual([{ what: 'refused', reason: 'too many', count: 1 }])
  })

  it('is not, and not acknowledged, where the database does not take it', () => {
    const { keeping, clock, events, world, counts } = bench()
    world.failing = 'a question'
    expect(keeping.keep(heard(clock), payload, undefined, () => [])).toBeUndefined()
    const reason = 'it could not be kept in the database, so it is not acknowledged'
    expect(events).toEqual([{ kind: 'refused', text: 'ask', station: 'Q1ABC-7', radio: 3, reason }])
    expect(counts.endings).toEqual([{ what: 'not acknowledged', reason, count: 1 }])
  })

  it.each([
    ['with a number a quarter of an hour long', '1', 15 * minuteMs],
    ['without one 28 s long', undefined, 28_000],
  ])('is known again %s', (_, number, windowMs) => {
    const { keeping, clock, world } = bench()
    const { number: __, ...unnumbered } = payload
    const asked = number === undefined ? unnumbered : payload
    expect(keeping.copyOf('Q1ABC-7', asked)).toBeUndefined()
    keeping.keep(heard(clock), asked, undefined, () => [])
    clock.advanceBy(windowMs)
    expect(keeping.copyOf('Q1ABC-7', asked)?.id).toBe(1)
    world.failing = 'a question'
    expect(keeping.copyOf('Q1ABC-7', asked)).toBeUndefined()
    world.failing = ''
    clock.advanceBy(1)
    expect(keeping.copyOf('Q1ABC-7', asked)).toBeUndefined()
  })
})
