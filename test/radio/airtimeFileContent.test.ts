import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type AirtimeDisk, openAirtimeFile } from '../../src/radio/airtimeFile.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { tellerOf } from './airtimeTeller.js'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  file = join(folder, 'airtime.json')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const keptMs = 360_000
const wallMs0 = 1_000_000_000
const content = (): unknown => JSON.parse(readFileSync(file, 'utf8'))
const keep = (memory: unknown): void => writeFileSync(file, JSON.stringify(memory))

/** A process at whose monotonic 0 the wall clock said so. */
function open(wallMs: number, options: { bootId?: string; disk?: AirtimeDisk } = {}) {
  const clock = virtualClock(wallMs)
  const faults: string[] = []
  const airtime = openAirtimeFile({
    ...{ file, clock, bootId: options.bootId, disk: options.disk, ranBefore: false },
    ...{ dutyLimits: [{ windowMs: keptMs, share: 0.2 }], timeOutMs: 8000 },
    onFault: (text) => faults.push(text),
  })
  const tell = tellerOf(airtime)
  const tellOf = (kind: RadioEvent['kind'], atWallMs: number, owedSinceMs?: number): void =>
    tell({ kind, radio: 0, reason: '', atMs: clock.monotonicMs(), atWallMs, owedSinceMs })
  const event = (kind: RadioEvent['kind'], owedSinceMs?: number): void =>
    tellOf(kind, clock.wallMs(), owedSinceMs)
  return { clock, airtime, faults, event, tellOf }
}

describe('what the file holds', () => {
  it('is each stretch by the wall clock, what is owed, the boot, and how the clocks stood', () => {
    const { clock, event } = open(wallMs0, { bootId: 'b' })
    const common = { bootId: 'b', offsetMs: wallMs0 }
    expect(content()).toEqual({ spans: [], ...common })
    clock.advanceTo(1000)
    event('keyed')
    const fromWallMs = wallMs0 + 1000
    expect(content()).toEqual({ spans: [{ fromWallMs }], ...common })
    clock.advanceTo(3000)
    event('unkeyed', 1500)
    const span = { fromWallMs, toWallMs: wallMs0 + 3000 }
    expect(content()).toEqual({ spans: [span], owedSinceWallMs: wallMs0 + 1500, ...common })
    clock.advanceTo(10_000)
    event('keyed')
    clock.advanceTo(10_500)
    event('unkeyed')
    const next = { fromWallMs: wallMs0 + 10_000, toWallMs: wallMs0 + 10_500 }
    expect(content()).toEqual({ spans: [span, next], ...common })
  })

  it('changes with the key line only', () => {
    const { clock, event } = open(wallMs0)
    rmSync(file)
    clock.advanceTo(1000)
    for (const kind of ['sent', 'cut', 'identified', 'hold', 'fault'] as const) event(kind)
    expect(() => content()).toThrow(/ENOENT/)
  })

  it('a line that goes off once more, or was never on, changes no stretch', () => {
    const spans = [{ fromWallMs: wallMs0 - 9000, toWallMs: wallMs0 - 8000 }]
    keep({ spans })
    const { clock, event } = open(wallMs0)
    clock.advanceTo(1000)
    event('unkeyed')
    expect(content()).toMatchObject({ spans })
  })

  it('a line that goes off where nothing was ever sent makes no stretch', () => {
    const { event, faults } = open(wallMs0)
    event('unkeyed')
    expect([content(), faults]).toEqual([{ spans: [], offsetMs: wallMs0 }, []])
  })

  it('a stretch is as long as the monotonic clock says, though the clock was set before its begin was heard of', () => {
    const { clock, event, tellOf } = open(wallMs0)
    clock.advanceTo(1000)
    tellOf('keyed', wallMs0 - 3_600_000)
    clock.advanceTo(3000)
    event('unkeyed')
    const span = { fromWallMs: wallMs0 + 1000, toWallMs: wallMs0 + 3000 }
    expect(content()).toMatchObject({ spans: [span] })
  })

  it('one that the process before left open ends when this one says that the line is off', () => {
    keep({ spans: [{ fromWallMs: wallMs0 - 2000 }] })
    const { clock, event } = open(wallMs0)
    clock.advanceTo(1000)
    event('unkeyed')
    const spans = [{ fromWallMs: wallMs0 - 2000, toWallMs: wallMs0 + 1000 }]
    expect(content()).toMatchObject({ spans })
  })

  it('is kept as long as the longest window counts it, to the millisecond', () => {
    const span = (agoMs: number) => ({
      ...{ fromWallMs: wallMs0 - agoMs - 1000, toWallMs: wallMs0 - agoMs },
    })
    keep({ spans: [span(keptMs + 1), span(keptMs)] })
    const { airtime } = open(wallMs0)
    expect(content()).toMatchObject({ spans: [span(keptMs)] })
    expect(airtime.past().spans).toEqual([{ fromMs: -keptMs - 1050, toMs: -keptMs }])
  })
})

describe('what earlier processes did', () => {
  it('is read in the order of time, whatever order it stands in', () => {
    const spans = [40_000, 90_000, 60_000].map((agoMs) => ({
      ...{ fromWallMs: wallMs0 - agoMs, toWallMs: wallMs0 - agoMs + 1000 },
    }))
    keep({ spans })
    expect(open(wallMs0).airtime.past()).toEqual({
      spans: [-90_000, -60_000, -40_000].map((at) => ({ fromMs: at - 50, toMs: at + 1000 })),
      owedSinceMs: undefined,
    })
  })

  it('a stretch that ends before it begins has no length but the margin', () => {
    keep({ spans: [{ fromWallMs: wallMs0 - 1000, toWallMs: wallMs0 - 5000 }] })
    expect(open(wallMs0).airtime.past().spans).toEqual([{ fromMs: -5050, toMs: -5000 }])
  })

  it('after a start of the machine one that was left open has lasted to the time-out timer, and just ended', () => {
    const older = { fromWallMs: wallMs0 - 20_000, toWallMs: wallMs0 - 19_000 }
    const oldest = { fromWallMs: wallMs0 - 40_000, toWallMs: wallMs0 - 39_000 }
    const boot = { bootId: 'a', offsetMs: wallMs0 }
    keep({ spans: [oldest, older, { fromWallMs: wallMs0 - 9000 }], ...boot })
    const { spans } = open(wallMs0 + 500_000, { bootId: 'b' }).airtime.past()
    expect(spans).toEqual([
      { fromMs: -39_050, toMs: -38_000 },
      { fromMs: -19_050, toMs: -18_000 },
      { fromMs: -8050, toMs: 0 },
    ])
  })

  it('after a start of the machine that had sent nothing is nothing', () => {
    keep({ spans: [], bootId: 'a', offsetMs: wallMs0 })
    expect(open(wallMs0, { bootId: 'b' }).airtime.past()).toEqual({ spans: [] })
  })

  it('counts no more when it has left the longest window, also where nothing is written', () => {
    keep({ spans: [{ fromWallMs: wallMs0 - 9000, toWallMs: wallMs0 - 8000 }] })
    const { clock, airtime } = open(wallMs0)
    clock.advanceTo(keptMs - 8000)
    expect(airtime.past().spans).toHaveLength(1)
    clock.advanceTo(keptMs - 7999)
    expect(airtime.past().spans).toEqual([])
  })

  it('that is none of ours is not believed', () => {
    keep({ spans: [{ fromWallMs: wallMs0 - 9000, toWallMs: 'x' }] })
    expect(open(wallMs0).faults).toEqual([expect.stringContaining(`${file} is damaged`)])
  })

  it('without a name for its boot, or for ours, the wall clock counts', () => {
    const span = { fromWallMs: wallMs0 - 9000, toWallMs: wallMs0 - 8000 }
    const past = [{ fromMs: -9050, toMs: -8000 }]
    for (const [bootId, own] of [
      ['a', undefined],
      [undefined, 'b'],
      [17, 'b'],
    ]) {
      keep({ spans: [span], bootId, offsetMs: 5 })
      expect(open(wallMs0, { bootId: own as string }).airtime.past().spans).toEqual(past)
    }
    // a name alone does not tell how its clocks stood
    keep({ spans: [span], bootId: 'b' })
    expect(open(wallMs0, { bootId: 'b' }).airtime.past().spans).toEqual(past)
  })

  it('in the same boot the monotonic clock counts, for what is owed too', () => {
    const spans = [{ fromWallMs: wallMs0 + 1000, toWallMs: wallMs0 + 2000 }]
    keep({ spans, owedSinceWallMs: wallMs0 + 1000, bootId: 'b', offsetMs: wallMs0 })
    // the wall clock was set on by a day since then
    const { clock, airtime } = open(wallMs0 + 86_400_000, { bootId: 'b' })
    clock.advanceTo(10_000)
    expect(airtime.past()).toEqual({ spans: [{ fromMs: 950, toMs: 2000 }], owedSinceMs: 1000 })
    expect(content()).toMatchObject({ offsetMs: wallMs0 + 86_400_000 })
    keep({ spans, bootId: 'b', offsetMs: wallMs0 })
    expect(open(wallMs0 + 86_400_000, { bootId: 'b' }).airtime.past().owedSinceMs).toBeUndefined()
  })
})

describe('what is owed', () => {
  const spans = [{ fromWallMs: wallMs0 - 9000, toWallMs: wallMs0 - 8000 }]
  const owed = (memory: object): number | undefined => {
    keep({ spans, ...memory })
    return open(wallMs0).airtime.past().owedSinceMs
  }

  it('is owed for as long as the longest window, and not from the future', () => {
    expect(owed({ owedSinceWallMs: wallMs0 - 9000 })).toBe(-9000)
    expect(owed({ owedSinceWallMs: wallMs0 - keptMs })).toBe(-keptMs)
    expect(owed({ owedSinceWallMs: wallMs0 - keptMs - 1 })).toBeUndefined()
    expect(owed({ owedSinceWallMs: wallMs0 + 5000 })).toBe(0)
    expect(owed({ owedSinceWallMs: 'yesterday' })).toBeUndefined()
    expect(owed({})).toBeUndefined()
  })

  it('since a process died while keyed, unless it was before', () => {
    const died = [...spans, { fromWallMs: wallMs0 - 4000 }]
    expect(owed({ spans: died })).toBe(-4000)
    expect(owed({ spans: died, owedSinceWallMs: wallMs0 - 9000 })).toBe(-9000)
  })
})

describe('a disk that cannot be written', () => {
  function disk() {
    let isFull = false
    const replaced: string[] = []
    const removed: string[] = []
    const self: AirtimeDisk = {
      replace(name, text) {
        if (isFull) throw Object.assign(new Error('ENOSPC'), { code: 'ENOSPC' })
        replaced.push(text)
        writeFileSync(name, text)
      },
      remove(name) {
        removed.push(name)
        rmSync(name, { force: true })
      },
    }
    return { self, replaced, removed, fill: (now: boolean) => (isFull = now) }
  }

  it('is tried each 10 s until it works; told once, and anew when it fails anew', () => {
    const { self, replaced, removed, fill } = disk()
    const { clock, faults, event } = open(wallMs0, { disk: self })
    fill(true)
    clock.advanceTo(1000)
    event('keyed')
    clock.advanceTo(2000)
    event('unkeyed')
    expect([faults, removed.length]).toEqual([['airtime not written: the disk is full'], 2])
    clock.advanceTo(12_000)
    expect(removed).toHaveLength(3)
    fill(false)
    clock.advanceTo(21_999)
    expect(replaced).toHaveLength(1)
    clock.advanceTo(22_000)
    expect(replaced).toHaveLength(2)
    expect(JSON.parse(replaced[1]!).spans).toEqual([
      { fromWallMs: wallMs0 + 1000, toWallMs: wallMs0 + 2000 },
    ])
    expect(clock.nextAtMs()).toBeUndefined()
    fill(true)
    event('keyed')
    expect(faults).toHaveLength(2)
    // what is written by the next event is not written once more
    fill(false)
    clock.advanceTo(23_000)
    event('unkeyed')
    expect([clock.nextAtMs(), replaced.length]).toEqual([undefined, 3])
  })

  it('keeps no process alive for that', () => {
    const { self, fill } = disk()
    fill(true)
    const clock = virtualClock(wallMs0)
    const booked: unknown[] = []
    openAirtimeFile({
      ...{ file, bootId: undefined, disk: self, ranBefore: false, onFault: () => {} },
      ...{ dutyLimits: [], timeOutMs: 8000 },
      clock: {
        ...clock,
        at: (atMs, run, how) => {
          booked.push(how)
          return clock.at(atMs, run)
        },
      },
    })
    expect(booked).toEqual([{ keepsAlive: false }])
  })
})
