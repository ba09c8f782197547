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
  const driver = createControllerDriver({
    controller: {
      handle(input) {
        taken.push(input.kind)
        return handle(input)
      },
      nextAtMs: () => nextAtMs,
      state: () => ({
        ...{ idle: true, channelBusy: false, keyed: false, queuedCount: 0, dutyUsed: 0, holds: [] },
      }),
    },
    ...{ clock, guard },
    perform: (action) => perform(action, (input) => driver.take(input)),
    onOutcome: (outcome) => outcomes.push(outcome),
    onEvent: ({ reason }) => void events.push(reason),
    onIdle: () => idleCount++,
  })
  return {
    ...{ clock, driver, taken, outcomes, events, faults },
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
})
