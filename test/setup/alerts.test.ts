import { execFile } from 'node:child_process'
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it, vi } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import type { Port } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { alertOptions, openAlerts } from '../../src/setup/alerts.js'
import type { Store } from '../../src/store/store.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-alerts-'))
afterAll(() => rmSync(folder, { recursive: true }))

/** A program that writes down its words, one a line; each has a file of its own, for the last call of one may outlast its test. */
function program(name: string): { readonly file: string; words(): string[] } {
  const file = join(folder, name)
  const told = `${file}.told`
  writeFileSync(file, `#!/bin/sh\nfor word in "$@"; do echo "$word" >> ${told}; done\n`)
  chmodSync(file, 0o755)
  return {
    file,
    words: () => (existsSync(told) ? readFileSync(told, 'utf8').trim().split('\n') : []),
  }
}

describe('alerts', () => {
  it('tell stations by message and a program by words of its own; what a stranger writes is no option', async () => {
    const { file, words } = program('bell')
    const clock = virtualClock()
    const said: { to: string; text: string }[] = []
    const [faults, noted]: [string[], string[]] = [[], []]
    const config = parseConfig(
      `[station]\ncall = "Q2VAN"\n[alerts]\nto = ["Q1ABC-7", "Q3OPS"]\ncommand = ["${file}", "--to"]
       [[alerts.rule]]\nname = "help"\nwhen = "emergency"
       [[alerts.rule]]\nname = "held"\nwhen = "held"\nforHours = 1
       [[alerts.rule]]\nname = "disk"\nwhen = "disk-below"\nvalue = 1e12`,
      'node.toml',
    )
    const holds = [{ source: 'key line', reason: 'it is away', sinceMs: 0 }]
    const alerts = openAlerts({
      ...{ options: alertOptions(config), clock, folder, telemetry: [] },
      store: { stations: { find: () => undefined } } as unknown as Store,
      ports: [{ name: 'hill', state: () => ({ holds }) } as unknown as Port],
      node: {
        say(message) {
          said.push(message)
          return message.to === 'Q3OPS'
            ? { ok: false, reason: 'no' }
            : { ok: true, reference: 'M1' }
        },
      },
      onAlert: (text) => noted.push(text),
      onFault: (text) => faults.push(text),
    })
    alerts.emergency({
      ...{ station: 'Q9BAD', radio: 0, sign: 'sos', exercise: false, position: undefined },
      text: 'SOS --help `id`',
    })
    clock.advanceBy(3_700_000)
    await vi.waitFor(() => expect(words()).toHaveLength(6), { timeout: 20_000 })
    expect(words()).toEqual([
      ...['--to', 'help', 'Alert help: Q9BAD: sos: SOS --help `id`; position unknown'],
      ...['--to', 'held', 'Alert held: hill held by the key line (key line: it is away)'],
    ])
    expect(noted).toHaveLength(2)
    expect(said.map(({ to }) => to)).toEqual(['Q1ABC-7', 'Q3OPS', 'Q1ABC-7', 'Q3OPS'])
    expect(faults).toEqual(Array(2).fill('alerts: Q3OPS cannot be told: no'))
    // the free room is known from the first look on
    await new Promise((resume) => setImmediate(resume))
    await vi.waitFor(() => {
      clock.advanceBy(60_000)
      expect(noted.at(-1)).toMatch(/^Alert disk: \d+ MB free, limit 1000000000000$/)
    })
    alerts.close()
  })

  it('tell addresses by mail, and by the link to the broker; what cannot go is a fault', () => {
    const clock = virtualClock()
    const [faults, mails]: [string[], string[]] = [[], []]
    const config = parseConfig(
      `[station]\ncall = "Q2VAN"\n[alerts]\nmail = ["ops@example.org", "full@example.org"]
       [[alerts.rule]]\nname = "link"\nwhen = "broker-away"\nforHours = 1`,
      'node.toml',
    )
    const parts = {
      ...{ options: alertOptions(config), clock, folder, telemetry: [], ports: [] },
      store: {} as Store,
      node: { say: () => ({ ok: true, reference: 'M1' }) as const },
      ...{ onAlert: () => {}, onFault: (text: string) => faults.push(text) },
    }
    let isUp = true
    const alerts = openAlerts({
      ...parts,
      brokerUp: () => isUp,
      sendMail(to, text) {
        if (to === 'full@example.org') return 'no more mail today'
        mails.push(`${to}: ${text}`)
        return undefined
      },
    })
    clock.advanceBy(7_200_000)
    isUp = false
    clock.advanceBy(3_540_000)
    expect(mails).toEqual([])
    clock.advanceBy(120_000)
    expect(mails).toEqual(['ops@example.org: Alert link: broker away for 1h'])
    expect(faults).toEqual(['alerts: full@example.org cannot be told: no more mail today'])
    alerts.close()
    const without = openAlerts({ ...parts, brokerUp: () => false })
    clock.advanceBy(3_700_000)
    expect(faults.at(-1)).toBe('alerts: full@example.org cannot be told: email.enabled is false')
    without.close()
  })

  it('that wait for the program when the node stops are not told any more', async () => {
    const { file, words } = program('horn')
    const config = parseConfig(
      `[station]\ncall = "Q2VAN"\n[alerts]\ncommand = ["${file}"]
       [[alerts.rule]]\nname = "help"\nwhen = "emergency"`,
      'node.toml',
    )
    const alerts = openAlerts({
      ...{ options: alertOptions(config), clock: virtualClock(), folder, telemetry: [], ports: [] },
      store: {} as Store,
      node: { say: () => ({ ok: true, reference: 'M1' }) },
      ...{ onAlert: () => {}, onFault: () => {} },
    })
    for (const station of ['Q1ABC', 'Q2ABC', 'Q3ABC'])
      alerts.emergency({
        ...{ station, radio: 0, sign: 'sos', exercise: false, position: undefined, text: '' },
      })
    // The first has begun.
    await Promise.resolve()
    alerts.close()
    await vi.waitFor(() => expect(words()).toHaveLength(2), { timeout: 20_000 })
    // As long as it would take to run those that waited, and more.
    for (let times = 0; times < 6; times++)
      await new Promise((resume) => execFile(file, ['end'], resume))
    expect(words().filter((word) => word !== 'end')).toEqual([
      'help',
      'Alert help: Q1ABC: sos; position unknown',
    ])
  })
})
