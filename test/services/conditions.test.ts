import { type ChildProcessWithoutNullStreams, spawn, spawnSync } from 'node:child_process'
import { chmodSync, existsSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { conditionsService } from '../../src/services/conditions.js'
import type { HeardWeather } from '../../src/services/service.js'
import { type Instrument, openInstrument } from '../../src/services/weather/instrument.js'
import { answerOf, testContext } from './testContext.js'

/** the other end of a serial line; .ci/run installs it */
const hasSocat = spawnSync('socat', ['-V']).status === 0
const patience = { timeout: 10_000, interval: 10 }
const minute = 60_000
const now = testContext().clock.wallMs()
const nothing: Instrument = { read: async () => undefined, close: async () => {} }
const service = (instrument: Instrument = nothing) =>
  conditionsService({
    instrument,
    readingAgeMaxMs: 30 * minute,
    reportAgeMaxMs: 120 * minute,
    rangeM: 150_000,
    positionAgeMaxMs: 12 * 60 * minute,
  })
const askerPosition = { latitudeDeg: 45.2, longitudeDeg: -36.8, ageMs: 0 }
const world = (reports: readonly HeardWeather[], more = {}) => {
  const base = testContext({ askerPosition, ...more })
  return { ...base, stations: { ...base.stations, weather: () => reports } }
}

describe('conditions', () => {
  const far: HeardWeather = {
    call: 'Q1FAR',
    atWallMs: now - 2 * minute,
    position: { latitudeDeg: 46, longitudeDeg: -36.8 },
    temperatureC: 8,
  }
  const near: HeardWeather = {
    call: 'Q1WX-13',
    atWallMs: now - 12 * minute,
    position: { latitudeDeg: 45.3, longitudeDeg: -36.7 },
    temperatureC: 12,
    windSpeedMps: 5,
    windDirectionDeg: 320,
  }
  const empty: HeardWeather = { ...near, call: 'Q1NIL', position: askerPosition }
  const bare = { call: empty.call, atWallMs: empty.atWallMs, position: askerPosition }

  it('say what was not understood, in a sentence of its own', async () => {
    const [told, note] = await answerOf(service(), 'XX99', world([]))
    expect(told).toMatch(/150km\.$/)
    expect(note).toBe('"XX99" is not known here.')
  })

  it("are the node's own when its instrument has a fresh reading", async () => {
    const figures = { temperatureC: 3.5, humidityPercent: 90 }
    const own = { ...nothing, read: async () => ({ atWallMs: now - 2 * minute, figures }) }
    expect(await answerOf(service(own), '', world([near]))).toEqual([
      'At node 2min ago: 3.5C humidity 90%; Q1WX-13 14km NE of you 12min ago: wind 18km/h NW',
    ])
    expect(await answerOf(service(own), '', world([]))).toEqual([
      'At node 2min ago: 3.5C humidity 90%',
    ])
    const old = { ...nothing, read: async () => ({ atWallMs: now - 31 * minute, figures }) }
    expect((await answerOf(service(old), '', world([near])))[0]).toMatch(/^Q1WX-13/)
  })

  it('are else those of the nearest report that says anything, with its age and place', async () => {
    expect(await answerOf(service(), '', world([far, near, bare]))).toEqual([
      'Q1WX-13 14km NE of you 12min ago: 12C wind 18km/h NW',
    ])
  })

  it('are chosen by distance and age together, and what one does not say comes from the next', async () => {
    const place = (latitudeDeg: number) => ({ latitudeDeg, longitudeDeg: -36.8 })
    const old = {
      call: 'Q1OLD',
      atWallMs: now - 115 * minute,
      position: place(45.2),
      temperatureC: 1,
    }
    const fresh = { call: 'Q1NEW', atWallMs: now, position: place(45.5), temperatureC: 2 }
    const more = { call: 'Q1MOR', atWallMs: now - minute, position: place(45.6), pressureHpa: 990 }
    const text = (await answerOf(service(), '', world([old, fresh, more]))).join(' ')
    expect(text).toBe('Q1NEW 33km N of you just now: 2C; Q1MOR 44km N of you 1min ago: 990hPa')
  })

  it('leave out what no weather is, and what says nothing is no answer', async () => {
    const wild: HeardWeather = {
      ...bare,
      call: 'Q1BAD',
      temperatureC: 537,
      pressureHpa: 0,
      windSpeedMps: 447,
      humidityPercent: 101,
    }
    const silent: HeardWeather = { ...bare, rainLastHourMm: 0, windDirectionDeg: 90 }
    expect(await answerOf(service(), '', world([wild, silent]))).toEqual([
      'No weather heard in the last 2h within 150km.',
    ])
    const figures = { rainLastHourMm: 0 }
    const own = { ...nothing, read: async () => ({ atWallMs: now, figures }) }
    expect((await answerOf(service(own), '', world([near])))[0]).toMatch(/^Q1WX-13/)
  })

  it('are not those of another region', async () => {
    const other = { ...far, position: { latitudeDeg: 50, longitudeDeg: 0 } }
    expect(await answerOf(service(), '', world([other]))).toEqual([
      'No weather heard in the last 2h within 150km.',
    ])
  })

  it('are the newest report where no position is known', async () => {
    const node = { ...testContext().node, position: undefined }
    const lost = world([far, near], { askerPosition: undefined, node })
    expect(await answerOf(service(), '', lost)).toEqual(['Q1FAR 2min ago: 8C'])
    expect(await answerOf(service(), '', { ...lost, stations: testContext().stations })).toEqual([
      'No weather heard in the last 2h.',
    ])
  })
})

describe('instruments', () => {
  let folder: string
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'weather-'))
  })
  afterEach(() => rmSync(folder, { recursive: true }))

  const edges = () => {
    const faults: string[] = []
    const remarks: string[] = []
    return {
      clock: virtualClock(now),
      transducers: {},
      onFault: (reason: string) => faults.push(reason),
      onRemark: (text: string) => remarks.push(text),
      faults,
      remarks,
    }
  }

  it('as a file: the end of it, as old as the file', async () => {
    const path = join(folder, 'now.txt')
    writeFileSync(path, `temperatureC = 1\n${'# line\n'.repeat(5000)}temperatureC = 12.5\n`)
    utimesSync(path, 1_750_000_000, 1_750_000_000)
    const one = openInstrument({ kind: 'file', path }, edges())
    expect(await one.read()).toEqual({
      atWallMs: 1_750_000_000_000,
      figures: { temperatureC: 12.5 },
    })
  })

  it('with its own time, and each thing that is not used told once', async () => {
    const path = join(folder, 'now.json')
    const at = new Date(now - 7 * minute).toISOString()
    writeFileSync(
      path,
      JSON.stringify({ time: at, outdoor: { temp: '12,5 °C', glimmer: 3 }, pressure: 12 }),
    )
    const world = edges()
    const one = openInstrument({ kind: 'file', path }, world)
    expect(await one.read()).toEqual({
      atWallMs: now - 7 * minute,
      figures: { temperatureC: 12.5 },
    })
    await one.read()
    expect(world.remarks).toEqual([
      `the instrument's "outdoor.glimmer" is not known: not used; README lists the names`,
      "the instrument's pressureHpa is nothing that weather can be: not used",
    ])
    // A time that has not come yet is that of a wrong clock.
    writeFileSync(path, JSON.stringify({ time: '2099-01-01T00:00:00Z', temp: 3 }))
    utimesSync(path, 1_750_000_000, 1_750_000_000)
    expect(await one.read()).toEqual({ atWallMs: 1_750_000_000_000, figures: { temperatureC: 3 } })
  })

  it('as a file that is not there: nothing, and a fault', async () => {
    const world = edges()
    const one = openInstrument({ kind: 'file', path: join(folder, 'none') }, world)
    expect(await one.read()).toBeUndefined()
    expect(world.faults[0]).toMatch(/no such file/)
  })

  const command = (script: string, timeLimitMs = 5000) => {
    const path = join(folder, 'weather')
    writeFileSync(path, `#!/bin/sh\n${script}\n`)
    chmodSync(path, 0o755)
    return { kind: 'command', command: path, arguments: ['--now'], timeLimitMs } as const
  }

  it('as a command: one run for all who ask within half a minute', async () => {
    const world = edges()
    const one = openInstrument(
      command(`echo run >> ${folder}/runs; echo "{\\"temperatureC\\": $(wc -l < ${folder}/runs)}"`),
      world,
    )
    const both = await Promise.all([one.read(), one.read()])
    expect(both.map((reading) => reading?.figures.temperatureC)).toEqual([1, 1])
    world.clock.advanceBy(30_000)
    expect((await one.read())?.figures.temperatureC).toBe(2)
  })

  it('as a command that fails or hangs: nothing, and a fault', async () => {
    const world = edges()
    expect(await openInstrument(command('exit 3'), world).read()).toBeUndefined()
    expect(world.faults[0]).toMatch(/weather command/)
    expect(await openInstrument(command('sleep 60', 100), world).read()).toBeUndefined()
    expect(world.faults[1]).toMatch(/took longer than/)
  })

  it.skipIf(!hasSocat)(
    'as a serial line (a pseudo-terminal by socat): each figure until a newer one, and again after it was unplugged',
    async () => {
      const world = edges()
      const path = join(folder, 'tty')
      let line = await pseudoTerminal(path)
      const one = openInstrument({ kind: 'serial', path, lineBitRate: 4800 }, world)
      const figures = async () => (await one.read())?.figures
      // Opening a line throws away what had come before.
      await vi.waitFor(async () => {
        line.stdin.write('$WIMTA,12.5,C\r\n')
        expect(await figures()).toEqual({ temperatureC: 12.5 })
      }, patience)
      line.stdin.write('$WIMHU,8')
      line.stdin.write('0,,,C\r\n')
      await vi.waitFor(
        async () => expect(await figures()).toEqual({ temperatureC: 12.5, humidityPercent: 80 }),
        patience,
      )
      // What fell silent for ten minutes is not told beside what is fresh.
      world.clock.advanceBy(10 * minute)
      line.stdin.write('$WIMTA,11.5,C\r\n')
      await vi.waitFor(
        async () =>
          expect(await one.read()).toEqual({
            atWallMs: now + 10 * minute,
            figures: { temperatureC: 11.5 },
          }),
        patience,
      )
      line.kill()
      await vi.waitFor(() => expect(world.faults).toHaveLength(1), patience)
      line = await pseudoTerminal(path)
      world.clock.advanceBy(10_000)
      await vi.waitFor(async () => {
        line.stdin.write('$WIMTA,9.5,C\r\n')
        expect(await figures()).toEqual({ temperatureC: 9.5 })
      }, patience)
      await one.close()
      line.kill()
    },
  )

  it('as a serial line that is not there: nothing, a fault, and a new try each ten seconds', async () => {
    const world = edges()
    const path = join(folder, 'none')
    const one = openInstrument({ kind: 'serial', path, lineBitRate: 4800 }, world)
    await vi.waitFor(() => expect(world.faults).toHaveLength(1), patience)
    expect(await one.read()).toBeUndefined()
    world.clock.advanceBy(10_000)
    await vi.waitFor(() => expect(world.faults).toHaveLength(2), patience)
    await one.close()
    expect(world.clock.nextAtMs()).toBeUndefined()
  })
})

/** One end is the path, the other the process's standard input. */
async function pseudoTerminal(path: string): Promise<ChildProcessWithoutNullStreams> {
  rmSync(path, { force: true })
  const socat = spawn('socat', ['-', `pty,raw,echo=0,link=${path}`])
  await vi.waitFor(() => expect(existsSync(path)).toBe(true), patience)
  return socat
}
