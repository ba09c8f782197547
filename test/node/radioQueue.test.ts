import { describe, expect, it } from 'vitest'
import { radioQueue } from '../../src/node/radioQueue.js'
import { type QueuedFrame, sendQueue } from '../../src/node/sendQueue.js'
import type { FinalOutcome } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { HandRadio } from './handRadio.js'

/** 100 octets take 1,000 ms, and a transmission 350 ms besides. */
const frame = (id: string, given: Partial<QueuedFrame> = {}): QueuedFrame => ({
  ...{ id, priority: 'answer', turn: 0, sinceMs: 0, notAfterMs: 900_000 },
  ...{ octets: new Uint8Array(100), followingOctets: 0, ...given },
})

function queueBench(framesMax = 10) {
  const clock = virtualClock()
  const radio = new HandRadio(3)
  const ended: FinalOutcome[] = []
  const held: [string, string][] = []
  const queue = radioQueue<QueuedFrame>({
    ...{ port: radio, clock, framesMax },
    onEnd: (_, outcome) => void ended.push(outcome),
    onHeld: ({ id }, reason) => void held.push([id, reason]),
  })
  const sent = (id: string): void =>
    queue.settle({ id, kind: 'sent', atMs: clock.monotonicMs(), airtimeMs: 1_000 })
  return { clock, radio, ended, held, queue, sent }
}

/** Nothing of the limit is left until minute 2. */
const used = { allowanceMs: 60_000, freeMs: () => 0, earliestMs: () => 120_000 }

describe('frames for a radio', () => {
  it('are given to it as they are, as the node wants them sent', () => {
    const { radio, queue } = queueBench()
    const octets = Uint8Array.of(1, 2, 3)
    queue.add(frame('a', { octets, priority: 'repeat', notAfterMs: 5_000 }))
    expect(radio.given).toEqual([
      { id: 'a', octets, priority: 'repeat', notAfterMs: 5_000, origin: 'node' },
    ])
  })

  it('wait while it has 6 s to send, and follow when something ended', () => {
    const { radio, queue, sent, held } = queueBench()
    for (const id of ['a', 'b', 'c', 'd', 'e', 'f', 'g']) queue.add(frame(id))
    // 350 ms and five frames of 1,000 ms; a sixth, alone, takes 1,350 ms
    expect(radio.ids).toEqual(['a', 'b', 'c', 'd', 'e'])
    expect(queue.isBusy).toBe(true)
    expect(queue.frames.map(({ id }) => id)).toEqual(['a', 'b', 'c', 'd', 'e', 'f', 'g'])
    sent('a')
    expect(radio.ids.slice(5)).toEqual(['f'])
    sent('b')
    expect([radio.ids.slice(6), queue.isBusy]).toEqual([['g'], false])
    // that others go first is no hold
    expect(held).toEqual([])
  })

  it('go in the order of their priority, then of their turn, then as they came', () => {
    const { items, add } = sendQueue<QueuedFrame>(9)
    expect(items).toEqual([])
    const queue = sendQueue<QueuedFrame>(9)
    expect(add(frame('x'))).toBeUndefined()
    queue.add(frame('beacon', { priority: 'beacon', turn: -1 }))
    queue.add(frame('answer 1', { turn: 1 }))
    queue.add(frame('answer 2', { turn: 1 }))
    queue.add(frame('answer 3'))
    queue.add(frame('repeat', { priority: 'repeat', turn: -5 }))
    queue.add(frame('acknowledgement', { priority: 'acknowledgement', turn: 9 }))
    expect(queue.items.map(({ id }) => id)).toEqual([
      ...['acknowledgement', 'answer 3', 'answer 1', 'answer 2', 'repeat', 'beacon'],
    ])
  })

  it('are taken out one by one, by their id', () => {
    const queue = sendQueue<QueuedFrame>(9)
    for (const id of ['a', 'b', 'c']) queue.add(frame(id))
    expect([queue.take('b')?.id, queue.take('b')]).toEqual(['b', undefined])
    expect(queue.items.map(({ id }) => id)).toEqual(['a', 'c'])
  })

  it('end as the radio says, once; of the frames of others nothing is told', () => {
    const { ended, queue } = queueBench()
    queue.add(frame('a'))
    const outcome = { id: 'a', kind: 'sent', atMs: 7, airtimeMs: 900, doubt: 'who knows' } as const
    queue.settle({ ...outcome, id: 'of a client' })
    queue.settle({ id: 'of a client', kind: 'held', atMs: 7, reason: 'why' })
    expect(ended).toEqual([])
    queue.settle(outcome)
    queue.settle(outcome)
    expect([ended, queue.frames]).toEqual([[outcome], []])
  })

  it('that are one too many push out the last in order, which is told why', () => {
    const { clock, radio, ended, queue } = queueBench(2)
    radio.limits = used
    clock.advanceTo(1_000)
    queue.add(frame('a'))
    queue.add(frame('b', { priority: 'beacon' }))
    expect(ended).toEqual([])
    queue.add(frame('c'))
    expect(ended).toEqual([
      {
        ...{ id: 'b', kind: 'refused', atMs: 1_000 },
        reason: 'too many frames wait for their radio (2)',
      },
    ])
    expect(queue.frames.map(({ id }) => id)).toEqual(['a', 'c'])
  })

  it('that a radio throws at are refused, and the next one is tried', () => {
    const { clock, radio, ended, queue } = queueBench()
    clock.advanceTo(2_000)
    radio.onSend = ({ id }) => {
      if (id === 'a') throw new TypeError('x is undefined')
    }
    queue.add(frame('a'))
    queue.add(frame('b'))
    const reason = 'the radio failed: x is undefined'
    expect(ended).toEqual([{ id: 'a', kind: 'refused', atMs: 2_000, reason }])
    expect([radio.ids, queue.frames.map(({ id }) => id)]).toEqual([['b'], ['b']])
  })
})

describe('a frame that is taken back', () => {
  it('is refused where it waits; where the radio has it, that is asked', () => {
    const { clock, radio, ended, queue } = queueBench()
    queue.add(frame('a'))
    radio.limits = used
    queue.add(frame('b'))
    clock.advanceTo(3_000)
    queue.withdraw('b', 'not wanted')
    expect(ended).toEqual([{ id: 'b', kind: 'refused', atMs: 3_000, reason: 'not wanted' }])
    expect(radio.withdrawn).toEqual([])
    queue.withdraw('a', 'not wanted')
    queue.withdraw('of a client', 'not wanted')
    expect(radio.withdrawn).toEqual(['a'])
    // it may be on the air already: the radio says what became of it
    expect([ended.length, queue.frames.length]).toEqual([1, 1])
  })
})

describe('a frame that waits for airtime', () => {
  it('is told so, and goes when there is some', () => {
    const { clock, radio, held, queue } = queueBench()
    radio.limits = used
    queue.add(frame('a'))
    expect([radio.ids, held]).toEqual([[], [['a', 'the duty limit is reached']]])
    clock.advanceTo(119_999)
    radio.limits = {}
    expect(radio.ids).toEqual([])
    clock.advanceTo(120_000)
    expect(radio.ids).toEqual(['a'])
    expect(queue.isBusy).toBe(false)
  })

  it('is held when the radio says so, with its reason', () => {
    const { held, queue } = queueBench()
    queue.add(frame('a'))
    queue.settle({ id: 'a', kind: 'held', atMs: 1, reason: 'held by operator: lunch' })
    expect(held).toEqual([['a', 'held by operator: lunch']])
    expect(queue.frames).toHaveLength(1)
  })

  it('of which it is not known when there will be any, is looked at when something else ends', () => {
    const { clock, radio, queue, sent } = queueBench()
    queue.add(frame('long', { octets: new Uint8Array(590) }))
    queue.add(frame('a'))
    expect([radio.ids, clock.nextAtMs()]).toEqual([['long'], 900_000])
    sent('long')
    expect(radio.ids).toEqual(['long', 'a'])
    expect(clock.nextAtMs()).toBeUndefined()
  })
})

describe('a frame that is too late', () => {
  const lateAfter = (limits: HandRadio['limits'], blockedBy?: string, load = false) => {
    const bench = queueBench()
    const { radio, queue, clock, ended } = bench
    if (load) queue.add(frame('long', { octets: new Uint8Array(590) }))
    radio.limits = limits
    radio.blockedBy = blockedBy
    queue.add(frame('a', { notAfterMs: 5_000 }))
    clock.advanceTo(4_999)
    expect(ended).toEqual([])
    clock.advanceTo(5_000)
    expect(queue.frames.map(({ id }) => id)).toEqual(load ? ['long'] : [])
    return ended
  }
  const expired = (reason: string) => [{ id: 'a', kind: 'expired', atMs: 5_000, reason }]

  it('says what it waited for', () => {
    expect(lateAfter(used)).toEqual(expired('the duty limit is reached'))
    expect(lateAfter({}, undefined, true)).toEqual(
      expired('its turn did not come while others were sent'),
    )
    expect(lateAfter(used, 'held by operator: lunch')).toEqual(expired('held by operator: lunch'))
  })

  it('waited for others where it did so at last, though it waited for airtime before', () => {
    const { radio, queue, clock, ended } = queueBench()
    radio.limits = used
    queue.add(frame('a', { notAfterMs: 5_000 }))
    radio.limits = {}
    // others' frame comes first, and takes all there is
    queue.add(frame('b', { priority: 'emergency', octets: new Uint8Array(590) }))
    clock.advanceTo(5_000)
    expect(ended).toEqual(expired('its turn did not come while others were sent'))
  })

  it('does not hold up who comes after it', () => {
    const { radio, queue, clock } = queueBench()
    radio.limits = used
    queue.add(frame('a', { notAfterMs: 5_000 }))
    queue.add(frame('b', { notAfterMs: 6_000 }))
    clock.advanceTo(5_500)
    expect(queue.frames.map(({ id }) => id)).toEqual(['b'])
    radio.limits = {}
    queue.add(frame('c'))
    expect(radio.ids).toEqual(['b', 'c'])
  })
})

describe('what goes before first copies', () => {
  it('is what the radio was given besides answers, and what waits and has a reserve', () => {
    const { radio, queue, clock } = queueBench()
    radio.limits = used
    queue.add(frame('answer'))
    expect(queue.aheadMs).toBe(0)
    // gathers for 6 s: there is little airtime
    queue.add(frame('ack 1', { priority: 'acknowledgement', octets: new Uint8Array(20) }))
    queue.add(frame('ack 2', { priority: 'acknowledgement', octets: new Uint8Array(30) }))
    expect([radio.ids, queue.aheadMs]).toEqual([[], 500])
    clock.advanceTo(6_000)
    // both are in one transmission, whose own 350 ms count now
    expect([radio.ids, queue.aheadMs]).toEqual([['ack 1', 'ack 2'], 850])
  })

  it('does not gather while a call for help waits to be answered', () => {
    const { radio, queue } = queueBench()
    radio.limits = used
    queue.add(frame('ack', { priority: 'acknowledgement' }))
    expect(radio.ids).toEqual([])
    queue.add(frame('help', { priority: 'emergency' }))
    expect(radio.ids).toEqual(['ack', 'help'])
  })

  it('leaves room for the acknowledgements that will come, by those of the last minute', () => {
    const { radio, queue, clock } = queueBench()
    queue.add(frame('ack', { priority: 'acknowledgement' }))
    queue.settle({ id: 'ack', kind: 'sent', atMs: 0, airtimeMs: 6_000 })
    // a tenth of the time until minute 2: 12 s, besides the 1,350 ms of the frame
    radio.limits = { ...used, freeMs: () => 13_349 }
    queue.add(frame('a'))
    expect(radio.ids).toEqual(['ack'])
    clock.advanceTo(4_999)
    expect(radio.ids).toEqual(['ack'])
    clock.advanceTo(5_000)
    expect(radio.ids).toEqual(['ack', 'a'])
  })
})

describe('the queue of a radio', () => {
  it('tells what the radio leaves, and how fast that is', () => {
    const { radio, queue, clock } = queueBench()
    radio.limits = { allowanceMs: 1_234 }
    expect([queue.airtime.allowanceMs, queue.paceShare]).toEqual([1_234, 0.6])
    radio.limits = {}
    queue.add(frame('a'))
    queue.add(frame('b'))
    queue.settle({ id: 'a', kind: 'sent', atMs: 60_000, airtimeMs: 30_000 })
    queue.settle({ id: 'b', kind: 'sent', atMs: 61_000, airtimeMs: 500 })
    expect(queue.paceShare).toBeCloseTo(0.5368, 4)
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('that is stopped gives nothing any more', () => {
    const { radio, queue, clock, ended } = queueBench()
    radio.limits = used
    queue.add(frame('a'))
    queue.stop()
    radio.limits = {}
    clock.advanceTo(1_000_000)
    queue.add(frame('b'))
    expect([radio.ids, ended]).toEqual([[], []])
  })
})
