import { describe, expect, it } from 'vitest'
import type { MessagePayload } from '../../src/aprs/types.js'
import { acknowledgedInReturn } from '../../src/node/acknowledgedInReturn.js'
import { acknowledgements, type Response } from '../../src/node/acknowledgements.js'
import type { Heard } from '../../src/node/intake.js'
import type { Outgoing, Transmitter } from '../../src/node/transmitter.js'
import type { FinalOutcome } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { QuestionRecord } from '../../src/store/questions.js'

const sent: FinalOutcome = { id: 'a', kind: 'sent', atMs: 0, airtimeMs: 400 }

/** Acknowledgements of questions, where the test says how each frame ends; 'nothing' while it waits. */
function bench(outcome: FinalOutcome | 'nothing' = sent) {
  const clock = virtualClock()
  const frames: Outgoing[] = []
  const world = { outcome }
  const responses = acknowledgements({
    clock,
    options: defaultNodeOptions({ call: 'N0DE-10' }),
    transmitter: {
      send(outgoing: Outgoing) {
        frames.push(outgoing)
        if (world.outcome !== 'nothing') outgoing.onEnd?.(world.outcome)
        return () => {}
      },
    } as Partial<Transmitter> as Transmitter,
    pathTo: (call) => [`BY-${call.split('-')[1]}`],
  })
  const questionOf = (id = 1, number: string | undefined = '5') =>
    ({ id, from: 'Q1ABC-7', number, radio: 2, text: 'help' }) as QuestionRecord
  const heardBy = (path: string, radio = 2) =>
    ({ via: path === '' ? [] : path.split(','), frame: { radio } }) as unknown as Heard
  const payload: MessagePayload = {
    ...{ kind: 'message', addressee: 'N0DE-10', number: '5', text: 'help', numberAsSent: '5' },
  }
  return {
    ...{ clock, frames, responses, world, questionOf, payload },
    first: (path = '', response: Response = 'acknowledge', question = questionOf()) =>
      responses.first(question, heardBy(path), payload, response),
    again: (path = '', response: Response = 'acknowledge', radio = 2, question = questionOf()) =>
      responses.heardAgain(question, heardBy(path, radio), payload, response),
    /** when each frame went out, by the ms until then */
    sentAfter(ms: number): boolean {
      const { length } = frames
      clock.advanceBy(ms)
      return frames.length > length
    },
  }
}

describe('an acknowledgement', () => {
  it.each([
    ['acknowledge', 'ack', 'acknowledgement of 5'],
    ['reject', 'rej', 'rejection of 5'],
  ] as const)(
    'to %s goes out before all answers, of use for two minutes',
    (response, word, text) => {
      const { clock, frames, first } = bench()
      clock.advanceBy(1_000)
      first('', response)
      expect(frames).toEqual([
        {
          payload: new TextEncoder().encode(`:Q1ABC-7  :${word}5`),
          ...{ path: ['BY-7'], radio: 2, station: 'Q1ABC-7', reference: 'Q1', text },
          ...{ priority: 'acknowledgement', notAfterMs: 121_000, onEnd: expect.any(Function) },
        },
      ])
    },
  )

  it.each([
    [{ numberAsSent: '5}07' }, 'ack5}07'],
    [{ numberAsSent: undefined }, 'ack5'],
  ] as const)('repeats the number as it was sent: %j', (change, text) => {
    const { frames, responses, payload, questionOf } = bench()
    const heard = { via: [], frame: { radio: 2 } } as unknown as Heard
    responses.first(questionOf(), heard, { ...payload, ...change } as MessagePayload, 'acknowledge')
    expect(Buffer.from(frames[0]!.payload).toString()).toBe(`:Q1ABC-7  :${text}`)
  })

  it('is not of a question without a number', () => {
    const { frames, first, again, responses, questionOf } = bench()
    const question = { ...questionOf(), number: undefined }
    first('', 'acknowledge', question)
    again('', 'acknowledge', 2, question)
    expect(frames).toEqual([])
    expect(responses.isAcknowledged(question)).toBe(false)
  })

  it('does not go out once the node is stopped, nor what was to go out later', () => {
    const { clock, frames, first, again, responses, questionOf } = bench()
    first()
    again('DIGI')
    first('', 'acknowledge', questionOf(2))
    responses.stop()
    clock.advanceBy(60_000)
    again('')
    expect(frames).toHaveLength(2)
  })
})

describe('a question that is heard again', () => {
  it('the same way more than 4 s after its acknowledgement is acknowledged at once', () => {
    const { clock, first, again, frames } = bench()
    first('DIGI')
    clock.advanceBy(4_000)
    again('DIGI')
    expect(frames).toHaveLength(2)
  })

  it('sooner was sent before that could be heard: 30 s after the first, once', () => {
    const { clock, first, again, frames, sentAfter } = bench()
    first()
    clock.advanceBy(3_999)
    again()
    again()
    expect(frames).toHaveLength(1)
    expect([sentAfter(30_000 - 4_000), sentAfter(1)]).toEqual([false, true])
    expect(sentAfter(60_000)).toBe(false)
  })

  it('another way at once is the same transmission: 30 s after the first', () => {
    const { clock, first, again, sentAfter } = bench()
    first()
    clock.advanceBy(8_000)
    again('DIGI')
    expect([sentAfter(30_000 - 8_001), sentAfter(1)]).toEqual([false, true])
  })

  it('another way 8 s after it was heard last is a repetition', () => {
    const { clock, first, again, frames } = bench()
    first()
    clock.advanceBy(8_000)
    again('DIGI')
    clock.advanceBy(8_001)
    again('OTHER')
    expect(frames).toHaveLength(2)
  })

  it('by a way that it came by before is one, also while a later one was to follow, which then does not', () => {
    const { clock, first, again, frames, sentAfter } = bench()
    first()
    clock.advanceBy(3_000)
    again('DIGI')
    clock.advanceBy(3_000)
    again('DIGI')
    expect(frames).toHaveLength(2)
    expect(sentAfter(29_000)).toBe(false)
  })

  it('by another radio at once is left to the first; later it is a repetition', () => {
    const { clock, first, again, frames } = bench()
    first()
    clock.advanceBy(8_000)
    again('', 'acknowledge', 1)
    expect(frames).toHaveLength(1)
    clock.advanceBy(1)
    again('', 'acknowledge', 1)
    expect(frames).toHaveLength(2)
    expect(frames[1]?.radio).toBe(2)
  })

  it('after a restart is acknowledged at once, by whatever radio', () => {
    const { again, frames } = bench()
    again('DIGI', 'reject', 1)
    expect(frames).toHaveLength(1)
    expect(frames[0]?.text).toBe('rejection of 5')
  })

  it('while its acknowledgement waits for the radio has no other', () => {
    const { clock, world, first, again, frames } = bench('nothing')
    first()
    clock.advanceBy(20_000)
    again()
    clock.advanceBy(60_000)
    expect(frames).toHaveLength(1)
    world.outcome = sent
    frames[0]!.onEnd?.({ id: 'a', kind: 'expired', atMs: 0, reason: 'x' })
    again()
    expect(frames).toHaveLength(2)
  })

  it('at once where an acknowledgement was refused is acknowledged at once', () => {
    const { clock, first, again, frames } = bench({
      ...{ id: 'a', kind: 'refused', atMs: 0, reason: 'x' },
    })
    first()
    clock.advanceBy(1_000)
    again('DIGI')
    expect(frames).toHaveLength(2)
  })

  it('has the later one not go out while another waits for the radio', () => {
    const { clock, world, first, again, frames } = bench()
    first()
    clock.advanceBy(1_000)
    again('DIGI')
    world.outcome = 'nothing'
    clock.advanceBy(8_000)
    again('DIGI')
    expect(frames).toHaveLength(2)
    clock.advanceBy(60_000)
    expect(frames).toHaveLength(2)
  })

  it('is known by 20 ways, and the last 1,000 questions are', () => {
    const { clock, first, again, frames } = bench()
    first('W0')
    clock.advanceBy(100)
    for (let way = 1; way < 20; way++) again(`W${way}`)
    clock.advanceBy(5_000)
    again('W0')
    expect(frames).toHaveLength(2)
    again('W20')
    clock.advanceBy(5_000)
    // W1 was forgotten: another way, as if of the same transmission
    again('W1')
    expect(frames).toHaveLength(2)
  })
})

describe('whether a question counts as acknowledged', () => {
  const refused = { id: 'a', kind: 'refused', atMs: 0, reason: 'x' } as const
  it.each([
    ['was sent', sent, true],
    ['is with a radio', 'nothing', true],
    ['was cut, and may have gone out', { ...refused, airtimeMs: 1 }, true],
    ['was refused', refused, false],
    ['was too late', { id: 'a', kind: 'expired', atMs: 0, reason: 'x' }, false],
  ] as const)('where its acknowledgement %s: %s', (_, outcome, is) => {
    const { responses, first, questionOf } = bench(outcome as FinalOutcome)
    first()
    expect(responses.isAcknowledged(questionOf())).toBe(is)
  })

  it('where that is not known any more, it was', () => {
    const { responses, questionOf, first } = bench(refused)
    expect(responses.isAcknowledged(questionOf(9))).toBe(true)
    for (let id = 1; id <= 1_000; id++) first('', 'acknowledge', questionOf(id))
    expect(responses.isAcknowledged(questionOf(1))).toBe(false)
    first('', 'acknowledge', questionOf(1_001))
    expect(responses.isAcknowledged(questionOf(1))).toBe(true)
    expect(responses.isAcknowledged(questionOf(2))).toBe(false)
  })
})

describe('what a message acknowledges in return', () => {
  const returned = () => {
    const clock = virtualClock()
    const told: string[] = []
    const take = acknowledgedInReturn(clock, {
      acknowledged: (...words) => told.push(words.join(' ')) > 0,
    })
    const hear = (replyAcknowledges: string | undefined, number = '5', text = 'hi', from = 'Q1A') =>
      take(from, {
        ...{ kind: 'message', addressee: 'N0DE-10', text, number },
        ...(replyAcknowledges !== undefined && { replyAcknowledges }),
      })
    return { clock, told, hear }
  }

  it('is told once, its copies and retries of an hour say nothing', () => {
    const { clock, told, hear } = returned()
    hear('07')
    clock.advanceBy(60 * 60_000)
    hear('07')
    expect(told).toEqual(['Q1A 07 by a message in return'])
    clock.advanceBy(1)
    hear('07')
    expect(told).toHaveLength(2)
  })

  it('is nothing where it says no more than that its sender understands the form', () => {
    const { told, hear } = returned()
    hear('')
    hear(undefined)
    expect(told).toEqual([])
  })

  it.each([
    ['number', '08', '5', 'hi', 'Q1A'],
    ['message', '07', '6', 'hi', 'Q1A'],
    ['text', '07', '5', 'ho', 'Q1A'],
    ['sender', '07', '5', 'hi', 'Q2A'],
  ])('is another where its %s is', (_, ...other) => {
    const { told, hear } = returned()
    hear('07')
    hear(...other)
    expect(told).toHaveLength(2)
  })
})
