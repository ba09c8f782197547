import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { conditionsService } from '../../../src/services/conditions.js'
import type { Service, ServiceContext, ServiceStorage } from '../../../src/services/service.js'
import { splitAnswer } from '../../../src/services/splitAnswer.js'
import { loadForecast, parseForecast } from '../../../src/services/weather/forecast.js'
import type { WeatherFigures } from '../../../src/services/weather/plausible.js'
import { airLanguages } from '../../../src/words/air/texts.js'
import { testContext, testQuestion } from '../testContext.js'

const minuteMs = 60_000
const startMs = Date.UTC(2026, 5, 21, 16)

function storageOf(rows: Map<string, string>): ServiceStorage {
  return {
    read: (service) => (service === '(weather)' ? rows : new Map([['N0CALL-7', '0']])),
    write(service, changes) {
      if (service !== '(weather)') return
      for (const [key, value] of changes)
        if (value === undefined) rows.delete(key)
        else rows.set(key, value)
    },
  }
}

/** A node with an instrument whose figures the test gives, on a wall clock that can be set; its life may end and begin again. */
function station(figuresAt: (trueMs: number) => WeatherFigures | undefined) {
  const base = virtualClock(startMs)
  const rows = new Map<string, string>()
  const now = {
    aheadMs: 0,
    confirmed: true,
    trusted: true,
    forecast: undefined as string | undefined,
  }
  const clock = {
    ...base,
    monotonicMs: base.monotonicMs,
    wallMs: () => base.wallMs() + now.aheadMs,
  }
  const create = (): Service =>
    conditionsService({
      instrument: {
        read: async () => {
          const figures = figuresAt(base.wallMs())
          return figures && { atWallMs: clock.wallMs(), figures }
        },
        close: async () => {},
      },
      ...{ readingAgeMaxMs: 30 * minuteMs, reportAgeMaxMs: 0, rangeM: 1, positionAgeMaxMs: 1 },
      keepsHistory: true,
      forecast: () =>
        now.forecast === undefined ? undefined : parseForecast(now.forecast).entries[0],
    })
  let service = create()
  const context = (more: Partial<ServiceContext> = {}): ServiceContext =>
    testContext({
      ...{ clock, clockConfirmed: now.confirmed, clockTrusted: now.trusted },
      ...{ storage: storageOf(rows), ...more },
    })
  return {
    ...{ now, rows, base },
    restart(): void {
      service = create()
    },
    async pass(minutes: number, isUp = true): Promise<void> {
      for (let left = minutes; left > 0; left -= 15) {
        base.advanceBy(Math.min(left, 15) * minuteMs)
        if (isUp) await service.acts!.act({ kind: 'time' }, context())
      }
    },
    async ask(text = '', more: Partial<ServiceContext> = {}): Promise<string> {
      const answer = await service.answer(testQuestion(text), context(more))
      return splitAnswer(answer, { messagesMax: 9 }).join(' / ')
    },
  }
}

/** Hours since the start. */
const hoursAt = (trueMs: number): number => (trueMs - startMs) / 3_600_000

describe('conditions tell what the day was like', () => {
  it('pressure over three hours, least and greatest of what was measured', async () => {
    const one = station((at) => ({
      pressureHpa: 1000 + hoursAt(at),
      temperatureC: hoursAt(at) < 12 ? hoursAt(at) : 24 - hoursAt(at),
      windGustMps: hoursAt(at) === 5 ? 20 : 1,
    }))
    await one.pass(120)
    // Two hours say nothing of three.
    expect(await one.ask()).toBe('At node just now: 2C gust 4km/h 1002hPa')
    await one.pass(22 * 60)
    expect(await one.ask()).toBe(
      'At node just now: 0C gust 4km/h 1024hPa rising 3hPa/3h / In 24h 0C to 12C, gust 72km/h',
    )
    await one.pass(12 * 60)
    expect(await one.ask()).toContain('In 24h -12C to 12C')
  })

  it('falling and steady', async () => {
    const falling = station((at) => ({ pressureHpa: 1000 - 0.4 * hoursAt(at) }))
    await falling.pass(200)
    expect(await falling.ask()).toContain('999hPa falling 1.2hPa/3h')
    const steady = station(() => ({ pressureHpa: 1000 }))
    await steady.pass(200)
    expect(await steady.ask()).toContain('1000hPa steady for 3h')
  })

  it('makes up nothing where nothing was measured', async () => {
    const one = station((at) =>
      hoursAt(at) > 2 && hoursAt(at) < 7 ? undefined : { pressureHpa: 900 },
    )
    await one.pass(8 * 60)
    expect(await one.ask()).toBe('At node just now: 900hPa')
    const stuck = station(() => ({ temperatureC: 3 }))
    await stuck.pass(120)
    expect(await stuck.ask()).not.toContain('In ')
    const wild = station((at) => ({ pressureHpa: hoursAt(at) < 3 ? 5000 : 1000 }))
    await wild.pass(6 * 60 - 15)
    expect(await wild.ask()).not.toMatch(/rising|falling|steady/)
  })

  it('goes on where what was kept has another shape', async () => {
    const one = station(() => ({ temperatureC: 3 }))
    const row = { atWallMs: startMs, confirmed: true, temperatureC: 5 }
    const damaged = [
      ...[null, 7, 'text', [], { ...row, temperatureC: '40' }, { ...row, temperatureC: null }],
      ...[
        { ...row, temperatureC: 40, atWallMs: 'now' },
        { ...row, temperatureC: [40] },
      ],
    ]
    for (const [at, value] of [row, ...damaged].entries())
      one.rows.set(`${at}`, JSON.stringify(value))
    await one.pass(12 * 60)
    expect(await one.ask()).toContain('3C to 5C')
  })

  it('is in one message each, in five languages, at the longest', async () => {
    const one = station((at) => ({
      ...{ pressureHpa: 1100 - 10.7 * hoursAt(at), temperatureC: -40.1 + hoursAt(at) },
      ...{ windSpeedMps: 50, windDirectionDeg: 340, windGustMps: 60, humidityPercent: 100 },
      rainLastHourMm: 99.9,
    }))
    one.now.forecast = `until 2026-06-23 06:00\n${'Sturm und Regen '.repeat(5)}am Ende.`
    await one.pass(24 * 60)
    for (const language of airLanguages) {
      const told = await one.ask('', { language })
      for (const message of told.split(' / ')) expect(message.length).toBeLessThanOrEqual(67)
      expect(told).toMatch(/\d+[.,]\dhPa\/3h/)
      // No figure at the end of one message has its unit in the next.
      expect(told).not.toMatch(/\d \/ (hPa|C|km|h)\b/)
    }
  })
})

describe("the operator's forecast", () => {
  it('is told until its time, never after it, and never by a clock that nobody believes', async () => {
    const one = station(() => ({ temperatureC: 5 }))
    one.now.forecast = 'until 2026-06-21 18:00\nRain from noon, gusts on the ridge.'
    // The station's local time is two hours behind UTC: until 20:00 UTC, four hours from now.
    const told = 'Forecast by the operator, until Sun 18:00: Rain from noon, gusts on the ridge.'
    expect((await one.ask()).replaceAll(' / ', ' ')).toBe(`At node just now: 5C. ${told}`)
    expect((await one.ask('forecast')).replaceAll(' / ', ' ')).toMatch(/^Forecast by .* At node/)
    expect((await one.ask('tomorrow')).replaceAll(' / ', ' ')).toMatch(/^Forecast by/)
    one.now.trusted = false
    expect(await one.ask('forecast')).toBe('No forecast here, only now: At node just now: 5C')
    one.now.trusted = true
    await one.pass(239)
    expect(await one.ask()).toContain('Forecast')
    await one.pass(1)
    expect(await one.ask()).not.toContain('Forecast')
    // A mistyped year is no forecast of a year.
    one.now.forecast = 'until 2027-06-22 18:00\nRain.'
    expect(await one.ask()).not.toContain('Forecast')
  })

  it.each([
    ['Rain.', 'until'],
    ['until tomorrow\nRain', 'until'],
    ['until 2026-13-01 10:00\nRain', 'until'],
    ['until 2026-06-22 06:00', 'text'],
    [`until 2026-06-22 06:00\n${'x'.repeat(91)}`, 'text'],
  ])('%j is named, and nothing of it told', (text, field) => {
    expect(parseForecast(text)).toMatchObject({ entries: [], rejected: [{ field }] })
  })

  it('with a zone, and over a change of the clocks', () => {
    expect(parseForecast('\nuntil 2026-06-22T06:00Z\r\na\r\nb').entries).toEqual([
      { untilMs: Date.UTC(2026, 5, 22, 6), isLocal: false, text: 'a b' },
    ])
    expect(parseForecast('until: 2026-06-22 06:00 +02:00\na').entries).toMatchObject([
      { untilMs: Date.UTC(2026, 5, 22, 4), isLocal: false },
    ])
  })

  let folder: string
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'forecast-'))
  })
  afterEach(() => rmSync(folder, { recursive: true }))

  it('of a file that was deleted is none', async () => {
    const file = join(folder, 'forecast.txt')
    writeFileSync(file, 'until 2026-06-22 06:00\nRain')
    expect((await loadForecast(file)).entries).toHaveLength(1)
    rmSync(file)
    expect(await loadForecast(file)).toMatchObject({ entries: [], rejectedCount: 0 })
    await expect(loadForecast(folder)).rejects.toMatchObject({ code: 'data-unreadable' })
  })
})

/*
 * The true pressure rises by 1 hPa each hour without end, and the true temperature is the hours since the start: whatever is told can be
 * checked. The clock is set at random, the node goes away for a while, and only sometimes knows the time again.
 */
it('whatever the clock does, no change is told that was not (fast-check)', async () => {
  const step = fc.oneof(
    fc.record({ kind: fc.constant('pass' as const), minutes: fc.integer({ min: 15, max: 300 }) }),
    fc.record({
      kind: fc.constant('set' as const),
      minutes: fc.integer({ min: -500, max: 500 }),
    }),
    fc.record({ kind: fc.constant('right' as const) }),
    fc.record({ kind: fc.constant('restart' as const), away: fc.integer({ min: 0, max: 600 }) }),
  )
  let toldCount = 0
  await fc.assert(
    fc.asyncProperty(fc.array(step, { maxLength: 15 }), async (steps) => {
      const one = station((at) => ({
        pressureHpa: 800 + hoursAt(at),
        temperatureC: hoursAt(at) / 10,
      }))
      for (const done of steps) {
        if (done.kind === 'pass') await one.pass(done.minutes)
        else if (done.kind === 'set') {
          one.now.aheadMs += done.minutes * minuteMs
          one.now.confirmed = false
        } else if (done.kind === 'right') {
          one.now.aheadMs = 0
          one.now.confirmed = true
        } else {
          await one.pass(done.away, false)
          one.restart()
        }
        const told = (await one.ask()).replaceAll(' / ', ' ')
        const change = /(rising|falling) ([\d.]+)hPa/.exec(told)
        expect(told).not.toContain('steady')
        if (change === null) continue
        toldCount++
        expect(change[1]).toBe('rising')
        // Three hours, give or take ten minutes.
        expect(Math.abs(Number(change[2]) - 3)).toBeLessThanOrEqual(0.25)
      }
      const hours = hoursAt(one.base.wallMs())
      const range = /In (\d+)h ([-\d.]+)C to ([-\d.]+)C/.exec(
        (await one.ask()).replaceAll(' / ', ' '),
      )
      if (range === null) return
      const [, measured, least, greatest] = range.map(Number) as [number, number, number, number]
      expect(measured).toBeLessThanOrEqual(24)
      expect(least).toBeGreaterThanOrEqual(Math.max(0, (hours - 24.3) / 10) - 0.1)
      expect(greatest).toBeLessThanOrEqual(hours / 10 + 0.1)
    }),
    { seed: 11, numRuns: 200 },
  )
  expect(toldCount).toBeGreaterThan(20)
}, 120_000)
