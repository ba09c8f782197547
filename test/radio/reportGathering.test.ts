import { describe, expect, it } from 'vitest'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import { gatherReports } from '../../src/radio/reportGathering.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const row = (atWallMs: number): RadioReport => ({
  kind: 'row',
  atWallMs,
  levels: new Uint8Array(1),
})

function gathering() {
  const clock = virtualClock()
  const posts: (readonly RadioReport[])[] = []
  const tell = gatherReports(clock, (reports) => void posts.push(reports))
  /** A piece of audio that brings these, after so long. */
  const piece = async (ms: number, ...reports: RadioReport[]): Promise<void> => {
    clock.advanceBy(ms)
    for (const report of reports) tell(report)
    await Promise.resolve()
  }
  return { posts, piece }
}

describe('what a radio reports to the main thread', () => {
  it('what one piece of audio brings goes in one message', async () => {
    const { posts, piece } = gathering()
    await piece(1000, row(1), row(2))
    expect(posts).toEqual([[row(1), row(2)]])
  })

  it('rows wait for others up to a fifth of a second, and none is lost or out of order', async () => {
    const { posts, piece } = gathering()
    for (let at = 0; at < 100; at++) await piece(60, row(at))
    // 6 s of audio
    expect(posts.length).toBeLessThanOrEqual(31)
    const told = posts.flat().map((report) => (report.kind === 'row' ? report.atWallMs : -1))
    expect(told).toEqual(Array.from({ length: told.length }, (_, at) => at))
    expect(told.length).toBeGreaterThan(96)
  })

  it('what somebody waits for goes at once, with what waits before it', async () => {
    const { posts, piece } = gathering()
    await piece(1000, row(1))
    await piece(20, row(2))
    await piece(20, { kind: 'carrier', atWallMs: 3, busy: true })
    expect(posts.map((reports) => reports.map(({ kind }) => kind))).toEqual([
      ['row'],
      ['row', 'carrier'],
    ])
  })

  it('more than can be is not kept', async () => {
    const { posts, piece } = gathering()
    await piece(1000, row(0))
    for (let at = 1; at <= 250; at++) await piece(0, row(at))
    expect(posts.slice(1).map(({ length }) => length)).toEqual([100, 100])
  })

  it('what may wait goes 200 ms after what went last, and what may not starts that time anew', async () => {
    const { posts, piece } = gathering()
    await piece(1000, row(1))
    await piece(199, row(2))
    expect(posts).toHaveLength(1)
    await piece(1, row(3))
    expect(posts.map(({ length }) => length)).toEqual([1, 2])
    await piece(1, { kind: 'audio', samples: new Int16Array(1) })
    expect(posts).toHaveLength(2)
    await piece(100, { kind: 'queue', atWallMs: 1, items: [] })
    expect(posts.map(({ length }) => length)).toEqual([1, 2, 2])
    const { rmsDbfs, peakDbfs, clippedShare } = { rmsDbfs: 0, peakDbfs: 0, clippedShare: 0 }
    const counts = { readCount: 0, repairedCount: 0, damagedCount: 0 }
    const levels = { rmsDbfs, peakDbfs, clippedShare }
    await piece(199, { kind: 'reading', atWallMs: 1, ...levels, ...counts })
    expect(posts).toHaveLength(3)
    await piece(1, row(3))
    expect(posts).toHaveLength(4)
  })
})
