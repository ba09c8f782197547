import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { lossJournal } from '../../src/node/lossJournal.js'
import { createWatchers, type RadioReport, type WatchWish } from '../../src/radio/radioWatch.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openTestStore } from '../store/openTestStore.js'

const startMs = 1_790_000_000_000
const page: WatchWish = { spectrum: true, audio: false }

function journal({ looksAlways = false, file = ':memory:' } = {}) {
  const { store, clock } = openTestStore(file, virtualClock(startMs))
  let wish: WatchWish | undefined
  const watchers = createWatchers((next) => {
    wish = next
  })
  const port = { radio: 1, name: '2 m', watch: watchers.add }
  const stop = lossJournal({ ports: [port], store, clock, looksAlways })
  const damaged = (cause?: string): void =>
    watchers.tell({
      ...{ kind: 'damaged', fromWallMs: clock.wallMs() - 1840, toWallMs: clock.wallMs() - 1000 },
      ...{ levelDbfs: -22.6, toneBalanceDb: -9, cause },
    })
  const lines = () => store.events.query({ kinds: ['damaged'], limit: 9999 })
  return { store, clock, watchers, damaged, lines, stop, wish: () => wish }
}

describe('what was damaged', () => {
  it('is in the log, after a restart too, with the causes word for word', () => {
    const file = join(mkdtempSync(join(tmpdir(), 'ridgepost-losses-')), 'node.db')
    const { store, damaged } = journal({ file })
    const cause = '2200 Hz tone 9 dB low: de-emphasised twice?; weak: Eb/N0 8 dB: a better antenna'
    damaged(cause)
    damaged()
    store.close()
    const { store: again } = openTestStore(file, virtualClock(startMs + 60_000))
    const { id, ...line } = again.events.query({ kinds: ['damaged'] })[0]!
    expect(line).toEqual({
      ...{ atWallMs: startMs - 1000, kind: 'damaged', radio: 1, reason: cause },
      text: 'a frame of 0.8 s at -23 dBFS was lost',
    })
    expect(again.events.query({ kinds: ['damaged'] })[1]).not.toHaveProperty('reason', cause)
    again.close()
  })

  it('is looked into only while somebody looks, and kept then', () => {
    const { watchers, damaged, lines, wish } = journal()
    expect(wish()).toBeUndefined()
    const seen: RadioReport['kind'][] = []
    const stopLooking = watchers.add(page, ({ kind }) => void seen.push(kind))
    damaged('hum')
    watchers.tell({ kind: 'row', atWallMs: 0, levels: new Uint8Array(144) })
    expect(seen).toEqual(['damaged', 'row'])
    expect(lines().map(({ reason }) => reason)).toEqual(['hum'])
    stopLooking()
    expect(wish()).toBeUndefined()
  })

  it('is looked into always where that is wanted, without what only a page needs', () => {
    const { wish, stop } = journal({ looksAlways: true })
    expect(wish()).toEqual({ spectrum: false, audio: false })
    stop()
    expect(wish()).toBeUndefined()
  })

  it('does not fill the log in a noisy hour, and the number is told', () => {
    const { clock, damaged, lines } = journal()
    for (let count = 0; count < 1000; count++) {
      damaged('weak')
      clock.advanceBy(1000)
    }
    expect(lines()).toHaveLength(121)
    expect(lines().at(-1)).toMatchObject({
      text: '2 m',
      reason: expect.stringMatching(/happens often/),
    })
    clock.advanceBy(3_600_000)
    damaged('weak')
    expect(lines().at(-2)).toMatchObject({ reason: '880 more of these in an hour, not listed' })
  })
})
