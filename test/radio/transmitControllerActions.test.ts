import { describe, expect, it } from 'vitest'
import type {
  ControllerAction,
  ControllerInput,
  ControllerOptions,
} from '../../src/radio/controllerTypes.js'
import { controllerOf, event, foreign, free, own, send, time } from './controllerBare.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const key = { kind: 'key', content: expect.objectContaining({ kind: 'frames' }) }

describe('one transmission, from its request to its end', () => {
  it('each input brings these actions, in this order', () => {
    const { controller, at } = controllerOf()
    expect(at(0, free)).toEqual([])
    expect(at(5, send('a'))).toEqual([event('queued', 5, 'answer', { requestId: 'a' }), key])
    expect(controller.waiting()).toEqual([])
    expect(at(7, { kind: 'keyed', atMs: 6 })).toEqual([
      ...[event('keyed', 7, '1 queued'), { kind: 'play' }],
    ])
    expect(at(500, { kind: 'audioEnded' })).toEqual([{ kind: 'unkey', cut: false }])
    const sent = { id: 'a', kind: 'sent', atMs: 505, airtimeMs: 499 }
    expect(at(510, { kind: 'unkeyed', atMs: 505 })).toEqual([
      event('unkeyed', 510, ''),
      { kind: 'outcome', outcome: sent },
      event('sent', 510, '499 ms', { requestId: 'a' }),
    ])
    expect(controller.past()).toEqual({ spans: [{ fromMs: 5, toMs: 505 }], owedSinceMs: undefined })
  })

  it('one without our call is followed by it, and that is told', () => {
    const { controller, at } = controllerOf()
    at(0, free, send('a', foreign), { kind: 'keyed', atMs: 0 }, { kind: 'audioEnded' })
    const off = at(500, { kind: 'unkeyed', atMs: 500 })
    expect(off[0]).toEqual(event('unkeyed', 500, '', { owedSinceMs: 0 }))
    expect(controller.past().owedSinceMs).toBe(0)
    expect(controller.state(500)).toMatchObject({ idle: false, keyed: false })
    const { quietMs } = transmitDefaults.identification
    expect(controller.nextAtMs()).toBe(500 + transmitDefaults.access.slotTimeMs)
    expect(at(700, time)).toEqual([])
    expect(controller.nextAtMs()).toBe(500 + quietMs)
    const dueMs = 500 + quietMs
    expect(at(dueMs, time)).toEqual([key])
    expect(at(dueMs, { kind: 'keyed', atMs: dueMs })).toEqual([
      ...[event('keyed', dueMs, 'identification'), { kind: 'play' }],
    ])
    at(dueMs + 400, { kind: 'audioEnded' })
    const unkeyed = { kind: 'unkeyed', atMs: dueMs + 400 } as const
    expect(at(dueMs + 400, unkeyed)).toEqual([
      ...[event('unkeyed', dueMs + 400, ''), event('identified', dueMs + 400, ownCall)],
    ])
    expect(controller.state(dueMs + 400).idle).toBe(true)
  })

  it('several share its airtime by their octets', () => {
    const { at } = controllerOf()
    const long = frame(ownCall, 'x'.repeat(own.length + 1))
    at(0, send('a'), send('b', long), free, { kind: 'keyed', atMs: 0 }, { kind: 'audioEnded' })
    const off = at(900, { kind: 'unkeyed', atMs: 900 })
    const airtimes = off.flatMap((action) =>
      action.kind === 'outcome' && action.outcome.kind === 'sent' ? action.outcome.airtimeMs : [],
    )
    const sum = own.length + long.length
    expect(airtimes).toEqual([(900 * own.length) / sum, (900 * long.length) / sum])
  })
})

describe('what does not fit the moment changes nothing', () => {
  it.each<[string, ControllerInput]>([
    ['a line that came on', { kind: 'keyed', atMs: 0 }],
    ['audio that ended', { kind: 'audioEnded' }],
    ['a line that went off', { kind: 'unkeyed', atMs: 0 }],
    ['a cut', { kind: 'cut', reason: 'x' }],
    ['what could not be keyed', { kind: 'unsent', source: 'modem', reason: 'x' }],
    ['a request that is not there', { kind: 'withdraw', id: 'a' }],
    ['who does not hold', { kind: 'release', source: 'operator' }],
    ['time', time],
  ])('%s, where nothing runs', (_, input) => {
    const { controller, at } = controllerOf()
    at(0, free)
    const before = controller.state(0)
    expect(at(0, input)).toEqual([])
    expect(controller.state(0)).toEqual(before)
  })

  it('audio that ended before the line was on, and a line that came on twice', () => {
    const { at } = controllerOf()
    at(0, free, send('a'))
    expect(at(1, { kind: 'audioEnded' })).toEqual([])
    at(2, { kind: 'keyed', atMs: 2 })
    expect(at(3, { kind: 'keyed', atMs: 3 })).toEqual([])
    expect(at(4, { kind: 'unsent', source: 'modem', reason: 'x' })).toEqual([])
    at(500, { kind: 'audioEnded' })
    expect(at(501, { kind: 'audioEnded' })).toEqual([])
    expect(at(502, { kind: 'cut', reason: 'too late' })).toEqual([])
  })

  it('the same hold once more; with another reason it is told, and holds since the first', () => {
    const { controller, at } = controllerOf()
    const hold = (reason: string): ControllerInput => ({ kind: 'hold', source: 'operator', reason })
    expect(at(5, hold('lunch'))).toEqual([event('hold', 5, 'operator: lunch')])
    expect(at(6, hold('lunch'))).toEqual([])
    expect(at(7, hold('dinner'))).toEqual([event('hold', 7, 'operator: dinner')])
    const holds = [{ source: 'operator', reason: 'dinner', sinceMs: 5 }]
    expect(controller.state(7)).toEqual({
      ...{ idle: true, channelBusy: true, keyed: false, queuedCount: 0, dutyUsed: 0, holds },
      transmitBlockedBy: 'held by operator: dinner',
    })
    expect(at(8, { kind: 'release', source: 'operator' })).toEqual([
      event('release', 8, 'operator'),
    ])
  })

  it('a clock that goes back stands still', () => {
    const { at } = controllerOf()
    at(100, free)
    expect(at(50, send('a'))[0]).toEqual(event('queued', 100, 'answer', { requestId: 'a' }))
  })
})

describe('what ends a transmission before its time', () => {
  const running = (change: Partial<ControllerOptions> = {}) => {
    const bench = controllerOf(change)
    bench.at(0, free, send('a'), { kind: 'keyed', atMs: 0 })
    return bench
  }
  const refused = (reason: string, atMs: number, airtimeMs: number) => [
    { kind: 'outcome', outcome: { id: 'a', kind: 'refused', atMs, reason, airtimeMs } },
    event('refused', atMs, reason, { requestId: 'a' }),
  ]

  it('a cut is told, unkeys, and refuses with how long it was on', () => {
    const { at } = running()
    expect(at(300, { kind: 'cut', reason: 'x' })).toEqual([
      ...[event('cut', 300, 'x'), { kind: 'unkey', cut: true }],
    ])
    expect(at(310, { kind: 'unkeyed', atMs: 310 })).toEqual([
      event('unkeyed', 310, 'x', { owedSinceMs: 0 }),
      ...refused('cut after 310 ms: x', 310, 310),
    ])
  })

  it('a hold does the same, and then holds', () => {
    const { at, controller } = running()
    expect(at(300, { kind: 'hold', source: 'operator', reason: 'x' })).toEqual([
      event('hold', 300, 'operator: x'),
      ...[event('cut', 300, 'held by operator: x'), { kind: 'unkey', cut: true }],
    ])
    expect(controller.state(300).keyed).toBe(true)
  })

  it('its line, going off by itself, with who holds from then on', () => {
    const { at, controller } = running()
    const off = { kind: 'unkeyed', atMs: 290, reason: 'hung', heldBy: 'guard' } as const
    expect(at(300, off)).toEqual([
      ...[
        event('cut', 300, 'hung'),
        { kind: 'unkey', cut: true },
        event('hold', 300, 'guard: hung'),
      ],
      event('unkeyed', 300, 'hung', { owedSinceMs: 0 }),
      ...refused('cut after 290 ms: hung', 300, 290),
    ])
    expect(controller.state(300).holds).toEqual([{ source: 'guard', reason: 'hung', sinceMs: 300 }])
  })

  it('its line, gone off before its end was asked for: it was cut; gone off after that: it was sent', () => {
    for (const [offAtMs, kind] of [
      [499, 'refused'],
      [500, 'sent'],
    ] as const) {
      const { at } = running()
      at(500, { kind: 'audioEnded' })
      const off = at(510, { kind: 'unkeyed', atMs: offAtMs, reason: 'hung' })
      const outcomes = off.filter((action) => action.kind === 'outcome')
      expect(outcomes).toMatchObject([{ outcome: { kind } }])
    }
  })

  it('one that cannot be taken back ends by itself, whatever is decided', () => {
    const { at } = running({ irrevocable: true })
    expect(at(300, { kind: 'cut', reason: 'x' })).toEqual([])
    expect(at(500, { kind: 'audioEnded' })).toEqual([{ kind: 'unkey', cut: false }])
    const early = controllerOf({ irrevocable: true })
    early.at(0, free, send('a'))
    expect(early.at(1, { kind: 'cut', reason: 'x' })).toHaveLength(2)
  })

  it('what could not be keyed is refused without airtime, and its source holds', () => {
    const { at, controller } = controllerOf()
    at(0, free, send('a'))
    const reason = 'it takes no more'
    expect(at(5, { kind: 'unsent', source: 'modem', reason })).toEqual([
      event('hold', 5, 'modem: it takes no more'),
      { kind: 'outcome', outcome: { id: 'a', kind: 'refused', atMs: 5, reason } },
      event('refused', 5, reason, { requestId: 'a' }),
    ])
    expect(controller.past().spans).toEqual([])
    expect(controller.state(5)).toMatchObject({ keyed: false, queuedCount: 0 })
  })
})

describe('when it wants to be asked again', () => {
  it('at the moment of each phase, and of who expires first', () => {
    const { controller, at } = controllerOf({ timeOutMs: 8000, hangMs: 700 })
    expect(controller.nextAtMs()).toBeUndefined()
    at(0, send('late', own, 60_000), send('soon', own, 50_000))
    expect(controller.nextAtMs()).toBe(50_000)
    at(10, free)
    // the line is given a second to come on
    expect(controller.nextAtMs()).toBe(1010)
    at(20, { kind: 'keyed', atMs: 20 })
    // and 8 s from the command, with the hang in them
    expect(controller.nextAtMs()).toBe(10 + 8000 - 700)
    at(500, { kind: 'audioEnded' })
    expect(controller.nextAtMs()).toBe(750)
    at(510, { kind: 'unkeyed', atMs: 510 })
    expect(controller.nextAtMs()).toBe(1210)
  })

  it('held: only when somebody expires', () => {
    const { controller, at } = controllerOf()
    at(0, { kind: 'hold', source: 'operator', reason: 'x' }, free)
    expect(controller.nextAtMs()).toBeUndefined()
    at(0, send('a', own, 4000))
    expect(controller.nextAtMs()).toBe(4000)
  })

  it('when a slot is over after a lost draw, and after a busy channel has become free at once', () => {
    const draws = [1, 0]
    const access = { ...transmitDefaults.access, persistence: 63 }
    const { controller, at } = controllerOf({ access, random: () => draws.shift()! })
    at(0, free, send('a'))
    expect(controller.nextAtMs()).toBe(100)
    expect(at(99, time)).toEqual([])
    expect(at(100, time)).toEqual([key])
  })
})

describe('why one that expired had to wait', () => {
  const reasonAt = (
    at: (ms: number, ...inputs: ControllerInput[]) => ControllerAction[],
  ): unknown =>
    at(1000, time).flatMap((action) =>
      action.kind === 'outcome' && action.outcome.kind === 'expired' ? action.outcome.reason : [],
    )

  it('is said: a hold, the duty limit, others, the channel, or its draws', () => {
    const held = controllerOf()
    held.at(0, free, { kind: 'hold', source: 'operator', reason: 'x' }, send('a', own, 1000))
    expect(reasonAt(held.at)).toEqual(['held by operator: x'])

    const dutyLimits = [{ windowMs: 60_000, share: 0.1 }]
    const past = { spans: [{ fromMs: -6000, toMs: -1 }] }
    const used = controllerOf({ dutyLimits, past })
    used.at(0, free, send('a', own, 1000))
    expect(reasonAt(used.at)).toEqual(['the duty limit is reached'])

    const behind = controllerOf()
    behind.at(0, free, send('a'), { kind: 'keyed', atMs: 0 }, send('b', own, 1000))
    expect(reasonAt(behind.at)).toEqual(['its turn did not come while others were sent'])

    const busy = controllerOf()
    busy.at(0, send('a', own, 1000))
    expect(reasonAt(busy.at)).toEqual(['the channel was busy'])

    const access = { ...transmitDefaults.access, persistence: 0 }
    const lost = controllerOf({ access, random: () => 0.9 })
    lost.at(0, free, send('a', own, 1000))
    expect(reasonAt(lost.at)).toEqual(['its turn on the channel did not come'])
  })
})
