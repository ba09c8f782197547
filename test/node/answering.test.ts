import { describe, expect, it } from 'vitest'
import type { Admission } from '../../src/node/admission.js'
import { answering } from '../../src/node/answering.js'
import type { QuestionStorage } from '../../src/node/keptByServices.js'
import type { QuestionEnding, Task } from '../../src/node/questionEnding.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Answer, Service, ServiceContext } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { QuestionRecord } from '../../src/store/questions.js'
import { openStore } from '../../src/store/store.js'
import { inEnglish } from '../../src/words/air/all.js'
import { failingStore } from './failingStore.js'
import { trustedClock } from './trustedClock.js'

const service = (keyword: string, answer: (rest: string) => Answer | Promise<Answer>): Service => ({
  ...{ keyword, summary: 'x', usage: keyword, takes: 'text' },
  answer: ({ rest }) => answer(rest),
})
const never = new Promise<Answer>(() => {})
const aliases = [{ name: 'INFO', services: ['echo'] }]
const options = defaultNodeOptions({ call: 'N0DE-10', aliases, answers: { notAfterMs: 600_000 } })
const task: Task = { to: { kind: 'us' }, replyTo: '05', turn: 2 }

/** Questions to three services: one that answers, one that throws, and one that never answers. */
function bench(given: { trusted?: boolean; failAtEnd?: boolean } = {}) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world = { failing: '' }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const told: string[] = []
  const answered: Parameters<QuestionEnding['answered']>[] = []
  const written: QuestionStorage[] = []
  const services = [
    service('echo', (rest) => rest),
    service('broken', () => {
      throw new Error('no table')
    }),
    service('slow', () => never),
  ]
  const box = answering({
    ...{
      clock,
      options,
      services,
      clockTrust: { ...trustedClock, trusted: () => given.trusted ?? true },
    },
    store: failingStore(store, (doing) => doing === world.failing),
    note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
    wording: () => inEnglish,
    admission: {
      begin: (id, { radio, turn }) => void told.push(`begun Q${id}: radio ${radio}, turn ${turn}`),
      end: (id) => void told.push(`over Q${id}`),
    } as Partial<Admission> as Admission,
    ending: {
      answered(...all) {
        if (given.failAtEnd) throw new Error('cannot end')
        answered.push(all)
      },
      givenUp: ({ id }, reason) => void told.push(`given up Q${id}: ${reason}`),
    },
    contextFor: (_, offered) =>
      ({ clock, services: offered }) as Partial<ServiceContext> as ServiceContext,
    storage: {
      begin() {
        const one = { end: () => void told.push('storage ended') } as QuestionStorage
        written.push(one)
        return one
      },
    },
  })
  const ask = (text: string, heardAgoMs = 0, addressee = 'N0DE-10'): QuestionRecord => {
    const kept = store.durably('test', () =>
      store.questions.insert({
        ...{ from: 'Q1ABC-7', addressee, number: '1', text, radio: 3, ownPart: 'x' },
        heardWallMs: clock.wallMs() - heardAgoMs,
      }),
    )
    if (!kept.ok) throw kept.failure
    return kept.value
  }
  const wait = (ms: number): Promise<void> => clock.advanceToAsync(clock.monotonicMs() + ms)
  return { store, clock, world, events, told, answered, written, box, ask, wait }
}

describe('a question', () => {
  it('is asked of its service, and ends with the answer and what that keeps', async () => {
    const { box, ask, wait, told, answered, written, events } = bench()
    const question = ask('echo hello')
    box.begin(question, task)
    expect(box.openCount).toBe(1)
    expect(told).toEqual(['begun Q1: radio 3, turn 2'])
    await wait(0)
    expect(answered).toEqual([
      [question, task, { messages: ['hello'], keyword: 'echo' }, written[0]],
    ])
    expect(box.openCount).toBe(0)
    expect([told, events]).toEqual([['begun Q1: radio 3, turn 2', 'storage ended'], []])
  })

  it('to a name is asked of the services that the name offers', async () => {
    const { box, ask, wait, answered } = bench()
    box.begin(ask('slow question'), { ...task, to: { kind: 'alias', alias: aliases[0]! } })
    await wait(0)
    expect(answered[0]?.[2]).toEqual({ messages: ['slow question'], keyword: 'echo' })
  })

  it('whose service fails is answered all the same, a fault, and nothing is kept', async () => {
    const { box, ask, wait, answered, events } = bench()
    box.begin(ask('broken table'), task)
    await wait(0)
    expect(answered[0]?.slice(2)).toEqual([
      { messages: [expect.stringContaining('broken')], keyword: 'broken', fault: 'no table' },
      undefined,
    ])
    expect(events).toEqual([
      {
        ...{ kind: 'fault', text: 'broken table', station: 'Q1ABC-7', radio: 3, reference: 'Q1' },
        reason: 'broken: no table',
      },
    ])
  })

  it('whose service does not answer is told so after a minute, and nothing is kept', async () => {
    const { box, ask, wait, answered, events } = bench()
    box.begin(ask('slow down'), task)
    await wait(59_999)
    expect([answered.length, box.openCount]).toEqual([0, 1])
    await wait(1)
    expect(answered[0]?.slice(2)).toEqual([
      { messages: [inEnglish.say('tooSlow')], keyword: '', fault: 'no answer within 60 s' },
      undefined,
    ])
    expect(events).toMatchObject([{ kind: 'fault', reason: 'no answer within 60 s' }])
    expect(box.openCount).toBe(0)
  })

  it('that is answered waits for no minute any more', async () => {
    const { box, ask, wait, clock } = bench()
    box.begin(ask('echo hello'), task)
    await wait(0)
    await wait(1_000)
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('that cannot be ended is given up, a fault, and its airtime is free', async () => {
    const { box, ask, wait, told, events } = bench({ failAtEnd: true })
    box.begin(ask('echo hello'), task)
    await wait(0)
    expect(told.slice(1)).toEqual([
      'storage ended',
      'over Q1',
      'given up Q1: the node failed to answer it',
    ])
    expect(events).toEqual([
      {
        ...{ kind: 'fault', text: 'echo hello', station: 'Q1ABC-7', radio: 3, reference: 'Q1' },
        reason: 'cannot end',
      },
    ])
    expect(box.openCount).toBe(0)
  })

  it('of a node that is stopped is left to the next start', async () => {
    const { box, ask, wait, answered, told, events } = bench()
    box.begin(ask('broken'), task)
    box.stop()
    await wait(0)
    expect([answered, events]).toEqual([[], []])
    expect(told.at(-1)).toBe('storage ended')
  })
})

describe('a question that is asked again', () => {
  it('is taken up where this run has not begun it, once', async () => {
    const { box, ask, wait, answered } = bench()
    const question = ask('slow')
    expect([box.takeUp(question, task), box.takeUp(question, task)]).toEqual([true, false])
    await wait(60_000)
    expect(box.takeUp(question, task)).toBe(false)
    expect(answered).toHaveLength(1)
  })

  it('is known of the last 1,000 that began', async () => {
    const { box, ask, wait } = bench()
    const first = ask('echo 0')
    box.begin(first, task)
    for (let count = 1; count < 1_000; count++) box.begin({ ...first, id: 1 + count }, task)
    await wait(0)
    expect(box.takeUp(first, task)).toBe(false)
    box.begin({ ...first, id: 2_000 }, task)
    await wait(0)
    expect(box.takeUp(first, task)).toBe(true)
  })
})

describe('what cannot be kept in the database', () => {
  const asked = (text: string) => ({ id: 'Q7-x', from: 'Q1ABC-7', text })

  it('is done by its service; nothing is answered, and what it wrote is over', async () => {
    const { box, wait, told, events, answered } = bench()
    box.doUnkept(asked('echo hello'), { kind: 'us' })
    expect(told).toEqual([])
    await wait(0)
    expect([told, events, answered]).toEqual([['storage ended'], [], []])
  })

  it('is a fault where its service fails', async () => {
    const { box, wait, told, events } = bench()
    box.doUnkept(asked('broken table'), { kind: 'us' })
    await wait(0)
    expect(told).toEqual(['storage ended'])
    expect(events).toEqual([
      { kind: 'fault', text: 'broken table', station: 'Q1ABC-7', reason: 'no table' },
    ])
  })

  it('to a name is done by what the name offers', async () => {
    const { box, wait, events } = bench()
    box.doUnkept(asked('broken table'), { kind: 'alias', alias: aliases[0]! })
    await wait(0)
    expect(events).toEqual([])
  })
})

describe('a start', () => {
  it('takes up what a former run accepted, at the name that was asked, in its turn', async () => {
    const { box, ask, wait, answered, told } = bench()
    ask('echo hello', 600_000)
    ask('slow question', 1_000, 'info')
    box.resume()
    expect(told).toEqual(['begun Q1: radio 3, turn 0', 'begun Q2: radio 3, turn 0'])
    await wait(0)
    const taken = { replyTo: undefined, turn: 0 }
    expect(answered.map(([, own, { messages }]) => [own, messages])).toEqual([
      [{ ...taken, to: { kind: 'us' } }, ['hello']],
      [{ ...taken, to: { kind: 'alias', alias: aliases[0] } }, ['slow question']],
    ])
  })

  it('gives up what is older than an answer is of use, with how long the node was away', async () => {
    const { box, ask, told } = bench()
    ask('echo hello', 600_001)
    ask('echo hello', 44.6 * 60_000)
    box.resume()
    expect(told).toEqual([
      'given up Q1: the node was away for 10 minutes',
      'given up Q2: the node was away for 45 minutes',
    ])
  })

  it('takes it up all the same while nobody knows what time it is', () => {
    const { box, ask, told } = bench({ trusted: false })
    ask('echo hello', 700_000)
    box.resume()
    expect(told).toEqual(['begun Q1: radio 3, turn 0'])
  })

  it('takes up nothing while the database cannot be read', () => {
    const { box, ask, told, world } = bench()
    ask('echo hello')
    world.failing = 'open questions'
    box.resume()
    expect(told).toEqual([])
  })
})
