import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { type EmergencyReport, emergencyMarks } from '../../src/node/emergencyMarks.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore } from '../../src/store/store.js'

const minuteMs = 60_000

function bench() {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const reports: EmergencyReport[] = []
  const world = { flushed: 0 }
  const parts = {
    ...{ clock, store: { ...store, flush: () => void world.flushed++ } },
    note: (kind: NodeEvent['kind'], text: string, detail?: object) =>
      void events.push({ kind, text, ...detail }),
    options: defaultNodeOptions({ call: 'N0DE-10' }),
  }
  const marks = emergencyMarks({ ...parts, onEmergency: (report) => reports.push(report) })
  const said = (text: string, from: string, thirdParty = false) => ({
    ...{ from, thirdParty, frame: { radio: 2 } },
    payload: parsePayload(new TextEncoder().encode(text), 'APZ000'),
  })
  const hear = (text: string, from = 'Q1ABC', thirdParty = false) =>
    marks(said(text, from, thirdParty))
  const marked = () => events.filter(({ station }) => station !== undefined).length
  const knownAt = (agoMs: number) =>
    store.stations.add({
      ...{ call: 'Q1ABC', radio: 0, via: [], atWallMs: clock.wallMs() - agoMs },
      position: { latitudeDeg: 45, longitudeDeg: -36 },
    })
  return { store, clock, events, reports, world, parts, said, hear, marked, knownAt }
}

describe('a call for help', () => {
  it('is marked with what was heard, is on the disk at once, and is told', () => {
    const { hear, events, reports, world } = bench()
    expect(hear(':N0DE-10  :SOS leg broken{12')).toEqual({
      ...{ sign: 'sos', exercise: false, text: 'SOS leg broken' },
    })
    expect(events).toEqual([
      {
        ...{ kind: 'emergency', station: 'Q1ABC', radio: 2, reason: undefined },
        text: expect.stringMatching(/^sos: .*SOS leg broken/),
      },
    ])
    expect(reports).toEqual([
      {
        ...{ sign: 'sos', exercise: false, text: 'SOS leg broken', station: 'Q1ABC', radio: 2 },
        position: undefined,
      },
    ])
    expect(world.flushed).toBe(1)
  })

  it('is none where nothing calls for help', () => {
    const { hear, events, world } = bench()
    expect(hear('>all well')).toBeUndefined()
    expect([events, world.flushed]).toEqual([[], 0])
  })

  it('is told what speaks against it: an exercise, a call before, another who passed it on', () => {
    const { hear, events, reports } = bench()
    hear('>EMERGENCY')
    hear('>EMERGENCY exercise', 'Q1ABC', true)
    expect(events.at(-1)?.reason).toBe(
      'says that it is an exercise, called before within ten minutes, passed on by another station',
    )
    expect(reports).toHaveLength(1)
  })

  it('of a station within ten minutes is told once, marked six times', () => {
    const { hear, clock, reports, marked, world } = bench()
    for (let count = 0; count < 8; count++) expect(hear('>EMERGENCY')).toBeDefined()
    expect([reports.length, marked(), world.flushed]).toEqual([1, 6, 1])
    clock.advanceBy(10 * minuteMs - 1)
    hear('>EMERGENCY')
    expect([reports.length, marked()]).toEqual([1, 6])
    clock.advanceBy(1)
    hear('>EMERGENCY')
    expect([reports.length, marked()]).toEqual([2, 7])
  })

  it('is marked sixty times in ten minutes; that no more are is said once', () => {
    const { hear, clock, events, reports, marked } = bench()
    for (let count = 0; count < 65; count++) expect(hear('>EMERGENCY', `Q${count}`)).toBeDefined()
    expect([marked(), reports.length]).toEqual([60, 60])
    expect(events.slice(60)).toEqual([
      {
        ...{ kind: 'emergency', text: 'calls for help' },
        reason: '60 in ten minutes: no more of them are marked for a while',
      },
    ])
    clock.advanceBy(10 * minuteMs)
    hear('>EMERGENCY', 'Q99')
    expect(marked()).toBe(61)
  })

  it('that is no message is told three times in six hours; a message each time', () => {
    const { hear, clock, reports } = bench()
    for (let count = 0; count < 5; count++) {
      hear('>EMERGENCY')
      clock.advanceBy(10 * minuteMs)
    }
    expect(reports).toHaveLength(3)
    hear(':N0DE-10  :SOS')
    expect(reports).toHaveLength(4)
    hear('>EMERGENCY', 'Q2ABC')
    expect(reports).toHaveLength(5)
    // those that were not told count as well: the last was forty minutes after the first
    clock.advanceBy(6 * 60 * minuteMs - 10 * minuteMs - 1)
    hear('>EMERGENCY')
    expect(reports).toHaveLength(6)
  })

  it('is marked also where nobody is to be told', () => {
    const { parts, said, events } = bench()
    emergencyMarks(parts)(said('>EMERGENCY', 'Q1ABC'))
    expect(events).toHaveLength(1)
  })
})

describe('where a station that calls for help is', () => {
  it('is what it says now', () => {
    const { hear, reports, knownAt } = bench()
    knownAt(minuteMs)
    hear('!4512.00N/03642.00W>EMERGENCY')
    expect(reports[0]?.position).toEqual({ latitudeDeg: 45.2, longitudeDeg: -36.7, ageMs: 0 })
  })

  it('is what it said before, with how long ago', () => {
    const { hear, reports, knownAt } = bench()
    knownAt(minuteMs)
    hear('>EMERGENCY')
    expect(reports[0]?.position).toEqual({
      ...{ latitudeDeg: 45, longitudeDeg: -36, ageMs: minuteMs },
    })
  })

  it('is unknown where that was said in a time to come, or another station speaks for it', () => {
    const { hear, reports, knownAt } = bench()
    knownAt(-minuteMs)
    hear('>EMERGENCY')
    const passed = bench()
    passed.knownAt(minuteMs)
    passed.hear('>EMERGENCY', 'Q1ABC', true)
    expect([reports[0]?.position, passed.reports[0]?.position]).toEqual([undefined, undefined])
  })
})
