import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { cutKinds } from '../broker/simBroker.js'
import { dutyShare, hillDays } from './hillDays.js'
import { PowerCut, runSession, SimHill } from './hillSim.js'

describe('the hand-over', () => {
  /** @returns how many transactions the power was cut at, before it has nothing left to cut */
  function cutsAt(which: 'giver' | 'taker', after: number, committed: boolean): boolean {
    const clock = virtualClock()
    const told: string[] = []
    const make = (call: string, peer: string): SimHill =>
      new SimHill({
        ...{ clock, random: seededRandom(1), call, neighbours: [peer], folder: '' },
        onReport: (to, text) => told.push(`${to}: ${text}`),
      })
    const giver = make('Q1AAA', 'Q2BBB')
    const taker = make('Q2BBB', 'Q1AAA')
    taker.hear('Q4RCV')
    giver.hear('Q3SND')
    const settle = (): void => {
      for (const hill of [giver, taker])
        try {
          hill.look()
        } catch (error) {
          if (!(error instanceof PowerCut)) throw error
          hill.begin()
        }
      runSession(clock, giver, taker)
    }
    settle()
    giver.leave('q1', 'Q3SND', 'Q4RCV', 'once and only once')
    const hill = which === 'giver' ? giver : taker
    hill.cut = { after, committed }
    const got: string[] = []
    for (let session = 0; session < 6; session++) {
      settle()
      try {
        taker.collect('Q4RCV', (text) => got.push(text))
      } catch (error) {
        if (!(error instanceof PowerCut)) throw error
        taker.begin()
      }
      clock.advanceTo(clock.monotonicMs() + 1_800_000)
    }
    const isCut = hill.cut === undefined
    expect(got, `${which} ${after} ${committed}`).toEqual(['once and only once'])
    expect(new Set(told)).toEqual(
      new Set(['Q3SND: Your message to Q4RCV was delivered: once and only once']),
    )
    giver.close()
    taker.close()
    return isCut
  }

  it('delivers once and tells the sender, wherever the power of either node is cut', () => {
    for (const which of ['giver', 'taker'] as const)
      for (const committed of [false, true]) {
        let after = 0
        while (cutsAt(which, after, committed)) after++
        expect(after).toBeGreaterThan(5)
      }
  })
})

describe('what was read over a connection at one node whose power failed', () => {
  it.each([
    ['before that was on the disk', false],
    ['after', true],
  ])('is not handed to another: %s', (_, isNoted) => {
    const clock = virtualClock()
    const told: string[] = []
    const [here, there] = (['Q1AAA', 'Q2BBB'] as const).map(
      (call, at, calls) =>
        new SimHill({
          ...{ clock, random: seededRandom(1), call, neighbours: [calls[1 - at]!], folder: '' },
          onReport: (to, text) => told.push(`${to}: ${text}`),
        }),
    ) as [SimHill, SimHill]
    for (const call of ['Q3SND', 'Q4RCV']) here.hear(call)
    here.leave('q1', 'Q3SND', 'Q4RCV', 'once and only once')
    const got: string[] = []
    const read = (hill: SimHill): void => hill.collect('Q4RCV', (text) => got.push(text))
    here.cut = { after: 1, committed: isNoted }
    expect(() => read(here)).toThrow(PowerCut)
    here.begin()
    clock.advanceTo(clock.monotonicMs() + 3_600_000)
    there.hear('Q4RCV')
    for (let session = 0; session < 6; session++) {
      for (const hill of [here, there]) hill.look()
      runSession(clock, here, there)
      read(there)
      clock.advanceTo(clock.monotonicMs() + 1_800_000)
    }
    expect(got).toEqual(['once and only once'])
    read(here)
    expect(got).toEqual(['once and only once'])
    expect(told).toEqual(['Q3SND: Your message to Q4RCV was delivered: once and only once'])
    here.close()
    there.close()
  })
})

describe('three nodes in a row', () => {
  it('deliver each letter once, or tell its sender: days with everything going wrong', () => {
    const result = hillDays({ seed: 7, days: 6, lettersPerDay: 40 })
    expect(result.faults).toEqual([])
    expect(result.left).toBeGreaterThan(150)
    expect(result.delivered).toBeGreaterThan(0.7 * result.left)
    expect(result.powerCuts).toBeGreaterThan(10)
    expect(result.restores).toBe(1)
    expect(result.worstShare).toBeLessThanOrEqual(dutyShare * 1.02)
  })
})

describe('three nodes at a broker', () => {
  it('deliver each letter once, or tell its sender: days with everything going wrong', () => {
    const result = hillDays({ seed: 8, days: 6, lettersPerDay: 40, by: 'broker' })
    expect(result.faults).toEqual([])
    expect(result.left).toBeGreaterThan(150)
    expect(result.delivered).toBeGreaterThan(0.7 * result.left)
    expect(result.powerCuts).toBeGreaterThan(10)
    for (const kind of cutKinds) expect(result.brokerCuts[kind]).toBeGreaterThan(5)
    expect(result.restores).toBe(1)
  })
})
