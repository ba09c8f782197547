import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { logCommand } from '../../src/cli/log/log.js'
import { weekLines } from '../../src/cli/run/weekLines.js'
import { signCommand } from '../../src/cli/sign.js'
import { loadConfig } from '../../src/config/load.js'
import { keyingJournal } from '../../src/node/keyingJournal.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore } from '../../src/store/store.js'
import { runCommand } from './commandBench.js'

const nowWallMs = Date.parse('2026-06-21T19:00:00Z')
let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  file = join(folder, 'node.toml')
  writeFileSync(
    file,
    `[station]\ncall = "QQ1AA-10"\ncontrolOperator = "Q1ABC"\ntimeZone = "Europe/Berlin"
[audio]\noutput = "wav:out.wav"
[ptt]\nkind = "log"\nlogFile = "key.log"
[transmit]\nenabled = true\nfrequencyMHz = 145.01\npowerW = 10\nantennaGainDbi = 2.15\nantennaHeightM = 9\nholdFile = "hold"
[store]\nfile = "node.db"\n`,
  )
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** Keyed at these times of the day in UTC, each for 1.5 s, as a radio's events tell. */
function keyedAt(times: readonly string[], flushIntervalMs = 0) {
  const clock = virtualClock(nowWallMs)
  const store = openStore({ file: join(folder, 'node.db'), clock, flushIntervalMs })
  const take = keyingJournal(store)
  for (const time of times) {
    const atWallMs = Date.parse(`2026-06-21T${time}Z`)
    const event = (kind: RadioEvent['kind'], laterMs: number): RadioEvent => ({
      ...{ kind, radio: 0, reason: '' },
      ...{ atMs: atWallMs - nowWallMs + laterMs, atWallMs: atWallMs + laterMs },
    })
    take(event('unkeyed', -1))
    take(event('keyed', 0))
    take(event('unkeyed', 1500))
  }
  return store
}

const asked = (...words: string[]) =>
  runCommand(logCommand, ['--config', file, '--on-air', ...words], {
    clock: virtualClock(nowWallMs),
  })

describe('was it on at 20:14?', () => {
  it('yes, by local time, with what was before and after it', async () => {
    keyedAt(['18:01:00', '18:14:20', '18:20:00']).close()
    const { stdout, exitCode } = await asked('20:14')
    expect(exitCode).toBe(0)
    expect(stdout).toMatch(
      /QQ1AA-10: did it send in the minute from 2026-06-21 20:14:00 \(UTC\+02:00\)\?\nYes:\n {2}2026-06-21 20:14:20 \(UTC\+02:00\) for 1\.5 s/,
    )
    expect(stdout).toMatch(/Before that: 2026-06-21 20:01:00/)
    expect(stdout).toMatch(/After that: 2026-06-21 20:20:00/)
    expect(stdout).toMatch(/3 times, 4\.5 s in all/)
    expect(stdout).toMatch(/145\.01 MHz with 10 W[\s\S]*Q1ABC/)
  })

  it("no; and a time that is yet to come is yesterday's", async () => {
    keyedAt(['18:01:00']).close()
    expect((await asked('20:14')).stdout).toMatch(/\?\nNo\.\n/)
    expect((await asked('22:30')).stdout).toMatch(/minute from 2026-06-20 22:30:00/)
    expect((await asked('2026-06-21T18:01')).stdout).toMatch(/\?\nYes:\n/)
  })

  it('is not denied where the record does not reach so far back', async () => {
    keyedAt([]).close()
    expect((await asked('20:14')).stdout).toMatch(/\?\nThat is not known: no transmission is on/)
    keyedAt(['18:20:00']).close()
    const { stdout } = await asked('20:14')
    expect(stdout).toMatch(
      /\?\nThat is not known: its record begins with the transmission of 2026-06-21 20:20:00/,
    )
    expect(stdout).not.toContain('No.')
  })

  it('what a running node has gathered and not written yet counts', async () => {
    const store = keyedAt(['18:14:20'], 30_000)
    store.events.add({ atWallMs: nowWallMs, kind: 'note' as never, text: 'x' })
    store.flush()
    expect((await asked('20:14')).stdout).toMatch(/\?\nYes:\n/)
    store.close()
  })

  it('a time that came twice is answered twice, and one that has not come again yet once', async () => {
    // The clocks are set back on 25 October at 01:00 UTC.
    const asOf = async (now: string, time: string) => {
      const clock = virtualClock(Date.parse(now))
      const words = ['--config', file, '--on-air', time]
      return (await runCommand(logCommand, words, { clock })).stdout
    }
    const store = keyedAt([])
    for (const at of ['2026-10-25T00:00:00Z', '2026-10-25T01:30:10Z'])
      store.keyings.add({ atWallMs: Date.parse(at), radio: 0, durationMs: 2_000 })
    store.close()
    const twice = await asOf('2026-10-25T19:00:00Z', '02:30')
    expect(twice).toMatch(/^The clocks were set back that day, and that time came twice\.\n/)
    expect(twice).toMatch(/02:30:00 \(UTC\+02:00\)\?\nNo\.\n/)
    expect(twice).toMatch(/02:30:00 \(UTC\+01:00\)\?\nYes:\n {2}2026-10-25 02:30:10 \(UTC\+01:00\)/)
    expect(twice.match(/Who answers for it/g)).toHaveLength(1)
    const once = await asOf('2026-10-25T00:40:00Z', '02:30')
    expect(once.match(/did it send/g)).toHaveLength(1)
    expect(once).toContain('2026-10-25 02:30:00 (UTC+02:00)?')
    expect(await asOf('2026-10-26T19:00:00Z', '02:30')).toContain(
      '2026-10-26 02:30:00 (UTC+01:00)?',
    )
    // The evening before, by the clock of that evening.
    expect(await asOf('2026-10-25T12:00:00Z', '20:14')).toContain(
      '2026-10-24 20:14:00 (UTC+02:00)?',
    )
    // A time that the clocks left out, an hour later than it would have been.
    expect(await asOf('2027-03-28T19:00:00Z', '02:30')).toContain(
      '2027-03-28 03:30:00 (UTC+02:00)?',
    )
  })

  const startedAt = (store: ReturnType<typeof keyedAt>, time: string) =>
    store.events.add({
      ...{ atWallMs: Date.parse(`2026-06-21T${time}Z`), kind: 'started', text: 'node QQ1AA-10' },
    })

  it('is not plainly denied where the program may have been cut off just then', async () => {
    const store = keyedAt(['18:01:00'])
    startedAt(store, '18:15:40')
    store.close()
    const { stdout } = await asked('20:14')
    expect(stdout).toMatch(
      /\?\nNo transmission is on record\.\nIts program was started again at 2026-06-21 20:15:40 .*last 30 s of that run is missing here\.\n/,
    )
    // It was there before that minute, and after it.
    const later = keyedAt(['18:15:20'])
    later.close()
    expect((await asked('20:14')).stdout).toMatch(/\?\nNo\.\n/)
  })

  it('says that the clock was changed since, or back to before', async () => {
    const store = keyedAt(['18:01:00'])
    for (const [time, how] of [
      ['17:20:00', 'back by 2 h'],
      ['18:30:00', 'forward by 3 min; nothing expires until it can be trusted'],
    ])
      store.events.add({
        ...{ atWallMs: Date.parse(`2026-06-21T${time}Z`), kind: 'fault' },
        ...{ text: "the machine's clock", reason: `it was set ${how}` },
      })
    store.events.add({ atWallMs: nowWallMs, kind: 'fault', text: 'the card' })
    store.close()
    const lines = (await asked('20:14')).stdout.split('\n').filter((line) => /clock was/.test(line))
    expect(lines).toEqual([
      'Its clock was changed, as it saw at 2026-06-21 19:20:00 (UTC+02:00): it was set back by 2 h. What it sent before may stand at a time that is wrong by as much.',
      'Its clock was changed, as it saw at 2026-06-21 20:30:00 (UTC+02:00): it was set forward by 3 min. What it sent before may stand at a time that is wrong by as much.',
    ])
  })

  it('no time at all is wrong usage', async () => {
    expect((await asked('25:00')).exitCode).toBe(2)
    expect((await asked('noon')).exitCode).toBe(2)
  })
})

describe('the last week', () => {
  it('is told from what was really sent, with the exposure at that', async () => {
    const store = keyedAt(['18:01:00', '18:14:20', '18:14:30'])
    const config = await loadConfig(file)
    const lines = async (wallMs: number): Promise<string[]> => {
      const clock = virtualClock(wallMs)
      const told = weekLines(config, store, clock)
      await clock.advanceToAsync(1_000)
      return told
    }
    const [line] = await lines(nowWallMs)
    expect(line).toMatch(/^radio, last 7 days: sent 3 times, 4\.5 s in all/)
    expect(line).toMatch(
      /at most 0\.83 % of 6 min and 0\.25 % of 30 min; .*keep .* from the antenna$/,
    )
    // each once, whichever part of the week it was in
    const { 0: later } = await lines(nowWallMs + 7 * 86_400_000 - 3_500_000)
    expect(later).toContain('sent 2 times')
    const nothing = ['radio, last 7 days: nothing sent']
    expect(await lines(nowWallMs + 8 * 86_400_000)).toEqual(nothing)
    store.events.add({
      ...{ atWallMs: nowWallMs + 8 * 86_400_000, kind: 'fault', text: "the machine's clock" },
      reason: 'it was set forward by 8 d; nothing expires until it can be trusted',
    })
    expect(await lines(nowWallMs + 8 * 86_400_000)).toEqual([
      ...nothing,
      'the clock, last 7 days: it was set forward by 8 d; what was sent before that is counted by the time that it showed then',
    ])
    store.close()
  })
})

describe('the sign', () => {
  it('says whose it is, how near to stay, and how it is stopped', async () => {
    const { stdout } = await runCommand(signCommand, [file, '--contact', '555 0100'])
    expect(stdout).toMatch(
      /QQ1AA-10[\s\S]*WITHOUT WARNING[\s\S]*TO STOP IT: switch off the radio[\s\S]*Q1ABC[\s\S]*555 0100/,
    )
    expect(stdout.replace(/\s+/g, ' ')).toContain('Keep everybody')
    for (const line of stdout.split('\n').filter((line) => !line.includes(folder)))
      expect(line.length).toBeLessThanOrEqual(64)
    // The file with its folder; `hold` only where there is a socket for it.
    expect(stdout.replace(/\s+/g, ' ')).toContain(`create the file ${join(folder, 'hold')}.`)
    expect(stdout).not.toContain('ridgepost hold')
    writeFileSync(file, `${readFileSync(file, 'utf8')}[operator]\nsocket = "op.sock"\n`)
    const open = (await runCommand(signCommand, [file])).stdout.replace(/\s+/g, ' ')
    expect(open).toContain('Who has a terminal: `ridgepost hold`, or create the file')
  })
})
