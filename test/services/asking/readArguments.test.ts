import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { readDay } from '../../../src/services/asking/days.js'
import { readArguments, unknownText } from '../../../src/services/asking/readArguments.js'
import { parsePlaces } from '../../../src/services/places/parsePlaces.js'
import { placeIndex } from '../../../src/services/places/placeIndex.js'
import { inEnglish } from '../../../src/words/air/all.js'
import { testContext } from '../testContext.js'

const list = `Name;PLZ;Breite;Länge;Locator;Aliases
Steinhütte;9912;45,24 N;36 42 36 W;;Rifugio di Pietra/Stone Hut
Puerto Alto;;45.40;-36.80;;
Lochau;;;;HN15pf;
;1;45;-36;;
Nowhere;;95;-36;;
Nolocator;;;;XX99;
`
const parsed = parsePlaces(list)
if (!parsed.ok) throw new Error(parsed.expected)
const places = placeIndex(parsed.entries)
const context = testContext({ clock: virtualClock(Date.UTC(2026, 5, 21, 16)) })
const read = (text: string, dates = false) =>
  readArguments(text.split(' '), context, { places: () => places }, { dates })

describe('a list of places', () => {
  it('is read with any usual header; rows that are wrong are named by line and field', () => {
    expect(parsed.entries.map(({ name }) => name)).toEqual(['Steinhütte', 'Puerto Alto', 'Lochau'])
    expect(parsed.rejected.map(({ line, field }) => [line, field])).toEqual([
      [5, 'name'],
      [6, 'latitude'],
      [7, 'locator'],
    ])
    expect(parsed.entries[0]!.longitudeDeg).toBeCloseTo(-36.71, 5)
  })
  it('without what it needs is refused, with what it has', () => {
    expect(parsePlaces('town,code\nA,1\n')).toMatchObject({
      ok: false,
      got: expect.stringContaining('"code"'),
    })
    expect(parsePlaces('')).toMatchObject({ ok: false, got: 'an empty file' })
  })
  it.each([
    ['steinhütte', 'Steinhütte'],
    ['STEINHUETTE', 'Steinhütte'],
    ['steinhutte', 'Steinhütte'],
    ['9912', 'Steinhütte'],
    ['stone hut', 'Steinhütte'],
    ['puerto alto', 'Puerto Alto'],
    ['puerto ato', 'Puerto Alto'],
  ])('%s is found', (text, name) => {
    expect(read(text).place?.name).toBe(name)
  })
})

describe('arguments', () => {
  it('are sorted by kind, in any order', () => {
    for (const text of ['3 70cm DMR steinhütte', 'Steinhütte dmr 3 70 cm', 'DMR 70cm steinhütte 3'])
      expect(read(text)).toMatchObject({
        count: 3,
        band: { words: '70cm' },
        mode: { words: 'DMR' },
        place: { name: 'Steinhütte' },
        unknown: [],
      })
  })
  it.each([
    ['99', { count: 99 }],
    ['440', { band: { words: '70cm' } }],
    ['145.6', { band: { words: '145.6 MHz' } }],
    ['uhf', { band: { words: 'UHF' } }],
    ['2 m', { band: { words: '2m' } }],
    ['all', { isAll: true }],
    ['d star', { mode: { words: 'D-STAR' } }],
    ['hn15PF', { place: { name: 'HN15pf' } }],
    ['45.2 -36.8', { place: { latitudeDeg: 45.2, longitudeDeg: -36.8 } }],
    ['45.2,36.8', { place: { latitudeDeg: 45.2, longitudeDeg: 36.8 } }],
    ['q2van-9', { call: 'Q2VAN-9' }],
    ['constructor toString', { unknown: ['constructor toString'] }],
    ['3 pink 70cm elephants here', { unknown: ['pink', 'elephants'] }],
  ])('%s', (text, expected) => {
    expect(read(text)).toMatchObject(expected)
  })
  it('says what it did not understand, shortened', () => {
    expect(unknownText([], inEnglish)).toBeUndefined()
    expect(unknownText(['x'.repeat(60)], inEnglish)!.length).toBeLessThanOrEqual(45)
  })
})

describe('days', () => {
  // 2026-06-21 is a Sunday; the node's time is two hours behind UTC.
  const nowMs = Date.UTC(2026, 5, 21, 16)
  const day = (text: string, offset = -120, atMs = nowMs) => {
    const found = readDay(text.split(' '), atMs, () => offset)
    return found && [new Date(found.day.fromWallMs).toISOString().slice(0, 16), found.day.daysAhead]
  }
  it.each([
    ['today', '2026-06-21T02:00', 0],
    ['tomorrow', '2026-06-22T02:00', 1],
    ['overmorrow', '2026-06-23T02:00', 2],
    ['sun', '2026-06-21T02:00', 0],
    ['fri', '2026-06-26T02:00', 5],
    ['2026-12-24', '2026-12-24T02:00', 186],
    ['24.12.', '2026-12-24T02:00', 186],
    ['24/12', '2026-12-24T02:00', 186],
    ['12/24', '2026-12-24T02:00', 186],
    ['24 dec', '2026-12-24T02:00', 186],
    ['dec 24 2027', '2027-12-24T02:00', 551],
    ['20 jun', '2027-06-20T02:00', 364],
    ['29 feb', '2028-02-29T02:00', 618],
  ])('%s', (text, from, ahead) => {
    expect(day(text)).toEqual([from, ahead])
  })
  it.each(['31 jun', '2026-02-30', '45.6', '99/99', 'x', ''])('%s is none', (text) => {
    expect(day(text)).toBeUndefined()
  })
  it.each(['31.2', '31/2', '31 feb', '2026-02-30'])(
    '%s as a date is not known, and nothing else',
    (text) => {
      const asked = readArguments(text.split(' '), testContext(), undefined, { dates: true })
      expect(asked).toEqual({
        ...{ isAll: false, isNext: false, isMe: false, isNode: false },
        unknown: [text],
      })
    },
  )
  it('begin by the local clock, before and after UTC has changed its day', () => {
    expect(day('today', 600, Date.UTC(2026, 5, 21, 16))).toEqual(['2026-06-21T14:00', 0])
    expect(day('today', -600, Date.UTC(2026, 5, 21, 4))).toEqual(['2026-06-20T10:00', 0])
  })
})
