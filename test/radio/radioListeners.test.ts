import { describe, expect, it } from 'vitest'
import { kissOctets } from '../kiss/plainClient.js'
import { bench, frameFrom } from './kissPortBench.js'

const fail = (): never => {
  throw new Error('on purpose')
}

describe('a listener of a radio that throws', () => {
  it('is told as a fault with where it stood, and the others hear all', () => {
    const { port, clock, connect, events, openings, outcomes, send } = bench()
    port.onFrame(fail)
    port.onOutcome(fail)
    port.onEvent(fail)
    port.watch({ spectrum: false, audio: false }, fail)
    const heard: unknown[] = []
    const ends: unknown[] = []
    port.onFrame((one) => heard.push(one))
    port.onOutcome((one) => ends.push(one))
    connect()
    openings[0]!.onOctets(kissOctets(0x10, frameFrom('QQ1ZZ')))
    port.hold('operator', 'lunch')
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(1000)
    expect([heard.length, ends.length, outcomes.length]).toEqual([1, 1, 1])
    const faults = events.filter(({ kind }) => kind === 'fault')
    expect(faults.map(({ reason }) => reason.replace(/ \(.*\)$/, '')).sort()).toEqual([
      ...['a frame that was heard: on purpose', 'an event of the radio: on purpose'],
      ...['the outcome of a request: on purpose'],
      'what is told to those who look: on purpose',
    ])
    for (const { atMs, atWallMs, radio } of faults)
      expect([atWallMs - atMs, radio]).toEqual([clock.wallMs() - clock.monotonicMs(), 3])
    expect(port.state().faultCount).toBeGreaterThanOrEqual(4)
  })
})
