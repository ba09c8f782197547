import { describe, expect, it } from 'vitest'
import { answeredLately, askLimits, machineReason } from '../../src/node/askLimits.js'
import { refusals } from '../../src/node/refusals.js'
import type { Outgoing } from '../../src/node/transmitter.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Understanding } from '../../src/services/asking/understanding.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NewMessage } from '../../src/store/messages.js'
import type { QuestionRecord } from '../../src/store/questions.js'
import { inEnglish } from '../../src/words/air/all.js'

const minuteMs = 60_000
const hourMs = 60 * minuteMs

const bench = (windowMs = 10 * minuteMs) => {
  const clock = virtualClock()
  const options = defaultNodeOptions({ limits: { windowMs, perStation: 3 } })
  return { clock, limits: askLimits(clock, options) }
}

describe('a station that asks too much', () => {
  it('is refused until the window has moved on; others are not', () => {
    const { clock, limits } = bench()
    for (let count = 1; count <= 3; count++) {
      expect(limits.refusalOf('Q1')).toBeUndefined()
      limits.noteAsked('Q1')
      expect(limits.countOf('Q1')).toBe(count)
    }
    expect(limits.refusalOf('Q1')).toEqual({
      ...{ how: 'reject', reason: 'rate limit: more than 3 questions in 10 minutes' },
    })
    expect([limits.refusalOf('Q2'), limits.countOf('Q2')]).toEqual([undefined, 0])
    clock.advanceTo(10 * minuteMs - 1)
    expect(limits.refusalOf('Q1')).toBeDefined()
    clock.advanceTo(10 * minuteMs)
    expect([limits.refusalOf('Q1'), limits.countOf('Q1')]).toEqual([undefined, 0])
  })

  it('is told why once in a window, in minutes that are whole', () => {
    const { clock, limits } = bench(90_000)
    expect([limits.noteTold('Q1'), limits.noteTold('Q1'), limits.noteTold('Q2')]).toEqual([
      ...[true, false, true],
    ])
    clock.advanceTo(90_000)
    expect(limits.noteTold('Q1')).toBe(true)
    expect(limits.politeWords(inEnglish)).toBe(
      'Too many questions just now. Please try again in 2 minutes.',
    )
  })
})

describe('what is taken for a machine', () => {
  const understood = (manner: string) => ({ kind: 'service', manner }) as unknown as Understanding
  const unknown = { kind: 'nothing' } as unknown as Understanding
  const hello = { kind: 'greeting', sort: 'hello' } as const

  it('what asks a service by its name never is', () => {
    const { limits } = bench()
    for (let count = 0; count < 100; count++)
      expect(limits.refusalOfMeaning('Q1', understood('asked'))).toBeUndefined()
    expect(limits.refusalOfMeaning('Q1', unknown)).toBeUndefined()
  })

  it.each([
    [unknown, 3, 'reject', '4 texts that no service understands: taken for a machine'],
    [
      ...([understood('guessed'), 12, 'reject'] as const),
      '13 texts that name a service by the way: taken for a machine',
    ],
    [hello, 3, 'silence', 'greeted often enough: acknowledged only'],
  ])('%j is after %i in an hour', (meant, most, how, reason) => {
    const { clock, limits } = bench()
    for (let count = 0; count < most; count++)
      expect(limits.refusalOfMeaning('Q1', meant)).toBeUndefined()
    clock.advanceTo(hourMs - 1)
    expect(limits.refusalOfMeaning('Q1', meant)).toEqual({ how, reason })
    expect(limits.refusalOfMeaning('Q2', meant)).toBeUndefined()
    clock.advanceTo(hourMs)
    expect(limits.refusalOfMeaning('Q1', meant)).toBeUndefined()
  })

  it('greetings count with what is not understood, what is guessed by itself', () => {
    const { limits } = bench()
    for (const meant of [hello, unknown, hello]) limits.refusalOfMeaning('Q1', meant)
    expect(limits.refusalOfMeaning('Q1', understood('guessed'))).toBeUndefined()
    expect(limits.refusalOfMeaning('Q1', unknown)?.how).toBe('reject')
  })

  it('by its own marks: an automatic reply, or the address of a node', () => {
    expect(machineReason('AA: I am away', 'APZ001')).toBe('an automatic reply is not answered')
    expect(machineReason('say AA: twice', 'APZ001')).toBeUndefined()
    expect(machineReason('hello', 'APZRPT')).toBe('what another node says is not answered')
    expect(machineReason('hello', 'APZRPP')).toBeUndefined()
  })
})

describe('a question that is heard again', () => {
  const { limits } = bench()
  const respond = (state: QuestionRecord['state'], reason?: string) =>
    limits.respondTo({ state, reason } as QuestionRecord)

  it.each([
    ['accepted', undefined],
    ['answered', undefined],
    ['given up', 'too late'],
    // whoever is met with silence was acknowledged
    ['refused', 'an automatic reply is not answered'],
    ['refused', 'what another node says is not answered'],
    ['refused', 'greeted often enough: acknowledged only'],
    ['refused', answeredLately],
  ] as const)('that was %s (%s) is acknowledged again', (state, reason) => {
    expect(respond(state, reason)).toBe('acknowledge')
  })

  it('that was refused otherwise is rejected again', () => {
    expect(respond('refused', 'rate limit: more than 3 questions in 10 minutes')).toBe('reject')
    expect(respond('refused')).toBe('reject')
  })
})

describe('words to who gets no answer', () => {
  const question = { id: 7, from: 'N0CALL-7', radio: 2, text: 'sun' } as QuestionRecord
  const noTime = 'Sorry, there was no time on the air to answer. Please ask again.'

  function refusing() {
    const clock = virtualClock(1_000_000)
    clock.advanceTo(500)
    const sent: Outgoing[] = []
    const inserted: NewMessage[] = []
    const asked: unknown[] = []
    const made = refusals({
      clock,
      store: { messages: { insert: (one: NewMessage) => void inserted.push(one) } } as never,
      transmitter: { send: (one: Outgoing) => void sent.push(one) } as never,
      pathTo: (call) => [`DIGI-${call}`],
      wording(text) {
        asked.push(text)
        return inEnglish
      },
    })
    return { made, sent, inserted, asked }
  }
  const outgoing = (text: string, more: object) => ({
    ...{ payload: Buffer.from(`:N0CALL-7 :${text}`), path: ['DIGI-N0CALL-7'], radio: 2, text },
    ...{ station: 'N0CALL-7', reference: 'Q7', ...more },
  })
  const readable = (all: readonly Outgoing[]) =>
    all.map((one) => ({ ...one, payload: Buffer.from(one.payload) }))

  it('that are owed go as the answer would have, within half an hour, in its language', () => {
    const { made, inserted, sent, asked } = refusing()
    expect(made.owed(question)).toHaveLength(1)
    expect(inserted).toEqual([
      {
        ...{ kind: 'refusal', to: 'N0CALL-7', number: undefined, replyTo: undefined, radio: 2 },
        ...{ text: noTime, questionId: 7, mailboxId: undefined, state: 'waiting' },
        ...{ createdWallMs: 1_000_500, notAfterWallMs: 1_000_500 + 30 * minuteMs },
      },
    ])
    expect([sent, asked]).toEqual([[], ['sun']])
  })

  it('that cannot be kept go at once, within the same time', () => {
    const { made, sent, inserted, asked } = refusing()
    made.owedAtOnce(question)
    expect(readable(sent)).toEqual([
      outgoing(noTime, { priority: 'answer', notAfterMs: 500 + 30 * minuteMs }),
    ])
    expect([inserted, asked]).toEqual([[], ['sun']])
  })

  it('that are only polite go where there is airtime to spare, within two minutes', () => {
    const { made, sent, asked } = refusing()
    made.polite(question, ({ say }) => say('othersWait'))
    expect(readable(sent)).toEqual([
      outgoing('Others wait for answers, too. Please ask again in a few minutes.', {
        ...{ priority: 'refusal', notAfterMs: 500 + 2 * minuteMs },
      }),
    ])
    expect(asked).toEqual(['sun'])
  })
})
