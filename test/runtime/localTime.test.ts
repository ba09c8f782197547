import { describe, expect, it } from 'vitest'
import { isTimeZone, offsetAtIn } from '../../src/runtime/localTime.js'

const inZone = (timeZone: string) => offsetAtIn({ timeZone, utcOffsetMinutes: 7 })
const at = Date.parse

describe('local time', () => {
  // Directive 2000/84/EC: summer time begins and ends at 01:00 UTC on the last Sundays of March and October.
  it.each([
    ['Europe/Lisbon', 0],
    ['Europe/Berlin', 60],
    ['Atlantic/Azores', -60],
  ])('changes %s at the hours of the directive', (zone, winterMinutes) => {
    const offsetAt = inZone(zone)
    expect(offsetAt(at('2026-03-29T00:59:59.999Z'))).toBe(winterMinutes)
    expect(offsetAt(at('2026-03-29T01:00:00Z'))).toBe(winterMinutes + 60)
    expect(offsetAt(at('2026-10-25T00:59:59.999Z'))).toBe(winterMinutes + 60)
    expect(offsetAt(at('2026-10-25T01:00:00Z'))).toBe(winterMinutes)
  })

  // From memory: a half-hour's change (Lord Howe), zones off the hour, and a zone without daylight saving.
  it.each([
    ['Australia/Lord_Howe', '2026-01-15T00:00:00Z', 660],
    ['Australia/Lord_Howe', '2026-07-15T00:00:00Z', 630],
    ['Asia/Kathmandu', '2026-07-15T00:00:00Z', 345],
    ['Pacific/Kiritimati', '2026-07-15T00:00:00Z', 840],
    ['Asia/Tokyo', '2026-07-15T00:00:00Z', 540],
  ])('knows %s at %s', (zone, time, minutes) => {
    expect(inZone(zone)(at(time))).toBe(minutes)
  })

  it('is the fixed offset without a zone', () => {
    expect(inZone('')(at('2026-07-15T00:00:00Z'))).toBe(7)
  })

  it('asks for the same as before as often as it likes, over years', () => {
    const offsetAt = inZone('Europe/Berlin')
    for (let quarter = 0; quarter < 2_500; quarter++)
      offsetAt(at('2026-01-01T00:00:00Z') + quarter * 900_000)
    expect(offsetAt(at('2026-01-01T00:00:00Z'))).toBe(60)
  })

  it.each([
    ['Europe/Berlin', true],
    ['UTC', true],
    ['Europe/Atlantis', false],
    ['+02:00', false],
    ['', false],
    ['Berlin', false],
  ])('takes "%s" for a zone: %s', (name, known) => {
    expect(isTimeZone(name)).toBe(known)
  })
})
