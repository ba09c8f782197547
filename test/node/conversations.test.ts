import { afterAll, describe, expect, it } from 'vitest'
import type { MessagePayload } from '../../src/aprs/types.js'
import type { AddresseeKind } from '../../src/node/addressing.js'
import { conversations } from '../../src/node/conversation.js'
import type { EmergencyTurn } from '../../src/node/emergencyTurns.js'
import type { Heard } from '../../src/node/intake.js'
import { Failure } from '../../src/runtime/failure.js'
import type { Service } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { inEnglish } from '../../src/words/air/all.js'
import { openTestStore } from '../store/openTestStore.js'
import { echoService } from './testNode.js'

// one database for all: each test asks as a station of its own
const { store, clock } = openTestStore()
afterAll(() => store.close())
let stations = 0
let ids = 0

const stopService: Service = {
  ...{ keyword: 'halt', summary: 'stops', usage: 'halt', takes: 'text', answer: () => 'done' },
  isUrgent: (_, text) => text.startsWith('halt'),
}
const clubService: Service = { ...echoService, keyword: 'club', usage: 'club', isOwn: true }
const call = { sign: 'EMERGENCY', exercise: false, text: 'EMERGENCY' }
const us: AddresseeKind = { kind: 'us' }

interface Given {
  readonly verdict?: 'admitted' | 'refused' | 'unacknowledged'
  readonly help?: EmergencyTurn
  readonly isEcho?: boolean
  readonly excuses?: boolean
  readonly takesUp?: boolean
  readonly sendsAgain?: boolean
  readonly answeredElse?: boolean
  readonly perStation?: number
}

function bench(given: Given = {}) {
  const from = `Q${++stations}ASK`
  /** what was done, in order */
  const done: unknown[][] = []
  const tallied: unknown[][] = []
  const does =
    (what: string, result?: unknown) =>
    (...values: unknown[]): never => {
      done.push([what, ...values])
      return result as never
    }
  const { windowMs } = defaultNodeOptions().limits
  const talk = conversations({
    ...{ clock, store, services: [echoService, stopService, clubService] },
    nextId: () => `id${++ids}`,
    note: (kind, text, detail) => void done.push([kind, text, detail]),
    tally: { note: (...values) => void tallied.push(values), endings: [] },
    options: defaultNodeOptions({
      ...{ call: 'N0DE-10', limits: { windowMs, perStation: given.perStation ?? 12 } },
    }),
    said: {
      isEcho: () => given.isEcho === true,
      excuse: does('excuse', given.excuses === true),
      tap: (one) => one,
    },
    outbox: {
      newerQuestion: does('newer'),
      add: does('send'),
      endAll: does('end all'),
      sendAgain: does('send again', given.sendsAgain !== false),
    } as never,
    admission: { judge: does('judge', given.verdict ?? 'admitted') } as never,
    acknowledgements: {
      first: ({ id }, _, __, response) => void done.push([response, id]),
      heardAgain: ({ id }, _, __, response) => void done.push([`${response} again`, id]),
      isAcknowledged: () => true,
      stop: () => {},
    },
    answering: {
      begin: ({ id }: { id: number }, task: unknown) => void done.push(['answer', id, task]),
      takeUp: ({ id }: { id: number }, task: unknown) => {
        done.push(['take up', id, task])
        return given.takesUp === true
      },
      doUnkept: does('do unkept'),
    } as never,
    refusals: {
      polite: ({ id }, words) => void done.push(['polite', id, words(inEnglish)]),
      owed: () => [],
      owedAtOnce: () => {},
    },
    emergencies: {
      turnOf(station: string) {
        done.push(['turn of', station])
        return given.help
      },
      insert: ({ id }: { id: number }, turn: string, replyTo: string | undefined) => {
        done.push(['insert', id, turn, replyTo])
        return { id: 7, text: 'Heard you.' }
      },
      answerUnkept: does('answer unkept'),
      lost: does('lost'),
      wasAnsweredElse: does('answered else?', given.answeredElse === true),
      sentAgain: does('sent again'),
    } as never,
  })
  const ask = (
    text: string,
    { isCall = given.help !== undefined, destination = 'APZ001', more = {}, to = us } = {},
  ): number => {
    const payload = { kind: 'message', addressee: 'N0DE-10', text, number: '12', ...more }
    const frame = { radio: 2, heardAtWallMs: clock.wallMs() }
    const heard = { from, destination, frame } as unknown as Heard
    done.length = 0
    talk.take(heard, payload as MessagePayload, to, isCall ? call : undefined)
    return store.questions.recent(1)[0]?.id ?? 0
  }
  const question = () => store.questions.recent(1)[0]!
  const detail = (id: number, more: object = {}) => ({
    ...{ station: from, radio: 2, reference: `Q${id}`, ...more },
  })
  const whatWasDone = () => done.map(([what]) => what)
  return { from, done, tallied, ask, question, detail, whatWasDone }
}
const notKept = new Failure({ code: 'store-full', subject: 'x', got: 'full', expected: 'room' })
const unkept = (ask: () => void): void => {
  const { durably } = store
  Object.assign(store, { durably: () => ({ ok: false, failure: notKept }) })
  ask()
  Object.assign(store, { durably })
}

describe('a question', () => {
  it('is judged, kept, acknowledged and answered, in this order', () => {
    const { from, done, ask, question, detail, tallied } = bench()
    const id = ask('echo hi')
    expect(done).toEqual([
      ['judge', { radio: 2, turn: 0 }],
      ['asked', 'echo hi', detail(id)],
      ['acknowledge', id],
      ['newer', from, id],
      ['send', [], 0],
      ['answer', id, { to: us, replyTo: undefined, turn: 0 }],
    ])
    expect(question()).toMatchObject({
      ...{ from, addressee: 'N0DE-10', number: '12', text: 'echo hi', state: 'accepted' },
      ...{ radio: 2, heardWallMs: clock.wallMs() },
    })
    expect(tallied).toEqual([])
  })

  it('has the turn of as many as its station asked before, and the number of who understands replies', () => {
    const { ask, done } = bench()
    ask('echo one')
    const id = ask('echo two', { more: { replyAcknowledges: '' } })
    expect(done[0]).toEqual(['judge', { radio: 2, turn: 1 }])
    expect(done.at(-1)).toEqual(['answer', id, { to: us, replyTo: '12', turn: 1 }])
  })

  it('for which no airtime is left is neither kept nor counted, and its radio tries again', () => {
    const { from, ask, done, tallied } = bench({ verdict: 'unacknowledged' })
    const before = store.questions.recent(999).length
    ask('echo hi')
    ask('echo hi')
    const reason =
      'no airtime is left to answer it in time: not acknowledged, so that its radio tries again'
    expect(done).toEqual([
      ['judge', { radio: 2, turn: 0 }],
      ['refused', 'echo hi', { station: from, radio: 2, reason }],
    ])
    expect(tallied[0]).toEqual(['not acknowledged', reason])
    expect(store.questions.recent(999)).toHaveLength(before)
  })

  it('that others go before is rejected, with a word to people once', () => {
    const { ask, done, detail, question } = bench({ verdict: 'refused' })
    const reason = 'others wait for airtime, and this station has asked before'
    const id = ask('echo hi')
    const words = 'Others wait for answers, too. Please ask again in a few minutes.'
    expect(done).toEqual([
      ['judge', { radio: 2, turn: 0 }],
      ['asked', 'echo hi', detail(id)],
      ['refused', 'echo hi', detail(id, { reason })],
      ['reject', id],
      ['polite', id, words],
    ])
    expect(question()).toMatchObject({ state: 'refused', reason })
    const second = ask('echo two')
    expect(done.slice(-1)).toEqual([['reject', second]])
  })

  it('that is one too many is rejected, whoever else may ask', () => {
    const { ask, done } = bench({ perStation: 1 })
    ask('echo one')
    const id = ask('echo two')
    expect(done.slice(-2)).toEqual([
      ['reject', id],
      ['polite', id, expect.stringMatching(/^Too many questions just now/)],
    ])
    const again = ask('echo three', { more: { number: '13' } })
    expect(done.at(-1)).toEqual(['reject', again])
  })

  it.each([
    ['AA: I am away', 'APZ001', 'an automatic reply is not answered'],
    ['echo hi', 'APZRPT', 'what another node says is not answered'],
  ])(
    'of a machine (%s to %s) is acknowledged, and met with silence',
    (text, destination, reason) => {
      const { ask, done, detail } = bench({ perStation: 0 })
      const id = ask(text, { destination })
      expect(done.slice(1)).toEqual([
        ['asked', text, detail(id)],
        ['refused', text, detail(id, { reason })],
        ['acknowledge', id],
      ])
    },
  )

  it('that no service understands is rejected the fourth time', () => {
    const { ask, done } = bench()
    const responses = ['xyzzy a', 'xyzzy b', 'xyzzy c', 'xyzzy d'].map((text) => {
      ask(text)
      return done.some(([what]) => what === 'reject')
    })
    expect(responses).toEqual([false, false, false, true])
    // a word to people would only feed a machine
    expect(done.some(([what]) => what === 'polite')).toBe(false)
  })

  it('that cannot be kept is not acknowledged', () => {
    const { ask, from, done, tallied } = bench()
    unkept(() => ask('echo hi'))
    const reason = 'it could not be kept in the database, so it is not acknowledged'
    expect(done.slice(1)).toEqual([['refused', 'echo hi', { station: from, radio: 2, reason }]])
    expect(tallied).toEqual([['not acknowledged', reason]])
    // it counts all the same
    ask('echo hi')
    expect(done[0]).toEqual(['judge', { radio: 2, turn: 1 }])
  })
})

describe('what stops the station', () => {
  it('is done whatever the airtime and the limits', () => {
    const { ask, whatWasDone } = bench({ verdict: 'unacknowledged', perStation: 0 })
    ask('halt 123')
    expect(whatWasDone()).toEqual(['asked', 'acknowledge', 'newer', 'send', 'answer'])
  })

  it('is done though it cannot be kept', () => {
    const { ask, from, done } = bench()
    unkept(() => ask('halt 123'))
    expect(done.at(-1)).toEqual(['do unkept', { id: `id${ids}`, from, text: 'halt 123' }, us])
  })
})

describe('a call for help', () => {
  it('is answered at once, whatever the airtime and the limits; a service only where its keyword is in front', () => {
    const { ask, from, done, detail, question } = bench({
      ...{ verdict: 'unacknowledged', perStation: 0, help: 'at once' },
    })
    const id = ask('EMERGENCY echo')
    expect(done).toEqual([
      ['turn of', from],
      ['insert', id, 'at once', undefined],
      ['asked', 'EMERGENCY echo', detail(id)],
      ['answered', 'Heard you.', detail(id)],
      ['acknowledge', id],
      ['newer', from, id],
      ['send', [{ id: 7, text: 'Heard you.' }], 0],
    ])
    expect(question().state).toBe('answered')
    const second = ask('echo EMERGENCY', { more: { replyAcknowledges: '' } })
    expect(done.slice(1, 2)).toEqual([['insert', second, 'at once', '12']])
    expect(done.at(-1)).toEqual(['answer', second, { to: us, replyTo: '12', turn: 1 }])
    expect(question().state).toBe('accepted')
  })

  it('in its turn is judged as any question', () => {
    const { ask, whatWasDone } = bench({ help: 'in turn' })
    ask('EMERGENCY leg')
    expect(whatWasDone()).toEqual([
      ...['turn of', 'judge', 'insert', 'asked', 'answered', 'acknowledge', 'newer', 'send'],
    ])
    const others = bench({ help: 'in turn', verdict: 'refused' })
    others.ask('EMERGENCY leg')
    expect(others.whatWasDone()).toEqual([
      ...['turn of', 'judge', 'asked', 'refused', 'reject', 'polite'],
    ])
  })

  it('in its turn is never taken for a machine by what it says', () => {
    const { ask, done } = bench({ help: 'in turn' })
    for (const text of ['EMERGENCY a', 'EMERGENCY b', 'EMERGENCY c', 'EMERGENCY d']) {
      ask(text)
      expect(done.some(([what]) => what === 'insert')).toBe(true)
    }
  })

  it('that was answered lately is acknowledged alone, but for a service that it asks', () => {
    const { ask, whatWasDone, question } = bench({ help: 'not again', perStation: 1 })
    ask('echo EMERGENCY')
    expect(whatWasDone()).toEqual([
      ...['turn of', 'judge', 'asked', 'acknowledge', 'newer', 'send', 'answer'],
    ])
    // before the limit: told to ask later, it would be sent away in distress
    ask('EMERGENCY leg')
    expect(whatWasDone()).toEqual(['turn of', 'judge', 'asked', 'refused', 'acknowledge'])
    expect(question().reason).toBe('its call for help was answered within ten minutes')
  })

  it('that cannot be kept is answered all the same, or is the first one again', () => {
    const atOnce = bench({ help: 'at once' })
    unkept(() => atOnce.ask('EMERGENCY leg'))
    expect(atOnce.done.at(-1)).toEqual(['answer unkept', atOnce.from, 2])
    const inTurn = bench({ help: 'in turn' })
    unkept(() => inTurn.ask('EMERGENCY leg'))
    expect(inTurn.done.at(-1)).toEqual(['lost', inTurn.from])
    const again = bench({ help: 'not again' })
    unkept(() => again.ask('EMERGENCY leg'))
    expect(again.whatWasDone()).toEqual(['turn of', 'judge', 'refused'])
  })

  it('that goes on when its time is over is answered anew', () => {
    const given: { help: EmergencyTurn } = { help: 'not again' }
    const { ask, whatWasDone } = bench(given)
    const first = ask('EMERGENCY leg')
    expect(ask('EMERGENCY leg')).toBe(first)
    expect(whatWasDone()).toEqual(['turn of', 'ignored', 'acknowledge again'])
    given.help = 'at once'
    expect(ask('EMERGENCY leg')).not.toBe(first)
    expect(whatWasDone()).toContain('insert')
    // one that was answered otherwise than with silence is only heard again
    expect(ask('EMERGENCY leg')).toBe(store.questions.recent(1)[0]!.id)
    expect(whatWasDone().slice(0, 2)).toEqual(['ignored', 'acknowledge again'])
  })
})

describe('a question that is heard again', () => {
  const again = (given: Given, state?: 'answered' | 'refused' | 'given up') => {
    const made = bench({ ...given, perStation: 1 })
    const id = made.ask('echo hi')
    if (state !== undefined) store.questions.end(id, state, clock.wallMs(), 'why')
    made.ask('echo hi')
    return { ...made, id }
  }

  it('is acknowledged again; its answer is being worked on, or is begun now', () => {
    const { done, id, detail } = again({})
    const reason = 'heard again; its answer is being worked on'
    expect(done).toEqual([
      ['ignored', 'echo hi', detail(id, { reason })],
      ['acknowledge again', id],
      ['take up', id, { to: us, replyTo: undefined, turn: 1 }],
    ])
    expect(again({ takesUp: true }).whatWasDone().slice(2)).toEqual(['take up', 'send again'])
  })

  it('that was answered has its answer sent again', () => {
    const { done, id, detail } = again({}, 'answered')
    const reason = 'heard again; it was answered already'
    expect(done).toEqual([
      ['ignored', 'echo hi', detail(id, { reason })],
      ['acknowledge again', id],
      ['send again', id],
    ])
  })

  it('that was refused is rejected again, that was given up acknowledged, and neither answered', () => {
    expect(again({}, 'refused').whatWasDone()).toEqual(['ignored', 'reject again'])
    expect(again({}, 'given up').whatWasDone()).toEqual(['ignored', 'acknowledge again'])
  })

  it('that calls for help is answered once more, unless its station was answered otherwise', () => {
    const calls = (given: Given) => {
      const made = bench(given)
      const id = made.ask('EMERGENCY leg', { isCall: true })
      made.ask('EMERGENCY leg', { isCall: true })
      return { ...made, id }
    }
    const once = calls({ help: 'at once' })
    expect(once.done.slice(1)).toEqual([
      ['acknowledge again', once.id],
      ['answered else?', once.from, once.id],
      ['send again', once.id],
      ['sent again', once.from, once.id],
    ])
    expect(calls({ help: 'at once', sendsAgain: false }).whatWasDone().slice(2)).toEqual([
      ...['answered else?', 'send again'],
    ])
    expect(calls({ help: 'at once', answeredElse: true }).whatWasDone().slice(2)).toEqual([
      'answered else?',
    ])
  })
})

describe('an echo', () => {
  const isIgnored = (text: string, given: Given = {}): boolean => {
    const { ask, done, from } = bench({ isEcho: true, ...given })
    ask(text)
    const isOver = done.some(([what]) => what === 'end all')
    if (isOver)
      expect(done.slice(-2)).toEqual([
        ['ignored', text, { station: from, radio: 2, reason: 'an echo: it says our own words' }],
        ['end all', from, 'an echo: it says our own words'],
      ])
    expect(done.some(([what]) => what === 'acknowledge')).toBe(!isOver)
    return isOver
  }

  it('is ignored, and nothing more is sent to it', () => {
    expect(isIgnored('Kept for N0CALL')).toBe(true)
    expect(isIgnored('echo hi')).toBe(true)
  })

  it('is none where it is a plain question that may be our example, once', () => {
    expect(isIgnored('echo hi', { excuses: true })).toBe(false)
    expect(isIgnored('Kept for N0CALL', { excuses: true })).toBe(true)
    for (const sign of [':', '[', ']'])
      expect(isIgnored(`echo hi${sign}`, { excuses: true })).toBe(true)
    // a club's own service takes any text
    expect(isIgnored('club hi', { excuses: true })).toBe(true)
  })

  it('that was excused is known when it is heard again', () => {
    const given: { excuses: boolean; isEcho: boolean } = { excuses: true, isEcho: true }
    const { ask, whatWasDone } = bench(given)
    ask('echo hi')
    expect(whatWasDone()[0]).toBe('excuse')
    ask('echo hi')
    expect(whatWasDone()).toEqual(['ignored', 'acknowledge again', 'take up'])
  })
})
