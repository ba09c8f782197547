// Source: Chepponis and Karn, 'The KISS TNC', ARRL 6th Computer Networking Conference, 1987, section 6 (rule) and section 4
// (P = p * 256 - 1, units of 10 ms); the distribution is computed from the rule. Values in kiss.json.
import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { readHostFrame } from '../../src/kiss/parameters.js'
import { createPersistence } from '../../src/radio/persistence.js'
import { seededRandom } from '../../src/runtime/random.js'

interface KissValues {
  commands: { code: string; name: string; default: number | null; unit: string | null }[]
  p_persistence: {
    P_to_p: { P: number; p: number }[]
    delay_distribution_P63: { slots_waited: number; probability: number }[]
    mean_extra_slots_P63: number
  }
}
const values = JSON.parse(readFileSync(new URL('kiss.json', import.meta.url), 'utf8')) as KissValues
const { P_to_p, delay_distribution_P63, mean_extra_slots_P63 } = values.p_persistence

/** Slots that each of many accesses to a free channel waited. */
function slotsWaited(persistence: number, count: number): number[] {
  const access = { slotTimeMs: 100, persistence }
  const draws = createPersistence(seededRandom(7))
  let nowMs = 0
  return Array.from({ length: count }, () => {
    const fromMs = nowMs
    while (!draws.ask(nowMs, false, access)) nowMs = draws.nextAtMs()
    const slots = (nowMs - fromMs) / access.slotTimeMs
    nowMs += 1000
    return slots
  })
}

describe('p-persistence', () => {
  it.each(P_to_p)('P = $P sends at once with p = $p', ({ P, p }) => {
    const count = 40_000
    const atOnce = slotsWaited(P, count).filter((slots) => slots === 0).length
    // five standard deviations of a binomial draw
    expect(Math.abs(atOnce / count - p)).toBeLessThanOrEqual(5 * Math.sqrt((p * (1 - p)) / count))
  })

  it('waits as many slots as the geometric distribution says, P = 63', () => {
    const count = 100_000
    const slots = slotsWaited(63, count)
    for (const { slots_waited, probability } of delay_distribution_P63) {
      const share = slots.filter((waited) => waited === slots_waited).length / count
      expect(Math.abs(share - probability), `${slots_waited} slots`).toBeLessThan(
        5 * Math.sqrt(probability / count),
      )
    }
    const mean = slots.reduce((sum, waited) => sum + waited, 0) / count
    // standard deviation of the geometric distribution: sqrt(1 - p) / p
    expect(Math.abs(mean - mean_extra_slots_P63)).toBeLessThan(
      (5 * Math.sqrt(0.75)) / 0.25 / Math.sqrt(count),
    )
  })

  it('waits without limit while carrier detect is active, and draws at once when it clears', () => {
    const access = { slotTimeMs: 100, persistence: 255 }
    const draws = createPersistence(seededRandom(1))
    for (let nowMs = 0; nowMs < 3_600_000; nowMs += 1000)
      expect(draws.ask(nowMs, true, access)).toBe(false)
    expect(draws.ask(3_600_000, false, access)).toBe(true)
  })

  it('looks at carrier detect again only after the slot, whatever it did meanwhile', () => {
    const never = { slotTimeMs: 100, persistence: 0 }
    const always = { slotTimeMs: 100, persistence: 255 }
    const draws = createPersistence(() => 0.5)
    expect(draws.ask(0, false, never)).toBe(false)
    expect(draws.ask(99, false, always)).toBe(false)
    expect(draws.ask(100, true, always)).toBe(false)
    expect(draws.ask(101, false, always)).toBe(true)
  })
})

describe('parameters', () => {
  const codeOf = (name: string): number =>
    Number.parseInt(values.commands.find((command) => command.name === name)!.code, 16)

  const ask = (command: number, value: number) =>
    readHostFrame({ port: 0, command, data: Uint8Array.of(value) })

  it('times are in units of 10 ms, FullDuplex is 0 or not', () => {
    const changeOf = (name: string, value: number) => {
      const asked = ask(codeOf(name), value)
      return asked.kind === 'parameters' ? asked.change : undefined
    }
    expect(changeOf('TXDELAY', 50)).toEqual({ keyDelayMs: 500 })
    expect(changeOf('P', 63)).toEqual({ persistence: 63 })
    expect(changeOf('SlotTime', 10)).toEqual({ slotTimeMs: 100 })
    expect(changeOf('TXtail', 255)).toEqual({ tailMs: 2550 })
    expect(changeOf('FullDuplex', 0)).toEqual({ fullDuplex: false })
    expect(changeOf('FullDuplex', 2)).toEqual({ fullDuplex: true })
  })

  it('other commands change nothing here', () => {
    expect(ask(codeOf('SetHardware'), 1).kind).toBe('ignored')
    expect(ask(0, 1).kind).toBe('data')
  })
})
