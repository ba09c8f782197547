import { describe, expect, it } from 'vitest'
import { createModemLink } from '../../src/kiss/modemLink.js'
import type { StreamHandlers } from '../../src/kiss/octetStream.js'
import { createTextWatch } from '../../src/kiss/textWatch.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { kissOctets } from './plainClient.js'

const silentAfterMs = 600_000

/** A link to a modem that is played by hand. */
function bench(startup: readonly string[] = []) {
  const clock = virtualClock()
  const openings: StreamHandlers[] = []
  const states: string[] = []
  const written: string[] = []
  const heard: string[] = []
  const link = createModemLink({
    clock,
    startup,
    silentAfterMs,
    ...{
      modemPort: 0,
      bufferOctetsMax: 4096,
      delayMs: 1000,
      delayMsMax: 60_000,
      openMsMax: 10_000,
    },
    open(handlers) {
      openings.push(handlers)
      return {
        write: (octets) => void written.push(Buffer.from(octets).toString('latin1')),
        waitingOctets: () => 0,
        close: () => {},
      }
    },
    onFrame: (octets) => heard.push(Buffer.from(octets).toString('latin1')),
    onState: (lost) => states.push(lost ?? 'ready'),
    onSilent: (silent) => states.push(silent ? 'silent' : 'tells again'),
  })
  link.setParameters({ keyDelayMs: 300 })
  const says = (text: string): void => openings.at(-1)!.onOctets(Buffer.from(text, 'latin1'))
  const hears = (octets: Buffer): void => openings.at(-1)!.onOctets(octets)
  return { clock, link, openings, states, written, heard, says, hears }
}

describe('what shows that an external modem does not listen', () => {
  it('text in place of KISS: it is given nothing, and reached anew', () => {
    const { clock, link, openings, states, says } = bench()
    openings[0]!.onOpen()
    clock.advanceBy(300)
    says('\r\nunknown command')
    expect(states).toEqual(['it sends text in place of KISS: "unknown command"'])
    expect(link.sendFrames([Buffer.from('x')])).toBe('the modem is not connected')
    clock.advanceBy(1000)
    expect(openings).toHaveLength(2)
    // It was switched to KISS meanwhile.
    openings[1]!.onOpen()
    clock.advanceBy(1000)
    expect(states.at(-1)).toBe('ready')
    expect(link.sendFrames([Buffer.from('x')])).toBeUndefined()
    // After a failure of its power it is in its text mode again, behind the end of a frame.
    says('\xc0\x00heard\xc0')
    says('Version 1, by itself\r\n')
    expect(states.at(-1)).toMatch(/^it sends text in place of KISS: "Version 1/)
  })

  it('what it sends back as it was given: a text mode with echo, or a loop', () => {
    const { clock, openings, states, heard, hears } = bench()
    openings[0]!.onOpen()
    clock.advanceBy(10)
    hears(
      Buffer.concat([kissOctets(0x01, Buffer.from([30])), kissOctets(0x00, Buffer.from('own'))]),
    )
    expect(states).toEqual(['it sends back what it is given'])
    expect(heard).toEqual([])
  })

  it('the lines of the start go out first, one after the other; what is answered to them does not count', () => {
    const { clock, openings, states, written, says } = bench(['\u0003', 'kiss please'])
    openings[0]!.onOpen()
    says('ready for a command: ')
    clock.advanceBy(499)
    expect(written).toEqual(['\u0003\r'])
    clock.advanceBy(1)
    says('kiss please\r\nas you like\r\n')
    expect(written).toEqual(['\u0003\r', 'kiss please\r'])
    clock.advanceBy(500)
    expect(written.at(-1)).toBe(kissOctets(0x01, Buffer.from([30])).toString('latin1'))
    clock.advanceBy(999)
    expect(states).toEqual([])
    clock.advanceBy(1)
    expect(states).toEqual(['ready'])
    // and again whenever it was reached anew
    openings[0]!.onClosed('it was unplugged')
    clock.advanceBy(1000)
    openings[1]!.onOpen()
    expect(written.at(-1)).toBe('\u0003\r')
  })

  it('silence is told once, at its limit to the millisecond, and is a doubt from then on', () => {
    const { clock, link, openings, states, hears } = bench()
    openings[0]!.onOpen()
    clock.advanceBy(1000)
    expect(link.doubt).toBe('the modem has told nothing since it was connected')
    hears(kissOctets(0x00, Buffer.from('heard')))
    expect(link.doubt).toBeUndefined()
    clock.advanceBy(silentAfterMs - 1)
    expect([states.at(-1), link.doubt]).toEqual(['ready', undefined])
    clock.advanceBy(1)
    expect(states.at(-1)).toBe('silent')
    expect(link.doubt).toBe('the modem has told nothing for 10 min')
    clock.advanceBy(silentAfterMs * 5)
    expect(states).toEqual(['ready', 'silent'])
    // of another radio of its: it lives
    hears(kissOctets(0x70, Buffer.from('heard')))
    expect(states.at(-1)).toBe('tells again')
    expect(link.doubt).toBeUndefined()
  })
})

describe('text among what a modem sends', () => {
  const found = (octets: string, modemPort = 0): string | undefined =>
    createTextWatch(modemPort).push(Buffer.from(octets, 'latin1'))

  it.each([
    ['before the first frame end', 'on line', 'on line'],
    ['a prompt after line ends', '\r\n\r\nhow?', 'how?'],
    ['behind a frame', '\xc0\x00data\xc0what?', 'what?'],
    ['up to the end of its line', 'first\r\nsecond', 'first'],
    ['no more than 40 characters of it', 'x'.repeat(100), 'x'.repeat(40)],
  ])('is found %s', (_, octets, text) => expect(found(octets)).toBe(text))

  it.each([
    ['a frame that carries text', '\xc0\x00Q1ABC>hello there\r\n\xc0'],
    ['a frame of another radio', '\xc0\x30Q1ABC>hello there\xc0'],
    ['a frame whose end is still to come', '\xc0\x00Q1ABC>hello there'],
    ['what it answers to a question of its hardware', '\xc0\x06some model\xc0'],
    ['three printable octets of noise', 'abc\xff\x00'],
  ])('is not %s', (_, octets) => expect(found(octets)).toBeUndefined())

  it('is found however it is cut, up to four characters', () => {
    const watch = createTextWatch(0)
    expect(['a', 'b', 'c', 'd', 'e'].map((octet) => watch.push(Buffer.from(octet)))).toEqual([
      ...[undefined, undefined, undefined, 'abcd', undefined],
    ])
  })
})
