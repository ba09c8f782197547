import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { type Outgoing, transmitter } from '../../src/node/transmitter.js'
import type { FinalOutcome, TransmitOutcome } from '../../src/radio/port.js'
import { createGuard } from '../../src/runtime/guard.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { TransmissionRecord } from '../../src/store/transmissions.js'
import { HandRadio } from './handRadio.js'

const startWallMs = Date.UTC(2026, 0, 1)

function bench(radios: readonly HandRadio[] = [new HandRadio(0)]) {
  const clock = virtualClock(startWallMs)
  const kept: TransmissionRecord[] = []
  const store = { transmissions: { add: (one: TransmissionRecord) => void kept.push(one) } }
  const told: [kind: string, text: string, detail: unknown][] = []
  const faults: string[] = []
  let id = 0
  const sends = transmitter({
    ...{ ports: radios, clock, store: store as never, call: 'N0DE-10' },
    nextId: () => `f${++id}`,
    note: (kind, text, detail) => void told.push([kind, text, detail]),
    guard: createGuard(({ what }) => void faults.push(what)),
  })
  const ends: FinalOutcome[] = []
  const outgoing = (given: Partial<Outgoing> = {}): Outgoing => ({
    ...{ payload: Buffer.from('>hello'), path: [], radio: 0, priority: 'answer' },
    ...{ notAfterMs: 900_000, station: 'N0CALL-7', reference: 'Q1', text: 'hello' },
    onEnd: (outcome) => void ends.push(outcome),
    ...given,
  })
  const detail = { radio: 0, station: 'N0CALL-7', reference: 'Q1' }
  return { kept, clock, told, faults, sends, ends, outgoing, detail, radio: radios[0]! }
}

const lineOf = (octets: Uint8Array): string => {
  const decoded = decodeFrame(octets, { strict: true })
  if (!decoded.ok) throw new Error(decoded.reason)
  return formatLine(decoded.frame)
}

describe('a frame of ours', () => {
  it('comes from us, to the address of our program, by its path', () => {
    const { sends, outgoing, radio } = bench()
    sends.send(outgoing({ path: ['DIGI1', 'WIDE2-1'] }))
    expect(radio.given.map(({ octets }) => lineOf(octets))).toEqual([
      'N0DE-10>APZRPT,DIGI1,WIDE2-1:>hello',
    ])
  })

  it('of another station goes as it is', () => {
    const { sends, outgoing, radio } = bench()
    const whole = Uint8Array.of(1, 2, 3)
    sends.send(outgoing({ whole, path: ['not an address'] }))
    expect(radio.given[0]?.octets).toBe(whole)
  })

  it('is in the log and in the table of transmissions, from its queue to its end', () => {
    const { sends, outgoing, radio, clock, told, ends, kept, detail } = bench()
    sends.send(outgoing())
    clock.advanceTo(4_000)
    const outcome: TransmitOutcome = { id: 'f1', kind: 'sent', atMs: 3_900, airtimeMs: 400 }
    radio.tell(outcome)
    expect(told).toEqual([
      ['queued', 'hello', detail],
      ['sent', 'hello', { ...detail, reason: undefined }],
    ])
    expect(ends).toEqual([outcome])
    expect(kept).toEqual([
      {
        ...{ atWallMs: startWallMs + 4_000, radio: 0, priority: 'answer', outcome: 'sent' },
        ...{ octets: radio.given[0]!.octets, airtimeMs: 400, reference: 'Q1', reason: undefined },
      },
    ])
  })

  it('may have been sent with a doubt, which is its reason', () => {
    const { sends, outgoing, radio, told, kept } = bench()
    sends.send(outgoing())
    radio.tell({ id: 'f1', kind: 'sent', atMs: 1, airtimeMs: 400, doubt: 'no sign of life' })
    expect(told.at(-1)?.[2]).toMatchObject({ reason: 'no sign of life' })
    expect(kept[0]).toMatchObject({ reason: 'no sign of life' })
  })

  it.each(['refused', 'expired'] as const)('%s, has the reason of its radio', (kind) => {
    const { sends, outgoing, radio, told, ends, kept, detail } = bench()
    sends.send(outgoing())
    const outcome = { id: 'f1', kind, atMs: 1, reason: 'why not' }
    radio.tell(outcome)
    expect(told.at(-1)).toEqual([kind, 'hello', { ...detail, reason: 'why not' }])
    expect(ends).toEqual([outcome])
    expect(kept[0]).toMatchObject({
      ...{ outcome: kind, reason: 'why not', airtimeMs: undefined },
    })
  })

  it('that was cut on the air has no airtime in the table, and nobody need wait for its end', () => {
    const { sends, outgoing, radio, told, kept } = bench()
    const { onEnd, ...unwatched } = outgoing()
    sends.send(unwatched)
    radio.tell({ id: 'f1', kind: 'refused', atMs: 1, reason: 'cut', airtimeMs: 900 })
    expect(kept).toMatchObject([{ outcome: 'refused', reason: 'cut', airtimeMs: undefined }])
    expect(told.map(([kind]) => kind)).toEqual(['queued', 'refused'])
  })

  it('of which somebody else tells, is in the table alone', () => {
    const { sends, outgoing, radio, told, ends, kept } = bench()
    sends.send(outgoing({ quiet: true }))
    radio.tell({ id: 'f1', kind: 'held', atMs: 1, reason: 'lunch' })
    radio.tell({ id: 'f1', kind: 'sent', atMs: 2, airtimeMs: 1 })
    expect(told).toEqual([])
    expect([ends.length, kept.length]).toEqual([1, 1])
  })

  it('is told as held once for each reason', () => {
    const { sends, outgoing, radio, told, detail } = bench()
    sends.send(outgoing())
    for (const reason of ['lunch', 'lunch', 'duty', 'duty', 'lunch'])
      radio.tell({ id: 'f1', kind: 'held', atMs: 1, reason })
    expect(told.slice(1)).toEqual([
      ['held', 'hello', { ...detail, reason: 'lunch' }],
      ['held', 'hello', { ...detail, reason: 'duty' }],
      ['held', 'hello', { ...detail, reason: 'lunch' }],
    ])
  })

  it('goes with its priority, turn and time', () => {
    const { sends, outgoing, radio } = bench()
    radio.limits = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 5_000 }
    sends.send(outgoing({ notAfterMs: 50_000 }))
    sends.send(outgoing({ turn: 1 }))
    sends.send(outgoing({ turn: -1, followingOctets: 7 }))
    expect(sends.isBusy(0)).toBe(true)
    radio.limits = {}
    sends.send(outgoing({ priority: 'acknowledgement' }))
    expect(radio.given.map(({ id, notAfterMs }) => [id, notAfterMs])).toEqual([
      ['f4', 900_000],
      ['f3', 900_000],
      ['f1', 50_000],
      ['f2', 900_000],
    ])
    expect(sends.isBusy(0)).toBe(false)
  })

  it('waits until what follows it without waiting can go, too', () => {
    const { sends, outgoing, radio } = bench()
    // 22 octets and their transmission take 570 ms
    radio.limits = { allowanceMs: 60_000, freeMs: () => 570, earliestMs: () => 5_000 }
    sends.send(outgoing({ followingOctets: 1 }))
    sends.send(outgoing({ turn: -1 }))
    expect(radio.ids).toEqual(['f2'])
  })

  it('pushes out another where 500 wait', () => {
    const { sends, outgoing, radio, ends } = bench()
    radio.limits = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 5_000 }
    for (let count = 0; count < 500; count++) sends.send(outgoing())
    expect(ends).toEqual([])
    sends.send(outgoing())
    expect(ends).toMatchObject([
      { id: 'f501', reason: 'too many frames wait for their radio (500)' },
    ])
  })
})

describe('what cannot be sent', () => {
  it('is refused, and is in the log all the same', () => {
    const { sends, outgoing, told, ends, detail, clock, kept } = bench()
    clock.advanceTo(1_000)
    const takeBack = sends.send(outgoing({ payload: new Uint8Array(257) }))
    const reason = 'no frame can carry it: 257 octets of information, at most 256 go'
    expect(ends).toEqual([{ id: 'f1', kind: 'refused', atMs: 1_000, reason }])
    expect(told).toEqual([['refused', 'hello', { ...detail, reason }]])
    expect(kept).toMatchObject([{ octets: new Uint8Array(), reason }])
    takeBack('never mind')
    expect(told).toHaveLength(1)
  })

  it('is one octet too many, or a path that is none', () => {
    const { sends, outgoing, ends, radio } = bench()
    sends.send(outgoing({ payload: new Uint8Array(256) }))
    expect(radio.ids).toEqual(['f1'])
    sends.send(outgoing({ path: ['TOO-LONG-A-NAME'] }))
    expect(ends).toMatchObject([
      { kind: 'refused', reason: expect.stringMatching(/^no frame can carry it: .*TOO-LONG/) },
    ])
  })

  it('is anything where there is no radio', () => {
    const { sends, outgoing, told, detail } = bench([])
    sends.send(outgoing())
    expect(told).toEqual([['refused', 'hello', { ...detail, reason: 'no radio' }]])
    expect([sends.blockedBy(0), sends.airtime(0), sends.isBusy(0), sends.waiting()]).toEqual([
      ...[undefined, undefined, false, []],
    ])
  })

  it('a call of ours that is no address is seen at the start', () => {
    const [clock, store] = [virtualClock(), {} as never]
    const guard = createGuard(() => {})
    const parts = { ports: [], clock, store, nextId: String, note: () => {}, guard }
    expect(() => transmitter({ ...parts, call: 'no call' })).toThrow(RangeError)
  })
})

describe('a frame that is taken back', () => {
  it('where it waits, ends with the reason for that; who wanted it sent is told nothing', () => {
    const { sends, outgoing, radio, told, ends, detail, kept } = bench()
    radio.limits = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 5_000 }
    const takeBack = sends.send(outgoing())
    takeBack('a newer question came')
    expect(told.slice(-1)).toEqual([
      ['refused', 'hello', { ...detail, reason: 'a newer question came' }],
    ])
    expect([ends, sends.waiting()]).toEqual([[], []])
    expect(kept).toMatchObject([{ reason: 'a newer question came' }])
  })

  it('where its radio has it, ends with the reason for that when the radio let it go', () => {
    const { sends, outgoing, radio, told, ends } = bench()
    const takeBack = sends.send(outgoing())
    takeBack('a newer question came')
    expect([radio.withdrawn, told.length]).toEqual([['f1'], 1])
    radio.tell({ id: 'f1', kind: 'refused', atMs: 1, reason: 'it was taken back' })
    expect(told[1]?.[2]).toMatchObject({ reason: 'a newer question came' })
    expect(ends).toEqual([])
  })
})

describe('a frame that the operator drops', () => {
  it('is refused for good, with his reason', () => {
    const { sends, outgoing, radio, ends, told } = bench()
    radio.limits = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 5_000 }
    sends.send(outgoing())
    sends.send(outgoing())
    expect(sends.drop('f2', 'dropped by operator')).toBe(true)
    const reason = 'dropped by operator'
    expect(ends).toEqual([{ id: 'f2', kind: 'refused', atMs: 0, reason, isFinal: true }])
    expect(told.at(-1)?.[2]).toMatchObject({ reason })
    expect(sends.waiting().map(({ id }) => id)).toEqual(['f1'])
    expect([sends.drop('f2', 'again'), sends.drop('x', 'y')]).toEqual([false, false])
  })

  it('is sent all the same where it was on the air already', () => {
    const { sends, outgoing, radio, ends } = bench()
    sends.send(outgoing())
    expect(sends.drop('f1', 'dropped by operator')).toBe(true)
    expect(radio.withdrawn).toEqual(['f1'])
    const sent = { id: 'f1', kind: 'sent', atMs: 5, airtimeMs: 400 } as const
    radio.tell(sent)
    expect(ends).toEqual([sent])
  })

  it('is found on any radio', () => {
    const radios = [new HandRadio(1), new HandRadio(2)] as const
    const { sends, outgoing } = bench(radios)
    sends.send(outgoing({ radio: 2 }))
    expect(sends.drop('f1', 'x')).toBe(true)
    expect(radios.map(({ withdrawn }) => withdrawn)).toEqual([[], ['f1']])
  })
})

describe('several radios', () => {
  it('send what is theirs; the first one what is of a radio that there is not', () => {
    const radios = [new HandRadio(1), new HandRadio(2)] as const
    const { sends, outgoing } = bench(radios)
    for (const radio of [2, 1, 9]) sends.send(outgoing({ radio }))
    expect(radios.map(({ ids }) => ids)).toEqual([['f2', 'f3'], ['f1']])
  })

  it('are blocked, busy and limited each by itself', () => {
    const radios = [new HandRadio(1), new HandRadio(2)] as const
    const { sends, outgoing } = bench(radios)
    radios[1].blockedBy = 'held by operator'
    radios[1].limits = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 5_000 }
    sends.send(outgoing({ radio: 2 }))
    sends.send(outgoing({ radio: 2, priority: 'acknowledgement' }))
    expect([1, 2, 9].map(sends.blockedBy)).toEqual([undefined, 'held by operator', undefined])
    expect([1, 2, 9].map(sends.isBusy)).toEqual([false, true, false])
    // 22 octets of an acknowledgement that waits for others
    expect([1, 2].map((radio) => sends.airtime(radio)?.aheadMs)).toEqual([0, 220])
  })

  it('tell what they may send, and how fast', () => {
    const { sends, radio } = bench()
    const forecast = () => () => 77
    radio.limits = { forecast }
    const airtime = sends.airtime(0)!
    expect(airtime).toEqual({
      ...{ keyedMs: expect.any(Function), forecast, paceShare: 0.6, aheadMs: 0 },
    })
    expect(airtime.keyedMs([new Uint8Array(5)])).toBe(400)
  })

  it('have what waits in one list, the oldest first', () => {
    const { sends, outgoing, clock } = bench([new HandRadio(1), new HandRadio(2)])
    sends.send(outgoing({ radio: 2, priority: 'beacon', station: undefined }))
    clock.advanceTo(1_000)
    sends.send(outgoing({ radio: 1, text: 'later' }))
    clock.advanceTo(1_500)
    expect(sends.waiting()).toEqual([
      {
        ...{ id: 'f1', radio: 2, priority: 'beacon', station: undefined },
        ...{ text: 'hello', ageMs: 1_500 },
      },
      {
        ...{ id: 'f2', radio: 1, priority: 'answer', station: 'N0CALL-7' },
        ...{ text: 'later', ageMs: 500 },
      },
    ])
  })

  it('give nothing out after the end', () => {
    const radios = [new HandRadio(1), new HandRadio(2)] as const
    const { sends, outgoing, clock } = bench(radios)
    sends.stop()
    for (const radio of [1, 2]) sends.send(outgoing({ radio }))
    clock.advanceTo(1_000_000)
    expect(radios.flatMap(({ ids }) => ids)).toEqual([])
  })

  it('a fault while the outcome of a frame is looked at is caught', () => {
    const { sends, outgoing, radio, faults } = bench()
    const onEnd = () => {
      throw new TypeError('broken')
    }
    sends.send(outgoing({ onEnd }))
    radio.tell({ id: 'f1', kind: 'sent', atMs: 1, airtimeMs: 1 })
    expect(faults).toEqual(['what became of a frame'])
  })
})
