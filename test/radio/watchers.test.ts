import { describe, expect, it } from 'vitest'
import { queueTeller } from '../../src/radio/queueTeller.js'
import { createWatchers, type RadioReport, type WatchWish } from '../../src/radio/radioWatch.js'
import type { Waiting } from '../../src/radio/transmitQueue.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const wish = (spectrum: boolean, audio: boolean): WatchWish => ({ spectrum, audio })
const row: RadioReport = { kind: 'row', atWallMs: 1, levels: new Uint8Array(144) }
const audio: RadioReport = { kind: 'audio', samples: new Int16Array(1) }
const carrier: RadioReport = { kind: 'carrier', atWallMs: 1, busy: true }

describe('those who look at one radio', () => {
  it('want together what any of them wants, and it is told only when that has become another', () => {
    const changes: (WatchWish | undefined)[] = []
    const watchers = createWatchers((one) => changes.push(one))
    const none = (): void => {}
    expect(watchers.wish).toBeUndefined()
    watchers.add(undefined, none)
    expect(changes).toEqual([])
    const first = watchers.add(wish(false, false), none)
    const second = watchers.add(wish(true, false), none)
    const third = watchers.add(wish(false, true), none)
    const fourth = watchers.add(wish(true, true), none)
    expect(watchers.wish).toEqual(wish(true, true))
    fourth()
    expect(changes).toEqual([wish(false, false), wish(true, false), wish(true, true)])
    second()
    first()
    third()
    third()
    expect(changes.slice(3)).toEqual([wish(false, true), undefined])
    expect(watchers.wish).toBeUndefined()
  })

  it('hear rows and audio where they asked for them, and all else in any case', () => {
    const watchers = createWatchers(() => {})
    const heard = [wish(true, false), wish(false, true), wish(false, false), undefined].map(
      (one) => {
        const kinds: string[] = []
        watchers.add(one, ({ kind }) => kinds.push(kind))
        return kinds
      },
    )
    for (const report of [row, audio, carrier]) watchers.tell(report)
    expect(heard).toEqual([['row', 'carrier'], ['audio', 'carrier'], ['carrier'], ['carrier']])
  })
})

describe('the queue as it is told', () => {
  const octets = Uint8Array.of(1, 2)
  const item = (id: string, change: Partial<Waiting> = {}): Waiting => ({
    ...{ id, priority: 'answer', notAfterMs: 60_000, origin: 'kiss', sinceMs: 1000 },
    content: { kind: 'frame', octets, identifies: true },
    ...change,
  })

  it('has of each request its age, what time is left, and for what it is held', () => {
    const clock = virtualClock(1_000_000)
    clock.advanceTo(5000)
    const reports: RadioReport[] = []
    const content = { kind: 'tone', tone: 'mark', durationMs: 1 } as const
    const items = [item('a', { heldFor: 'a hold' }), item('b', { content, origin: 'operator' })]
    queueTeller(
      clock,
      () => items,
      (report) => reports.push(report),
    ).look()
    const common = { priority: 'answer', ageMs: 4000, leftMs: 55_000 }
    expect(reports).toEqual([
      {
        ...{ kind: 'queue', atWallMs: 1_005_000 },
        items: [
          { id: 'a', origin: 'kiss', ...common, heldFor: 'a hold', octets },
          { id: 'b', origin: 'operator', ...common, heldFor: undefined, octets: undefined },
        ],
      },
    ])
  })

  it('is told when it is another: one more, one less, one that is held, and 100 of it at most', () => {
    let items: Waiting[] = []
    const counts: number[] = []
    const teller = queueTeller(
      virtualClock(),
      () => items,
      (report) => counts.push(report.kind === 'queue' ? report.items.length : -1),
    )
    const look = (...now: Waiting[]): void => {
      items = now
      teller.look()
      teller.look()
    }
    look()
    expect(counts).toEqual([])
    look(item('a'))
    look(item('a', { heldFor: 'x' }))
    look(item('a', { heldFor: 'x' }), item('b'))
    look()
    look(...Array.from({ length: 101 }, (_, index) => item(`${index}`)))
    expect(counts).toEqual([1, 1, 2, 0, 100])
  })
})
