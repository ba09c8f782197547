import { describe, expect, it } from 'vitest'
import type { KissClient } from '../../src/kiss/hub.js'
import { clientSettings, formatAccess } from '../../src/radio/clientSettings.js'
import type { ChannelAccess, RadioPort } from '../../src/radio/radioPort.js'

const configured: ChannelAccess = {
  ...{ keyDelayMs: 300, tailMs: 50, slotTimeMs: 100, persistence: 63, fullDuplex: false },
}
const bounds = { meanWaitMsMax: 5000, keyDelayMsMax: 1000, tailMsMax: 500 }

function settingsOf(change: Partial<ChannelAccess> = {}) {
  const changes: Partial<ChannelAccess>[] = []
  const own = { ...configured, ...change }
  const port = {
    access: () => own,
    setAccess: (one: Partial<ChannelAccess>) => void changes.push(one),
  } as unknown as RadioPort
  return { settings: clientSettings(port, bounds), changes, own }
}
const client = (name: string): KissClient => ({ name, isLocal: true })

describe('what clients set', () => {
  it('is given to the radio as far as it is another than before', () => {
    const { settings, changes } = settingsOf()
    const one = client('one')
    const first = settings.set(one, { keyDelayMs: 400, tailMs: 50 })
    expect(first).toEqual({ holds: { ...configured, keyDelayMs: 400 }, bounded: false })
    settings.set(one, { keyDelayMs: 400 })
    settings.set(one, { persistence: 200, fullDuplex: true })
    expect(changes).toEqual([{ keyDelayMs: 400 }, { persistence: 200, fullDuplex: true }])
  })

  it('of several the latest holds, each with all that it has set, and what is left when one goes', () => {
    const { settings, changes } = settingsOf()
    const [one, two] = [client('one'), client('two')]
    settings.set(one, { keyDelayMs: 400, persistence: 100 })
    settings.set(two, { keyDelayMs: 500, tailMs: 60 })
    const last = settings.set(one, { slotTimeMs: 200 })
    // one is the latest now, and its key delay with it
    const [keyDelayMs, persistence, slotTimeMs] = [400, 100, 200]
    expect(last.holds).toEqual({ ...configured, keyDelayMs, persistence, slotTimeMs, tailMs: 60 })
    expect(settings.leave(one)).toEqual({ ...configured, keyDelayMs: 500, tailMs: 60 })
    expect(settings.leave(one)).toBeUndefined()
    expect(settings.leave(client('one'))).toBeUndefined()
    expect(settings.leave(two)).toEqual(configured)
    expect(changes.at(-1)).toEqual({ keyDelayMs: 300, tailMs: 50 })
  })

  it('one that goes and had set what holds anyhow changes nothing', () => {
    const { settings, changes } = settingsOf()
    const one = client('one')
    settings.set(one, { keyDelayMs: 300 })
    expect(settings.leave(one)).toBeUndefined()
    expect(changes).toEqual([])
  })
})

describe('the bounds', () => {
  const { settings } = settingsOf()
  const one = client('one')
  it.each([
    ['key delay', { keyDelayMs: 1000 }, { keyDelayMs: 1000 }],
    ['key delay', { keyDelayMs: 1010 }, { keyDelayMs: 1000 }],
    ['key delay', { keyDelayMs: 300 }, { keyDelayMs: 300 }],
    ['key delay', { keyDelayMs: 290 }, { keyDelayMs: 300 }],
    ['tail', { tailMs: 500 }, { tailMs: 500 }],
    ['tail', { tailMs: 510 }, { tailMs: 500 }],
    ['tail', { tailMs: 40 }, { tailMs: 50 }],
    // 100 ms × (256 / (P + 1) − 1) is 5,020 ms with P = 4, and 4,167 ms with P = 5
    ['P', { slotTimeMs: 100, persistence: 5 }, { slotTimeMs: 100, persistence: 5 }],
    ['P', { slotTimeMs: 100, persistence: 4 }, { slotTimeMs: 100, persistence: 5 }],
    ['P', { slotTimeMs: 0, persistence: 0 }, { slotTimeMs: 0, persistence: 0 }],
    ['P', { slotTimeMs: 100, persistence: 255 }, { slotTimeMs: 100, persistence: 255 }],
  ])('of the %s: %o is held as %o', (_, wish, holds) => {
    const set = settings.set(one, wish)
    expect(set.holds).toMatchObject(holds)
    expect(set.bounded).toBe(JSON.stringify(wish) !== JSON.stringify(holds))
    settings.leave(one)
  })

  it('exactly at the longest mean wait P is as it was wished', () => {
    // 1,000 ms × (256 / (P + 1) − 1) is 5,095 ms with P = 41, and 4,953 ms with P = 42
    const wish = { slotTimeMs: 1000 }
    expect(settings.set(one, { ...wish, persistence: 42 }).bounded).toBe(false)
    expect(settings.set(one, { ...wish, persistence: 41 }).holds.persistence).toBe(42)
    // 5,000 ms × (256 / 128 − 1) is 5,000 ms
    const slow = { slotTimeMs: 5000, persistence: 127 }
    expect(settings.set(one, slow)).toEqual({ holds: { ...configured, ...slow }, bounded: false })
    expect(settings.set(one, { slotTimeMs: 5010 }).holds.slotTimeMs).toBe(5000)
    settings.leave(one)
  })

  it("never stand against the licensee's own settings", () => {
    // a mean wait of 25.5 s, and times beyond what clients may set
    const slow = { slotTimeMs: 100, persistence: 0, keyDelayMs: 1500, tailMs: 700 }
    const wide = settingsOf(slow)
    const set = wide.settings.set(one, { tailMs: 700, persistence: 0 })
    expect(set).toEqual({ holds: wide.own, bounded: false })
    expect(wide.settings.set(one, { keyDelayMs: 1510, tailMs: 710 }).holds).toEqual(wide.own)
    expect(wide.changes).toEqual([])
    // 202 ms × (256 / (P + 1) − 1) is 25,654 ms with P = 1, and 17,035 ms with P = 2
    expect(wide.settings.set(one, { slotTimeMs: 202 }).holds.persistence).toBe(2)
  })
})

it('settings in words: those that are there, in one order', () => {
  expect(formatAccess(configured)).toBe(
    'key delay 300 ms, P 63, slot time 100 ms, tail 50 ms, half duplex',
  )
  expect(formatAccess({ fullDuplex: true, persistence: 0 })).toBe('P 0, full duplex')
  expect(formatAccess({})).toBe('')
})
