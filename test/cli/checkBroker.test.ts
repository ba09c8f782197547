import { describe, expect, it } from 'vitest'
import { configFindings } from '../../src/cli/check/checkConfig.js'
import { planOf } from '../../src/cli/check/checkPlan.js'
import { parseConfig } from '../../src/config/load.js'

const station = '[station]\ncall = "Q2VAN"\n[connected]\nssid = 5\n'
const config = (text: string) => parseConfig(station + text, 'node.toml')
const on = '[broker]\nenabled = true\nhost = "broker.example.org"\n'
const far = '[hills]\nenabled = true\n[[hills.neighbour]]\ncall = "Q1FAR-5"\nby = ["broker"]\n'
const planned = (text: string) =>
  planOf(config(text)).find(({ heading }) => heading === 'At a broker')
const found = (text: string) =>
  configFindings(config(text))
    .filter(({ about }) => /^(broker|hills)/.test(about))
    .map(({ severity, about, text }) => `${severity} ${about}: ${text.slice(0, 40)}`)

describe('check of a broker', () => {
  it('says nothing of it where it is off', () => {
    expect(planned('')).toBeUndefined()
    expect(found('')).toEqual([])
  })

  it('says where, what is told there, and to whom', () => {
    const lines = Object.fromEntries(planned(`${on}publish = ["radios"]\n`)!.lines)
    expect(lines.at).toBe(
      'broker.example.org port 8883, MQTT 5, TLS, no login, as ridgepost-Q2VAN-5',
    )
    expect(lines.tells).toBe(
      'that it is there (ridgepost/Q2VAN-5/online); levels, duty and holds of each radio: each 5 minutes, to whoever may read there',
    )
    expect(lines.exchanges).toMatch(/^nothing: no \[\[hills\.neighbour\]\]/)
    const whole = Object.fromEntries(planned(on + far)!.lines)
    expect(whole.exchanges).toMatch(/^entries with Q1FAR-5, readable to whoever may read/)
    expect(whole['on the air']).toBe("nothing on another's command")
  })

  it('names what is missing, who can forge, and who can read', () => {
    expect(found(far)).toEqual([
      expect.stringMatching(/^look hills\.neighbour: Q1FAR-5 has no secret/),
      expect.stringMatching(/^look hills: it sends on/),
      expect.stringMatching(/^mend broker\.enabled: Q1FAR-5 is to be reached/),
    ])
    expect(found(`${on}tls = false\n${far}`)).toEqual([
      expect.stringMatching(/^look hills\.neighbour: Q1FAR-5 has no secret/),
      expect.stringMatching(/^look hills: it sends on/),
      expect.stringMatching(/^look hills\.neighbour: Q1FAR-5: without a secret/),
      expect.stringMatching(/^look broker\.tls: without TLS/),
      expect.stringMatching(/^look broker: messages and letters pass/),
    ])
    const off = far.replace('enabled = true', 'enabled = false')
    expect(found(on + off)[0]).toMatch(/^mend hills\.enabled: entries go by the broker only/)
  })

  it('wants a host, and a login only with TLS', () => {
    expect(() => config('[broker]\nenabled = true\n')).toThrow(/broker\.host|the broker/)
    const login = 'tls = false\nuser = "hill"\npasswordFile = "password"\n'
    expect(() => config(on + login)).toThrow(/no login without TLS/)
    expect(() => config(`${on}user = "hill"\n`)).toThrow(/user and passwordFile/)
    expect(() => config(`${on}topic = "a/#"\n`)).toThrow(/topic/)
  })
})
