import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { loadConfig, parseConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import {
  builtInKeywords,
  createServices,
  type OpenServices,
  type ServiceEvent,
} from '../../src/services/all.js'
import { dispatch } from '../../src/services/dispatch.js'
import { readyAmong } from '../../src/services/readiness.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { testContext } from './testContext.js'

const sample = fileURLToPath(new URL('../../samples/hilltop/node.toml', import.meta.url))
let folder: string
let open: OpenServices | undefined
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'all-'))
  cpSync(dirname(sample), folder, { recursive: true })
})
afterEach(async () => {
  await open?.close()
  rmSync(folder, { recursive: true })
})

async function start(toml?: string) {
  const events: ServiceEvent[] = []
  const clock = virtualClock(Date.UTC(2026, 5, 21, 16))
  const config = toml === undefined ? await loadConfig(sample) : parseConfig(toml, 'test')
  // The own service needs a thread, which has tests of its own.
  const withoutOwn = {
    ...config,
    services: { ...config.services, own: { ...config.services.own, folder: '' } },
  }
  open = createServices(serviceOptions(withoutOwn, folder, clock, (event) => events.push(event)))
  await open.ready
  const context = testContext({
    clock,
    askerPosition: { latitudeDeg: 45.25, longitudeDeg: -36.7, ageMs: 0 },
    services: open.services,
  })
  const ask = async (text: string) =>
    (await dispatch({ id: text, from: 'N0CALL-7', text }, open!, context)).messages
  return { ask, events, clock, stations: context.stations }
}

describe('all services of the sample node', () => {
  it('are there, with usage and summary that fit a message each', async () => {
    await start()
    // A name stands for a mail address: it is there where mail is.
    const there = builtInKeywords.filter((keyword) => keyword !== 'name')
    expect(open!.services.map((service) => service.keyword)).toEqual(there)
    // What other parts answer comes before them, in the array that the node has: own services come and go behind.
    const other = { ...open!.services[0]!, keyword: 'other' }
    const given = open!.services
    open!.add([other])
    expect(given.map((service) => service.keyword)).toEqual(['other', ...there])
    for (const { usage, summary } of open!.services) {
      expect(usage.length).toBeLessThanOrEqual(67)
      expect(summary.length).toBeLessThanOrEqual(67)
    }
  })

  it('offers those only that have what they answer out of, and says why not of the others', async () => {
    // Elements of satellites that exist are of their day.
    const elements = join(folder, 'elements.txt')
    writeFileSync(elements, readFileSync(elements, 'utf8').replace('Invented satellites', 'Sets'))
    const full = await start()
    expect((await full.ask('help')).join(' ')).toMatch(/ repeaters pass .* find .*: help sun$/)
    // Without an instrument, weather is what was heard.
    const weather = open!.services.find(({ keyword }) => keyword === 'conditions')!
    expect(weather.ready!(full)).toMatchObject({ state: 'empty' })
    const report = { call: 'Q1WX', atWallMs: full.clock.wallMs(), temperatureC: 3 }
    const stations = { ...full.stations, weather: () => [report] }
    expect(weather.ready!({ ...full, stations })).toEqual({ state: 'ready' })
    expect(weather.ready!({ clock: full.clock })).toEqual({ state: 'ready' })
    const sets = open!.services.find(({ keyword }) => keyword === 'pass')!
    expect(sets.ready!(full)).toEqual({ state: 'ready' })
    const later = { clock: virtualClock(full.clock.wallMs() + 400 * 86_400_000) }
    expect(sets.ready!(later)).toMatchObject({ state: 'stale' })
    expect(readyAmong(open!.services, full)).toContain(sets)
    expect(readyAmong(open!.services, later)).not.toContain(sets)
    await open!.close()
    const { ask } = await start('')
    expect((await ask('help')).join(' ')).toMatch(/^Send: sun heard .*: help sun$/)
    expect((await ask('help')).join(' ')).not.toMatch(/ (repeaters|pass|find)\b/)
    expect(await ask('lorem')).not.toContainEqual(expect.stringMatching(/repeaters/))
    expect(await ask('help repeaters')).toEqual([
      'repeaters cannot answer just now: no repeater directory is loaded.',
    ])
  })

  it('load their data and say how much', async () => {
    const { events } = await start()
    const loaded = events.flatMap((event) =>
      event.kind === 'loaded' ? [[event.what, event.count, event.rejectedCount]] : [],
    )
    expect(loaded.sort()).toEqual([
      ['find', 7, 0],
      ['pass', 4, 0],
      ['places', 6, 0],
      ['repeaters', 25, 0],
    ])
  })

  // Every answer, also to what makes no sense, is one to three messages of 67 characters, unless more was asked for.
  const questions = builtInKeywords.flatMap((keyword) =>
    ['', ' 1', ' nonsense', ` ${'long '.repeat(12)}`, ' N0CALL-7 hello', ' {|~}', ' next'].map(
      (rest) => `${keyword}${rest}`,
    ),
  )
  it('answer anything within three messages', async () => {
    const { ask } = await start()
    for (const question of questions) {
      const messages = await ask(question)
      expect(messages.length, question).toBeGreaterThanOrEqual(1)
      expect(messages.length, question).toBeLessThanOrEqual(3)
      for (const message of messages) {
        expect(message.length, question).toBeLessThanOrEqual(67)
        expect(message, question).toMatch(/^[ -z]+$/)
        expect(message, question).not.toMatch(/undefined|NaN|does not work/)
      }
    }
    expect((await ask('repeaters 7')).join(' ').match(/Q1[A-Z]{3} \d/g)).toHaveLength(7)
  })

  it('never fail, whatever is sent to them, from wherever', async () => {
    const { clock } = await start()
    const keyword = fc.constantFrom(...builtInKeywords, 'he', 'p', 'x', '')
    const word = fc.oneof(
      fc.string({ maxLength: 8 }),
      fc.constantFrom('2', '70cm', '146.94', 'next', 'fieldlark', 'Q1ASH', 'N0CALL-7', 'storm'),
    )
    const place = fc.record({
      latitudeDeg: fc.oneof(
        fc.constantFrom(-90, 90, 0),
        fc.double({ min: -90, max: 90, noNaN: true }),
      ),
      longitudeDeg: fc.double({ min: -180, max: 180, noNaN: true }),
      ageMs: fc.constantFrom(0, 7_200_000, 1e9),
    })
    await fc.assert(
      fc.asyncProperty(
        keyword,
        fc.array(word, { maxLength: 4 }),
        fc.option(place, { nil: undefined }),
        async (first, words, askerPosition) => {
          const context = testContext({ clock, askerPosition, services: open!.services })
          const asked = { id: 'q', from: 'N0CALL-7', text: [first, ...words].join(' ') }
          const { messages, fault } = await dispatch(asked, open!, context)
          expect(fault).toBeUndefined()
          expect(messages.length).toBeGreaterThanOrEqual(1)
          expect(messages.length).toBeLessThanOrEqual(10)
          for (const message of messages) expect(message.length).toBeLessThanOrEqual(67)
        },
      ),
      { numRuns: 400 },
    )
  })

  it('are told by help', async () => {
    const { ask } = await start()
    expect(await ask('help')).toEqual([
      'Send: repeaters pass sun heard where signal leave collect reply',
      'mail back tell board post find clock bulletins. More: help sun',
    ])
    expect(await ask('help where')).toEqual([
      'where CALL: Where a station is: distance, bearing, locator, age',
    ])
    expect(await ask('help rep')).toEqual([
      'repeaters N [band, mode, place]',
      'Nearest repeaters: output, offset, tone, distance, direction',
    ])
    expect(await ask('help re')).toEqual(['help which: repeaters, reply?'])
    // No weather was heard.
    expect(await ask('help co')).toEqual(await ask('help collect'))
    expect(await ask('help tea')).toEqual(await ask('help'))
  })
})

describe('createServices', () => {
  it('leaves out what is off', async () => {
    await start('[services]\noff = ["post", "board"]')
    expect(open!.services.map((service) => service.keyword)).not.toContain('post')
    expect(open!.services).toHaveLength(builtInKeywords.length - 3)
  })

  it('goes on without data that cannot be read, and says why', async () => {
    writeFileSync(join(folder, 'bad.csv'), 'a,b\n1,2\n')
    const { events, ask } = await start(
      '[services.repeaters]\nfile = "bad.csv"\n[services.pass]\nfile = "none.txt"',
    )
    const faults = events.flatMap((event) => (event.kind === 'fault' ? [event.reason] : []))
    expect(faults.sort()).toEqual([
      expect.stringMatching(/none\.txt: cannot be read: no such file/),
      'bad.csv: got the columns "a", "b", expected columns for output (frequency), name or call; name the columns under services.repeaters.columns, or with --map',
    ])
    expect(await ask('repeaters')).toEqual(['No repeater directory is loaded here.'])
  })

  it('names rejected rows by file and line, also of cards', async () => {
    writeFileSync(join(folder, 'cards', 'more.md'), '# Empty\n')
    writeFileSync(join(folder, 'repeaters.csv'), 'name,output,lat,lon\nA,146.94,95,0\n')
    const { events } = await start(
      '[services.repeaters]\nfile = "repeaters.csv"\n[services.find]\nfolder = "cards"',
    )
    const rejected = events.flatMap((event) => (event.kind === 'loaded' ? event.rejected : []))
    expect(rejected.sort()).toEqual([
      'more.md:1: got "Empty", expected text under the heading',
      'repeaters.csv:2: latitude: got "95", expected degrees from -90 to 90',
    ])
  })

  it('refuses a configuration of an instrument without what it needs', () => {
    for (const [instrument, key] of [
      ['file', 'path'],
      ['serial', 'path'],
      ['command', 'command'],
    ])
      expect(() =>
        parseConfig(`[services.conditions]\ninstrument = "${instrument}"`, 'x.toml'),
      ).toThrow(new RegExp(`services\\.conditions\\.${key}: got .*, expected`))
  })
})
