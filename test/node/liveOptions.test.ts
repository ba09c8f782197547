import { describe, expect, it } from 'vitest'
import { offsetOf, ownOptions, takeOptions } from '../../src/node/liveOptions.js'
import type { NodeOptions } from '../../src/node/options.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'

const given = defaultNodeOptions({ call: 'N0DE-10' })
const tables = [
  'answers',
  'copies',
  'limits',
  'mailbox',
  'notices',
  'emergency',
  'beacons',
] as const
const weather = async () => undefined

describe('options of a running node', () => {
  it('are a copy: what changes in it changes nothing that was given', () => {
    const own = ownOptions(given)
    expect(own).toEqual(given)
    for (const table of tables) {
      expect(own[table]).not.toBe(given[table])
      Object.assign(own[table], { changed: true })
      expect(given[table]).not.toHaveProperty('changed')
    }
  })

  it('take over what may change, in the tables that others hold', () => {
    const own = ownOptions({ ...given, beacons: { ...given.beacons, weather } })
    const held = Object.fromEntries(tables.map((table) => [table, own[table]]))
    const next: NodeOptions = {
      ...{ ...given, call: 'N0NEW', position: { latitudeDeg: 1, longitudeDeg: 2 } },
      ...{ answering: false, heightM: 12, units: 'miles', operators: ['Q1OPS'], language: 'de' },
      ...{ timeZone: 'Europe/Vienna', utcOffsetMinutes: 90, status: 'new' },
      ...{ aliases: [{ name: 'INFO', services: [] }], groups: ['G'], ignored: ['Q2'] },
      quiet: { fromMinute: 1, toMinute: 2 },
      answers: { ...given.answers, window: 7 },
      copies: { ...given.copies, unnumberedMs: 8 },
      limits: { windowMs: 99, perStation: 9 },
      mailbox: { ...given.mailbox, total: 10 },
      notices: { ...given.notices, total: 11 },
      emergency: { ...given.emergency, reply: 'new' },
      beacons: {
        ...{ ...given.beacons, comment: 'new', notAfterMs: 5, weather: undefined },
        telemetry: [{ name: 'a', unit: 'b', step: 1, offset: 0, read: () => 1 }],
      },
    }
    expect(takeOptions(own, next)).toBe(false)
    expect(own).toEqual({
      ...next,
      // what the parts have built upon
      ...{ call: 'N0DE-10', position: given.position, operators: given.operators },
      language: given.language,
      limits: { windowMs: given.limits.windowMs, perStation: 9 },
      beacons: { ...next.beacons, telemetry: given.beacons.telemetry, weather },
    })
    for (const table of tables) expect(own[table]).toBe(held[table])
  })

  it('say whether beacons go by another schedule', () => {
    const schedules = [{ kind: 'status', everyMs: 1_000 }] as const
    const own = ownOptions(given)
    const next = { ...given, beacons: { ...given.beacons, schedules } }
    expect([takeOptions(own, next), takeOptions(own, next)]).toEqual([true, false])
  })

  it('tell the local time as they are now', () => {
    const own = ownOptions({ ...given, timeZone: '', utcOffsetMinutes: 60 })
    const offset = offsetOf(own)
    const summerMs = Date.UTC(2026, 6, 1)
    const first = offset()
    expect([first(summerMs), offset()]).toEqual([60, first])
    Object.assign(own, { utcOffsetMinutes: -90 })
    expect(offset()(summerMs)).toBe(-90)
    // two hours east in summer
    Object.assign(own, { timeZone: 'Europe/Vienna' })
    expect(offset()(summerMs)).toBe(120)
  })
})
