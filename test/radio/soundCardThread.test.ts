import { afterEach, describe, expect, it } from 'vitest'
import type { HeardFrame } from '../../src/radio/port.js'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import type { FromWorker } from '../../src/radio/workerMessages.js'
import { request, transmitDefaults } from './fixtures.js'
import { bench, closeRadio, down, own, setup } from './soundCardBench.js'

afterEach(closeRadio)

describe('before its thread tells anything', () => {
  it('a radio says that it is starting, and refuses what it is asked before it has a thread', () => {
    const { clock, port, outcomes } = bench()
    clock.advanceTo(500)
    expect(port.state()).toEqual({
      ...{ ...down, transmitBlockedBy: 'the radio is starting', faultCount: 0 },
    })
    expect(port.access()).toEqual(transmitDefaults.access)
    expect(port.lifeSignAtMs()).toBe(0)
    port.send(request('a', own))
    const [atMs, reason] = [500, 'the radio is starting']
    expect(outcomes).toEqual([{ id: 'a', kind: 'refused', atMs, reason }])
  })

  it('limits that hold no identification end the start', () => {
    const transmit = { ...transmitDefaults, timeOutMs: 500 }
    const code = 'identification-too-long'
    expect(() => bench({ setup: { ...setup, transmit } })).toThrow(
      expect.objectContaining({ code }),
    )
  })

  it('what an earlier process did counts, and is told to the thread', async () => {
    const past = { spans: [{ fromMs: -3000, toMs: -1000 }], owedSinceMs: -3000 }
    const { port, starts, started } = bench({ past })
    const { dutyLimits: limits } = transmitDefaults
    expect(port.duty()).toEqual({ limits, ...past })
    port.start()
    await started()
    expect(starts()[0]!.past).toEqual(past)
    expect(starts()[0]!.setup.transmit).toEqual(JSON.parse(JSON.stringify(transmitDefaults)))
  })
})

describe('what the thread tells', () => {
  it('is given to who listens, and the last state and past are those of the radio', async () => {
    const { clock, port, outcomes, events, started, post } = bench()
    const frames: HeardFrame[] = []
    port.onFrame((one) => frames.push(one))
    port.start()
    await started()
    clock.advanceTo(700)
    const heard = { octets: [1], radio: 0, heardAtMs: 1, heardAtWallMs: 1, repairedBits: 0 }
    await post({ type: 'frame', frame: { ...heard, detector: 'x' } } as unknown as FromWorker)
    expect(frames).toEqual([{ ...heard, detector: 'x' }])
    const outcome = { id: 'z', kind: 'expired', atMs: 3, reason: 'late' } as const
    await post({ type: 'outcome', outcome })
    expect(outcomes).toEqual([outcome])
    const state = { ...down, receiving: true, dutyUsed: 0.25, faultCount: 2 }
    const access = { ...transmitDefaults.access, tailMs: 90 }
    await post({ type: 'state', state, access })
    expect([port.state(), port.access()]).toEqual([state, access])
    const past = { spans: [{ fromMs: 1, toMs: 2 }], owedSinceMs: 1 }
    await post({ type: 'past', past })
    expect(port.duty()).toEqual({ limits: transmitDefaults.dutyLimits, ...past })
    expect(port.lifeSignAtMs()).toBe(700)
    expect(events.filter(({ kind }) => kind === 'fault')).toEqual([])
  })

  it('what is left of its airtime is reckoned from the past that it told, as its thread does', async () => {
    const { port, started, post } = bench()
    port.start()
    await started()
    const before = port.airtime().freeMs('answer')
    // 300 ms of key delay, 50 ms of tail, and the 450 ms that the devices of a sound card may take
    const beforeMs = port.airtime().keyedMs([own])
    expect(port.airtime().keyedMs([])).toBeGreaterThan(350 + 450)
    await post({ type: 'past', past: { spans: [{ fromMs: -1000, toMs: 0 }] } })
    expect(before - port.airtime().freeMs('answer')).toBeCloseTo(1000, 6)
    const keyDelayMs = transmitDefaults.access.keyDelayMs + 200
    const access = { ...transmitDefaults.access, keyDelayMs }
    await post({ type: 'state', state: { ...down }, access })
    expect(port.airtime().keyedMs([own]) - beforeMs).toBeCloseTo(200, 6)
  })

  it('reports reach those who look; what they want is told to it, and that they are gone', async () => {
    const { port, started, settled, post, told } = bench()
    port.start()
    await started()
    told()
    const reports: RadioReport[] = []
    const wish = { spectrum: true, audio: false }
    const stop = port.watch(wish, (report) => reports.push(report))
    await settled()
    expect(told()).toEqual([{ type: 'watch', wish }])
    const carrier = { kind: 'carrier', atWallMs: 1, busy: true } as const
    await post({ type: 'reports', reports: [carrier, { ...carrier, busy: false }] })
    expect(reports).toEqual([carrier, { ...carrier, busy: false }])
    stop()
    await settled()
    expect(told().filter((one) => (one as { type: string }).type === 'watch')).toEqual([
      { type: 'watch' },
    ])
  })

  it('what it writes to its standard error is told line by line, twenty at most', async () => {
    const { port, script, started, seen, reasons } = bench()
    port.start()
    await started()
    script('stderr', Array.from({ length: 25 }, (_, at) => `line ${at}\n`).join(''))
    await seen(({ reason }) => reason === 'its thread: line 19')
    expect(reasons('fault')).toHaveLength(20)
  })
})

describe('what the thread is told', () => {
  it('each call as a message, and settings hold at once', async () => {
    const { port, started, settled, told } = bench()
    port.start()
    await started()
    told()
    const tone = { id: 't', tone: 'mark', durationMs: 1, notAfterMs: 1 } as const
    port.sendTone(tone)
    port.withdraw('t')
    port.withdraw('unknown')
    port.setAccess({ tailMs: 70 })
    expect(port.access()).toEqual({ ...transmitDefaults.access, tailMs: 70 })
    await settled()
    expect(told()).toEqual([
      { type: 'tone', request: tone },
      { type: 'withdraw', id: 't' },
      { type: 'access', change: { tailMs: 70 } },
    ])
  })

  it('to withdraw only what has not ended', async () => {
    const { port, started, settled, post, told } = bench()
    port.start()
    await started()
    for (const id of ['a', 'b']) port.send(request(id, own))
    await post({ type: 'outcome', outcome: { id: 'a', kind: 'sent', atMs: 1, airtimeMs: 1 } })
    await post({ type: 'outcome', outcome: { id: 'b', kind: 'held', atMs: 1, reason: 'x' } })
    told()
    port.withdraw('a')
    port.withdraw('b')
    await settled()
    expect(told()).toEqual([{ type: 'withdraw', id: 'b' }])
  })
})
