import { describe, expect, it } from 'vitest'
import type { Control } from '../../../src/ax25/control.js'
import type { Ax25Frame } from '../../../src/ax25/frame.js'
import type { ConnectionOptions } from '../../../src/node/connected/connections.js'
import { information, linkBench, octetsOf, ready, repeatedBy, u } from './linkBench.js'
import { address } from './linkSession.js'

const sabm = u('SABM')

describe('a station that calls', () => {
  it('is connected, served by a session, and taken leave of with what went either way', () => {
    const bench = linkBench()
    bench.run(600_000)
    expect(bench.hear('Q7LAP', sabm)).toBe(true)
    bench.run(200)
    expect(bench.sent()).toEqual(['Q7LAP UA!'])
    expect(bench.all.openCount).toBe(1)
    expect(bench.events).toEqual(['connected version 2.0 (Q7LAP 0: )'])
    const [{ peer, log }] = bench.sessions as [(typeof bench.sessions)[0]]
    expect(peer.call).toBe('Q7LAP')
    bench.hear('Q7LAP', information(0, 0), { payload: octetsOf('hello') })
    expect(peer.write(octetsOf('hi'))).toBe(true)
    expect(peer.waitingOctets).toBe(2)
    bench.run(1_000)
    expect(bench.sent()).toEqual(['Q7LAP I 0/1 hi'])
    bench.hear('Q7LAP', ready(1))
    expect(peer.waitingOctets).toBe(0)
    bench.run(59_000)
    bench.hear('Q7LAP', u('DISC'))
    expect(log).toEqual(['begin 0', 'hello 240', 'drained', 'ended'])
    expect(bench.sent().at(-1)).toBe('Q7LAP UA!')
    expect(bench.all.openCount).toBe(0)
    expect(bench.events[1]).toBe(
      'disconnected 5 octets received, 2 taken, 1.0 minutes (Q7LAP 0: by the other station)',
    )
    expect(bench.given[0]!.outgoing).toMatchObject({
      radio: 0,
      station: 'Q7LAP',
      priority: 'acknowledgement',
      notAfterMs: 630_000,
    })
  })

  it('may call by SABME, and is counted modulo 128', () => {
    const bench = linkBench()
    bench.hear('Q7LAP', u('SABME'))
    expect(bench.events).toEqual(['connected version 2.2 (Q7LAP 0: )'])
    bench.at.modulo = 128
    bench.hear('Q7LAP', information(0, 0), { payload: octetsOf('hello') })
    bench.run(1_000)
    expect(bench.sent()).toEqual(['Q7LAP UA!', 'Q7LAP RR 1'])
    expect(bench.sessions[0]!.log).toEqual(['begin 0', 'hello 240'])
  })

  it('by way of digipeaters is answered the way back, and heard that way only', () => {
    const bench = linkBench()
    const path = repeatedBy('Q1DIG', 'Q2DIG-3')
    bench.hear('Q7LAP', sabm, { path }, { radio: 1 })
    expect(bench.events).toEqual(['connected version 2.0 by way of Q1DIG,Q2DIG-3 (Q7LAP 1: )'])
    const { outgoing } = bench.given[0]!
    expect(outgoing.radio).toBe(1)
    expect(bench.frameOf(outgoing.whole!)).toMatchObject({
      source: address('N0DE-5'),
      path: ['Q2DIG-3', 'Q1DIG'].map((call) => ({ address: address(call), repeated: false })),
    })
    bench.hear('Q7LAP', u('DISC'), {}, { radio: 1 })
    expect(bench.all.counts).toEqual({ 'came another way than the connection': 1 })
    expect(bench.all.openCount).toBe(1)
    bench.hear('Q7LAP', u('DISC'), { path }, { radio: 1 })
    expect(bench.all.openCount).toBe(0)
  })

  it('is another one on another radio', () => {
    const bench = linkBench()
    bench.hear('Q7LAP', sabm)
    bench.hear('Q7LAP', sabm, {}, { radio: 1 })
    expect(bench.all.openCount).toBe(2)
    expect(bench.sessions.map(({ log }) => log)).toEqual([['begin 0'], ['begin 1']])
  })
})

describe('a call that is refused', () => {
  it.each<
    [string, Partial<ConnectionOptions>, (bench: ReturnType<typeof linkBench>) => void, Control]
  >([
    ['quiet hours until 06:00', {}, ({ at }) => Object.assign(at, { quietUntil: '06:00' }), sabm],
    ['on the list of stations not to answer', {}, ({ ignored }) => ignored.push('Q7LAP'), sabm],
    ['version 2.2 is switched off', { version22: false }, () => {}, u('SABME')],
    ['0 stations are connected already', { stationsMax: 0 }, () => {}, sabm],
  ])('%s: is told by DM, noted and counted', (reason, change, prepare, control) => {
    const bench = linkBench(change)
    prepare(bench)
    expect(bench.hear('Q7LAP-2', control)).toBe(true)
    bench.run(200)
    expect(bench.sent()).toEqual(['Q7LAP-2 DM!'])
    expect(bench.events).toEqual([`refused a connection (Q7LAP-2 0: ${reason})`])
    expect(bench.all.counts).toEqual({ [`refused: ${reason}`]: 1 })
    expect(bench.sessions).toEqual([])
  })

  it('version 2.0 is no call of version 2.2, and old stations mark no frame as a command', () => {
    const bench = linkBench({ version22: false })
    bench.hear('Q7LAP', sabm, { command: 'neither' })
    expect(bench.events).toEqual(['connected version 2.0 (Q7LAP 0: )'])
  })

  it('what is no call counts as none', () => {
    const bench = linkBench()
    bench.at.quietUntil = '06:00'
    for (let n = 0; n < 13; n++) {
      bench.hear('Q7LAP', u('DISC'))
      bench.run(6_000)
    }
    expect(bench.events).toEqual([])
    bench.at.quietUntil = undefined
    bench.hear('Q7LAP', sabm)
    expect(bench.all.openCount).toBe(1)
  })

  it('the limit of stations counts those that are connected', () => {
    const bench = linkBench({ stationsMax: 1 })
    bench.hear('Q7LAP', sabm)
    bench.hear('Q8LAP', sabm)
    expect(bench.all.openCount).toBe(1)
    bench.hear('Q7LAP', u('DISC'))
    bench.run(200)
    bench.hear('Q8LAP', sabm)
    expect(bench.sessions.map(({ peer }) => peer.call)).toEqual(['Q7LAP', 'Q8LAP'])
  })

  it('twelve calls in ten minutes are taken', () => {
    const bench = linkBench()
    const call = (): void => {
      bench.hear('Q7LAP', sabm)
      bench.hear('Q7LAP', u('DISC'))
      bench.run(30_000)
    }
    for (let n = 0; n < 12; n++) call()
    expect(bench.sessions).toHaveLength(12)
    call()
    expect(bench.events.at(-1)).toBe('refused a connection (Q7LAP 0: it called too often)')
    bench.run(11 * 60_000)
    call()
    expect(bench.sessions).toHaveLength(13)
  })
})

describe('who is not connected', () => {
  it.each<[Control, Partial<Ax25Frame>, string[]]>([
    [u('DISC'), {}, ['Q7LAP DM!']],
    [ready(0, true), {}, ['Q7LAP DM!']],
    [information(3, 2), {}, ['Q7LAP DM']],
    [ready(0, true), { command: 'response' }, []],
    [ready(0, true), { command: 'neither' }, []],
    [u('TEST'), { payload: octetsOf('x') }, ['Q7LAP TEST!']],
    [{ type: 'UI', pollFinal: true }, { pid: 0xf0 }, ['Q7LAP DM!']],
  ])('is answered %j %j with %j, and nothing is noted', (control, parts, expected) => {
    const bench = linkBench()
    // what is text is text for the rest of the node, too
    expect(bench.hear('Q7LAP', control, parts)).toBe(control.type !== 'UI')
    bench.run(200)
    expect(bench.sent()).toEqual(expected)
    expect([bench.events, bench.all.counts]).toEqual([[], {}])
  })

  it.each<[string, boolean, string, Control, Partial<Ax25Frame>]>([
    ['for another SSID', false, 'Q7LAP', sabm, { destination: address('N0DE-4') }],
    ['for another call', false, 'Q7LAP', sabm, { destination: address('N1DE-5') }],
    ['in our name', false, 'N0DE-5', sabm, {}],
    ['of no call sign', false, 'Q7LAP', sabm, { source: { call: 'A B', ssid: 0 } }],
    [
      'through no call sign',
      false,
      'Q7LAP',
      sabm,
      { path: [{ address: { call: 'a', ssid: 0 }, repeated: true }] },
    ],
    [
      'that was not repeated yet',
      false,
      'Q7LAP',
      sabm,
      { path: [{ address: address('Q1DIG'), repeated: false }] },
    ],
    ['of nine digipeaters', false, 'Q7LAP', sabm, { path: repeatedBy(...'ABCDEFGHI') }],
    ['that is text for everybody', false, 'Q7LAP', { type: 'UI', pollFinal: false }, { pid: 0xf0 }],
  ])('is not listened to with a frame %s', (_, taken, from, control, parts) => {
    const bench = linkBench()
    expect(bench.hear(from, control, parts)).toBe(taken)
    bench.run(1_000)
    expect(bench.given).toEqual([])
  })

  it('of our call with another SSID is heard, and by eight digipeaters', () => {
    const bench = linkBench()
    bench.hear('N0DE-6', sabm)
    bench.hear('Q7LAP-5', sabm, { path: repeatedBy(...'ABCDEFGH') })
    expect(bench.all.openCount).toBe(2)
  })

  it('is not heard by a radio that is not for connections, nor with more than one repaired bit', () => {
    const bench = linkBench({ radios: [1] })
    expect(bench.hear('Q7LAP', sabm)).toBe(false)
    expect(bench.hear('Q7LAP', sabm, {}, { radio: 1, repairedBits: 2 })).toBe(true)
    expect(bench.all.counts).toEqual({ 'repaired by too many bits': 1 })
    expect(bench.given).toEqual([])
    bench.hear('Q7LAP', sabm, {}, { radio: 1, repairedBits: 1 })
    expect(bench.all.openCount).toBe(1)
  })

  it('is answered ten times at once, and once in six seconds, all of them together', () => {
    const bench = linkBench()
    for (let n = 0; n < 12; n++) bench.hear(`Q${n}LAP`, u('DISC'))
    expect(bench.sent()).toHaveLength(10)
    expect(bench.all.counts).toEqual({ 'too many that are not connected': 2 })
    bench.run(6_000)
    for (let n = 0; n < 2; n++) bench.hear(`Q${n}LAP`, u('DISC'))
    expect(bench.sent()).toHaveLength(1)
  })
})

describe('who is connected', () => {
  const connected = (change: Partial<ConnectionOptions> = {}) => {
    const bench = linkBench(change)
    bench.run(15 * 60_000)
    bench.hear('Q7LAP', sabm)
    bench.run(200)
    bench.sent()
    return bench
  }

  it('is answered 30 polls at once, and one in two seconds', () => {
    const bench = connected()
    const poll = (): void => {
      bench.hear('Q7LAP', ready(0, true))
      bench.run(0)
    }
    for (let n = 0; n < 32; n++) poll()
    expect(bench.sent()).toHaveLength(30)
    expect(bench.all.counts).toEqual({ 'asked too often': 2 })
    // answers and what wants none may come as they like
    for (let n = 0; n < 5; n++) {
      bench.hear('Q7LAP', ready(0))
      bench.hear('Q7LAP', u('UA'), { command: 'response' })
    }
    expect(bench.all.counts['asked too often']).toBe(2)
  })

  it('is answered 30 other frames at once that want an answer', () => {
    const bench = connected()
    for (let n = 0; n < 31; n++) bench.hear('Q7LAP', u('TEST'))
    expect(bench.sent()).toHaveLength(30)
    expect(bench.all.counts).toEqual({ 'asked too often': 1 })
  })

  it.each(['busy', 'keyed'] as const)('is answered when its channel is not %s', (what) => {
    const bench = connected()
    bench.hear('Q8LAP', sabm, {}, { radio: 1 })
    bench.run(200)
    bench.sent()
    bench.at[what] = true
    bench.hear('Q7LAP', information(0, 0), { payload: octetsOf('x') })
    bench.hear('Q8LAP', information(0, 0), { payload: octetsOf('x') }, { radio: 1 })
    bench.run(1_000)
    expect(bench.sent()).toEqual(['Q8LAP RR 1'])
    bench.at[what] = false
    bench.run(100)
    expect(bench.sent()).toEqual(['Q7LAP RR 1'])
  })

  it('is looked after as long as it is there, and its next connection, too', () => {
    const bench = connected({ idleMs: 60_000 })
    bench.hear('Q7LAP', u('DISC'))
    bench.run(30_000)
    expect(bench.clock.nextAtMs()).toBe(undefined)
    bench.hear('Q7LAP', sabm)
    bench.sent()
    bench.run(75_000)
    expect(bench.sent()).toContain('Q7LAP DISC!')
  })

  it('is not listened to while more than 40 answers wait for the radio', () => {
    const bench = connected()
    bench.at.held = true
    for (let n = 0; n < 45; n++) {
      bench.hear('Q7LAP', ready(0, true))
      bench.clock.advanceBy(2_000)
    }
    expect(bench.all.counts['its answers wait already']).toBe(4)
    bench.release()
    bench.hear('Q7LAP', ready(0, true))
    expect(bench.all.counts['its answers wait already']).toBe(4)
  })

  it('may have its link begin anew so often as it may call; then it is let go', () => {
    const bench = connected()
    for (let n = 0; n < 11; n++) {
      bench.hear('Q7LAP', sabm)
      bench.run(10_000)
    }
    expect(bench.sessions[0]!.log.filter((line) => line === 'reset')).toHaveLength(11)
    expect(bench.all.counts).toEqual({ 'begun anew': 11 })
    bench.sent()
    bench.hear('Q7LAP', sabm)
    bench.run(200)
    expect(bench.sent()).toContain('Q7LAP DISC!')
    bench.hear('Q7LAP', u('UA'), { command: 'response' })
    expect(bench.events.at(-1)).toMatch(/\(Q7LAP 0: by us: it connected again too often\)$/)
    expect(bench.all.openCount).toBe(0)
  })

  it('says nothing for its time: is let go, at the next look; whatever moves counts', () => {
    const bench = connected({ idleMs: 60_000 })
    bench.run(50_000 - 200)
    bench.hear('Q7LAP', information(0, 0), { payload: octetsOf('x') })
    bench.run(69_999)
    expect(bench.sent()).toEqual(['Q7LAP RR 1'])
    bench.run(1)
    expect(bench.sent()).toEqual(['Q7LAP DISC!'])
    bench.hear('Q7LAP', u('UA'), { command: 'response' })
    expect(bench.events.at(-1)).toBe(
      'disconnected 1 octets received, 0 taken, 2.0 minutes (Q7LAP 0: by us: nothing for 1 minutes)',
    )
  })

  it('has its time, however much it says', () => {
    const bench = connected({ sessionMs: 120_000 })
    bench.run(110_000 - 200)
    bench.hear('Q7LAP', information(0, 0), { payload: octetsOf('x') })
    bench.run(10_000)
    expect(bench.sent().at(-1)).toBe('Q7LAP DISC!')
    bench.hear('Q7LAP', u('UA'), { command: 'response' })
    expect(bench.events.at(-1)).toMatch(/by us: 2 minutes are over\)$/)
  })

  it('takes slowly what it is sent before the end: is let go two minutes later', () => {
    const bench = connected({ sessionMs: 30_000 })
    bench.sessions[0]!.peer.write(new Uint8Array(30 * 128))
    const takeOne = (count: number, ms: number): void => {
      bench.hear('Q7LAP', ready(count % 8, true), { command: 'response' })
      bench.run(ms)
    }
    for (let count = 1; count <= 10; count++) takeOne(count, 15_000)
    takeOne(11, 14_799)
    expect(bench.sent().join()).not.toContain('DISC')
    bench.run(1)
    expect(bench.sent()).toContain('Q7LAP DISC!')
  })

  it('says that it does not know a frame of ours, which is told to the log', () => {
    const bench = connected()
    bench.hear('Q7LAP', u('FRMR'), { command: 'response', payload: Uint8Array.of(0x7f, 0, 1) })
    expect(bench.events[1]).toMatch(/^rejected a frame of the connection \(Q7LAP 0: .+\)$/)
  })

  it('is told nothing any more after the stop, and what waits is taken back', () => {
    const bench = connected()
    bench.sessions[0]!.peer.write(octetsOf('hi'))
    bench.all.stop()
    expect(bench.takenBack).toEqual(['the connection is over'])
    expect(bench.sessions[0]!.log).toEqual(['begin 0', 'ended'])
    expect(bench.hear('Q7LAP', sabm)).toBe(false)
    expect(bench.all.call('Q8LAP', 0, bench.session('x'), () => {})).toBe(false)
    bench.sent()
    bench.run(600_000)
    expect([bench.sent(), bench.all.openCount]).toEqual([[], 0])
  })

  it('by more digipeaters has more time to answer', () => {
    const asked = (...path: string[]): number => {
      const bench = linkBench()
      bench.hear('Q7LAP', sabm, { path: repeatedBy(...path) })
      bench.run(200)
      bench.sent()
      bench.sessions[0]!.peer.write(octetsOf('x'))
      for (let ms = 0; ms < 60_000; ms += 100) {
        bench.run(100)
        if (bench.sent().includes('Q7LAP RR! 0')) return ms
      }
      return 0
    }
    // T1 is 3 s, and three and five times that (AX.25 2.2, 6.7.1.1)
    expect([asked(), asked('Q1DIG'), asked('Q1DIG', 'Q2DIG')]).toEqual([3_000, 9_000, 15_000])
  })
})

describe('a connection that we ask for', () => {
  it('calls, has its session once it is answered, and is told when it is over', () => {
    const bench = linkBench()
    let endedCount = 0
    const call = () => bench.all.call('Q7HILL', 1, bench.session('ours'), () => endedCount++)
    expect(call()).toBe(true)
    expect(call()).toBe(false)
    bench.run(200)
    expect(bench.sent()).toEqual(['Q7HILL SABME!'])
    expect(bench.given[0]!.outgoing.radio).toBe(1)
    expect(bench.sessions).toEqual([])
    bench.hear('Q7HILL', u('UA'), { command: 'response' }, { radio: 1 })
    expect(bench.sessions[0]!.log).toEqual(['begin ours'])
    expect(bench.events).toEqual(['connected version 2.2 (Q7HILL 1: )'])
    expect(call()).toBe(false)
    bench.hear('Q7HILL', u('DISC'), {}, { radio: 1 })
    expect(endedCount).toBe(1)
    bench.run(200)
    expect(call()).toBe(true)
  })

  it('stands as well where both call at once', () => {
    const bench = linkBench({ version22: false })
    bench.all.call('Q7HILL', 0, bench.session('ours'), () => {})
    bench.run(200)
    bench.hear('Q7HILL', sabm)
    bench.run(200)
    expect(bench.sent()).toEqual(['Q7HILL SABM!', 'Q7HILL UA!'])
    bench.hear('Q7HILL', u('UA'), { command: 'response' })
    expect(bench.sessions[0]!.log).toEqual(['begin ours'])
  })

  it('calls as version 2.0 where 2.2 is switched off, and is told when nobody answers', () => {
    const bench = linkBench({ version22: false })
    let endedCount = 0
    bench.all.call('Q7HILL', 0, bench.session('ours'), () => endedCount++)
    bench.run(600_000)
    expect(bench.sent()).toEqual(Array(10).fill('Q7HILL SABM!'))
    expect(endedCount).toBe(1)
    expect(bench.events.at(-1)).toMatch(/\(Q7HILL 0: no answer\)$/)
    expect(bench.sessions).toEqual([])
  })

  it('is none with what is no call, nor by a radio that is not for connections', () => {
    const bench = linkBench({ radios: [1] })
    expect(bench.all.call('no call', 1, bench.session('x'), () => {})).toBe(false)
    expect(bench.all.call('Q7HILL', 0, bench.session('x'), () => {})).toBe(false)
    bench.run(1_000)
    expect(bench.given).toEqual([])
  })

  it('keeps to its share of the time: what is beyond it is given up, and asked for again', () => {
    const bench = linkBench()
    const notedMs: number[] = []
    bench.at.meter = { maySend: () => notedMs.length < 1, note: (ms) => notedMs.push(ms) }
    bench.all.call('Q7HILL', 0, bench.session('ours'), () => {})
    bench.run(60_000)
    expect(bench.given.map(({ outgoing }) => outgoing.priority)).toEqual(['mailbox'])
    expect(notedMs).toEqual([100])
  })
})
