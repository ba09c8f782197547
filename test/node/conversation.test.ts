import { describe, expect, it } from 'vitest'
import { Failure } from '../../src/runtime/failure.js'
import { echoService, testNode } from './testNode.js'

const to = (call: string, text: string) => `:${call.padEnd(9)}:${text}`
const reasons = (node: ReturnType<typeof testNode>, kind: string) =>
  node.events.filter((event) => event.kind === kind).map(({ reason }) => reason)

describe('a question', () => {
  it('is acknowledged, then answered in order, one message at a time', async () => {
    const { ask, wait, sentTexts } = testNode()
    ask('N0CALL-7', 'echo one/two{12')
    await wait(2)
    expect(sentTexts()).toEqual([to('N0CALL-7', 'ack12'), to('N0CALL-7', 'one{101')])
    ask('N0CALL-7', 'ack101')
    await wait(2)
    expect(sentTexts()).toEqual([to('N0CALL-7', 'two{102')])
    ask('N0CALL-7', 'ack102')
    await wait(600)
    expect(sentTexts()).toEqual([])
  })

  it('is in the database before its acknowledgement is given to the radio', async () => {
    const node = testNode()
    const seen: number[] = []
    const send = node.port.send.bind(node.port)
    node.port.send = (request) => {
      // committed: a transaction that were still open would be rolled back by this
      seen.push(node.store.questions.recent(10).length)
      expect(node.store.state().counters.durableCount).toBeGreaterThan(0)
      send(request)
    }
    node.ask('N0CALL-7', 'echo one{12')
    expect(seen).toEqual([1])
    await node.wait(2)
  })

  it('to a service that never answers gets a polite word in the end', async () => {
    const node = testNode({
      services: [{ ...echoService, answer: () => new Promise<string>(() => {}) }],
    })
    node.ask('N0CALL-7', 'echo{1')
    await node.wait(59)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ack1')])
    await node.wait(3)
    expect(node.sentTexts()[0]).toContain('takes too long just now')
    expect(reasons(node, 'fault')).toEqual(['no answer within 60 s'])
  })

  it('leaves its whole history in the log, under its reference', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(2)
    node.ask('N0CALL-7', 'ack101')
    await node.wait(2)
    const history = node.store.events.query({ reference: 'Q1' })
    expect(history.map(({ kind, reference }) => `${kind} ${reference}`)).toEqual([
      'asked Q1',
      'queued Q1',
      'answered Q1',
      'queued M1',
      'sent Q1',
      'sent M1',
      'acknowledged M1',
    ])
    expect(new Set(history.map(({ station }) => station))).toEqual(new Set(['N0CALL-7']))
    expect(node.store.transmissions.query()).toMatchObject([
      { priority: 'acknowledgement', outcome: 'sent', reference: 'Q1', airtimeMs: 400 },
      { priority: 'answer', outcome: 'sent', reference: 'M1' },
    ])
  })

  it('without a number is answered once, without acknowledgement or repetition', async () => {
    const { ask, wait, sentTexts } = testNode()
    ask('N0CALL-7', 'echo one')
    await wait(600)
    expect(sentTexts()).toEqual([to('N0CALL-7', 'one')])
  })

  it('in any case and by an unambiguous beginning', async () => {
    const others = ['editor', 'edition'].map((keyword) => ({ ...echoService, keyword }))
    const { ask, wait, sentTexts } = testNode({ services: [echoService, ...others] })
    ask('N0CALL-7', 'EC hi')
    await wait(5)
    ask('N0CALL-8', 'edit hi')
    await wait(5)
    ask('N0CALL-9', 'nonsense')
    await wait(5)
    const texts = sentTexts()
    expect(texts[0]).toBe(to('N0CALL-7', 'hi'))
    expect(texts[1]).toMatch(/edit\? Send editor or edition/)
    expect(texts[2]).toMatch(/"nonsense" is not known here/)
  })

  it('long answers are split at word borders into messages of at most 67 characters', async () => {
    const words = Array.from({ length: 30 }, (_, index) => `word${index}`).join(' ')
    const long = { ...echoService, answer: () => words }
    const { ask, wait, sentTexts } = testNode({
      services: [long],
      options: { answers: { window: 4 } },
    })
    ask('N0CALL-7', 'echo{1')
    await wait(4)
    const texts = sentTexts()
      .slice(1)
      .map((text) => text.slice(11).replace(/\{\d+$/, ''))
    expect(texts.join(' ')).toBe(words)
    expect(Math.max(...texts.map((text) => text.length))).toBeLessThanOrEqual(67)
  })

  it('a service that fails is answered politely, and the reason is in the log', async () => {
    const bad = {
      ...echoService,
      answer: () => {
        throw new Error('its file is gone')
      },
    }
    const node = testNode({ services: [bad] })
    node.ask('N0CALL-7', 'echo{1')
    await node.wait(2)
    expect(node.sentTexts()[1]).toContain('does not work here just now')
    expect(reasons(node, 'fault')).toEqual(['echo: its file is gone'])
  })
})

describe('repetition of answers', () => {
  it('comes after about 8, 16, 32 and 64 s, then it is given up with a reason', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(600)
    const times = node.port.sent.filter(({ line }) => line.includes(':one{')).map(({ atS }) => atS)
    const gaps = times.slice(1).map((atS, index) => atS - times[index]!)
    expect(gaps).toHaveLength(4)
    for (const [index, nominal] of [8, 16, 32, 64].entries()) {
      // half a second of the test radio, and 20 % of jitter
      expect(gaps[index]).toBeGreaterThan(nominal * 0.8)
      expect(gaps[index]).toBeLessThan(nominal * 1.2 + 0.6)
    }
    expect(reasons(node, 'given up')).toEqual(['not acknowledged after 5 transmissions'])
    expect(node.node.state().openMessageCount).toBe(0)
  })

  it('begins when all parts went out once; while none is acknowledged, the first alone is repeated', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one/two/three{12')
    await node.wait(900)
    const texts = node.sentTexts().map((text) => text.slice(11).replace(/\{.*/, ''))
    expect(texts).toEqual(['ack12', 'one', 'two', 'three', 'one', 'one', 'one', 'one'])
    expect(reasons(node, 'given up').slice(1)).toEqual([
      'its receiver does not acknowledge',
      'its receiver does not acknowledge',
    ])
  })

  it('is ended by a rejection, and by a newer question', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{1')
    await node.wait(2)
    node.ask('N0CALL-7', 'rej101')
    node.ask('N0CALL-8', 'echo old{1')
    await node.wait(2)
    node.ask('N0CALL-8', 'echo new{2')
    await node.wait(2)
    node.ask('N0CALL-8', 'ack103')
    node.sentTexts()
    await node.wait(600)
    expect(node.sentTexts()).toEqual([])
    expect(reasons(node, 'rejected')).toEqual(['by its receiver'])
    expect(reasons(node, 'given up')).toEqual(['a newer question came'])
  })

  it('ends when the answer is too old to be of use', async () => {
    const node = testNode({ options: { answers: { notAfterMs: 20_000 } } })
    node.ask('N0CALL-7', 'echo one{1')
    await node.wait(600)
    expect(reasons(node, 'expired')).toEqual(['too late to be of use'])
  })

  it('an acknowledgement that comes after giving up still counts', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{1')
    await node.wait(600)
    node.ask('N0CALL-7', 'ack101')
    await node.wait(1)
    expect(reasons(node, 'acknowledged')).toEqual(['late: it was given up'])
    expect(node.store.messages.query()[0]?.state).toBe('acknowledged')
  })

  it('a radio that may not send gives the answer up at once, with its reason', async () => {
    const node = testNode()
    node.port.mode = 'refuse'
    node.ask('N0CALL-7', 'echo one{1')
    await node.wait(300)
    expect(reasons(node, 'given up')).toEqual(['transmit.enabled is off'])
    expect(reasons(node, 'refused')).toHaveLength(2)
  })

  it('understands a reply that acknowledges, and sends that form to who uses it', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{AB}')
    await node.wait(2)
    const [acknowledgement, answer] = node.sentTexts()
    expect(acknowledgement).toBe(to('N0CALL-7', 'ackAB}'))
    // addendum of December 1999: our number of two characters, a closing brace, the number that we acknowledge
    expect(answer).toBe(to('N0CALL-7', 'one{01}AB'))
    node.ask('N0CALL-7', 'echo two{AC}01')
    await node.wait(2)
    expect(reasons(node, 'acknowledged')).toEqual(['by a message in return'])
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ackAC}01'), to('N0CALL-7', 'two{02}AC')])
    node.ask('N0CALL-7', 'ack02}AC')
    await node.wait(300)
    expect(node.sentTexts()).toEqual([])
  })
})

describe('a question heard again', () => {
  it('a repetition is acknowledged again and answered once', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(2)
    node.ask('N0CALL-7', 'ack101')
    node.sentTexts()
    await node.wait(8)
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(60)
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(600)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ack12'), to('N0CALL-7', 'ack12')])
    expect(node.store.questions.recent(10)).toHaveLength(1)
  })

  it('a copy through a digipeater is acknowledged again only after 30 s, and answered once', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{12', ',WIDE1-1')
    await node.wait(2)
    node.ask('N0CALL-7', 'echo one{12', ',DIGI1*')
    await node.wait(1)
    node.ask('N0CALL-7', 'ack101')
    await node.wait(600)
    const times = node.port.sent.filter(({ line }) => line.includes('ack12')).map(({ atS }) => atS)
    expect(times).toHaveLength(2)
    // APRS reference, chapter 14: repeated acknowledgements at least 30 s apart
    expect(times[1]! - times[0]!).toBeGreaterThanOrEqual(30)
    expect(node.port.sent.filter(({ line }) => line.includes('one{'))).toHaveLength(1)
  })

  it('brings what was given up again, under the same number', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(300)
    const first = node.sentTexts()
    expect(reasons(node, 'given up')).toHaveLength(1)
    node.ask('N0CALL-7', 'echo one{12')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ack12'), first[1]])
    node.ask('N0CALL-7', 'ack101')
    await node.wait(300)
    expect(node.sentTexts()).toEqual([])
    expect(node.store.messages.query()).toMatchObject([{ state: 'acknowledged', number: '101' }])
  })

  it('without a number counts as a copy for 28 s, then as a new question', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one')
    await node.wait(5)
    node.ask('N0CALL-7', 'echo one', ',DIGI1*,WIDE2-1')
    await node.wait(22)
    node.ask('N0CALL-7', 'echo one')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'one')])
    await node.wait(40)
    node.ask('N0CALL-7', 'echo one')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'one')])
  })

  it('the same number with another text is another question: radios begin to count anew', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{1')
    await node.wait(2)
    node.ask('N0CALL-7', 'echo two{1')
    await node.wait(2)
    expect(node.store.questions.recent(10)).toHaveLength(2)
  })
})

describe('the way back', () => {
  const pathOf = async (heardPath: string, options = {}) => {
    const node = testNode({ options })
    node.ask('N0CALL-7', 'echo one', heardPath)
    await node.wait(2)
    return /^N0DE-10>APZRPT,?([^:]*):/.exec(node.port.sent[0]!.line)?.[1]
  }

  it('is direct for who was heard direct, else the digipeaters in reverse', async () => {
    expect(await pathOf('')).toBe('')
    expect(await pathOf(',WIDE1-1,WIDE2-1')).toBe('')
    expect(await pathOf(',DIGI1*,WIDE2-1')).toBe('DIGI1')
    expect(await pathOf(',DIGI1,DIGI2*')).toBe('DIGI2,DIGI1')
    expect(await pathOf(',DIGI1,WIDE1,DIGI2,WIDE2*')).toBe('DIGI2,DIGI1')
  })

  it('is the configured path where no digipeater gave its call, or where that is wanted', async () => {
    expect(await pathOf(',WIDE1*')).toBe('WIDE1-1')
    const answers = { path: 'configured', configuredPath: ['WIDE2-1'] }
    expect(await pathOf(',DIGI1*', { answers })).toBe('WIDE2-1')
    expect(await pathOf('', { answers })).toBe('')
  })
})

describe('what is not answered', () => {
  const heardReason = async (line: string, repairedBits = 0, options = {}) => {
    const node = testNode({ options })
    node.hear(line, repairedBits)
    await node.wait(120)
    expect(node.sentTexts()).toEqual([])
    return node.events.filter(({ kind }) => kind !== 'started').map(({ reason }) => reason)
  }

  it('says why, each time', async () => {
    const cases: [string, string][] = [
      ['N0CALL-7>APZ001::N0CALL-8 :echo hi{1', 'not addressed to us'],
      ['N0CALL-7>APZ001::BLN1     :echo hi', 'a bulletin is never answered'],
      ['N0CALL-7>APZ001::ALL      :echo hi{1', 'a message to everybody is never answered'],
      ['N0DE-10>APZ001,DIGI1*::N0DE-10  :echo hi{1', 'our own frame'],
      ['N0CALL-7>APZ001::N0DE-10  :AA: I am away', 'an automatic reply is not answered'],
      ['N0CALL-7>APZ001::N0DE-10  :ack77', 'no message of ours has this number'],
      ['N0CALL-7>APZ001:>a status', 'nothing asked'],
    ]
    for (const [line, reason] of cases) {
      expect(await heardReason(line), line).toContain(reason)
    }
    const listed = { ignored: ['N0CALL'] }
    const line = 'N0CALL-7>APZ001::N0DE-10  :echo hi{1'
    expect(await heardReason(line, 0, listed)).toContain('on the list of stations not to answer')
  })

  it('a frame repaired by more than one bit is kept, never acted on; by one bit it is', async () => {
    const line = 'N0CALL-7>APZ001::N0DE-10  :echo hi{1'
    expect(await heardReason(line, 3)).toEqual(['repaired by 3 bits: kept, not acted on'])
    const node = testNode()
    node.hear(line, 1)
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ack1'), to('N0CALL-7', 'hi{101')])
    expect(node.store.frames.query()[0]?.repairedBits).toBe(1)
  })

  it('octets that are not a frame end nothing', async () => {
    const node = testNode()
    node.port.hear(Uint8Array.of(1, 2, 3))
    node.port.hear(new Uint8Array(300).fill(0xff))
    node.port.hear(new Uint8Array())
    expect(node.events.filter(({ kind }) => kind === 'ignored')).toHaveLength(3)
    node.ask('N0CALL-7', 'echo hi{1')
    await node.wait(2)
    expect(node.sentTexts()).toHaveLength(2)
  })

  it('a question that cannot be kept is not acknowledged, so that its sender goes on trying', async () => {
    const node = testNode()
    const { durably } = node.store
    const failure = new Failure({
      code: 'store-full',
      subject: 'db',
      got: 'full',
      expected: 'room',
    })
    Object.assign(node.store, { durably: () => ({ ok: false, failure }) })
    node.ask('N0CALL-7', 'echo hi{1')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([])
    expect(reasons(node, 'refused')).toEqual([
      'it could not be kept in the database, so it is not acknowledged',
    ])
    Object.assign(node.store, { durably })
    await node.wait(10)
    node.ask('N0CALL-7', 'echo hi{1')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-7', 'ack1'), to('N0CALL-7', 'hi{101')])
  })

  it('one polite notice, then rejections, for a station that asks too much', async () => {
    const node = testNode({ options: { limits: { perStation: 2 } } })
    for (let number = 1; number <= 5; number++) {
      node.ask('N0CALL-7', `echo ${number}{${number}`)
      await node.wait(3)
    }
    const texts = node.sentTexts()
    expect(texts.filter((text) => text.includes('Too many questions'))).toHaveLength(1)
    expect(texts.filter((text) => text.includes(':rej'))).toEqual(
      ['rej3', 'rej4', 'rej5'].map((rejection) => to('N0CALL-7', rejection)),
    )
    expect(reasons(node, 'refused')[0]).toContain('rate limit: more than 2 questions')
    node.ask('N0CALL-8', 'echo hi{1')
    await node.wait(3)
    expect(node.sentTexts()).toContain(to('N0CALL-8', 'ack1'))
  })

  it('two automatic stations do not talk to each other for ever', async () => {
    // both answer what they do not understand; each text has a number of its own
    const a = testNode({ options: { call: 'N0DE-10' } })
    const b = testNode({ options: { call: 'N0DE-11' }, clock: a.clock })
    const relay = (from: typeof a, to: typeof b): number => {
      const fresh = from.port.sent.splice(0)
      for (const { request } of fresh) to.port.hear(request.octets)
      return fresh.length
    }
    a.hear('N0DE-11>APZ001::N0DE-10  :good morning{1')
    let count = 0
    for (let second = 0; second < 1800; second++) {
      await a.wait(1)
      count += relay(a, b) + relay(b, a)
    }
    expect(count).toBeLessThan(40)
    for (let second = 0; second < 300; second++) {
      await a.wait(1)
      expect(relay(a, b) + relay(b, a)).toBe(0)
    }
  })
})

describe('names and third parties', () => {
  it('a tactical name is answered with our own call, and offers its group of services', async () => {
    const node = testNode({ options: { aliases: [{ name: 'INFO', services: ['echo'] }] } })
    node.hear('N0CALL-7>APZ001::INFO     :hello there{5')
    await node.wait(2)
    expect(node.port.sent.map(({ line }) => line)).toEqual([
      'N0DE-10>APZRPT::N0CALL-7 :ack5',
      'N0DE-10>APZRPT::N0CALL-7 :hello there{101',
    ])
  })

  it('a message inside a third-party header is answered to who wrote it', async () => {
    const node = testNode()
    node.hear('N0GATE>APZ001:}N0CALL-9>APZ001,NET,N0GATE*::N0DE-10  :echo hi{7')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([to('N0CALL-9', 'ack7'), to('N0CALL-9', 'hi{101')])
    // its position is not the gateway's, and it was not heard itself
    expect(node.store.stations.find('N0CALL-9')).toBeUndefined()
    expect(node.store.stations.find('N0GATE')).toBeDefined()
  })
})
