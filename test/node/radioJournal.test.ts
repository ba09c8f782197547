import { describe, expect, it } from 'vitest'
import { createRunLog, keepingLog } from '../../src/cli/run/runLog.js'
import type { RadioEventKind } from '../../src/radio/radioEvent.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openTestStore } from '../store/openTestStore.js'

function journal() {
  const { store, clock } = openTestStore(':memory:', virtualClock(1_790_000_000_000))
  const log = keepingLog(
    createRunLog({ write: () => {} }, { level: 'quiet', format: 'text' }, clock),
    clock,
  )
  log.keepFaultsIn(store)
  const tell = (kind: RadioEventKind, reason: string, radio = 0): void =>
    log.radio(`radio ${radio}`, {
      ...{ radio, kind, reason, atMs: clock.monotonicMs(), atWallMs: clock.wallMs() },
    })
  const lines = () =>
    store.events
      .query({ limit: 99_999 })
      .map(({ kind, radio, text, reason }) => [kind, radio, text, reason])
  return { store, clock, log, tell, lines }
}

describe('radio events', () => {
  it('are in the log, in one order with those of the node', () => {
    const { store, clock, tell, lines } = journal()
    tell('hold', 'held at the terminal')
    store.events.add({ atWallMs: clock.wallMs(), kind: 'asked', text: 'sun' })
    tell('cut', 'longer than 8 s')
    tell('fault', 'audio device gone', 1)
    tell('recovered', 'audio device is back', 1)
    tell('settings', 'txDelay 300')
    tell('release', 'released')
    expect(lines()).toEqual([
      ['hold', 0, 'radio 0', 'held at the terminal'],
      ['asked', undefined, 'sun', undefined],
      ['cut', 0, 'radio 0', 'longer than 8 s'],
      ['fault', 1, 'radio 1', 'audio device gone'],
      ['recovered', 1, 'radio 1', 'audio device is back'],
      ['settings', 0, 'radio 0', 'txDelay 300'],
      ['release', 0, 'radio 0', 'released'],
    ])
  })

  it('that are told of frames, or are transmissions, are not told twice', () => {
    const { tell, lines } = journal()
    for (const kind of [
      'queued',
      'held',
      'sent',
      'refused',
      'expired',
      'keyed',
      'unkeyed',
    ] as const)
      tell(kind, 'x')
    expect(lines()).toEqual([])
  })

  it('a line that flaps does not fill it, and the number is told', () => {
    const { clock, tell, lines } = journal()
    for (let count = 0; count < 5_000; count++) {
      tell('fault', 'the key line is gone')
      tell('recovered', 'the key line is back')
      clock.advanceBy(100)
    }
    tell('cut', 'longer than 8 s')
    expect(lines()).toHaveLength(2 * 21 + 1)
    expect(lines().at(-2)?.[3]).toMatch(/happens often/)
    expect(lines().at(-1)?.[0]).toBe('cut')
    clock.advanceBy(3_600_000)
    tell('fault', 'the key line is gone')
    expect(lines().slice(-2)).toEqual([
      ['fault', 0, 'radio 0', '4980 more of these in an hour, not listed'],
      ['fault', 0, 'radio 0', 'the key line is gone'],
    ])
  })
})
