import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type AirtimeDisk, openAirtimeFile } from '../../src/radio/airtimeFile.js'
import { createDutyLedger, onTime } from '../../src/radio/dutyLedger.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { tellerOf } from './airtimeTeller.js'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  file = join(folder, 'new', 'airtime.json')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const dutyLimits = [
  { windowMs: 360_000, share: 0.2 },
  { windowMs: 1_800_000, share: 0.2 },
]
const startWallMs = Date.UTC(2026, 5, 1)

/** A process that begins at some moment of the wall clock. */
function processAt(
  wallMs: number,
  bootId?: string,
  { ranBefore = false, disk }: { ranBefore?: boolean; disk?: AirtimeDisk } = {},
) {
  const steady = virtualClock(startWallMs + wallMs)
  let setByMs = 0
  const clock = {
    ...steady,
    advanceBy: (ms: number) => steady.advanceTo(steady.monotonicMs() + ms),
    wallMs: () => steady.wallMs() + setByMs,
  }
  clock.advanceBy(1000)
  const faults: string[] = []
  const airtime = openAirtimeFile({
    file,
    clock,
    bootId,
    dutyLimits,
    timeOutMs: 8000,
    ranBefore,
    disk,
    onFault: (text) => faults.push(text),
  })
  const tell = tellerOf(airtime)
  const event = (kind: RadioEvent['kind'], owedSinceMs?: number): void =>
    tell({
      kind,
      radio: 0,
      reason: '',
      atMs: clock.monotonicMs(),
      atWallMs: clock.wallMs(),
      owedSinceMs,
    })
  const key = (ms: number): void => {
    event('keyed')
    clock.advanceBy(ms)
    event('unkeyed')
  }
  const setClockBy = (ms: number): void => {
    setByMs += ms
  }
  return { clock, airtime, faults, event, key, setClockBy }
}

const lengths = (spans: readonly { fromMs: number; toMs: number }[]) =>
  spans.map(({ fromMs, toMs }) => toMs - fromMs - 50)

const longestMs = ({ airtime, clock }: ReturnType<typeof processAt>): number =>
  createDutyLedger(dutyLimits, airtime.past().spans).longestMs(clock.monotonicMs())

function expectUsedUp(one: ReturnType<typeof processAt>): void {
  const nowMs = one.clock.monotonicMs()
  const { spans } = one.airtime.past()
  for (const { windowMs, share } of dutyLimits)
    expect(onTime(spans, nowMs - windowMs, nowMs)).toBeGreaterThan(share * windowMs - 1)
  expect(longestMs(one)).toBeLessThan(1)
}

describe('airtime beyond the life of a process', () => {
  it('the next process knows what the last one sent, and when', () => {
    const first = processAt(0)
    expect(first.airtime.past().spans).toEqual([])
    first.key(2000)
    first.clock.advanceBy(10_000)
    first.key(500)
    // began 1 s before the first was opened, ran 12.5 s; the next one 5 s later
    const next = processAt(1000 + 12_500 + 5000 - 1000)
    const past = next.airtime.past().spans
    expect(lengths(past)).toEqual([2000, 500])
    expect(past.at(-1)!.toMs).toBe(next.clock.monotonicMs() - 5000)
    expect(past[1]!.toMs - past[0]!.toMs).toBe(10_500)
  })

  it('a crash loop keeps the duty limit: 72 s of 6 minutes and no more', () => {
    const limit = { windowMs: 360_000, share: 0.2 }
    let sentMs = 0
    for (let life = 0; life < 30; life++) {
      const one = processAt(life * 11_000)
      const longestMs = createDutyLedger([limit], one.airtime.past().spans).longestMs(
        one.clock.monotonicMs(),
      )
      const ms = Math.min(8000, longestMs)
      if (ms > 0) one.key(ms)
      sentMs += ms
    }
    expect(sentMs).toBeGreaterThan(60_000)
    expect(sentMs).toBeLessThanOrEqual(72_000)
  })

  it('a process that died while keyed is taken to have sent until the time-out timer', () => {
    const first = processAt(0)
    first.event('keyed')
    const next = processAt(60_000)
    expect(lengths(next.airtime.past().spans)).toEqual([8000])
    // and what comes after does not lengthen it
    next.key(1000)
    expect(lengths(processAt(90_000).airtime.past().spans)).toEqual([8000, 1000])
  })

  it('with the clock of the machine set back, what lies in the future ended just now', () => {
    const first = processAt(500_000)
    first.key(3000)
    first.clock.advanceBy(1000)
    first.key(2000)
    const back = processAt(0)
    const past = back.airtime.past().spans
    expect(lengths(past)).toEqual([3000, 2000])
    expect(past[1]!.toMs).toBe(back.clock.monotonicMs())
    expect(past[0]!.toMs).toBeLessThanOrEqual(past[1]!.fromMs)
  })

  it('forgets what is older than the longest window', () => {
    const first = processAt(0)
    first.key(1000)
    expect(processAt(1_900_000).airtime.past().spans).toEqual([])
    const next = processAt(1_900_000)
    next.key(1000)
    expect(JSON.parse(readFileSync(file, 'utf8')).spans).toHaveLength(1)
  })

  it('is empty at the first start ever, and on record from then on', () => {
    const first = processAt(0)
    expect(first.airtime.past().spans).toEqual([])
    expect(first.faults).toEqual([])
    expect(existsSync(file)).toBe(true)
    // nothing was sent by a node that only listened, although its database is there
    const next = processAt(60_000, undefined, { ranBefore: true })
    expect(next.airtime.past().spans).toEqual([])
    expect(next.faults).toEqual([])
  })

  const damaged = ['', '{', '[]', '{"spans":3}', 'null', '{"spans":[{"fromWallMs":"x"}]}']
  it.each([...damaged, '{"spans":[null]}', '{"spans":[{"toWallMs":1}]}'])(
    'damaged (%s): the limits begin as used up, and it is told',
    (text) => {
      processAt(0).key(10)
      writeFileSync(file, text)
      const one = processAt(0)
      expectUsedUp(one)
      expect(one.faults).toEqual([
        `what was sent before this start is not known: ${file} is damaged; the duty limits begin as used up, and nothing is sent for at least 288 s`,
      ])
      // the next one knows when that was: a program that fails again and again is not silent for ever
      const next = processAt(300_000)
      expect(next.faults).toEqual([])
      expect(longestMs(next)).toBeGreaterThan(10_000)
    },
  )

  it('missing although the node has run before: taken for lost', () => {
    const one = processAt(0, undefined, { ranBefore: true })
    expectUsedUp(one)
    expect(one.faults[0]).toMatch(/is missing, although this node has run before/)
  })

  it('that cannot be read: as if used up, at every start', () => {
    writeFileSync(join(folder, 'new'), 'a file where a folder should be')
    for (const atMs of [0, 600_000, 6_000_000]) {
      const one = processAt(atMs)
      expectUsedUp(one)
      expect(one.faults.join('\n')).toMatch(/cannot be read/)
    }
  })

  const refuse = (): never => {
    throw Object.assign(new Error('EROFS: read-only file system'), { code: 'EROFS' })
  }
  const readOnly: AirtimeDisk = { replace: refuse, remove: refuse }

  it('on a disk that has become read-only: what it holds may be old', () => {
    const first = processAt(0)
    first.key(1000)
    const one = processAt(3_600_000, undefined, { ranBefore: true, disk: readOnly })
    expectUsedUp(one)
    expect(one.faults).toEqual([
      'airtime not written: the file system is read-only',
      expect.stringMatching(/airtime\.json cannot be written; the duty limits begin as used up/),
    ])
    one.key(2000)
    one.key(2000)
    expect(one.faults).toHaveLength(2)
    // sent 4 s of which the file knows nothing: so the next one must not believe it
    expectUsedUp(processAt(3_660_000, undefined, { ranBefore: true, disk: readOnly }))
  })

  // Found by the campaign, seed 290.
  it('a disk that was read-only for a while: what was sent meanwhile is written some seconds later', () => {
    let isReadOnly = false
    const disk: AirtimeDisk = {
      replace: (name, text) => {
        if (isReadOnly) refuse()
        mkdirSync(dirname(name), { recursive: true })
        writeFileSync(name, text)
      },
      remove: (name) => (isReadOnly ? refuse() : rmSync(name, { force: true })),
    }
    const one = processAt(0, undefined, { disk })
    one.key(1000)
    isReadOnly = true
    one.clock.advanceBy(10_000)
    one.key(2000)
    isReadOnly = false
    expect(JSON.parse(readFileSync(file, 'utf8')).spans).toHaveLength(1)
    one.clock.advanceBy(10_000)
    expect(lengths(processAt(60_000).airtime.past().spans)).toEqual([1000, 2000])
  })

  it('a first start on a read-only disk: the next one could not know it', () => {
    expectUsedUp(processAt(0, undefined, { disk: readOnly }))
  })

  it('on a full disk: what was read still holds, and what could not be written is not believed', () => {
    processAt(0).key(1000)
    const full: AirtimeDisk = {
      replace: () => {
        throw Object.assign(new Error('ENOSPC'), { code: 'ENOSPC' })
      },
      remove: (name) => rmSync(name, { force: true }),
    }
    const one = processAt(60_000, undefined, { ranBefore: true, disk: full })
    expect(lengths(one.airtime.past().spans)).toEqual([1000])
    expect(one.faults).toEqual(['airtime not written: the disk is full'])
    one.key(500)
    expect(lengths(one.airtime.past().spans)).toEqual([1000, 500])
    expectUsedUp(processAt(120_000, undefined, { ranBefore: true }))
  })

  it('a clock that is set while the line is on does not shorten the transmission', () => {
    for (const byMs of [-86_400_000 * 365, -3000, 86_400_000 * 365]) {
      rmSync(file, { force: true })
      const one = processAt(0)
      one.event('keyed')
      one.clock.advanceBy(4000)
      one.setClockBy(byMs)
      one.clock.advanceBy(2000)
      one.event('unkeyed')
      const past = one.airtime.past().spans
      expect(lengths(past)).toEqual([6000])
      expect(past[0]!.toMs).toBe(one.clock.monotonicMs())
    }
  })

  it('a clock that is set does not empty the window, nor does the next process of the same boot', () => {
    const one = processAt(0, 'boot')
    one.key(5000)
    one.setClockBy(86_400_000 * 365)
    expect(lengths(one.airtime.past().spans)).toEqual([5000])
    one.clock.advanceBy(60_000)
    one.key(1000)
    // this one began at the same monotonic moment as the first: its wall clock is a year on, and set once more
    const next = processAt(86_400_000 * 365 + 7000, 'boot')
    next.clock.advanceBy(70_000)
    expect(lengths(next.airtime.past().spans)).toEqual([5000, 1000])
  })

  // Found by the campaign, seed 810: the clock was years behind, the power failed, and then it was right.
  it.each([
    ['years ahead', 86_400_000 * 800],
    ['years behind', -86_400_000 * 800],
  ])('after a start of the machine with its clock %s the last has just ended', (_, wallMs) => {
    const one = processAt(0, 'boot')
    one.key(5000)
    one.clock.advanceBy(60_000)
    one.key(1000)
    const next = processAt(wallMs, 'another')
    const { spans } = next.airtime.past()
    expect(lengths(spans)).toEqual([5000, 1000])
    expect(spans[1]!.toMs).toBeGreaterThan(next.clock.monotonicMs() - 100)
    expect(spans[1]!.toMs - spans[0]!.toMs).toBeCloseTo(61_000, -2)
    // and no more after that
    next.clock.advanceBy(1_900_000)
    next.key(1000)
    expect(JSON.parse(readFileSync(file, 'utf8')).spans).toHaveLength(1)
  })

  it('an identification that is owed outlives the process, unless it is of another day', () => {
    const first = processAt(0)
    first.event('keyed')
    first.clock.advanceBy(1000)
    first.event('unkeyed', first.clock.monotonicMs() - 1000)
    const next = processAt(30_000)
    expect(next.clock.monotonicMs() - next.airtime.past().owedSinceMs!).toBe(30_000)
    expect(processAt(1_900_000).airtime.past().owedSinceMs).toBeUndefined()
    next.key(500)
    expect(processAt(40_000).airtime.past().owedSinceMs).toBeUndefined()
    next.event('keyed')
    // died while keyed: whatever it was, our call may be missing
    expect(processAt(50_000).airtime.past().owedSinceMs).toBeDefined()
  })
})
