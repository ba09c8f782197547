import { describe, expect, it } from 'vitest'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import { kissOctets } from '../kiss/plainClient.js'
import { bench, frameFrom, kinds, transmit } from './kissPortBench.js'

const own = frameFrom('QQ0ZZ')
const foreign = frameFrom('QQ1ZZ')
const loose = { dutyLimits: [{ windowMs: 360_000, share: 0.2 }] }
/** A modem of which no sign of life is asked. */
const quiet = { silentAfterMs: 0 }
const told = (events: readonly RadioEvent[]): string[] =>
  events.map(({ kind, reason }) => `${kind}: ${reason}`)
const away = 'the modem is not connected'

describe('what a KISS radio tells of itself', () => {
  it('is held until its modem is there, and says so', () => {
    const { port, connect, events, clock } = bench({}, quiet)
    const common = { channelBusy: false, keyed: false, queuedCount: 0, dutyUsed: 0, faultCount: 0 }
    expect(port.state()).toEqual({
      ...{ ...common, receiving: false, transmitBlockedBy: `held by modem: ${away}` },
      holds: [{ source: 'modem', reason: away, sinceMs: 0 }],
    })
    connect()
    expect(port.state()).toEqual({ ...common, receiving: true, holds: [] })
    expect(told(events)).toEqual(['recovered: the line to the modem is open', 'release: modem'])
    expect(events[0]).toMatchObject({ radio: 3, atMs: 1000, atWallMs: clock.wallMs() })
  })

  it('a modem that is lost is told with its reason, once for each', () => {
    const { openings, clock, connect, port, events } = bench({}, quiet)
    connect()
    events.length = 0
    openings.at(-1)!.onClosed('it was unplugged')
    expect(port.state()).toMatchObject({ receiving: false, doubt: 'it was unplugged' })
    for (const reason of ['it was unplugged', 'no such device', 'no such device']) {
      const before = openings.length
      while (openings.length === before) clock.advanceBy(1000)
      openings.at(-1)!.onClosed(reason)
    }
    expect(told(events)).toEqual([
      `fault: ${away}: it was unplugged`,
      `hold: modem: ${away}`,
      `fault: ${away}: no such device`,
    ])
  })

  it('what was given to one that is lost is in doubt, and what comes after it is not', () => {
    const { openings, clock, connect, send, outcomes } = bench({}, quiet)
    connect()
    send(own)
    clock.advanceBy(100)
    openings.at(-1)!.onClosed('it was unplugged')
    clock.advanceBy(900)
    const before = openings.length
    while (openings.length === before) clock.advanceBy(100)
    connect()
    send(own)
    clock.advanceBy(5000)
    expect(kinds(outcomes)).toEqual(['id-1 sent', 'id-2 sent'])
    expect(outcomes[0]).toMatchObject({ doubt: 'the modem was lost meanwhile' })
    expect(outcomes[1]).not.toHaveProperty('doubt')
  })

  it('a modem that falls silent is told, and that it tells again', () => {
    const { openings, clock, connect, events } = bench()
    connect()
    events.length = 0
    openings[0]!.onOctets(kissOctets(0x10, foreign))
    clock.advanceBy(3_600_000)
    openings[0]!.onOctets(kissOctets(0x10, foreign))
    expect(told(events)).toEqual([
      'fault: the modem has told nothing for 60 min: what it is given may not go out',
      'recovered: the modem tells again what it hears',
    ])
    expect(events[1]!.atMs).toBe(3_601_000)
  })

  it('what it hears has the moment at which it came', () => {
    const { openings, clock, connect, port } = bench()
    connect()
    const heard: unknown[] = []
    port.onFrame((frame) => heard.push(frame))
    clock.advanceTo(5000)
    openings[0]!.onOctets(kissOctets(0x10, foreign))
    const [heardAtMs, heardAtWallMs] = [5000, clock.wallMs()]
    const octets = expect.objectContaining({ length: foreign.length })
    expect(heard).toEqual([
      { octets, radio: 3, heardAtMs, heardAtWallMs, repairedBits: 0, detector: 'kiss' },
    ])
  })
})

describe('what a KISS radio is asked', () => {
  it('a tone is refused', () => {
    const { port, connect, outcomes } = bench()
    connect()
    port.sendTone({ id: 't', tone: 'mark', durationMs: 1000, notAfterMs: 1e9 })
    const reason = 'an external modem can send no tones'
    expect(outcomes).toEqual([{ id: 't', kind: 'refused', atMs: 1000, reason }])
  })

  it('a frame may be taken back as long as it waits', () => {
    const { port, connect, send, outcomes } = bench()
    connect()
    port.hold('operator', 'lunch')
    send(own)
    port.withdraw('id-1')
    expect(outcomes.at(-1)).toMatchObject({ kind: 'refused', reason: 'it was taken back' })
  })

  it('settings hold each for itself, and the modem is told all of them', () => {
    const { port, connect, written } = bench()
    connect()
    expect(port.access()).toEqual(transmit.access)
    port.setAccess({ fullDuplex: true })
    port.setAccess({ tailMs: 60 })
    expect(port.access()).toEqual({ ...transmit.access, fullDuplex: true, tailMs: 60 })
    port.setAccess({ fullDuplex: false })
    expect(port.access().fullDuplex).toBe(false)
    const ofTail = written.filter((octets) => octets[1] === 0x14)
    expect(ofTail).toEqual([5, 6, 6].map((value) => kissOctets(0x14, Buffer.from([value]))))
    const ofDuplex = written.filter((octets) => octets[1] === 0x15)
    expect(ofDuplex.map((octets) => octets[2])).toEqual([1, 1, 0])
  })

  it('what its limits count, and what an earlier process left, goes on', () => {
    const spans = [{ fromMs: -5000, toMs: -1000 }]
    const { port, clock, connect, written } = bench({}, { past: { spans, owedSinceMs: -5000 } })
    expect(port.duty()).toEqual({ limits: transmit.dutyLimits, spans, owedSinceMs: -5000 })
    expect(port.state().dutyUsed).toBeCloseTo(4000 / 7200, 6)
    expect(port.airtime().allowanceMs).toBe(7200)
    expect(port.airtime().freeMs('acknowledgement')).toBeLessThan(3200)
    connect()
    clock.advanceTo(14_999)
    expect(written).toEqual([])
    clock.advanceTo(15_000)
    expect(written[0]!.toString('latin1')).toContain('QQ0ZZ-10')
    clock.advanceTo(20_000)
    expect(port.duty().spans[1]).toMatchObject({ fromMs: 15_000 })
    expect(port.duty().owedSinceMs).toBeUndefined()
  })

  it('neither Morse nor a code of ours is in what the modem takes, nor in its airtime', () => {
    const morse = { wordsPerMinute: 20, toneHz: 800 }
    const identification = { ...transmit.identification, morse }
    const code = { kind: 'il2p', hasCrc: true } as const
    const plain = bench(loose).port.airtime()
    const other = bench({ ...loose, identification, code }).port.airtime()
    expect(other.keyedMs([own])).toBe(plain.keyedMs([own]))
    expect(other.freeMs('answer')).toBe(plain.freeMs('answer'))
  })

  it('the queue is told twice a second while somebody looks, when it is another', () => {
    const { port, clock, connect, send } = bench()
    connect()
    port.hold('operator', 'lunch')
    const reports: RadioReport[] = []
    port.watch(undefined, () => {})
    send(own)
    expect(clock.nextAtMs()).toBeGreaterThan(2000)
    const stop = port.watch({ spectrum: false, audio: false }, (report) => reports.push(report))
    clock.advanceTo(1499)
    expect(reports).toEqual([])
    clock.advanceTo(1500)
    expect(reports).toMatchObject([{ kind: 'queue', items: [{ id: 'id-1', ageMs: 500 }] }])
    send(own)
    clock.advanceTo(3000)
    expect(reports).toHaveLength(2)
    stop()
    expect(clock.nextAtMs()).toBeGreaterThan(10_000)
    send(own)
    clock.advanceTo(5000)
    expect(reports).toHaveLength(2)
  })
})

describe('a modem that takes no more octets', () => {
  it('is looked at each second: what waits goes when there is room', () => {
    const { port, clock, connect, jam, send, written, outcomes } = bench()
    connect()
    jam()
    send(own)
    expect(outcomes.at(-1)).toMatchObject({ kind: 'refused', atMs: 1000 })
    send(own)
    clock.advanceTo(2500)
    jam(0)
    clock.advanceTo(2999)
    expect([written, port.state().holds?.length]).toEqual([[], 1])
    clock.advanceTo(3000)
    expect(written).toEqual([kissOctets(0x10, own)])
  })

  it('and is lost then is held until it is back', () => {
    const { port, clock, connect, jam, openings, send } = bench()
    connect()
    jam()
    send(own)
    openings.at(-1)!.onClosed('it was unplugged')
    jam(0)
    clock.advanceTo(2000)
    expect(port.state().transmitBlockedBy).toBe(`held by modem: ${away}`)
    connect()
    expect(port.state().transmitBlockedBy).toBeUndefined()
  })
})

describe('closing', () => {
  it('is done at once where nothing is owed, and once', async () => {
    const { port, clock, connect, closings, send, outcomes, openings } = bench()
    connect()
    port.watch({ spectrum: false, audio: false }, () => {})
    await port.close()
    await port.close()
    expect([closings, clock.nextAtMs()]).toEqual([[1000], undefined])
    send(own)
    openings[0]!.onOctets(kissOctets(0x10, foreign))
    expect(outcomes).toEqual([])
  })

  it('says to what waits that the radio is being closed', async () => {
    const { port, connect, send, outcomes } = bench()
    connect()
    port.hold('operator', 'lunch')
    send(own)
    await port.close()
    const reason = 'the radio is being closed'
    expect(outcomes.at(-1)).toEqual({ id: 'id-1', kind: 'refused', atMs: 1000, reason })
  })

  it('does not wait for a modem that is away, whatever is owed', async () => {
    const { port, clock, connect, openings, send, closings, events } = bench(loose, quiet)
    connect()
    send(foreign)
    clock.advanceTo(5000)
    openings.at(-1)!.onClosed('it was unplugged')
    await port.close()
    expect(events.at(-1)).toMatchObject({
      kind: 'fault',
      reason:
        'the identification owed for 4 s did not go out before the end: the modem is not connected',
    })
    expect(clock.nextAtMs()).toBeUndefined()
    expect(closings.length).toBeLessThanOrEqual(1)
  })

  it('waits 12 s for an identification that the modem does not take, and no longer', async () => {
    const { port, clock, connect, jam, send } = bench(loose, quiet)
    connect()
    send(foreign)
    clock.advanceTo(5000)
    jam()
    let isClosed = false
    void port.close().then(() => {
      isClosed = true
    })
    await clock.advanceToAsync(16_999)
    expect(isClosed).toBe(false)
    await clock.advanceToAsync(17_000)
    expect(isClosed).toBe(true)
    expect(clock.nextAtMs()).toBeUndefined()
  })
})
