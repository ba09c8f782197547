import { afterAll, beforeEach, describe, expect, it } from 'vitest'
import type { QueryPayload } from '../../src/aprs/types.js'
import { parsePath } from '../../src/ax25/address.js'
import type { Heard } from '../../src/node/intake.js'
import { numberedMessage } from '../../src/node/numberedQueries.js'
import { directedReply, generalReply, type QueryReply } from '../../src/node/queries.js'
import { queryAnswers } from '../../src/node/queryAnswers.js'
import type { Outgoing } from '../../src/node/transmitter.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { MessageRecord } from '../../src/store/messages.js'
import { inEnglish } from '../../src/words/air/all.js'
import { openTestStore } from '../store/openTestStore.js'

const hourMs = 3_600_000
const wallMs = Date.UTC(2026, 0, 2)

describe('what a query to one station asks', () => {
  const directed = (query: string, target?: string) =>
    ({ kind: 'directedQuery', addressee: 'TE5Q', query, ...(target && { target }) }) as const

  interface Known {
    readonly stations?: readonly (readonly [call: string, lastDirectAgoMs: number | undefined])[]
    readonly counts?: readonly number[]
    readonly path?: string
    readonly destination?: string
  }
  const asked: unknown[][] = []
  const replyTo = (
    payload: ReturnType<typeof directed>,
    { stations = [], counts, path = '', destination = 'APZ001' }: Known = {},
  ): QueryReply => {
    const parsed = parsePath(path)
    if (!parsed.ok) throw new Error(parsed.reason)
    const recent = (limit: number) => {
      asked.push(['recent', limit])
      return stations.map(([call, agoMs]) => ({
        ...{ call, lastDirectWallMs: agoMs === undefined ? undefined : wallMs - agoMs },
      }))
    }
    const hourlyCounts = (...given: unknown[]) => {
      asked.push(['hourlyCounts', ...given])
      return counts
    }
    return directedReply(
      payload,
      { from: 'TE6R', destination, ax25: { path: parsed.value } },
      {
        ...{ call: 'TE5Q', wallMs, wording: inEnglish },
        stations: { recent, hourlyCounts } as never,
      },
    )
  }
  beforeEach(() => {
    asked.length = 0
  })

  it('?APRSD: who was heard direct in the last hour, but the asker, the first as it is known', () => {
    const stations = [
      ...[['TE7AA', 0] as const, ['TE6R', 5] as const, ['TE8BB', hourMs] as const],
      ...[['TE9CC', hourMs + 1] as const, ['TE1XX', undefined] as const],
      // of a clock that was years ahead: of no known age
      ['TE2YY', -1_000 * hourMs] as const,
    ]
    const text = 'Directs= TE7AA TE8BB'
    expect(replyTo(directed('APRSD'), { stations })).toEqual({ kind: 'message', text })
    expect(asked).toEqual([['recent', 200]])
    expect(replyTo(directed('APRSD'))).toEqual({
      ...{ kind: 'message', text: 'Directs= none in the last hour' },
    })
  })

  it('?APRSH: how often a station was heard in each of eight hours', () => {
    const counts = [1, 3, 0, 2, 0, 0, 4, 9]
    expect(replyTo(directed('APRSH', ' te9cc-11 '), { counts })).toEqual({
      ...{ kind: 'message', text: 'TE9CC-11 HEARD: 1 3 . 2 . . 4 9' },
    })
    expect(asked).toEqual([['hourlyCounts', 'TE9CC-11', 8, wallMs]])
  })

  it('?APRSH: a station that was not heard, or none', () => {
    const text = 'TE9CC was not heard here.'
    expect(replyTo(directed('APRSH', 'TE9CC'))).toEqual({ kind: 'message', text })
    expect(replyTo(directed('APRSH', 'LONGERTHANACALL'))).toEqual({
      ...{ kind: 'message', text: 'LONGERTHA was not heard here.' },
    })
    expect(replyTo(directed('APRSH'))).toEqual({ kind: 'message', text: ' was not heard here.' })
  })

  it.each(['APRST', 'PING'])('?%s: the way by which it came', (query) => {
    expect(replyTo(directed(query), { path: 'DIGI1,WIDE*' })).toEqual({
      ...{ kind: 'message', text: 'TE5Q>APZ001,DIGI1,WIDE*:' },
    })
    expect(replyTo(directed(query))).toEqual({ kind: 'message', text: 'TE5Q>APZ001:' })
    // of a connection there is no destination
    expect(replyTo(directed(query), { destination: '' })).toEqual({
      ...{ kind: 'message', text: 'TE5Q>APZRPT:' },
    })
  })

  it.each([
    ['APRSM', { kind: 'resend' }],
    ['APRSO', { kind: 'beacon', beacon: 'objects' }],
    ['APRSP', { kind: 'beacon', beacon: 'position' }],
    ['APRSS', { kind: 'beacon', beacon: 'status' }],
    ['APRSX', { kind: 'none', reason: 'no answer is defined to the query APRSX' }],
  ])('?%s', (query, reply) => {
    expect(replyTo(directed(query))).toEqual(reply)
  })

  it('is a message where it has a number', () => {
    const numbered = { ...directed('APRSH', 'TE9CC'), numberAsSent: '12}AB' }
    expect(numberedMessage(numbered)).toEqual({
      ...{ kind: 'message', addressee: 'TE5Q', text: '?APRSH TE9CC' },
      ...{ number: '12', numberAsSent: '12}AB' },
    })
    expect(numberedMessage({ ...directed('APRSD'), numberAsSent: '7' })).toEqual({
      ...{ kind: 'message', addressee: 'TE5Q', text: '?APRSD', number: '7', numberAsSent: '7' },
    })
    expect(numberedMessage(directed('APRSD'))).toBeUndefined()
  })
})

describe('what a query to everybody asks', () => {
  const here = { latitudeDeg: 49, longitudeDeg: -72 }
  const general = (query: string, radiusKm?: number): QueryPayload => ({
    ...{ kind: 'query', query },
    // a degree of latitude north of us: 111.2 km (WGS 84 at 49 degrees, from memory)
    ...(radiusKm && { footprint: { latitudeDeg: 50, longitudeDeg: -72, radiusKm } }),
  })
  const both = [
    { kind: 'beacon', beacon: 'position' },
    { kind: 'beacon', beacon: 'status' },
  ]

  it('?APRS?: position and status', () => {
    expect(generalReply(general('APRS'), undefined, false)).toEqual(both)
  })

  it('nothing of who is outside the area, or does not know where it is', () => {
    expect(generalReply(general('APRS', 112), here, false)).toEqual(both)
    expect(generalReply(general('APRS', 111), here, false)).toEqual([
      { kind: 'none', reason: 'we are outside the area asked' },
    ])
    expect(generalReply(general('APRS', 112), undefined, false)).toEqual([
      { kind: 'none', reason: 'our own position is not known' },
    ])
  })

  it('?WX?: the weather, of who has an instrument', () => {
    expect(generalReply(general('WX'), here, true)).toEqual([{ kind: 'beacon', beacon: 'weather' }])
    const others = (query: string) => [
      { kind: 'none', reason: `the query ${query} is for other kinds of stations` },
    ]
    expect(generalReply(general('WX'), here, false)).toEqual(others('WX'))
    expect(generalReply(general('IGATE'), here, true)).toEqual(others('IGATE'))
  })
})

describe('the answers to queries', () => {
  // one database for all: each test asks as a station of its own
  const { store } = openTestStore()
  afterAll(() => store.close())
  let stations = 0

  function bench(random = 0.5, goesOut = false) {
    const from = `TE${++stations}R`
    const clock = virtualClock(wallMs)
    const options = defaultNodeOptions({
      call: 'TE5Q',
      limits: { windowMs: 600_000, perStation: 3 },
    })
    const beacons: [string, number][] = []
    const out: MessageRecord[] = []
    const sent: string[] = []
    const told: [string, string, unknown][] = []
    let resent = 0
    const answers = queryAnswers({
      ...{ clock, options, store, random: () => random, wording: () => inEnglish },
      note: (kind, text, detail) => void told.push([kind, text, detail]),
      nextId: () => 'unique',
      pathTo: () => ['DIGI1'],
      beacons: {
        send: (kind) => void beacons.push([kind, clock.monotonicMs()]),
        start: () => {},
        stop: () => {},
      },
      outbox: {
        add: (messages: readonly MessageRecord[]) => void out.push(...messages),
        resend: () => resent,
      } as never,
      transmitter: {
        send({ payload, onEnd }: Outgoing) {
          sent.push(Buffer.from(payload).toString())
          if (goesOut) onEnd?.({ id: 'x', kind: 'sent', atMs: clock.monotonicMs(), airtimeMs: 1 })
          return () => {}
        },
      } as never,
    })
    const heard = (payload: object, path: readonly string[] = []): Heard =>
      ({
        ...{ from, source: from, via: path, destination: 'APZ001', payload, thirdParty: false },
        frame: { radio: 2, heardAtWallMs: clock.wallMs() },
      }) as never
    const query = (numberAsSent?: string) =>
      heard({
        ...{ kind: 'directedQuery', addressee: 'TE5Q', query: 'APRSD' },
        ...(numberAsSent && { numberAsSent }),
      })
    const everybody = heard({ kind: 'query', query: 'APRS' })
    const setResent = (count: number): void => {
      resent = count
    }
    const answered = () => ({ beacons, out, sent, told })
    return { from, clock, options, answers, heard, query, everybody, setResent, ...answered() }
  }
  const message: QueryReply = { kind: 'message', text: 'Directs= TE7AA' }
  const none: QueryReply = { kind: 'none', reason: 'no answer is defined' }
  const beacon = (of: 'position' | 'status'): QueryReply => ({ kind: 'beacon', beacon: of })

  it('to everybody wait 5 s to a minute, each by itself', () => {
    const soon = bench(0)
    expect(soon.answers.answer(soon.everybody, [beacon('position'), beacon('status')])).toBe(
      undefined,
    )
    soon.clock.advanceTo(4_999)
    expect(soon.beacons).toEqual([])
    soon.clock.advanceTo(60_000)
    expect(soon.beacons).toEqual([
      ['position', 5_000],
      ['status', 5_000],
    ])
    const late = bench(1)
    late.answers.answer(late.everybody, [beacon('position')])
    late.clock.advanceTo(100_000)
    expect(late.beacons).toEqual([['position', 60_000]])
  })

  it('to everybody do not come after the end', () => {
    const { answers, everybody, clock, beacons } = bench()
    answers.answer(everybody, [beacon('position')])
    answers.stop()
    clock.advanceTo(hourMs)
    expect([beacons, clock.nextAtMs()]).toEqual([[], undefined])
  })

  it('to everybody are two in the window, whoever asks', () => {
    const { answers, everybody, clock, heard } = bench()
    const ask = (one = everybody) => answers.answer(one, [beacon('position')])
    const other = { ...heard({ kind: 'query', query: 'APRS' }), from: 'TE9CC' }
    expect([ask(), ask(other), ask()]).toEqual([undefined, undefined, 'rate limit of queries'])
    clock.advanceTo(600_000)
    expect(ask()).toBeUndefined()
  })

  it('to everybody come again in the next window, though somebody goes on asking', () => {
    const { answers, everybody, clock } = bench()
    const answered: number[] = []
    for (let minute = 0; minute < 30; minute++) {
      clock.advanceTo(minute * 60_000)
      if (answers.answer(everybody, [beacon('position')]) === undefined) answered.push(minute)
    }
    expect(answered).toEqual([0, 1, 10, 11, 20, 21])
  })

  it('to one station go at once, and are as many as its questions', () => {
    const { answers, query, clock, beacons } = bench()
    const ask = () => answers.answer(query(), [beacon('position')])
    expect([ask(), ask(), ask(), ask()]).toEqual([
      ...[undefined, undefined, undefined, 'rate limit of queries'],
    ])
    expect(beacons).toEqual([
      ['position', 0],
      ['position', 0],
      ['position', 0],
    ])
    clock.advanceTo(599_999)
    expect(ask()).toBe('rate limit of queries')
  })

  it('say why there is none', () => {
    const { answers, query, everybody, out, clock, beacons } = bench()
    expect(answers.answer(query(), [none])).toBe('no answer is defined')
    expect(answers.answer(everybody, [none])).toBe('no answer is defined')
    clock.advanceTo(hourMs)
    expect([out, beacons]).toEqual([[], []])
  })

  it('are messages without a number that are kept, to who asked, for as long as an answer is of use', () => {
    const { answers, query, out, from, options } = bench()
    expect(answers.answer(query(), [message])).toBeUndefined()
    expect(out).toEqual([
      {
        ...{ id: expect.any(Number), kind: 'reply', to: from, text: 'Directs= TE7AA', radio: 2 },
        ...{ state: 'waiting', attempts: 0, createdWallMs: wallMs, endedWallMs: undefined },
        ...{ number: undefined, replyTo: undefined, questionId: undefined, mailboxId: undefined },
        ...{ notAfterWallMs: wallMs + options.answers.notAfterMs, reason: undefined },
      },
    ])
    expect(store.messages.find(out[0]!.id)).toEqual(out[0])
  })

  it('are not sent where they cannot be kept, which is told as a fault of the database', () => {
    const { answers, query, out } = bench()
    const { durably } = store
    const doing: string[] = []
    Object.assign(store, { durably: (what: string) => ({ ok: doing.push(what) === 0 }) })
    answers.answer(query(), [message])
    Object.assign(store, { durably })
    expect([out, doing]).toEqual([[], ['a reply to a query']])
  })

  it('send what waits for a station again, or say that nothing does', () => {
    const { answers, query, out, setResent } = bench()
    answers.answer(query(), [{ kind: 'resend' }])
    expect(out.map(({ text }) => text)).toEqual(['No messages for you'])
    setResent(2)
    answers.answer(query(), [{ kind: 'resend' }])
    expect(out).toHaveLength(1)
  })

  describe('with a number', () => {
    const questionsOf = (from: string) =>
      store.questions.recent(99).filter((question) => question.from === from)

    it('are acknowledged, kept as a question, and answered once', () => {
      const { answers, query, out, sent, told, from } = bench()
      expect(answers.answer(query('12}AB'), [message])).toBeUndefined()
      expect(sent).toEqual([`:${from.padEnd(9)}:ack12}AB`])
      const [question] = questionsOf(from)
      expect(question).toMatchObject({
        ...{ uniqueId: `Q${question!.id}-unique`, addressee: 'TE5Q', number: '12' },
        ...{ text: '?APRSD', radio: 2, heardWallMs: wallMs, state: 'answered' },
        reason: undefined,
      })
      expect(out).toMatchObject([
        { to: from, text: 'Directs= TE7AA', questionId: question!.id, number: undefined },
      ])
      const reference = `Q${question!.id}`
      expect(told).toEqual([['asked', '?APRSD', { station: from, radio: 2, reference }]])
    })

    it('are acknowledged again when they are heard again, and not answered again', () => {
      const { answers, query, out, sent, clock, told, from } = bench()
      answers.answer(query('12'), [message])
      clock.advanceTo(20_000)
      expect(answers.answer(query('12'), [message])).toBe('heard again; it was answered already')
      expect([out.length, told.length, questionsOf(from).length]).toEqual([1, 1, 1])
      // the first one was not sent yet: it is enough
      expect(sent).toHaveLength(1)
    })

    it.each([
      ['ack', message],
      ['rej', none],
    ])('that were responded to with %s are so again', (how, reply) => {
      const { answers, query, sent, clock, from } = bench(0.5, true)
      answers.answer(query('12'), [reply])
      clock.advanceTo(40_000)
      answers.answer(query('12'), [reply])
      const response = `:${from.padEnd(9)}:${how}12`
      expect(sent).toEqual([response, response])
    })

    it('are a beacon of ours where that is the answer', () => {
      const { answers, query, out, beacons, sent } = bench()
      expect(answers.answer(query('12'), [beacon('status')])).toBeUndefined()
      expect([out, beacons, sent.length]).toEqual([[], [['status', 0]], 1])
    })

    it('are rejected where there is no answer, with the reason', () => {
      const { answers, query, out, sent, told, from } = bench()
      expect(answers.answer(query('12'), [none])).toBe('no answer is defined')
      expect([sent, out]).toEqual([[`:${from.padEnd(9)}:rej12`], []])
      const [question] = questionsOf(from)
      expect(question).toMatchObject({ state: 'refused', reason: 'no answer is defined' })
      const detail = { station: from, radio: 2, reference: `Q${question!.id}` }
      expect(told).toEqual([
        ['asked', '?APRSD', detail],
        ['refused', '?APRSD', { ...detail, reason: 'no answer is defined' }],
      ])
      expect(answers.answer(query('12'), [none])).toBe('heard again; it was refused already')
    })

    it('are rejected where they are too many; what is heard again does not count', () => {
      const { answers, query, sent, from, beacons } = bench()
      const ask = (number: string) => answers.answer(query(number), [beacon('position')])
      expect([ask('1'), ask('1'), ask('1'), ask('2'), ask('3'), ask('4')]).toEqual([
        undefined,
        ...['heard again; it was answered already', 'heard again; it was answered already'],
        ...[undefined, undefined, 'rate limit of queries'],
      ])
      expect(sent.at(-1)).toBe(`:${from.padEnd(9)}:rej4`)
      expect(beacons).toHaveLength(3)
    })

    it('are not acknowledged where they cannot be kept', () => {
      const { answers, query, sent, told } = bench()
      const { durably } = store
      Object.assign(store, { durably: () => ({ ok: false }) })
      const reason = answers.answer(query('12'), [message])
      Object.assign(store, { durably })
      expect(reason).toBe('it could not be kept in the database, so it is not acknowledged')
      expect([sent, told]).toEqual([[], []])
    })

    it('are not acknowledged after the end', () => {
      const { answers, query, sent } = bench()
      answers.stop()
      answers.answer(query('12'), [message])
      expect(sent).toEqual([])
    })
  })
})
