import { describe, expect, it } from 'vitest'
import { createControllerDriver, type DeviceAction } from '../../src/radio/controllerDriver.js'
import type { ControllerAction, ControllerInput } from '../../src/radio/controllerTypes.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import { createGuard } from '../../src/runtime/guard.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { frame, ownCall, request } from './fixtures.js'

/** A driver of a controller that does what a test says. */
function bench(
  handle: (input: ControllerInput) => ControllerAction[],
  perform: (action: DeviceAction, take: (input: ControllerInput) => void) => void = () => {},
) {
  const clock = virtualClock()
  const taken: string[] = []
  const outcomes: TransmitOutcome[] = []
  const events: string[] = []
  const faults: string[] = []
  const guard = createGuard(({ what, reason }) => faults.push(`${what}: ${reason}`))
  let nextAtMs: number | undefined
  let idleCount = 0
  const state = { idle: true, queuedCount: 0 }
  const driver = createControllerDriver({
    controller: {
      handle(input) {
        taken.push(input.kind)
        return handle(input)
      },
      nextAtMs: () => (Number.isNaN(nextAtMs) ? fail() : nextAtMs),
      state: () => ({ channelBusy: false, keyed: false, dutyUsed: 0, holds: [], ...state }),
    },
    ...{ clock, guard },
    perform: (action) => perform(action, (input) => driver.take(input)),
    onOutcome: (outcome) => outcomes.push(outcome),
    onEvent: ({ reason }) => void events.push(reason),
    onIdle: () => idleCount++,
  })
  return {
    ...{ clock, driver, taken, outcomes, events, faults, state },
    idleCount: () => idleCount,
    wakeAt: (atMs: number | undefined) => {
      nextAtMs = atMs
    },
  }
}

const send = { kind: 'request', request: request('a', frame(ownCall, 'x')) } as const
const fail = (): never => {
  throw new Error('on purpose')
}

describe('controller driver', () => {
  it('takes what comes while it works after that, in order, and loses none of it', () => {
    const { driver, taken } = bench(
      ({ kind }) => (kind === 'time' ? [{ kind: 'play' }, { kind: 'unkey', cut: false }] : []),
      ({ kind }, take) => {
        if (kind === 'play') take({ kind: 'audioEnded' })
        else take({ kind: 'unkeyed', atMs: 0 })
      },
    )
    driver.take({ kind: 'time' })
    expect(taken).toEqual(['time', 'audioEnded', 'unkeyed'])
  })

  it('comes back at the moment that the controller names, and at none after it was stopped', () => {
    const { clock, driver, taken, wakeAt } = bench(() => [])
    wakeAt(500)
    driver.take({ kind: 'audioEnded' })
    wakeAt(900)
    clock.advanceTo(600)
    expect(taken).toEqual(['audioEnded', 'time'])
    driver.stop()
    clock.advanceTo(2000)
    driver.take({ kind: 'time' })
    expect(taken).toHaveLength(2)
  })

  it('a controller that throws: what runs is cut, the request is refused, the next is taken', () => {
    let isBroken = true
    const { driver, taken, outcomes, faults } = bench(({ kind }) => {
      if (isBroken && kind === 'request') fail()
      return kind === 'cut' ? [{ kind: 'unkey', cut: true }] : []
    })
    driver.take(send)
    expect(taken).toEqual(['request', 'withdraw', 'cut'])
    expect(outcomes).toEqual([
      { id: 'a', kind: 'refused', atMs: 0, reason: 'a fault of the program' },
    ])
    expect(faults).toEqual([expect.stringMatching(/transmit controller, at request: on purpose/)])
    isBroken = false
    driver.take(send)
    expect(taken.at(-1)).toBe('request')
    expect(outcomes).toHaveLength(1)
  })

  it('a request that was queued before the controller threw has one outcome', () => {
    const outcome = { id: 'a', kind: 'refused', atMs: 0, reason: 'it was taken back' } as const
    const { driver, outcomes } = bench(({ kind }) => {
      if (kind === 'request') fail()
      return kind === 'withdraw' ? [{ kind: 'outcome', outcome }] : []
    })
    driver.take(send)
    expect(outcomes).toEqual([outcome])
  })

  it('a controller that throws whatever it is told leaves the line unkeyed', () => {
    const done: DeviceAction[] = []
    const { driver } = bench(fail, (action) => void done.push(action))
    driver.take({ kind: 'time' })
    expect(done).toEqual([{ kind: 'unkey', cut: true }])
  })

  it('a transmitter that throws while it is keyed is unkeyed', () => {
    const done: string[] = []
    const { driver, taken } = bench(
      ({ kind }) => {
        if (kind === 'request') return [{ kind: 'play' }]
        return kind === 'cut' ? [{ kind: 'unkey', cut: true }] : []
      },
      ({ kind }) => {
        done.push(kind)
        if (kind === 'play') fail()
      },
    )
    driver.take(send)
    expect(taken).toEqual(['request', 'cut'])
    expect(done).toEqual(['play', 'unkey'])
  })

  it('says that the radio is idle once all has been dealt with', () => {
    const { driver, idleCount } = bench(() => [])
    driver.take({ kind: 'time' })
    expect(idleCount()).toBe(1)
  })

  it('a radio is idle when nothing is on the air, and nothing waits', () => {
    const { driver, idleCount, state } = bench(() => [])
    for (const [idle, queuedCount, isIdle] of [
      [false, 0, false],
      [true, 1, false],
      [true, 0, true],
    ] as const) {
      Object.assign(state, { idle, queuedCount })
      driver.take({ kind: 'time' })
      expect(driver.idle).toBe(isIdle)
    }
    expect(idleCount()).toBe(1)
  })

  it('gives events and outcomes to who listens, in their order among the deeds', () => {
    const done: string[] = []
    const outcome = { id: 'a', kind: 'refused', atMs: 0, reason: 'x' } as const
    const event = { kind: 'refused', atMs: 0, reason: 'what happened' } as const
    const { driver, outcomes, events } = bench(
      () => [{ kind: 'event', event }, { kind: 'play' }, { kind: 'outcome', outcome }],
      ({ kind }) => void done.push(`${kind} after ${events.length} event, ${outcomes.length} told`),
    )
    driver.take({ kind: 'time' })
    expect([done, outcomes, events]).toEqual([
      ...[['play after 1 event, 0 told'], [outcome], ['what happened']],
    ])
  })

  it('a tone that the controller throws at is refused as a request is', () => {
    const { driver, taken, outcomes } = bench(({ kind }) => (kind === 'tone' ? fail() : []))
    const tone = { id: 't', tone: 'mark', durationMs: 1, notAfterMs: 1 } as const
    driver.take({ kind: 'tone', request: tone })
    expect(taken).toEqual(['tone', 'withdraw', 'cut'])
    const [atMs, reason] = [0, 'a fault of the program']
    expect(outcomes).toEqual([{ id: 't', kind: 'refused', atMs, reason }])
  })

  it('a request has its outcome also where what is told of another came first, or all fails', () => {
    const other = { id: 'b', kind: 'refused', atMs: 0, reason: 'displaced' } as const
    const first = bench(({ kind }) => {
      if (kind === 'request') fail()
      return kind === 'withdraw' ? [{ kind: 'outcome', outcome: other }] : []
    })
    first.driver.take(send)
    expect(first.outcomes.map(({ id }) => id)).toEqual(['b', 'a'])
    const second = bench(fail)
    second.driver.take(send)
    expect(second.outcomes.map(({ id }) => id)).toEqual(['a'])
    expect(second.faults).toEqual([
      expect.stringMatching(/^the transmit controller, at request: on purpose/),
      expect.stringMatching(/^a request: on purpose/),
      expect.stringMatching(/^the transmit controller, at cut: on purpose/),
    ])
  })

  it('any other input that it throws at cuts what runs, and refuses nothing', () => {
    const { driver, taken, outcomes } = bench(({ kind }) => (kind === 'keyed' ? fail() : []))
    driver.take({ kind: 'keyed', atMs: 0 })
    expect(taken).toEqual(['keyed', 'cut'])
    expect(outcomes).toEqual([])
  })

  it('a line that throws when it is told to go off is not told by a cut: the controller asks again', () => {
    const { driver, taken, faults } = bench(() => [{ kind: 'unkey', cut: false }], fail)
    driver.take({ kind: 'audioEnded' })
    expect(taken).toEqual(['audioEnded'])
    expect(faults).toEqual([expect.stringMatching(/^the transmitter, at unkey: on purpose/)])
  })

  it('what was done by a deed that did not throw is no reason to cut', () => {
    const { driver, taken } = bench(({ kind }) => (kind === 'time' ? [{ kind: 'play' }] : []))
    driver.take({ kind: 'time' })
    expect(taken).toEqual(['time'])
  })

  it('has one moment booked, the last that was named, and none where naming it fails', () => {
    const { clock, driver, taken, wakeAt, faults } = bench(() => [])
    wakeAt(500)
    driver.take({ kind: 'audioEnded' })
    wakeAt(300)
    driver.take({ kind: 'audioEnded' })
    wakeAt(undefined)
    clock.advanceTo(1000)
    expect(taken).toEqual(['audioEnded', 'audioEnded', 'time'])
    wakeAt(Number.NaN)
    driver.take({ kind: 'audioEnded' })
    expect(faults[0]).toMatch(/^the next moment of the transmit controller: on purpose/)
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('one that is stopped while it works takes nothing of what waits, and books no moment', () => {
    const { clock, driver, taken, wakeAt } = bench(
      () => [{ kind: 'play' }],
      (_, take) => {
        take({ kind: 'audioEnded' })
        driver.stop()
      },
    )
    wakeAt(500)
    driver.take({ kind: 'time' })
    expect(taken).toEqual(['time'])
    expect(clock.nextAtMs()).toBeUndefined()
  })
})
