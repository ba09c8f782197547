import { describe, expect, it } from 'vitest'
import { configFindings } from '../../src/cli/check/checkConfig.js'
import { planOf } from '../../src/cli/check/checkPlan.js'
import { parseConfig } from '../../src/config/load.js'

const station = '[station]\ncall = "Q2VAN"\n[transmit]\nenabled = true\nkeyDelayMs = 300\n'
const config = (text: string) => parseConfig(station + text, 'node.toml')
const planPart = (text: string) =>
  planOf(config(text)).find(({ heading }) => heading === 'Connected mode')

describe('check of connected mode', () => {
  it('says nothing of it where it is off', () => {
    expect(planPart('')).toBeUndefined()
    expect(configFindings(config('')).some(({ about }) => about.startsWith('connected'))).toBe(
      false,
    )
  })

  it('says what is connected to, for how long, and what it costs', () => {
    const part = planPart('[connected]\nenabled = true\nssid = 5\nversion22 = false')
    const lines = Object.fromEntries(part!.lines)
    expect(lines['connect to']).toBe('Q2VAN-5, modulo 8, 4 at a time')
    // four frames of 128 octets and 20 around each, 3 % stuffed: 4.06 s, and the key delay
    expect(lines.costs).toContain('4.4 s of the key line a window')
  })

  it('names the rules to look up first, and a radio that is not there', () => {
    const findings = configFindings(config('[connected]\nenabled = true\nradios = [0, 3]'))
    const own = findings.filter(({ about }) => about.startsWith('connected'))
    expect(own.map(({ severity }) => severity)).toEqual(['mend', 'look'])
    expect(own[0]!.text).toContain('radio 3')
    expect(own[1]!.text).toMatch(/local rules first.*97\.115.*97\.221/)
  })
})
