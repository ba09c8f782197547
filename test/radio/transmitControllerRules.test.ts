import { describe, expect, it } from 'vitest'
import type { ControllerAction, ControllerInput } from '../../src/radio/controllerTypes.js'
import { controllerOf, event, foreign, free, own, send, time } from './controllerBare.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const identification = { intervalMs: 540_000, quietMs: 20_000, destination: 'ID' }
const refused = (id: string, atMs: number, reason: string) => [
  { kind: 'outcome', outcome: { id, kind: 'refused', atMs, reason } },
  event('refused', atMs, reason, { requestId: id }),
]
/** What the line carries, as the texts of its frames and how long its preamble is. */
const keyed = (actions: readonly ControllerAction[]): unknown[] =>
  actions.flatMap((action) => {
    if (action.kind !== 'key' || action.content.kind !== 'frames') return []
    const { frames, preambleMs } = action.content
    return [
      [preambleMs, ...frames.map((octets) => (Buffer.from(octets).equals(own) ? 'own' : 'other'))],
    ]
  })

describe('an identification that is owed', () => {
  /** Owed for so long at 0, with a channel that is busy and what waits. */
  const owing = (owedMs: number, lost = false) => {
    const access = { ...transmitDefaults.access, persistence: lost ? 0 : 255 }
    const past = { spans: [], owedSinceMs: -owedMs }
    return controllerOf({ identification, past, access, random: () => 0.9 })
  }
  const whatOf = (at: ReturnType<typeof owing>['at']): unknown =>
    at(1, { kind: 'keyed', atMs: 1 }).flatMap((action) =>
      action.kind === 'event' ? action.event.reason : [],
    )

  it('is done by a frame of ours that waits anyhow, as long as there is time', () => {
    const { at, controller } = owing(539_999)
    at(0, send('a'))
    expect(keyed(at(0, free))).toEqual([[300, 'own']])
    expect(whatOf(at)).toEqual(['1 queued'])
    at(500, { kind: 'audioEnded' }, { kind: 'unkeyed', atMs: 500 })
    expect(controller.past().owedSinceMs).toBeUndefined()
  })

  it('goes first when there is none, and before what does not do it', () => {
    for (const [owedMs, octets] of [
      [540_000, own],
      [20_000, foreign],
    ] as const) {
      const { at } = owing(owedMs)
      at(0, send('a', octets))
      at(0, free)
      expect(whatOf(at)).toEqual(['identification'])
    }
  })

  it('takes the first free moment without a draw when it would be late, and never a busy one', () => {
    expect(owing(540_000, true).at(0, time)).toEqual([])
    expect(keyed(owing(540_000, true).at(0, free))).toHaveLength(1)
    expect(keyed(owing(539_999, true).at(0, free))).toEqual([])
  })

  it('is not sent by who may not send, and is nothing to wait for then, nor while it is held', () => {
    const past = { spans: [], owedSinceMs: -5000 }
    const silent = controllerOf({ identification, past, enabled: false })
    expect(silent.at(0, free)).toEqual([])
    expect(silent.controller.nextAtMs()).toBeUndefined()
    expect(silent.at(600_000, time)).toEqual([])
    const held = controllerOf({ identification, past })
    held.at(0, free, { kind: 'hold', source: 'operator', reason: 'x' }, send('a'))
    expect(held.controller.nextAtMs()).toBeUndefined()
  })

  it('that hangs is cut when it has lasted 300 ms longer than it should', () => {
    const { at, controller } = owing(20_000)
    at(0, free, { kind: 'keyed', atMs: 0 })
    const cutAtMs = controller.nextAtMs()!
    expect(cutAtMs).toBeGreaterThan(300 + 350 + 150)
    expect(cutAtMs).toBeLessThan(300 + 350 + 250)
    expect(at(cutAtMs, time)).toEqual([
      event('cut', cutAtMs, 'an identification takes no longer'),
      { kind: 'unkey', cut: true },
    ])
  })

  it('follows a tone, and does not follow flags, whose frame is ours', () => {
    for (const [tone, isOwed] of [
      ['mark', true],
      ['flags', false],
    ] as const) {
      const { at, controller } = controllerOf({ identification })
      const request = { id: 't', tone, durationMs: 500, notAfterMs: 9000 }
      at(0, { kind: 'tone', request }, free, { kind: 'keyed', atMs: 0 }, { kind: 'audioEnded' })
      at(500, { kind: 'unkeyed', atMs: 500 })
      expect(controller.past().owedSinceMs !== undefined).toBe(isOwed)
    }
  })

  it('goes out under the settings under which its airtime was set aside, and the next under the new ones', () => {
    const change: ControllerInput = { kind: 'access', change: { keyDelayMs: 600 } }
    const sendForeign = (at: ReturnType<typeof owing>['at'], atMs: number): void => {
      at(atMs, send('a', foreign), free, { kind: 'keyed', atMs })
    }
    const end = (at: ReturnType<typeof owing>['at'], atMs: number): void => {
      at(atMs, { kind: 'audioEnded' }, { kind: 'unkeyed', atMs })
    }
    const running = controllerOf({ identification })
    sendForeign(running.at, 0)
    running.at(100, change)
    end(running.at, 500)
    expect(keyed(running.at(20_500, time))).toEqual([[300, 'other']])
    running.at(20_500, { kind: 'keyed', atMs: 20_500 })
    end(running.at, 21_000)
    sendForeign(running.at, 30_000)
    end(running.at, 30_500)
    expect(keyed(running.at(50_500, time))).toEqual([[600, 'other']])

    const owed = controllerOf({ identification })
    sendForeign(owed.at, 0)
    end(owed.at, 500)
    owed.at(1000, change)
    expect(keyed(owed.at(20_500, time))).toEqual([[300, 'other']])

    const before = controllerOf({ identification })
    before.at(0, change)
    sendForeign(before.at, 0)
    end(before.at, 500)
    expect(keyed(before.at(20_500, time))).toEqual([[600, 'other']])
  })
})

describe('a key line that does not answer', () => {
  it('is told again, and said', () => {
    const { at } = controllerOf()
    at(0, free, send('a'), { kind: 'keyed', atMs: 0 })
    at(500, { kind: 'audioEnded' })
    expect(at(749, time)).toEqual([])
    expect(at(750, time)).toEqual([
      event('fault', 750, 'the key line has not answered; unkeying again'),
      { kind: 'unkey', cut: false },
    ])
    // it went off between the two: its end had been asked for by then
    const off = at(760, { kind: 'unkeyed', atMs: 600, reason: 'hung' })
    const outcomes = off.filter(({ kind }) => kind === 'outcome')
    expect(outcomes).toMatchObject([{ outcome: { kind: 'sent' } }])
  })

  it('has its margin before the time-out timer', () => {
    const { at, controller } = controllerOf({ unkeyMarginMs: 50 })
    at(0, free, send('a'), { kind: 'keyed', atMs: 0 })
    expect(controller.nextAtMs()).toBe(transmitDefaults.timeOutMs - 50)
  })

  it('that says it is off while audio is sent, without a reason, changes nothing', () => {
    const { at } = controllerOf()
    at(0, free, send('a'), { kind: 'keyed', atMs: 0 })
    expect(at(100, { kind: 'unkeyed', atMs: 100 })).toEqual([])
  })

  it('that went off by itself where nothing runs is no event, and holds only for who is named', () => {
    const { at, controller } = controllerOf()
    at(0, free)
    const off = { kind: 'unkeyed', atMs: 0, reason: 'hung' } as const
    expect(at(0, off)).toEqual([])
    expect(controller.state(0).holds).toEqual([])
    expect(at(0, { ...off, heldBy: 'guard' })).toEqual([event('hold', 0, 'guard: hung')])
  })
})

describe('what is refused or held', () => {
  it('what is no frame, with the first reason that there is', () => {
    const junk = send('a', Uint8Array.of(1))
    const reasonOf = (actions: readonly ControllerAction[]): unknown =>
      actions.flatMap((action) => (action.kind === 'event' ? action.event.reason : []))
    const { at } = controllerOf()
    expect(reasonOf(at(0, junk))).toEqual([expect.stringMatching(/^not an AX\.25 frame/)])
    at(0, { kind: 'end', reason: 'closing' })
    expect(reasonOf(at(0, junk))).toEqual(['closing'])
    const silent = controllerOf({ enabled: false })
    silent.at(0, { kind: 'end', reason: 'closing' })
    expect(reasonOf(silent.at(0, junk))).toEqual(['sending is not enabled (transmit.enabled)'])
  })

  it('what finds no room is not told as queued', () => {
    const { at } = controllerOf({ queueMax: 1 })
    at(0, send('a'))
    expect(at(0, send('b'))).toEqual(refused('b', 0, 'the queue is full (1 waiting)'))
  })

  it('what has become too long by a setting, at once; the rest stays', () => {
    const { at, controller } = controllerOf()
    const long = frame(ownCall, 'x'.repeat(950))
    at(0, send('a', long), send('b'), send('c', long))
    const actions = at(5, { kind: 'access', change: { keyDelayMs: 2000 } })
    const reason = expect.stringMatching(
      /^it alone would take 8\d\d\d ms, longer than the time-out/,
    )
    expect(actions).toEqual([
      event('settings', 5, 'keyDelayMs = 2000'),
      ...[...refused('a', 5, reason), ...refused('c', 5, reason)],
    ])
    expect(controller.waiting().map(({ id }) => id)).toEqual(['b'])
  })

  it('what the duty limit holds is told with until when, once', () => {
    const dutyLimits = [{ windowMs: 60_000, share: 0.1 }]
    const { at, controller } = controllerOf({
      dutyLimits,
      past: { spans: [{ fromMs: -6000, toMs: 0 }] },
    })
    at(0, free)
    const actions = at(0, send('a'))
    const untilMs = controller.nextAtMs()!
    // 6 s of 60 s: the window that ends with it must have lost as much as it takes
    expect(untilMs).toBe(54_000)
    const reason = 'the duty limit is reached'
    expect(actions).toEqual([
      event('queued', 0, 'answer', { requestId: 'a' }),
      { kind: 'outcome', outcome: { id: 'a', kind: 'held', atMs: 0, reason, untilMs } },
      event('held', 0, reason, { requestId: 'a', untilMs }),
    ])
    expect(at(1, time)).toEqual([])
    expect(keyed(at(untilMs, time))).toHaveLength(1)
  })

  it('a tone waits as an answer of the operator', () => {
    const { at, controller } = controllerOf()
    at(7, { kind: 'tone', request: { id: 't', tone: 'mark', durationMs: 500, notAfterMs: 9000 } })
    const content = { kind: 'tone', tone: 'mark', durationMs: 500 }
    expect(controller.waiting()).toEqual([
      { id: 't', priority: 'answer', notAfterMs: 9000, origin: 'operator', sinceMs: 7, content },
    ])
  })
})

it('in full duplex nobody is listened for, before it or after it', () => {
  const access = { ...transmitDefaults.access, fullDuplex: true, persistence: 0 }
  const { at } = controllerOf({ access, random: () => 0.9 })
  expect(keyed(at(0, send('a')))).toHaveLength(1)
  at(0, { kind: 'keyed', atMs: 0 }, { kind: 'audioEnded' }, send('b'))
  expect(keyed(at(400, { kind: 'unkeyed', atMs: 400 }))).toHaveLength(1)
})
