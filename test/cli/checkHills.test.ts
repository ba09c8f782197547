import { describe, expect, it } from 'vitest'
import { configFindings } from '../../src/cli/check/checkConfig.js'
import { planOf } from '../../src/cli/check/checkPlan.js'
import { parseConfig } from '../../src/config/load.js'

const station = '[station]\ncall = "Q2VAN"\n[transmit]\nenabled = true\n'
const config = (text: string) => parseConfig(station + text, 'node.toml')
const on = '[connected]\nenabled = true\nssid = 5\n[hills]\nenabled = true\n'
const found = (text: string) =>
  configFindings(config(text)).filter(({ about }) => about.startsWith('hills'))

describe('check of what goes from hill to hill', () => {
  it('says nothing of it where it is off', () => {
    expect(planOf(config('')).some(({ heading }) => heading === 'From hill to hill')).toBe(false)
    expect(found('')).toEqual([])
  })

  it('says who with, what, and what it costs', () => {
    const text = `${on}[[hills.neighbour]]\ncall = "Q1FAR-5"\ntakes = ["message"]\n`
    const part = planOf(config(text)).find(({ heading }) => heading === 'From hill to hill')
    const lines = Object.fromEntries(part!.lines)
    expect(lines.as).toBe('Q2VAN-5, on radio; announced each 30 minutes')
    expect(lines['Q1FAR-5']).toMatch(/^by radio; takes message; gives message, letter.*not sealed/)
    expect(lines.costs).toMatch(/^at most 5 % of any hour, 180 s of the key line/)
  })

  it('names the rules, and what is missing', () => {
    expect(found('[hills]\nenabled = true\nradio = 3').map(({ text }) => text)).toEqual([
      expect.stringContaining('connected.enabled = true'),
      expect.stringContaining('there is no radio 3'),
      expect.stringContaining('no other node is named'),
      expect.stringMatching(/97\.219.*97\.113.*97\.115.*local rules/),
    ])
    const whole = `${on}senders = ["HUT"]\n[[hills.neighbour]]\ncall = "Q2VAN-5"\n[[hills.neighbour]]\ncall = "Q1FAR-5"`
    expect(found(whole).map(({ severity, text }) => `${severity}: ${text.slice(0, 30)}`)).toEqual(
      [
        'mend: Q2VAN-5 is this node itself',
        'look: Q1FAR-5 has no secret: whoever',
        'look: it sends on by itself what oth',
        'look: messages of HUT go on the air ',
      ].map((one) => one.slice(0, 36)),
    )
  })
})
