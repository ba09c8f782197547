import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../../src/aprs/parse.js'
import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import {
  announcementPayload,
  heardAnnouncement,
  parseAnnouncement,
} from '../../../src/node/hills/announcement.js'
import { seededRandom } from '../../../src/runtime/random.js'

const octets = (text: string): Uint8Array => new TextEncoder().encode(text)
const frame = (line: string): Uint8Array => {
  const parsed = parseLine(line)
  if (!parsed.ok) throw new Error(parsed.reason)
  return encodeFrame(parsed.frame)
}

describe('an announcement', () => {
  it('comes back as it was told', () => {
    const told = { call: 'Q1HIL-5', kinds: ['message', 'weather'], waitingCount: 3 } as const
    const payload = announcementPayload(told)
    expect(Buffer.from(payload).toString()).toBe('{{H1 Q1HIL-5 mw 3')
    expect(parseAnnouncement(payload)).toEqual(told)
    const bare = { call: 'Q1HIL', kinds: [], waitingCount: 0 }
    expect(parseAnnouncement(announcementPayload(bare))).toEqual(bare)
    const most = announcementPayload({ ...bare, waitingCount: 12_345 })
    expect(most).toEqual(octets('{{H1 Q1HIL - 999'))
    expect(parseAnnouncement(most)).toEqual({ ...bare, waitingCount: 999 })
  })

  // APRS reference 1.0.1, chapter 18: '{', user ID, packet type, data; the user ID '{' is for experiments
  it('is user-defined data in the experimental form', () => {
    const payload = announcementPayload({ call: 'Q1HIL', kinds: [], waitingCount: 0 })
    expect(parsePayload(payload, 'APZRPT')).toMatchObject({
      ...{ kind: 'userDefined', userId: '{', packetType: 'H', experimental: true },
    })
  })

  it.each([
    '',
    '{{H1 ',
    '{{H2 Q1HIL m 0',
    '{{H1 Q1HIL m',
    '{{H1 Q1HIL m 0 more',
    '{{H1 Q1HIL m 1000',
    '{{H1 Q1HIL M 0',
    '{{H1 Q1HIL-16 m 0',
    '{{H1 q1hil m 0',
    '{{H1 Q1HILLLL m 0',
    '{{H1  m 0',
    '{{H1 by Q1HIL m 0',
    '{{H1 Q1HIL m 0\r',
    '{{H1 Q1HIL m -1',
  ])('%j is none', (text) => {
    expect(parseAnnouncement(octets(text))).toBeUndefined()
  })

  it('leaves out kinds that it does not know', () => {
    expect(parseAnnouncement(octets('{{H1 Q1HIL zmq 0'))?.kinds).toEqual(['message'])
  })

  it('is believed when it was heard direct, of a call of its own', () => {
    expect(heardAnnouncement(frame('Q1HIL-10>APZRPT:{{H1 Q1HIL-5 m 0'))?.call).toBe('Q1HIL-5')
    expect(heardAnnouncement(frame('Q1HIL>APZRPT,WIDE2-1:{{H1 Q1HIL-5 m 0'))).toBeDefined()
    expect(heardAnnouncement(frame('Q1HIL>APZRPT,Q1DIG*:{{H1 Q1HIL-5 m 0'))).toBeUndefined()
    expect(heardAnnouncement(frame('Q1BAD>APZRPT:{{H1 Q1HIL-5 m 0'))).toBeUndefined()
    expect(heardAnnouncement(Uint8Array.of(1, 2, 3))).toBeUndefined()
    expect(heardAnnouncement(frame('Q1HIL>APZRPT:hello'))).toBeUndefined()
  })

  it('is a UI frame without a protocol above it, and nothing else', () => {
    const octets = frame('Q1HIL>APZRPT:{{H1 Q1HIL-5 m 0')
    // AX.25 2.2, 3.12 and figure 4.4: behind two addresses of 7 octets stand the control octet and the protocol
    expect([octets[14], octets[15]]).toEqual([0x03, 0xf0])
    const changed = (at: number, octet: number) => Uint8Array.from(octets).fill(octet, at, at + 1)
    expect(heardAnnouncement(changed(15, 0xcf))).toBeUndefined()
    expect(heardAnnouncement(changed(14, 0x00))).toBeUndefined()
  })

  it('never throws, whatever comes', () => {
    const random = seededRandom(5)
    for (let run = 0; run < 20_000; run++) {
      const payload = Uint8Array.from({ length: Math.floor(random() * 40) }, () =>
        Math.floor(random() * 256),
      )
      if (random() < 0.8) payload.set(octets('{{H1 ').subarray(0, payload.length))
      const told = parseAnnouncement(payload)
      if (told) expect(parseAnnouncement(announcementPayload(told))).toEqual(told)
    }
  })
})
