import { describe, expect, it } from 'vitest'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import { kissOctets } from '../kiss/plainClient.js'
import { bench, frameFrom, kinds, transmit } from './kissPortBench.js'

describe('an external KISS modem as a radio', () => {
  it('tells the modem its parameters when it connects', () => {
    const { openings, written } = bench()
    openings[0]!.onOpen()
    expect(written).toEqual([
      kissOctets(0x11, Buffer.from([30])),
      kissOctets(0x12, Buffer.from([63])),
      kissOctets(0x13, Buffer.from([10])),
      kissOctets(0x14, Buffer.from([5])),
      kissOctets(0x15, Buffer.from([0])),
    ])
  })

  it('a request that the program cannot deal with is refused, counted, and keeps no other one waiting', () => {
    const { clock, connect, send, port, outcomes, events } = bench()
    connect()
    send(undefined as never)
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(5000)
    expect(kinds(outcomes)).toEqual(['id-1 refused', 'id-2 sent'])
    expect(port.state()).toMatchObject({ keyed: false, faultCount: 1 })
    expect(events.filter(({ kind }) => kind === 'fault')).toHaveLength(1)
  })

  it('a frame goes to the modem at once, and is sent when its airtime is over', () => {
    const { clock, connect, send, written, outcomes, port } = bench()
    connect()
    const octets = frameFrom('QQ0ZZ')
    send(octets)
    expect(written).toEqual([kissOctets(0x10, octets)])
    expect(port.state()).toMatchObject({ keyed: true, receiving: true })
    clock.advanceBy(5000)
    expect(kinds(outcomes)).toEqual(['id-1 sent'])
    // 300 ms + 50 ms of flags, and 27 octets with two flags and FCS: 1200 bit/s (some stuffed bits more)
    const { airtimeMs } = outcomes[0] as { airtimeMs: number }
    expect(airtimeMs).toBeGreaterThan(350 + ((octets.length + 4) * 8) / 1.2 - 1)
    expect(airtimeMs).toBeLessThan(350 + ((octets.length + 4) * 8) / 1.2 + 40)
    expect(port.state().keyed).toBe(false)
  })

  it('duty limits hold by the reckoned airtime', () => {
    const { clock, connect, send, outcomes, written } = bench()
    connect()
    // 2 % of 360 s are 7.2 s, less what an identification would take
    for (let count = 0; count < 10; count++) {
      send(frameFrom('QQ0ZZ', '>'.padEnd(100, 'x')))
      clock.advanceBy(5000)
    }
    const sent = outcomes.filter((one) => one.kind === 'sent')
    const airtimeMs = sent.reduce((sum, one) => sum + one.airtimeMs, 0)
    expect(airtimeMs).toBeGreaterThan(4000)
    expect(airtimeMs).toBeLessThanOrEqual(7200)
    expect(outcomes.filter((one) => one.kind === 'held').length).toBeGreaterThan(0)
    const handedOver = written.length
    clock.advanceBy(360_000)
    expect(written.length).toBeGreaterThan(handedOver)
  })

  it("another's frame is followed by our identification", () => {
    const { clock, connect, send, written, events } = bench({
      dutyLimits: [{ windowMs: 360_000, share: 0.2 }],
    })
    connect()
    send(frameFrom('QQ1ZZ'))
    expect(written).toHaveLength(1)
    clock.advanceBy(25_000)
    expect(written).toHaveLength(2)
    expect(written[1]!.toString('latin1')).toContain('QQ0ZZ-10')
    // what the file beside the database keeps, should the process die in between
    const unkeyed = events.filter(({ kind }) => kind === 'unkeyed')
    expect(unkeyed.map(({ owedSinceMs }) => owedSinceMs)).toEqual([1000, undefined])
  })

  it.each([
    ['not enabled', { enabled: false }],
    ['placeholder call', { call: 'N0CALL-10' }],
  ])('nothing reaches the modem: %s', (_, change) => {
    const { connect, send, written, outcomes } = bench(change)
    connect()
    send(frameFrom('N0CALL'))
    expect(written).toEqual([])
    expect(kinds(outcomes)).toEqual(['id-1 refused'])
  })

  it('frames wait while the modem is away, and go out when it is back', () => {
    const { clock, openings, send, written, outcomes, events, port } = bench()
    send(frameFrom('QQ0ZZ'))
    send(frameFrom('QQ0ZZ'), 5000)
    expect(port.state().transmitBlockedBy).toMatch(/not connected/)
    openings[0]!.onClosed('no such device')
    clock.advanceBy(10_000)
    expect(kinds(outcomes)).toEqual(['id-1 held', 'id-2 held', 'id-2 expired'])
    openings.at(-1)!.onOpen()
    clock.advanceBy(1000)
    expect(written.at(-1)).toEqual(kissOctets(0x10, frameFrom('QQ0ZZ')))
    clock.advanceBy(5000)
    expect(kinds(outcomes).at(-1)).toBe('id-1 sent')
    expect(events.map((event) => event.kind)).toContain('fault')
    expect(events.map((event) => event.kind)).toContain('recovered')
    expect(events.every((event) => event.radio === 3)).toBe(true)
  })

  it('a modem that stops reading: the frame is refused with the reason', () => {
    const { connect, jam, send, outcomes } = bench()
    connect()
    jam()
    send(frameFrom('QQ0ZZ'))
    expect(outcomes).toEqual([
      { id: 'id-1', kind: 'refused', atMs: 1000, reason: 'the modem takes no more octets' },
    ])
  })

  it('a modem that shows no sign of life: what it was given is sent, with the doubt', () => {
    const { clock, connect, openings, port, send, outcomes, events } = bench()
    connect()
    const none = 'the modem has told nothing since it was connected'
    expect(port.state().doubt).toBe(none)
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(5000)
    expect(outcomes.at(-1)).toMatchObject({ kind: 'sent', doubt: none })
    openings[0]!.onOctets(kissOctets(0x10, frameFrom('QQ1ZZ')))
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(5000)
    expect(outcomes.at(-1)).toMatchObject({ kind: 'sent' })
    expect(outcomes.at(-1)).not.toHaveProperty('doubt')
    clock.advanceBy(3_600_000)
    expect(events.at(-1)).toMatchObject({
      kind: 'fault',
      reason: 'the modem has told nothing for 60 min: what it is given may not go out',
    })
  })

  it('a modem in its text mode: nothing is given to it, and why is said once and shown', () => {
    const { clock, connect, openings, port, send, outcomes, events, written } = bench()
    connect()
    for (let count = 0; count < 5; count++) {
      openings.at(-1)!.onOctets(Buffer.from('\r\nwhat now? ', 'latin1'))
      clock.advanceTo(clock.nextAtMs()!)
      openings.at(-1)!.onOpen()
    }
    const why = 'it sends text in place of KISS: "what now? "'
    expect(port.state()).toMatchObject({ receiving: false, doubt: why })
    expect(events.filter(({ kind }) => kind === 'fault').map(({ reason }) => reason)).toEqual([
      `the modem is not connected: ${why}`,
    ])
    written.length = 0
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(999)
    expect(written.filter((octets) => octets[1] === 0x10)).toEqual([])
    expect(kinds(outcomes)).toEqual(['id-1 held'])
  })

  it("an operator's hold holds, and a tone is refused", () => {
    const { connect, send, written, outcomes, port } = bench()
    connect()
    port.hold('operator', 'the net is on')
    send(frameFrom('QQ0ZZ'))
    expect(written).toEqual([])
    port.release('operator')
    expect(written).toHaveLength(1)
    port.sendTone({ id: 'tone', tone: 'mark', durationMs: 1000, notAfterMs: 1e9 })
    expect(outcomes.at(-1)).toMatchObject({ id: 'tone', kind: 'refused' })
  })

  it('what the modem was given counts in full, however it is cut here', () => {
    const { clock, connect, send, written, port, outcomes, events } = bench()
    connect()
    // Held 50 ms after each frame has gone to the modem, which sends it all the same.
    for (let count = 0; count < 60; count++) {
      send(frameFrom('QQ0ZZ', '>'.padEnd(100, 'x')), 4000)
      clock.advanceBy(50)
      port.hold('operator', 'now and then')
      clock.advanceBy(2950)
      port.release('operator')
      clock.advanceBy(2000)
    }
    // 2 % of 360 s are 7.2 s, and a frame of some 120 octets takes more than 1.1 s
    expect(written.length).toBeGreaterThan(0)
    expect(written.length).toBeLessThanOrEqual(6)
    // What went out is never called refused: who asked for it would send it again.
    expect(outcomes.filter(({ kind }) => kind === 'sent')).toHaveLength(written.length)
    expect(outcomes.filter(({ kind }) => kind === 'refused')).toEqual([])
    expect(events.some(({ reason }) => /has not answered/.test(reason))).toBe(false)
  })

  it('a frame that takes as long as the time-out timer allows is sent, to the millisecond', () => {
    const octets = frameFrom('QQ0ZZ', '>'.padEnd(100, 'x'))
    const { keyDelayMs: preambleMs, tailMs } = transmit.access
    const frames = { kind: 'frames', frames: [octets], preambleMs, tailMs } as const
    const takesMs = Math.ceil(contentDurationMs(frames))
    for (const [moreMs, kind] of [
      [-1, 'refused'],
      [0, 'sent'],
      [1, 'sent'],
    ] as const) {
      const limits = { timeOutMs: takesMs + moreMs, dutyLimits: [] }
      const { clock, connect, port, send, written, outcomes, events } = bench(limits)
      connect()
      // On a real clock some time passes between decision and deed.
      port.onEvent((event) => {
        if (event.kind === 'keyed') clock.advanceBy(2)
      })
      send(octets)
      clock.advanceBy(20_000)
      expect(outcomes.map((one) => one.kind)).toEqual([kind])
      expect(written).toHaveLength(kind === 'sent' ? 1 : 0)
      expect(events.filter((one) => one.kind === 'cut')).toEqual([])
    }
  })

  it('frames are given all or none: a modem without room for all refuses all, and nothing went out', () => {
    const { clock, connect, jam, port, send, written, outcomes } = bench()
    connect()
    port.hold('operator', 'gather')
    send(frameFrom('QQ0ZZ', '>one'))
    send(frameFrom('QQ0ZZ', '>two'))
    jam(16_384 - 30)
    port.release('operator')
    clock.advanceBy(20_000)
    expect(written).toEqual([])
    const refused = outcomes.filter((one) => one.kind === 'refused')
    expect(refused.map(({ id, airtimeMs }) => [id, airtimeMs])).toEqual([
      ['id-1', undefined],
      ['id-2', undefined],
    ])
  })

  it('an identification that is owed to a modem that takes nothing is tried again, not for ever at once', () => {
    const { clock, connect, jam, send, written, port } = bench({
      dutyLimits: [{ windowMs: 360_000, share: 0.2 }],
    })
    connect()
    send(frameFrom('QQ1ZZ'))
    jam()
    clock.advanceBy(30_000)
    expect(written).toHaveLength(1)
    expect(port.state().transmitBlockedBy).toBe('held by modem: the modem takes no more octets')
    jam(0)
    clock.advanceBy(2000)
    expect(written).toHaveLength(2)
    expect(port.state().transmitBlockedBy).toBeUndefined()
  })

  it('what a modem had been given when it was lost is not called refused, and the doubt is said', () => {
    const { clock, connect, openings, send, outcomes, events } = bench()
    connect()
    send(frameFrom('QQ0ZZ'))
    clock.advanceBy(100)
    openings.at(-1)!.onClosed('it was unplugged')
    clock.advanceBy(5000)
    expect(kinds(outcomes)).toEqual(['id-1 sent'])
    expect(events.find(({ kind }) => kind === 'fault')!.reason).toBe(
      'the modem is not connected: it was unplugged; what it was given last may not have gone out',
    )
  })

  it('parameters that a KISS client sets reach the modem', () => {
    const { connect, written, port } = bench()
    connect()
    port.setAccess({ keyDelayMs: 500, fullDuplex: true })
    expect(port.access()).toMatchObject({ keyDelayMs: 500, fullDuplex: true })
    expect(written).toContainEqual(kissOctets(0x11, Buffer.from([50])))
    expect(written).toContainEqual(kissOctets(0x15, Buffer.from([1])))
  })

  it('frames that the modem hears are heard', () => {
    const { connect, openings, port } = bench()
    connect()
    const heard: unknown[] = []
    port.onFrame((frame) => heard.push(frame))
    const octets = frameFrom('QQ1ZZ')
    openings[0]!.onOctets(kissOctets(0x10, octets))
    openings[0]!.onOctets(kissOctets(0x00, octets))
    expect(heard).toEqual([
      expect.objectContaining({ octets, radio: 3, detector: 'kiss', repairedBits: 0 }),
    ])
  })

  it('at the end what waits is refused, and an owed identification still goes to the modem', async () => {
    const { clock, connect, send, written, outcomes, port } = bench({
      dutyLimits: [{ windowMs: 360_000, share: 0.2 }],
    })
    connect()
    send(frameFrom('QQ1ZZ'))
    send(frameFrom('QQ0ZZ'))
    const closed = port.close()
    await clock.advanceToAsync(10_000)
    await closed
    expect(kinds(outcomes)).toEqual(['id-2 refused', 'id-1 sent'])
    expect(written).toHaveLength(2)
    expect(written[1]!.toString('latin1')).toContain('QQ0ZZ-10')
  })

  it('nothing happens after it was closed', async () => {
    const { clock, connect, send, written, port } = bench()
    connect()
    await port.close()
    send(frameFrom('QQ0ZZ'))
    expect(written).toEqual([])
    expect(clock.nextAtMs()).toBeUndefined()
  })
})
