import { afterEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NewMessage } from '../../src/store/messages.js'
import type { NewQuestion } from '../../src/store/questions.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

let store: Store
afterEach(() => store.close())

const ids = (all: readonly { readonly id: number }[]) => all.map(({ id }) => id)

describe('messages', () => {
  const wanted: NewMessage = {
    ...{ kind: 'answer', to: 'Q1ABC', number: '07', replyTo: '3', text: 'all well', radio: 2 },
    ...{ questionId: 5, mailboxId: 6, state: 'waiting', createdWallMs: 1_000 },
    notAfterWallMs: 5_000,
  }
  function bench() {
    store = openTestStore().store
    const { messages } = store
    const add = (given: Partial<NewMessage> = {}) => messages.insert({ ...wanted, ...given })
    return { messages, add }
  }

  it('are kept with all that is known of them', () => {
    const { messages, add } = bench()
    const first = { ...wanted, id: 1, attempts: 0, endedWallMs: undefined, reason: undefined }
    expect([add(), messages.find(1), messages.find(2)]).toEqual([first, first, undefined])
    const bare = { number: undefined, replyTo: undefined, questionId: undefined }
    const second = { ...first, ...bare, id: 2, mailboxId: undefined, state: 'parked' } as const
    expect(add({ ...bare, mailboxId: undefined, state: 'parked' })).toEqual(second)
    expect(messages.find(2)).toEqual(second)
  })

  it('wait or are parked until they end, and may wait again', () => {
    const { messages, add } = bench()
    const first = add()
    add()
    add()
    messages.setState(2, 'parked')
    expect(messages.open().map(({ id, state }) => [id, state])).toEqual([
      [1, 'waiting'],
      [2, 'parked'],
      [3, 'waiting'],
    ])
    messages.end(1, 'given up', 6_000, 'no answer')
    const ended = { ...first, state: 'given up', endedWallMs: 6_000, reason: 'no answer' }
    expect([messages.find(1), ids(messages.open())]).toEqual([ended, [2, 3]])
    messages.end(3, 'sent', 6_000)
    expect(messages.find(3)?.reason).toBeUndefined()
    const revived = { ...first, notAfterWallMs: 9_000 }
    expect([messages.revive(1, 9_000), messages.find(1)]).toEqual([revived, revived])
    expect(() => messages.revive(9, 9_000)).toThrow(new RangeError('message 9 cannot be read'))
  })

  it('that were acknowledged are counted, over all that was removed since', () => {
    const { messages, add } = bench()
    expect(messages.countAcknowledged()).toBe(0)
    for (let count = 0; count < 3; count++) add()
    messages.end(1, 'acknowledged', 6_000)
    messages.end(2, 'acknowledged', 6_000)
    messages.end(3, 'rejected', 6_000)
    expect(messages.countAcknowledged()).toBe(2)
  })

  it('count their attempts at once, and none twice when they are written', () => {
    const { messages, add } = bench()
    add()
    add()
    for (const id of [1, 1, 2]) messages.noteAttempt(id)
    const attempts = () => [1, 2].map((id) => messages.find(id)?.attempts)
    expect(attempts()).toEqual([2, 1])
    store.flush()
    expect([attempts(), store.state().pendingCount]).toEqual([[2, 1], 0])
    messages.noteAttempt(1)
    expect(attempts()).toEqual([3, 1])
  })

  it('are found by their number, newest first, by their question, and in the order of their time', () => {
    const { messages, add } = bench()
    add({ createdWallMs: 3_000 })
    add({ createdWallMs: 2_000 })
    add({ createdWallMs: 2_000, to: 'Q2ABC', number: '08' })
    add({ createdWallMs: 999, questionId: 4 })
    messages.end(2, 'acknowledged', 6_000)
    expect(messages.findByNumber('Q1ABC', '07')?.id).toBe(4)
    expect(messages.findByNumber('Q2ABC', '08')?.id).toBe(3)
    expect(messages.findByNumber('Q2ABC', '07')).toBeUndefined()
    expect(ids(messages.ofQuestion(5))).toEqual([1, 2, 3])
    expect(ids(messages.query())).toEqual([4, 2, 3, 1])
    expect(ids(messages.query({ sinceWallMs: 2_000, limit: 2 }))).toEqual([3, 1])
    expect(ids(messages.query({ sinceWallMs: 2_000 }))).toEqual([2, 3, 1])
  })
})

describe('questions', () => {
  const asked: NewQuestion = {
    ...{ from: 'Q1ABC', addressee: 'N0DE-10', number: '1', text: 'sun', radio: 2 },
    ...{ heardWallMs: 1_000, ownPart: 'own' },
  }
  function bench(file?: string, clock = virtualClock(1_000)) {
    store = openTestStore(file, clock).store
    const { questions } = store
    const ask = (given: Partial<NewQuestion> = {}) => questions.insert({ ...asked, ...given })
    return { questions, ask, clock }
  }

  it('are kept with all that is known of them, until they end', () => {
    const { questions, ask } = bench()
    const { ownPart, ...said } = asked
    const first = {
      ...{ ...said, id: 1, uniqueId: 'Q1-own', lastHeardWallMs: 1_000, state: 'accepted' },
      reason: undefined,
    }
    expect([ask(), questions.find(1), questions.find(2)]).toEqual([first, first, undefined])
    // as a row of the first version is named
    const second = { ...first, id: 2, uniqueId: 'Q2', number: undefined }
    expect([ask({ ownPart: '', number: undefined }), questions.find(2)]).toEqual([second, second])
    ask()
    expect([ids(questions.open()), ids(questions.recent(2))]).toEqual([
      [1, 2, 3],
      [2, 3],
    ])
    questions.end(1, 'refused', 2_000, 'too many')
    questions.end(3, 'answered', 2_000)
    expect(questions.find(1)).toEqual({ ...first, state: 'refused', reason: 'too many' })
    expect([questions.find(3)?.reason, ids(questions.open())]).toEqual([undefined, [2]])
  })

  it('are copies by sender, number and text, of the newest, within a time', () => {
    const { questions, ask, clock } = bench()
    ask()
    ask({ number: undefined })
    clock.advanceBy(500)
    ask()
    const copy = (from: string, number: string | undefined, text: string, windowMs = 500) =>
      questions.findCopy(from, number, text, windowMs)?.id
    expect([copy('Q1ABC', '1', 'sun'), copy('Q1ABC', undefined, 'sun')]).toEqual([3, 2])
    expect([
      copy('Q2ABC', '1', 'sun'),
      copy('Q1ABC', '2', 'sun'),
      copy('Q1ABC', '1', 'moon'),
    ]).toEqual([undefined, undefined, undefined])
    expect(copy('Q1ABC', undefined, 'sun', 499)).toBeUndefined()
  })

  it('that are heard again are as new as that, and it is written with the next batch', () => {
    const { questions, ask, clock } = bench()
    ask()
    clock.advanceBy(800)
    questions.heardAgain(1)
    clock.advanceBy(100)
    expect(questions.find(1)).toMatchObject({ heardWallMs: 1_000, lastHeardWallMs: 1_800 })
    expect(questions.findCopy('Q1ABC', '1', 'sun', 100)?.id).toBe(1)
    store.flush()
    expect(questions.find(1)?.lastHeardWallMs).toBe(1_800)
  })

  it('that an older process heard are as old as the wall clock says, and no copies from the future', () => {
    const file = temporaryFile()
    bench(file).ask({ heardWallMs: 100_000 })
    const copyAt = (wallMs: number, windowMs: number) => {
      store.close()
      const { questions } = bench(file, virtualClock(wallMs))
      return questions.findCopy('Q1ABC', '1', 'sun', windowMs)?.id
    }
    expect([copyAt(100_500, 500), copyAt(100_500, 499)]).toEqual([1, undefined])
    // a clock may be turned back by a little
    expect([copyAt(95_000, 0), copyAt(94_999, 1e9)]).toEqual([1, undefined])
  })
})
