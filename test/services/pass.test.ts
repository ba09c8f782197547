import { twoline2satrec } from 'satellite.js'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { passService } from '../../src/services/pass.js'
import { elementSetOf } from '../../src/services/sky/elementSet.js'
import { splitAnswer } from '../../src/services/splitAnswer.js'
import { geoSky } from '../published/geoSky.js'
import { answerOf, testContext } from './testContext.js'

const lines = new Map<number, { line1: string; line2: string }>(
  geoSky.sgp4.cases.map((one: { satellite: number }) => [one.satellite, one]),
)
const set = (name: string, satellite: number) => {
  const { line1, line2 } = lines.get(satellite)!
  return elementSetOf(name, () => twoline2satrec(line1, line2))!
}
const day = 86_400_000
const elements = [set('FIELDLARK', 28057), set('HARVESTER 2', 6251), set('LONGSHADOW', 8195)]
const service = passService({
  elements: () => elements,
  positionAgeMaxMs: day,
  elementAgeMaxMs: 30 * day,
  elevationMinDeg: 10,
})
const at = (latitudeDeg: number, longitudeDeg: number, iso: string) =>
  testContext({
    clock: virtualClock(Date.parse(iso)),
    askerPosition: { latitudeDeg, longitudeDeg, ageMs: 0 },
    node: { ...testContext().node, utcOffsetMinutes: 0 },
  })

describe('pass', () => {
  // The passes are those of satellite_passes_computed in geo-sky.json, to the minute and the degree.
  it('tells the next pass that is worth it, by UTC', async () => {
    expect(await answerOf(service, 'fieldlark', at(40, -75, '2006-06-27T00:00:00Z'))).toEqual([
      'FIELDLARK rise 01:39 az134, top 01:46 el26 az66, set 01:53 az359',
      'Seen from you, UTC, az and el in degrees. Elements 5h old.',
    ])
  })

  // Of the same passes: the first after the time, and 'tonight' begins at 18:00 and goes on past midnight.
  it('begins at the time of day that is asked for', async () => {
    const riseOf = async (text: string, iso: string) =>
      /rise (\S+ )?(\d\d:\d\d)/.exec((await answerOf(service, text, at(40, -75, iso)))[0]!)?.[2]
    const all = [await riseOf('fieldlark', '2006-06-27T00:00:00Z')]
    for (const minute of ['01:40', '06:00', '18:00'])
      all.push(await riseOf('fieldlark', `2006-06-27T${minute}:00Z`))
    const [, , morning, evening] = all
    expect(await riseOf('fieldlark 6am', '2006-06-27T02:30:00Z')).toBe(morning)
    expect(await riseOf('fieldlark tonight', '2006-06-27T02:30:00Z')).toBe(evening)
    expect(await riseOf('fieldlark 18:00', '2006-06-27T02:30:00Z')).toBe(evening)
    expect(morning).not.toBe(evening)
  })

  it('says when it is up already, and when the best of it is over', async () => {
    expect((await answerOf(service, 'field', at(40, -75, '2006-06-27T01:42:00Z')))[0]).toMatch(
      /^FIELDLARK up now az\d+, top 01:46 el26 az66, set 01:53 az359$/,
    )
    expect((await answerOf(service, 'field', at(40, -75, '2006-06-27T01:49:00Z')))[0]).toMatch(
      /^FIELDLARK up now el\d+ az\d+, set 01:53 az359$/,
    )
  })

  it('tells the downlink where the data holds it, in two messages still', async () => {
    const heard = passService({
      elements: () => [{ ...set('FIELDLARK', 28057), downlinkMHz: 145.825 }],
      ...{ positionAgeMaxMs: day, elementAgeMaxMs: 30 * day, elevationMinDeg: 10 },
    })
    const told = await answerOf(heard, 'fieldlark', at(40, -75, '2006-06-27T00:00:00Z'))
    expect(told.join(' ')).toMatch(/Downlink 145\.825MHz/)
    expect(splitAnswer(told)).toHaveLength(2)
  })

  it('takes invented satellites as made for the day, on any day, and says that they are', async () => {
    const invented = passService({
      elements: () => made,
      ...{ positionAgeMaxMs: day, elementAgeMaxMs: 14 * day, elevationMinDeg: 10 },
    })
    const made = elements.map((one) => ({ ...one, isInvented: true as const }))
    for (const iso of ['2006-06-27T00:00:00Z', '2026-11-28T21:00:00Z', '2031-02-28T23:59:59Z']) {
      const told = await answerOf(invented, 'next', at(40, -75, iso))
      expect(told[0], iso).toMatch(/rise|up now/)
      expect(told[1], iso).toMatch(/Invented satellite\.$/)
      expect(invented.ready!(at(40, -75, iso))).toEqual({ state: 'ready' })
    }
  })

  it('names the day of a rise that rounds to midnight, and not of one just before', async () => {
    // The pass of 2006-06-27 01:39 is looked at in local times that bring its rise to either side of midnight.
    const now = at(40, -75, '2006-06-27T00:00:00Z')
    const told = async (utcOffsetMinutes: number) =>
      (await answerOf(service, 'fieldlark', { ...now, node: { ...now.node, utcOffsetMinutes } }))[0]
    expect(await told(-100)).toMatch(/rise 23:59 /)
    expect(await told(-99)).toMatch(/rise Tue 00:00 /)
  })

  it('leaves out passes below the limit', async () => {
    // 6251 rises to 6.7 degrees only on 2006-06-26 01:00.
    const [line] = await answerOf(
      service,
      '6251',
      at(49.058333, -72.029167, '2006-06-26T00:00:00Z'),
    )
    expect(line).not.toMatch(/rise 00:5/)
  })

  it('names the day when it is not today', async () => {
    const [line] = await answerOf(service, 'fieldlark', at(40, -75, '2006-06-27T17:30:00Z'))
    expect(line).toMatch(/^FIELDLA\w* rise Wed \d\d:\d\d/)
    expect(line!.length).toBeLessThanOrEqual(67)
  })

  it('cuts a name before its number', async () => {
    const family = passService({
      elements: () => [set('FIELDLARK-OBSERVER 12', 28057)],
      ...{ positionAgeMaxMs: day, elementAgeMaxMs: 30 * day, elevationMinDeg: 10 },
    })
    const [told] = await answerOf(family, 'next', at(40, -75, '2006-06-27T00:00:00Z'))
    expect(told).toMatch(/^FIELDL[A-Z-]* 12 rise 01:39 /)
    expect(told!.length).toBeLessThanOrEqual(67)
  })

  it('finds names by any part and numbers, and asks when it is not clear', async () => {
    const now = at(40, -75, '2006-06-27T00:00:00Z')
    for (const name of ['LARK', '28057', 'field lark'])
      expect((await answerOf(service, name, now))[0]).toMatch(/^FIELDLARK/)
    expect(await answerOf(service, 'ar', now)).toEqual(['Which one? FIELDLARK, HARVESTER 2'])
    expect(await answerOf(service, 'comet', now)).toEqual([
      'No satellite "comet" here. Known: FIELDLARK, HARVESTER 2, LONGSHADOW',
    ])
    // Who names none is told of the next.
    expect(await answerOf(service, '', now)).toEqual(await answerOf(service, 'next', now))
  })

  it('next is whichever rises first', async () => {
    const now = at(40, -75, '2006-06-27T00:00:00Z')
    const each = await Promise.all(
      ['fieldlark', 'harvester', 'longshadow'].map(async (name) => answerOf(service, name, now)),
    )
    const next = await answerOf(service, 'next', now)
    expect(each).toContainEqual(next)
    const rise = (line: string) => /rise (\d\d:\d\d)/.exec(line)?.[1] ?? '99'
    const earliest = each.map(([line]) => rise(line!)).sort()[0]
    expect(rise(next[0]!)).toBe(earliest)
  })

  it('knows what is always up and what never rises', async () => {
    const fixed = {
      ...service,
      ...passService({
        elements: () => [set('STANDSTILL', 25954)],
        positionAgeMaxMs: day,
        elementAgeMaxMs: 30 * day,
        elevationMinDeg: 10,
      }),
    }
    const iso = new Date(set('x', 25954).epochWallMs).toISOString()
    expect((await answerOf(fixed, 'standstill', at(0, -130, iso)))[0]).toMatch(
      /^STANDSTILL is always up: el\d+ az\d+$/,
    )
    expect(await answerOf(fixed, 'standstill', at(0, 50, iso))).toEqual([
      'STANDSTILL below 10deg at your place within 2 days.',
    ])
  })

  it('refuses elements past their age, in either direction', async () => {
    expect(await answerOf(service, 'fieldlark', at(40, -75, '2006-08-27T00:00:00Z'))).toEqual([
      'FIELDLARK: elements 61d old, no use past 30d. Tell the operator.',
    ])
    expect((await answerOf(service, 'fieldlark', at(40, -75, '2006-01-01T00:00:00Z')))[0]).toMatch(
      /ahead of this clock/,
    )
    expect((await answerOf(service, 'next', at(40, -75, '2007-01-01T00:00:00Z')))[0]).toMatch(
      /^All: elements \d+d old/,
    )
  })

  it('says what it lacks', async () => {
    const bare = passService({
      elements: () => undefined,
      positionAgeMaxMs: day,
      elementAgeMaxMs: day,
      elevationMinDeg: 0,
    })
    expect(await answerOf(bare, 'x')).toEqual(['No satellite elements are loaded here.'])
    const lost = testContext({ node: { ...testContext().node, position: undefined } })
    expect((await answerOf(service, 'fieldlark', lost))[0]).toMatch(/^Where are you\?/)
  })

  it('says so when the orbit has ended by now', async () => {
    // 28350: perigee at 127 km, SGP4 gives no place some days on.
    const falling = passService({
      elements: () => [set('EMBER', 28350)],
      positionAgeMaxMs: day,
      elementAgeMaxMs: 400 * day,
      elevationMinDeg: 0,
    })
    const iso = new Date(set('x', 28350).epochWallMs + 300 * day).toISOString()
    expect(await answerOf(falling, 'ember', at(40, -75, iso))).toEqual([
      'EMBER: no pass can be computed, perhaps burnt up',
    ])
  })
})
