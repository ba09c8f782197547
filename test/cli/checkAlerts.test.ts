import { describe, expect, it } from 'vitest'
import { alertFindings, alertLines } from '../../src/cli/check/checkAlerts.js'
import { parseConfig } from '../../src/config/load.js'

const config = (text: string) => parseConfig(`[station]\ncall = "Q2VAN"\n${text}`, 'node.toml')
const silent =
  '[[alerts.rule]]\nname = "silent"\nwhen = "not-heard"\nstation = "Q0DIG-1"\nforHours = 6\n'

describe('alerts in check', () => {
  it('says who is told of what', () => {
    const lines = alertLines(
      config(`[alerts]\nto = ["Q1ABC-7"]\ncommand = ["/usr/local/bin/bell"]\n${silent}`),
    )
    expect(lines).toEqual([
      ['told', 'Q1ABC-7, the program /usr/local/bin/bell'],
      ['silent', 'when Q0DIG-1 is not heard for 6 h; again after 12 h'],
    ])
  })

  it('names rules that tell nobody, and a channel that is not there', () => {
    const low =
      '[[alerts.rule]]\nname = "low"\nwhen = "telemetry-below"\nchannel = "Battery"\nvalue = 12\n'
    expect(alertFindings(config(''))).toEqual([])
    expect(alertFindings(config(silent)).map(({ about }) => about)).toEqual(['alerts'])
    expect(
      alertFindings(config(`[alerts]\nto = ["Q1ABC"]\n${low}`)).map(({ about }) => about),
    ).toEqual(['alerts, rule "low"'])
  })

  it('names what mail and the link to a broker need', () => {
    const away = '[[alerts.rule]]\nname = "link"\nwhen = "broker-away"\nforHours = 2\n'
    const byMail = `[alerts]\nmail = ["ops@example.org"]\n${away}`
    expect(alertLines(config(byMail))).toEqual([
      ['told', 'ops@example.org'],
      ['link', 'when there is no link to the broker for 2 h; again after 12 h'],
    ])
    expect(alertFindings(config(byMail)).map(({ about }) => about)).toEqual([
      'alerts.mail',
      'alerts, rule "link"',
    ])
    const both =
      '[email]\nenabled = true\nfrom = "hill@example.org"\n[email.server]\nhost = "localhost"\n[broker]\nenabled = true\nhost = "localhost"\n'
    expect(alertFindings(config(both + byMail))).toEqual([])
  })

  it('a rule without what it needs is no configuration', () => {
    expect(() =>
      config('[[alerts.rule]]\nname = "silent"\nwhen = "not-heard"\nstation = "Q0DIG-1"\n'),
    ).toThrow(/forHours/)
  })
})
