import { describe, expect, it } from 'vitest'
import { locatorOf, parseLocator } from '../../src/aprs/locator.js'
import { geoSky } from './geoSky.js'

interface Row {
  readonly lat: number
  readonly lon: number
  readonly locator6: string
  readonly locator8: string
}

// Source of each pair stands in geo-sky.json: seven widely used test pairs (from memory, recomputed), six computed.
describe(`Maidenhead locators: ${geoSky.maidenhead.rule_source}`, () => {
  it.each(geoSky.maidenhead.pairs as Row[])('$lat $lon is $locator8', (row) => {
    const position = { latitudeDeg: row.lat, longitudeDeg: row.lon }
    expect(locatorOf(position, 3)).toBe(row.locator6)
    expect(locatorOf(position, 4)).toBe(row.locator8)
    expect(locatorOf(position, 2)).toBe(row.locator6.slice(0, 4))
    expect(locatorOf(position, 1)).toBe(row.locator6.slice(0, 2))
    const cell = parseLocator(row.locator8)!
    expect(Math.abs(cell.centre.latitudeDeg - row.lat)).toBeLessThanOrEqual(cell.heightDeg / 2)
    expect(Math.abs(cell.centre.longitudeDeg - row.lon)).toBeLessThanOrEqual(cell.widthDeg / 2)
  })

  const cells = Object.entries(geoSky.maidenhead.cells) as [
    string,
    { sw: number[]; centre: number[]; size_deg: number[] },
  ][]
  it.each(cells)('%s is a cell', (locator, expected) => {
    const cell = parseLocator(locator)!
    // Printed to six decimals.
    expect(cell.southWest.latitudeDeg).toBeCloseTo(expected.sw[0]!, 6)
    expect(cell.southWest.longitudeDeg).toBeCloseTo(expected.sw[1]!, 6)
    expect(cell.centre.latitudeDeg).toBeCloseTo(expected.centre[0]!, 6)
    expect(cell.centre.longitudeDeg).toBeCloseTo(expected.centre[1]!, 6)
    expect(cell.heightDeg).toBeCloseTo(expected.size_deg[0]!, 6)
    expect(cell.widthDeg).toBeCloseTo(expected.size_deg[1]!, 6)
  })

  it('takes nothing else for a locator', () => {
    for (const text of ['', 'J', 'JN5', 'JN58t', 'SN58', 'JN58ty', 'JN58td2', 'JN58td255', '58JN'])
      expect(parseLocator(text), text).toBeUndefined()
  })

  it('ends the world at its edges', () => {
    expect(locatorOf({ latitudeDeg: 90, longitudeDeg: 180 })).toBe('RR99xx')
    expect(locatorOf({ latitudeDeg: -90, longitudeDeg: -180 })).toBe('AA00aa')
  })
})
