import { describe, expect, it } from 'vitest'
import { type WatchingParts, watching } from '../../src/node/watching.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { type Watch, watchKey, watchRecords } from '../../src/services/watchRecords.js'
import type { NewMessage } from '../../src/store/messages.js'
import { inEnglish } from '../../src/words/air/all.js'

const wallMs = Date.UTC(2026, 5, 21, 12)
const minuteMs = 60_000
const hourMs = 60 * minuteMs

const back: Watch = {
  ...{ id: 'Q1-a', kind: 'back', from: 'Q1KIT-7', call: 'Q1ABC', dueText: '16:00' },
  ...{ totalMs: 4 * hourMs, remainingMs: 4 * hourMs },
}
const tell: Watch = {
  ...{ id: 'Q2-a', kind: 'tell', from: 'Q1KIT-7', call: 'Q2DEF', dueText: '7 days' },
  ...{ totalMs: 168 * hourMs, remainingMs: 168 * hourMs },
}

interface Given {
  readonly operators?: readonly string[]
  readonly parts?: Partial<WatchingParts>
  /** the station's own stamp, so long ago */
  readonly heardAgoMs?: number
}

function bench({ operators = ['Q1OPS'], parts, heardAgoMs }: Given = {}) {
  const steady = virtualClock(wallMs)
  const now = { aheadMs: 0, confirmed: false, keeps: true, reads: true }
  const clock = { ...steady, wallMs: () => steady.wallMs() + now.aheadMs }
  const kept = new Map<string, string>()
  const messages: NewMessage[] = []
  const sent: unknown[] = []
  const told: unknown[][] = []
  const doing: string[] = []
  const wasAhead: (number | undefined)[] = []
  const begin = () =>
    watching({
      clock,
      clockTrust: {
        ...{ trusted: () => true, confirmed: () => now.confirmed, gpsSays: () => {} },
        ...{ steps: { count: 0, lastMs: 0 }, wasAhead: (ms) => void wasAhead.push(ms) },
      },
      bootId: 'boot 1',
      store: {
        reading: (_: string, otherwise: unknown, read: () => unknown) =>
          now.reads ? read() : otherwise,
        durably(what: string, work: () => unknown) {
          doing.push(what)
          return now.keeps ? { ok: true, value: work() } : { ok: false }
        },
        serviceData: {
          records: () => new Map([...kept].map(([key, json]) => [key, JSON.parse(json)])),
          set: (service: string, key: string, json: string) => {
            expect(service).toBe(watchRecords)
            kept.set(key, json)
          },
          delete: (service: string, key: string) => {
            expect(service).toBe(watchRecords)
            kept.delete(key)
          },
        },
        stations: {
          find: () =>
            heardAgoMs === undefined ? undefined : { lastHeardWallMs: clock.wallMs() - heardAgoMs },
        },
        messages: {
          insert(message: NewMessage) {
            messages.push(message)
            return message
          },
        },
      } as never,
      note: (...values) => void told.push(values),
      wording: () => inEnglish,
      outbox: { add: (all: readonly unknown[]) => void sent.push(...all) },
      options: { operators, mailbox: { keepMs: 48 * hourMs } } as never,
      newNumber: (call) => `number for ${call}`,
      radioFor: (call) => call.length,
      ...parts,
    })
  let watches = begin()
  const keep = (watch: Watch): void => {
    kept.set(watchKey(watch), JSON.stringify(watch))
    watches.changed(watchRecords)
  }
  const start = (...all: readonly Watch[]) => {
    watches.start()
    for (const watch of all) keep(watch)
    // it is read when it is looked at first
    watches.heard('NOBODY')
    return watches
  }
  const restart = () => {
    watches.stop()
    watches = begin()
    watches.start()
    return watches
  }
  const wait = (ms: number) => steady.advanceBy(ms)
  const textsTo = (call: string) => messages.filter(({ to }) => to === call).map(({ text }) => text)
  const row = (watch: Watch) => JSON.parse(kept.get(watchKey(watch))!) as Watch
  return {
    ...{ clock: steady, now, kept, messages, sent, told, doing, wasAhead, keep, start, restart },
    ...{
      wait,
      textsTo,
      row,
      heard: (call: string) => watches.heard(call),
      stop: () => watches.stop(),
    },
  }
}

const overdue = 'Q1KIT-7 is overdue: due back 16:00, last heard 2h ago.'

describe('who is not back', () => {
  it('is told of once, when its time is over, with whom and how', () => {
    const { start, wait, messages, sent, told, kept, doing } = bench({ heardAgoMs: 2 * hourMs })
    start(back)
    wait(4 * hourMs - 1)
    expect(messages).toEqual([])
    wait(1)
    const message = (to: string, text: string, radio: number) => ({
      ...{ kind: 'report', to, text, state: 'waiting', number: `number for ${to}`, radio },
      ...{ createdWallMs: wallMs + 4 * hourMs, notAfterWallMs: wallMs + 52 * hourMs },
      ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined },
    })
    expect(messages).toEqual([
      message('Q1ABC', overdue, 5),
      message('Q1OPS', overdue, 5),
      message(
        ...([
          'Q1KIT-7',
          'You are overdue. Told: Q1ABC and the operator. All well? Say so',
        ] as const),
        7,
      ),
    ])
    expect(sent).toEqual(messages)
    expect(told).toEqual([
      ['overdue', overdue, { station: 'Q1KIT-7', reason: 'told: Q1ABC, Q1OPS' }],
    ])
    expect([kept.size, doing.at(-1)]).toEqual([0, 'that somebody is overdue'])
    wait(24 * hourMs)
    expect([messages.length, told.length]).toEqual([3, 1])
  })

  it.each([
    [['Q1OPS'], 'Q1ABC', 'Q1ABC and the operator', 'Q1ABC, Q1OPS'],
    [['Q1OPS'], undefined, 'the operator', 'Q1OPS'],
    [[], 'Q1ABC', 'Q1ABC', 'Q1ABC'],
    [[], undefined, 'the operator', 'nobody'],
    [['Q1ABC', 'Q1OPS'], 'Q1ABC', 'Q1ABC and the operator', 'Q1ABC, Q1OPS'],
  ])('is told to %j and %s', (operators, call, who, reason) => {
    const { start, wait, told, textsTo } = bench({ operators })
    start({ ...back, call })
    wait(4 * hourMs)
    expect(told).toMatchObject([
      ['overdue', expect.stringMatching(/last heard \?\.$/), { reason: `told: ${reason}` }],
    ])
    expect(textsTo('Q1KIT-7')).toEqual([`You are overdue. Told: ${who}. All well? Say so`])
    for (const to of operators) expect(textsTo(to)).toHaveLength(1)
  })

  it('is told of again where it could not be kept', () => {
    const { start, wait, told, sent, now, kept } = bench()
    start(back)
    now.keeps = false
    wait(4 * hourMs)
    expect([told, sent, kept.size]).toEqual([[], [], 1])
    now.keeps = true
    wait(minuteMs)
    expect([told.length, sent.length, kept.size]).toEqual([1, 3, 0])
  })

  it('is back when it is heard in the last hour, or the last half of a short time', () => {
    const isOverdue = (heardAtMs: number, totalMs = 4 * hourMs, call = 'Q1KIT-7'): boolean => {
      const { start, wait, told, heard, kept, doing, sent } = bench()
      start({ ...back, totalMs, remainingMs: totalMs })
      wait(heardAtMs)
      heard(call)
      if (kept.size === 0) expect(doing.at(-1)).toBe('that somebody is back')
      wait(totalMs)
      expect(sent.length > 0).toBe(told.length > 0)
      return told.length > 0
    }
    expect(isOverdue(3 * hourMs)).toBe(false)
    expect(isOverdue(3 * hourMs - 1)).toBe(true)
    expect(isOverdue(15 * minuteMs, 30 * minuteMs)).toBe(false)
    expect(isOverdue(15 * minuteMs - 1, 30 * minuteMs)).toBe(true)
    expect(isOverdue(3.5 * hourMs, 4 * hourMs, 'Q1KIT-1')).toBe(true)
  })

  it('is not told of where it took that back, nor after the end', () => {
    const withdrawn = bench()
    const watches = withdrawn.start(back)
    withdrawn.kept.clear()
    watches.changed('another service')
    watches.changed(watchRecords)
    withdrawn.wait(10 * hourMs)
    expect(withdrawn.told).toEqual([])
    const ended = bench()
    ended.start(back)
    ended.stop()
    ended.wait(10 * hourMs)
    ended.heard('Q1KIT-7')
    expect([ended.told, ended.clock.nextAtMs()]).toEqual([[], undefined])
  })

  it('has the new time where it is set again', () => {
    const { start, wait, keep, told } = bench()
    start(back)
    wait(3 * hourMs)
    keep({ ...back, id: 'Q9-a' })
    // it is seen within a minute, and counts from then on
    wait(4 * hourMs)
    expect(told).toEqual([])
    wait(minuteMs)
    expect(told).toHaveLength(1)
  })

  it('is read again where it could not be read', () => {
    const { start, wait, now, keep, told } = bench()
    start()
    now.reads = false
    keep(back)
    wait(minuteMs)
    now.reads = true
    wait(4 * hourMs)
    expect(told).toEqual([])
    wait(minuteMs)
    expect(told).toHaveLength(1)
  })
})

describe('who waits for a station', () => {
  it('is told when it is heard, once', () => {
    const { start, heard, messages, sent, doing, kept } = bench()
    start(tell)
    heard('Q2DEFG')
    expect(messages).toEqual([])
    heard('Q2DEF')
    heard('Q2DEF')
    expect(messages.map(({ to, text, kind }) => [to, kind, text])).toEqual([
      ['Q1KIT-7', 'report', 'Q2DEF is heard now.'],
    ])
    expect([sent.length, kept.size, doing.at(-1)]).toEqual([1, 0, 'that a station is heard'])
  })

  it('is told of any SSID where it named none, but of its own', () => {
    const said = (watch: Watch, call: string) => {
      const { start, heard, textsTo } = bench()
      start(watch)
      heard(call)
      return textsTo(watch.from)
    }
    expect(said(tell, 'Q2DEF-9')).toEqual(['Q2DEF-9 is heard now.'])
    expect(said({ ...tell, call: 'Q2DEF-1' }, 'Q2DEF-9')).toEqual([])
    expect(said({ ...tell, call: 'Q1KIT' }, 'Q1KIT-7')).toEqual([])
    expect(said({ ...tell, call: 'Q1KIT' }, 'Q1KIT-1')).toEqual(['Q1KIT-1 is heard now.'])
  })

  it('is told under the tactical name that it said, of whoever holds that, but itself', () => {
    const said = (holder: string | undefined, call: string) => {
      const names = { holder: () => holder }
      const { start, heard, textsTo } = bench({ parts: { names } })
      start({ ...tell, name: 'Base' })
      heard(call)
      return textsTo('Q1KIT-7')
    }
    const isHeard = ['Base is heard now.']
    expect(said('Q3NEW-2', 'Q3NEW-2')).toEqual(isHeard)
    expect(said('Q3NEW-2', 'Q2DEF')).toEqual([])
    expect(said(undefined, 'Q2DEF')).toEqual(isHeard)
    expect(said('Q1KIT-7', 'Q2DEF')).toEqual(isHeard)
  })

  it('is told when its time is over, once, by the name that it said', () => {
    const { start, wait, textsTo, doing } = bench()
    start(tell, { ...tell, id: 'Q3-a', from: 'Q9ASK', name: 'Base' })
    wait(168 * hourMs)
    expect(textsTo('Q1KIT-7')).toEqual(['Q2DEF was not heard in 7 days. To go on: tell Q2DEF'])
    expect(textsTo('Q9ASK')).toEqual(['Base was not heard in 7 days. To go on: tell Base'])
    expect(doing.at(-1)).toBe('that a station was not heard')
    wait(24 * hourMs)
    expect(textsTo('Q1KIT-7')).toHaveLength(1)
  })
})

describe('what is written of a watch', () => {
  it('is what is left, soon after it was set and then every ten minutes', () => {
    const { start, wait, row, doing } = bench()
    start(back)
    wait(minuteMs)
    expect(row(back)).toEqual({
      ...{ ...back, remainingMs: 4 * hourMs - minuteMs },
      boot: { id: 'boot 1', dueMs: 4 * hourMs },
    })
    expect(doing).toEqual(['how long watches have left'])
    wait(10 * minuteMs - 1)
    expect(doing).toHaveLength(1)
    wait(1)
    expect([doing.length, row(back).remainingMs]).toEqual([2, 4 * hourMs - 11 * minuteMs])
  })

  it('has the end by a wall clock that is confirmed, and without a boot none', () => {
    const { start, wait, row, now } = bench()
    start(back)
    now.confirmed = true
    wait(minuteMs)
    expect(row(back)).toMatchObject({
      ...{ dueWallMs: wallMs + 4 * hourMs },
      boot: { id: 'boot 1', dueMs: 4 * hourMs, wallAheadMs: wallMs },
    })
    const bootless = bench({ parts: { bootId: undefined } })
    bootless.start({ ...back, dueWallMs: 5 })
    bootless.wait(minuteMs)
    expect(bootless.row(back)).toEqual({
      ...{ ...back, dueWallMs: 5, remainingMs: 4 * hourMs - minuteMs },
    })
  })

  it('is nothing where there is none', () => {
    const { start, wait, doing } = bench()
    start()
    wait(hourMs)
    expect(doing).toEqual([])
  })
})

describe('after a restart', () => {
  it('of the program alone the count goes on, with ten minutes of grace for who is due', () => {
    const { start, wait, restart, told, wasAhead } = bench()
    start(back)
    wait(minuteMs)
    wait(3 * hourMs)
    restart()
    expect(wasAhead).toEqual([undefined])
    wait(59 * minuteMs - 1)
    expect(told).toEqual([])
    wait(minuteMs)
    expect(told).toHaveLength(1)
    const late = bench()
    late.start(back)
    late.wait(minuteMs)
    late.stop()
    late.wait(5 * hourMs)
    late.restart()
    late.wait(10 * minuteMs - 1)
    expect(late.told).toEqual([])
    late.wait(minuteMs)
    expect(late.told).toHaveLength(1)
  })

  it('what network time had said is recalled', () => {
    const { start, wait, restart, now, wasAhead } = bench()
    start(back)
    now.confirmed = true
    wait(minuteMs)
    restart()
    expect(wasAhead).toEqual([wallMs])
  })

  /** Of a former boot, with three hours left when that was written. */
  const former = (dueWallMs?: number): Watch => ({
    ...{ ...back, remainingMs: 3 * hourMs, dueWallMs },
    boot: { id: 'boot 0', dueMs: 77 },
  })
  const overdueAfter = (dueInMs: number | undefined, confirmedAfterMs?: number): number => {
    const { start, wait, told, now, kept, wasAhead, clock } = bench()
    const watch = former(dueInMs === undefined ? undefined : wallMs + dueInMs)
    kept.set(watchKey(watch), JSON.stringify(watch))
    now.confirmed = confirmedAfterMs === 0
    start()
    expect(wasAhead).toEqual([])
    while (told.length === 0) {
      if (clock.monotonicMs() === confirmedAfterMs) now.confirmed = true
      wait(minuteMs)
    }
    return clock.monotonicMs() / minuteMs
  }

  it('of the machine what was left is counted anew, where no source of time knows better', () => {
    expect(overdueAfter(undefined)).toBe(180)
    expect(overdueAfter(hourMs)).toBe(180)
  })

  it('of the machine a confirmed clock makes it sooner, never later, and not within ten minutes', () => {
    expect(overdueAfter(2 * hourMs, 0)).toBe(120)
    expect(overdueAfter(5 * hourMs, 0)).toBe(180)
    expect(overdueAfter(-hourMs, 0)).toBe(10)
    expect(overdueAfter(undefined, 0)).toBe(180)
    // at the look of minute 31
    expect(overdueAfter(2 * hourMs, 30 * minuteMs)).toBe(120)
    expect(overdueAfter(-hourMs, 30 * minuteMs)).toBe(41)
  })

  it('being heard counts by the same time', () => {
    const isOverdue = (dueInMs: number | undefined, heardAtMs: number): boolean => {
      const { start, wait, told, now, kept, heard } = bench()
      const watch = former(dueInMs === undefined ? undefined : wallMs + dueInMs)
      kept.set(watchKey(watch), JSON.stringify(watch))
      now.confirmed = true
      start()
      wait(heardAtMs)
      heard('Q1KIT-7')
      wait(6 * hourMs)
      return told.length > 0
    }
    expect(isOverdue(undefined, 2 * hourMs)).toBe(false)
    expect(isOverdue(undefined, 2 * hourMs - 1)).toBe(true)
    expect(isOverdue(2 * hourMs, hourMs)).toBe(false)
    expect(isOverdue(2 * hourMs, hourMs - 1)).toBe(true)
    expect(isOverdue(5 * hourMs, 2 * hourMs - 1)).toBe(true)
  })

  it('who was heard before its time counted is back when the clock says that it did', () => {
    const { start, wait, told, now, kept, heard } = bench()
    const watch = former(wallMs + hourMs)
    kept.set(watchKey(watch), JSON.stringify(watch))
    start()
    wait(30 * minuteMs)
    heard('Q1KIT-7')
    expect(kept.size).toBe(1)
    now.confirmed = true
    wait(minuteMs)
    expect([kept.size, told]).toEqual([0, []])
  })

  it('a watch that is set from then on has its time whole', () => {
    const { start, wait, told, restart, keep } = bench()
    start()
    restart()
    keep({ ...back, totalMs: 10 * minuteMs, remainingMs: 5 * minuteMs })
    wait(5 * minuteMs)
    expect(told).toEqual([])
    wait(minuteMs)
    expect(told).toHaveLength(1)
  })
})
