import { afterEach, describe, expect, it } from 'vitest'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { FromWorker } from '../../src/radio/workerMessages.js'
import { request, transmitDefaults } from './fixtures.js'
import { bench, closeRadio, down, own, setup } from './soundCardBench.js'

afterEach(closeRadio)

const eventOf = (kind: RadioEvent['kind'], atMs: number): FromWorker => ({
  type: 'event',
  event: { radio: 0, kind, atMs, atWallMs: 0, reason: 'a test' },
})
const ended = (how: string): string => `the radio's thread ended: ${how}`

describe('a thread that ends', () => {
  it('is told with how it ended; what it had not finished is refused, and so is what comes', async () => {
    const { clock, port, outcomes, events, started, script, seen, post } = bench()
    port.start()
    await started()
    const state = { ...down, receiving: true, dutyUsed: 0.25 }
    await post({ type: 'state', state, access: transmitDefaults.access })
    port.send(request('a', own))
    port.send(request('b', own))
    await post({ type: 'outcome', outcome: { id: 'a', kind: 'sent', atMs: 1, airtimeMs: 1 } })
    outcomes.length = 0
    clock.advanceTo(900)
    script('exit', '3')
    await seen(({ kind }) => kind === 'fault')
    const [atMs, reason] = [900, ended('status 3')]
    expect(outcomes).toEqual([{ id: 'b', kind: 'refused', atMs, reason }])
    expect(events.at(-1)).toEqual({
      ...{ kind: 'fault', radio: 0, atMs, atWallMs: clock.wallMs(), reason },
    })
    expect(port.state()).toEqual({
      ...{ ...down, dutyUsed: 0.25, transmitBlockedBy: reason, faultCount: 0 },
    })
    port.send(request('c', own))
    expect(outcomes.at(-1)).toEqual({ id: 'c', kind: 'refused', atMs, reason })
  })

  it('by a fault is told with the fault', async () => {
    const { port, started, script, seen } = bench()
    port.start()
    await started()
    script('throw', 'on purpose')
    const { reason } = await seen(({ reason: one }) => one.startsWith('the radio'))
    expect(reason).toMatch(/^the radio's thread ended: on purpose/)
  })

  it('is replaced after a second, by one that knows all: settings, holds, past, who looks', async () => {
    const { clock, port, reasons, starts, started, settled, script, seen, post, told } = bench()
    port.start()
    await started()
    const access = { ...transmitDefaults.access, tailMs: 90 }
    await post({ type: 'state', state: { ...down }, access })
    await post({ type: 'past', past: { spans: [{ fromMs: 1, toMs: 2 }] } })
    port.hold('operator', 'lunch')
    port.hold('file', 'there')
    port.release('file')
    const wish = { spectrum: false, audio: true }
    port.watch(wish, () => {})
    await settled()
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    told()
    clock.advanceTo(999)
    expect(clock.nextAtMs()).toBe(1000)
    clock.advanceTo(1000)
    expect(reasons('recovered')).toEqual([`the radio's thread is started again`])
    await started()
    await settled()
    expect(starts()).toEqual([
      {
        setup: JSON.parse(JSON.stringify({ ...setup, transmit: { ...transmitDefaults, access } })),
        past: { spans: [{ fromMs: 1, toMs: 2 }] },
      },
    ])
    expect(told()).toEqual([
      { type: 'hold', source: 'operator', reason: 'lunch' },
      { type: 'watch', wish },
    ])
  })

  it('while keyed: it counts as sent until the guard has let go and the hang is over, without our call', async () => {
    const transmit = { ...transmitDefaults, hangMs: 700 }
    const { clock, port, started, script, seen, post, events } = bench({
      setup: { ...setup, transmit },
    })
    port.start()
    await started()
    clock.advanceTo(2000)
    await post(eventOf('keyed', 1500))
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    const spans = [{ fromMs: 1500, toMs: 2000 + 250 + 700 }]
    expect(port.duty()).toMatchObject({ spans, owedSinceMs: 1500 })
    // and once only: the next one was not keyed
    events.length = 0
    clock.advanceTo(3000)
    await started()
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    expect(port.duty().spans).toEqual(spans)
  })

  it('after it had unkeyed counts no more, and what was owed before stays owed since then', async () => {
    const { clock, port, started, script, seen, post, events } = bench()
    port.start()
    await started()
    await post(eventOf('keyed', 100))
    await post(eventOf('unkeyed', 200))
    const past = { spans: [{ fromMs: 100, toMs: 200 }], owedSinceMs: 100 }
    await post({ type: 'past', past })
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    expect(port.duty()).toMatchObject(past)
    events.length = 0
    clock.advanceTo(1000)
    await started()
    await post(eventOf('keyed', 1000))
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    expect(port.duty()).toMatchObject({
      spans: [...past.spans, { fromMs: 1000, toMs: 1250 }],
      owedSinceMs: 100,
    })
  })

  it('again and again is replaced ever more slowly; after a minute of health after a second again', async () => {
    const { clock, port, started, script, seen, settled, events } = bench()
    port.start()
    await started()
    const waitsMs: number[] = []
    const end = async (): Promise<void> => {
      events.length = 0
      script('exit', '1')
      await seen(({ kind }) => kind === 'fault')
      const fromMs = clock.monotonicMs()
      while (events.every(({ kind }) => kind !== 'recovered')) clock.advanceBy(1000)
      waitsMs.push(clock.monotonicMs() - fromMs)
      await started()
    }
    for (let count = 0; count < 3; count++) await end()
    for (let ms = 0; ms < 60_000; ms += 4000) {
      clock.advanceBy(4000)
      await settled()
    }
    await end()
    clock.advanceBy(1000)
    for (let ms = 0; ms < 60_000; ms += 4000) {
      clock.advanceBy(4000)
      await settled()
    }
    await end()
    // exactly a minute is not yet health
    expect(waitsMs).toEqual([1000, 2000, 4000, 8000, 1000])
  })
})

describe('a thread that tells nothing', () => {
  it('for two looks of 5 s, hangs: it is told, ended and replaced', async () => {
    const { clock, port, started, seen, reasons } = bench()
    port.start()
    await started()
    // the first look finds what it told at its start
    clock.advanceTo(14_999)
    expect(reasons('fault')).toEqual([])
    clock.advanceTo(15_000)
    expect(reasons('fault')).toEqual([`the radio's thread hangs`])
    await seen(({ reason }) => reason.startsWith('the radio') && reason.includes('ended'))
    clock.advanceBy(1000)
    await started(2)
    expect(reasons('recovered')).toHaveLength(1)
  })

  it('but for one look only is alive', async () => {
    const { clock, port, started, settled, reasons } = bench()
    port.start()
    await started()
    for (let count = 0; count < 5; count++) {
      clock.advanceBy(10_000)
      await settled()
    }
    expect(reasons('fault')).toEqual([])
  })

  it('the moment of its last word is known, that of its start before the first', async () => {
    const { clock, port, started, settled } = bench()
    clock.advanceTo(300)
    port.start()
    expect(port.lifeSignAtMs()).toBe(300)
    await started()
    clock.advanceTo(2500)
    await settled()
    clock.advanceTo(3000)
    expect(port.lifeSignAtMs()).toBe(2500)
  })
})

describe('closing', () => {
  it('ends the thread, refuses what waits and what comes, and starts none anew', async () => {
    const { clock, port, outcomes, started, reasons, post } = bench()
    port.start()
    await started()
    await post({ type: 'state', state: { ...down }, access: transmitDefaults.access })
    port.send(request('a', own))
    const closing = port.close()
    port.send(request('b', own))
    await closing
    const reason = 'the radio is being closed'
    expect(outcomes.map((one) => [one.id, one.kind, 'reason' in one && one.reason])).toEqual([
      ['b', 'refused', reason],
      ['a', 'refused', reason],
    ])
    expect(port.state()).toMatchObject({ receiving: false, transmitBlockedBy: reason })
    expect([reasons('fault'), clock.nextAtMs()]).toEqual([[], undefined])
  })

  it('ends a thread that does not end by itself after 20 s', async () => {
    const { clock, port, started, script, settled } = bench()
    port.start()
    await started()
    script('deaf')
    await settled()
    let isClosed = false
    const closing = port.close().then(() => {
      isClosed = true
    })
    clock.advanceBy(19_999)
    expect(clock.nextAtMs()).toBe(20_000)
    expect(isClosed).toBe(false)
    clock.advanceBy(1)
    await closing
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('between two threads starts none, and is done at once', async () => {
    const { clock, port, started, script, seen } = bench()
    port.start()
    await started()
    script('exit', '1')
    await seen(({ kind }) => kind === 'fault')
    await port.close()
    expect(clock.nextAtMs()).toBeUndefined()
  })
})
