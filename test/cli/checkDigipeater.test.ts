import { describe, expect, it } from 'vitest'
import { digipeaterFindings, digipeaterLines } from '../../src/cli/check/checkDigipeater.js'
import { parseConfig } from '../../src/config/load.js'
import { digipeaterOptions } from '../../src/setup/digipeaterOptions.js'

const config = (text: string) => parseConfig(`[station]\ncall = "Q1ABC-10"\n${text}`, 'node.toml')
const sending = '[transmit]\nenabled = true\n'

describe('a digipeater in check', () => {
  it('nothing of it where it is off', () => {
    expect(digipeaterFindings(config(sending))).toEqual([])
  })

  it('says what it repeats, where, and what that costs', () => {
    const lines = Object.fromEntries(
      digipeaterLines(config(`${sending}[digipeater]\nenabled = true\nskip = ["weather"]\n`)),
    )
    expect(lines.repeats).toBe('Q1ABC-10, WIDE1-1')
    expect(lines.where).toBe('radio')
    expect(lines['leaves out']).toBe('weather')
    // 300 ms of flags, 100 octets with 3 % of stuffed bits at 1200 bit/s, 50 ms: 1.04 s; 20 % of a minute over that is 11
    expect(lines.costs).toMatch(/about 1 s .*; 2\.9 % of the time .* allows 11 a minute/)
  })

  it('names a radio that there is not, and more hops than regions ask for', () => {
    const text = `${sending}[digipeater]\nenabled = true\nkind = "wide"\nwidestN = 3\n[[digipeater.between]]\nfrom = 0\nto = 4\n`
    const findings = digipeaterFindings(config(text))
    expect(findings.map(({ severity, about }) => `${severity} ${about}`)).toEqual([
      'mend digipeater',
      'look digipeater',
      'look digipeater.widestN',
    ])
    expect(findings[0]!.text).toMatch(/radio 4 is named/)
  })

  it('repeats on each radio that may send, and between radios, each way once', () => {
    const radio = (name: string, enabled: boolean) =>
      `[[radio]]\nname = "${name}"\n[radio.transmit]\nenabled = ${enabled}\n`
    const text = `${radio('a', true)}${radio('b', false)}[digipeater]\nenabled = true\n[[digipeater.between]]\nfrom = 1\nto = 0\n[[digipeater.between]]\nfrom = 0\nto = 0\n`
    expect(digipeaterOptions(config(text)).routes).toEqual([
      { from: 0, to: 0 },
      { from: 1, to: 0 },
    ])
  })
})
