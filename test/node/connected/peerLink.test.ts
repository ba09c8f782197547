import { describe, expect, it } from 'vitest'
import type { Control } from '../../../src/ax25/control.js'
import { version22 } from '../../../src/ax25/session/linkParameters.js'
import { linkOptionsDefault } from '../../../src/ax25/session/linkState.js'
import { decodeXid, encodeXid } from '../../../src/ax25/session/xid.js'
import { connected, linkAlone, text } from './linkAlone.js'
import { information, ready, u } from './linkBench.js'
import { address } from './linkSession.js'

const response = { command: 'response' } as const

describe('a link', () => {
  it('is idle, then open, then idle once its last word was sent', () => {
    const one = linkAlone()
    expect([one.link.isIdle, one.link.isOpen, one.link.modulo, one.link.mayConnect]).toEqual([
      ...[true, false, 8, true],
    ])
    one.hear(u('SABM'))
    expect([one.link.isIdle, one.link.isOpen]).toEqual([false, true])
    expect(one.frames()).toMatchObject([
      {
        frame: {
          ...{ source: address('N0DE-5'), destination: address('Q7LAP'), command: 'response' },
          ...{ path: [{ address: address('Q1DIG'), repeated: false }], control: { name: 'UA' } },
        },
        urgent: true,
      },
    ])
    one.send()
    one.hear(u('DISC'))
    expect([one.link.isIdle, one.link.isOpen]).toEqual([false, false])
    one.send()
    expect(one.link.isIdle).toBe(true)
    expect(one.log).toEqual(['connected by peer', 'begin', 'ended', 'over by the other station'])
  })

  it('that may not be connected says so', () => {
    const one = linkAlone()
    one.link.mayConnect = false
    one.hear(u('SABM'))
    expect([one.fresh(), one.log]).toEqual([['DM!'], []])
  })

  it('that we ask for begins when it is answered, and ends by us', () => {
    const one = linkAlone()
    one.link.connect('2.2')
    expect(one.frames()).toMatchObject([{ frame: { command: 'command' }, urgent: false }])
    expect(one.fresh()).toEqual(['SABME!'])
    one.send()
    one.hear(u('UA'), response)
    expect(one.log).toEqual(['connected by us', 'begin'])
    expect(one.link.modulo).toBe(128)
    one.link.close()
    expect(one.fresh()).toContain('DISC!')
    one.send()
    one.hear(u('UA'), response)
    expect(one.log.slice(2)).toEqual(['ended', 'over by us'])
    expect(one.link.modulo).toBe(8)
  })

  it('counts what went either way anew with each connection', () => {
    const one = connected()
    one.hear(information(0, 0), { payload: text(5) })
    one.peer().write(text(3))
    one.hear(ready(1))
    expect([one.link.receivedOctets, one.link.sentOctets]).toEqual([5, 3])
    one.hear(u('DISC'))
    expect([one.link.receivedOctets, one.link.sentOctets]).toEqual([5, 3])
    one.hear(u('SABM'))
    expect([one.link.receivedOctets, one.link.sentOctets]).toEqual([0, 0])
  })

  it('stopped: says no more, hears no more, and its session is over', () => {
    const one = connected()
    one.peer().write(text(3))
    one.hear(information(0, 0), { payload: text(1) })
    one.link.stop()
    expect(one.given.every(({ gone }) => gone)).toBe(true)
    expect(one.log).toEqual(['1 octets of 240', 'ended'])
    one.fresh()
    one.hear(u('DISC'))
    one.clock.advanceBy(600_000)
    expect(one.fresh()).toEqual([])
    expect(one.peer().write(text(1))).toBe(false)
  })

  it('dropped: takes back what waits, and tells the other', () => {
    const one = connected()
    one.peer().write(text(900))
    one.link.drop()
    expect(
      one
        .frames()
        .map(({ gone }) => gone)
        .slice(0, -1),
    ).not.toContain(false)
    expect(one.frames().at(-1)).toMatchObject({ frame: { control: { name: 'DISC' } }, gone: false })
  })
})

describe('what is written', () => {
  it('goes in frames of its size, as many as the window holds, and no answer overtakes them', () => {
    const one = connected()
    expect(one.peer().write(text(850))).toBe(true)
    expect(one.peer().waitingOctets).toBe(850)
    expect(one.fresh()).toEqual(['0', '1', '2', '3', '4', '5', '6'].map((n) => `I ${n}/0`))
    expect(one.frames().map(({ frame }) => frame.payload.length)).toEqual(Array(7).fill(100))
    expect(one.frames()[0]!.frame).toMatchObject({ command: 'command', pid: 0xf0 })
    one.hear(ready(0, true))
    expect(one.frames().at(-1)).toMatchObject({ urgent: false, frame: { control: { name: 'RR' } } })
    one.send()
    one.hear(ready(0, true))
    expect(one.frames().at(-1)).toMatchObject({ urgent: true })
    one.send()
    one.hear(ready(7))
    expect(one.fresh()).toEqual(['I 7/0', 'I 0/0'])
    expect(one.peer().waitingOctets).toBe(150)
    expect(one.log).toEqual([])
    one.hear(ready(1))
    expect(one.peer().waitingOctets).toBe(0)
    expect([one.log, one.link.sentOctets]).toEqual([['drained'], 850])
    one.hear(ready(1))
    expect(one.log).toEqual(['drained'])
  })

  it('is nothing, or more than may wait, or too late: none of it is taken', () => {
    const one = connected()
    expect(one.peer().write(new Uint8Array())).toBe(false)
    expect(one.peer().write(text(5_001))).toBe(false)
    expect(one.peer().write(text(5_000))).toBe(true)
    expect(one.peer().write(text(1))).toBe(false)
    const closing = connected()
    closing.peer().write(text(1))
    closing.peer().close()
    expect(closing.peer().write(text(1))).toBe(false)
    closing.hear(ready(1))
    closing.send()
    closing.hear(u('UA'), response)
    expect(closing.peer().write(text(1))).toBe(false)
  })

  it('before the end is acknowledged first', () => {
    const one = connected()
    one.peer().write(text(150))
    one.peer().close()
    expect(one.fresh()).toEqual(['I 0/0', 'I 1/0'])
    one.hear(ready(1))
    expect(one.fresh()).toEqual([])
    one.hear(ready(2))
    expect(one.fresh()).toEqual(['DISC!'])
    expect(one.log).toEqual([])
  })

  it('by a session that is over says nothing to the next one', () => {
    const one = connected()
    const former = one.peer()
    one.hear(u('DISC'))
    one.hear(u('SABM'))
    one.send()
    one.fresh()
    expect(former.write(text(3))).toBe(false)
    former.setReady(false)
    former.close()
    one.clock.advanceBy(1_000)
    expect(one.fresh()).toEqual([])
    expect(one.peer().write(text(3))).toBe(true)
    expect(one.peer().call).toBe('Q7LAP')
  })

  it('while a frame is taken goes out behind that, with the number of what was taken', () => {
    const one = connected()
    one.whenReceived(() => one.peer().write(text(2)))
    one.hear(information(0, 0), { payload: text(1) })
    expect(one.fresh()).toEqual(['I 0/1'])
  })

  it('of another protocol goes as one, in segments where it is longer and the other knows them', () => {
    const one = connected()
    expect(one.peer().write(text(100), 0xcf)).toBe(true)
    expect(one.frames()[0]!.frame).toMatchObject({ pid: 0xcf, payload: text(100) })
    expect(one.peer().write(text(101), 0xcf)).toBe(false)

    const other = linkAlone()
    other.hear(u('SABME'))
    other.send()
    expect(other.peer().write(text(128 * 99), 0xcf)).toBe(false)
    expect(other.peer().write(text(150), 0xcf)).toBe(true)
    // AX.25 2.2, figure 6.2: the first has its mark and the number of those that follow, and the protocol behind it
    const [first, second] = other.frames().map(({ frame }) => frame)
    expect([first!.pid, first!.payload[0], first!.payload[1]]).toEqual([0x08, 0x81, 0xcf])
    expect([second!.pid, second!.payload[0]]).toEqual([0x08, 0x00])
  })

  it('in segments is bounded by what seven bits count', () => {
    const one = linkAlone({ backlogOctetsMax: 100_000 })
    one.hear(u('SABME'))
    one.send()
    expect(one.peer().write(text(128 * 99), 0xcf)).toBe(false)
    expect(one.peer().write(text(128 * 99 - 1), 0xcf)).toBe(true)
  })
})

describe('what is received', () => {
  it('is acknowledged 300 ms after the first frame of it, all at once', () => {
    const one = connected()
    one.hear(information(0, 0), { payload: text(1) })
    one.clock.advanceBy(200)
    one.hear(information(1, 0), { payload: text(1) })
    one.clock.advanceBy(99)
    expect(one.fresh()).toEqual([])
    one.clock.advanceBy(1)
    expect(one.fresh()).toEqual(['RR'])
    expect(one.frames()[0]!.frame.control).toMatchObject({ receiveSequence: 2 })
  })

  it('waits for the channel, in steps of 100 ms, for 15 s at most', () => {
    const one = connected()
    one.at.busy = true
    one.hear(information(0, 0), { payload: text(1) })
    one.clock.advanceBy(1_000)
    one.at.busy = false
    one.clock.advanceBy(99)
    expect(one.fresh()).toEqual([])
    one.clock.advanceBy(1)
    expect(one.fresh()).toEqual(['RR'])
    one.send()
    one.at.busy = true
    one.hear(information(1, 0), { payload: text(1) })
    one.clock.advanceBy(14_999)
    expect(one.fresh()).toEqual([])
    one.clock.advanceBy(1)
    expect(one.fresh()).toEqual(['RR'])
  })

  it('in segments is put together, and given as one', () => {
    const one = linkAlone()
    one.hear(u('SABME'))
    one.hear(information(0, 0), { pid: 0x08, payload: Uint8Array.of(0x81, 0xcf, 1, 2) })
    one.hear(information(1, 0), { pid: 0x08, payload: Uint8Array.of(0x00, 3) })
    expect(one.log.slice(2)).toEqual(['3 octets of 207'])
    expect(one.link.receivedOctets).toBe(3)
  })

  it('is too much just now: the other is asked to wait, and told when it is not', () => {
    const one = connected()
    one.peer().setReady(false)
    one.send()
    one.hear(information(0, 0, true), { payload: text(1) })
    expect(one.fresh()).toEqual(['RNR!'])
    one.peer().setReady(true)
    expect(one.fresh().at(-1)).toMatch(/^RR/)
    expect(one.log).toEqual([])
  })

  it('with a mistake of the session leaves the link alive', () => {
    const one = connected()
    one.whenReceived(() => {
      throw new Error('a mistake')
    })
    expect(() => one.hear(information(0, 0), { payload: text(1) })).toThrow('a mistake')
    one.send()
    one.clock.advanceBy(300_000)
    expect(one.fresh().length).toBeGreaterThan(0)
    one.whenReceived(() => {})
    one.hear(information(1, 0), { payload: text(2) })
    expect(one.log.at(-1)).toBe('2 octets of 240')
  })
})

describe('a link that begins anew', () => {
  it('takes back what was not sent, forgets what waits, and its session is told', () => {
    const one = connected()
    one.peer().write(text(850))
    one.hear(u('SABM'))
    expect(one.peer().waitingOctets).toBe(0)
    expect(one.log).toEqual(['begun anew', 'reset'])
    const all = one.frames()
    expect(all.slice(0, -1).every(({ gone }) => gone)).toBe(true)
    expect(all.at(-1)).toMatchObject({ gone: false, frame: { control: { name: 'UA' } } })
    one.send()
    one.peer().write(text(1))
    expect(one.fresh()).toEqual(['I 0/0'])
  })

  it('forgets half of what came in segments, and what it had to acknowledge', () => {
    const one = linkAlone()
    one.hear(u('SABME'))
    one.hear(information(0, 0), { pid: 0x08, payload: Uint8Array.of(0x81, 0xcf, 1, 2) })
    one.hear(u('SABME'))
    one.send()
    one.hear(information(0, 0), { pid: 0x08, payload: Uint8Array.of(0x00, 3) })
    expect(one.log.filter((line) => line.includes('octets'))).toEqual([])
    one.hear(u('SABME'))
    one.send()
    one.clock.advanceBy(400)
    expect(one.fresh()).toEqual([])
  })

  it('was about to end: ends now', () => {
    const one = connected()
    one.peer().write(text(1))
    one.peer().close()
    one.hear(u('SABM'))
    expect(one.fresh()).toContain('DISC!')
  })
})

describe('frames beside the connection', () => {
  it('TEST is answered with what it carries, or with nothing where that is too long', () => {
    const one = linkAlone()
    one.hear(u('TEST'), { payload: text(256) })
    one.hear(u('TEST'), { payload: text(257) })
    one.hear(u('TEST'), { payload: text(1), ...response })
    expect(one.frames().map(({ frame }) => frame.payload.length)).toEqual([256, 0])
    expect(one.frames()[0]!.frame).toMatchObject({
      ...{ command: 'response', control: { name: 'TEST', pollFinal: true } },
    })
    expect(one.log).toEqual([])
  })

  it('XID is answered with what we can: that of version 2.0 over such a connection', () => {
    const told = (one: ReturnType<typeof linkAlone>) => {
      const read = decodeXid(one.frames().at(-1)!.frame.payload)
      return read.ok ? [read.value.modulo, read.value.segmenter] : read.reason
    }
    const one = linkAlone()
    one.hear(u('XID'))
    expect([one.fresh(), told(one)]).toEqual([['XID!'], [128, true]])
    one.hear(u('XID'), response)
    expect(one.fresh()).toEqual([])
    const open = connected()
    open.hear(u('XID'))
    expect(told(open)).toEqual([8, true])
    const open22 = linkAlone()
    open22.hear(u('SABME'))
    open22.hear(u('XID'))
    expect(told(open22)).toEqual([128, true])
  })

  it('XID says how long frames to it may be, 16 octets at the least, and how many at once', () => {
    const one = connected()
    one.hear(u('XID'), { payload: encodeXid({ informationOctetsMax: 20, windowFramesMax: 2 }) })
    one.send()
    one.peer().write(text(100))
    expect(one.frames().map(({ frame }) => frame.payload.length)).toEqual([20, 20])
    const small = connected()
    small.hear(u('XID'), { payload: encodeXid({ informationOctetsMax: 1 }) })
    small.send()
    small.peer().write(text(20))
    expect(small.frames().map(({ frame }) => frame.payload.length)).toEqual([16, 4])
    const before = linkAlone()
    before.hear(u('XID'), { payload: encodeXid({ informationOctetsMax: 30, modulo: 8 }) })
    before.hear(u('SABM'))
    before.send()
    before.peer().write(text(40))
    expect(before.frames().map(({ frame }) => frame.payload.length)).toEqual([30, 10])
  })

  it('XID leaves the modulo of a connection that stands', () => {
    const one = linkAlone()
    one.hear(u('SABME'))
    one.hear(u('XID'), { payload: encodeXid({ modulo: 8 }) })
    expect(one.link.modulo).toBe(128)
    const wide = linkAlone({ link: { ...linkOptionsDefault, version22: { ...version22 } } })
    wide.hear(u('SABME'))
    wide.send()
    wide.hear(u('XID'), { payload: encodeXid({ modulo: 128, windowFramesMax: 100 }) })
    wide.send()
    wide.peer().write(text(4_500))
    expect(wide.frames()).toHaveLength(32)
  })

  it('FRMR is told in words, whatever it says', () => {
    const one = connected()
    one.hear(u('FRMR'), { payload: Uint8Array.of(0x7f, 0, 1), ...response })
    one.hear(u('FRMR'), { payload: Uint8Array.of(1), ...response })
    expect(one.log.filter((line) => line.startsWith('rejected'))).toEqual([
      expect.stringMatching(/^rejected: \w+/),
      expect.stringMatching(/^rejected: \w+/),
    ])
  })

  it('with information that none may have, the link begins anew or is refused, and the session gets nothing', () => {
    const one = connected()
    one.hear(u('UA'), { payload: text(3), ...response })
    one.hear(ready(0), { payload: text(3) })
    one.hear({ type: 'U', name: 'unknown', pollFinal: false } as Control)
    expect(one.fresh()[0]).toBe('SABM!')
    expect(one.log.filter((line) => line.includes('octets'))).toEqual([])
    expect(one.log).toContain('begun anew')
  })
})

describe('a silent station', () => {
  it('is asked after T3, then again and again, and let go', () => {
    const one = connected()
    one.clock.advanceBy(299_999)
    expect(one.fresh()).toEqual([])
    one.clock.advanceBy(1)
    expect(one.fresh()).toEqual(['RR!'])
    for (let n = 0; n < 200; n++) {
      one.send()
      one.clock.advanceBy(10_000)
    }
    expect(one.log).toEqual(['ended', 'over no answer'])
  })

  it('is not asked again before the radio has sent what waits', () => {
    const one = connected()
    one.peer().write(text(1))
    one.clock.advanceBy(60_000)
    expect(one.fresh()).toEqual(['I 0/0'])
    one.send()
    one.clock.advanceBy(3_000)
    expect(one.fresh()).toEqual(['RR!'])
  })
})
