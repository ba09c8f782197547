import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type ClientFrame,
  type ClientLink,
  createKissHub,
  type HubOptions,
} from '../../src/kiss/hub.js'
import { kissOctets } from './plainClient.js'

function bench(change: Partial<HubOptions> = {}, radios: readonly number[] = [0, 1]) {
  const sent: ClientFrame[] = []
  const parameters: unknown[] = []
  const refused: string[] = []
  const gone: string[] = []
  const hub = createKissHub({
    host: {
      radios,
      send: (frame) => void sent.push(frame),
      refuse: (_, reason) => void refused.push(reason),
      malformed: (_, count) => void refused.push(`malformed ${count}`),
      gone: ({ name }) => void gone.push(name),
      setParameters: (radio, what) => parameters.push({ radio, ...what }) > 0,
    },
    receiveOnly: false,
    parametersAllowed: true,
    ...change,
  })
  const client = (
    whenFull: ClientLink['whenFull'] = 'client',
    waiting = 0,
    line?: ClientLink['line'],
  ) => {
    const written: Buffer[] = []
    const link = {
      name: `client ${hub.clients.length}`,
      isLocal: true,
      whenFull,
      line,
      waitingOctetsMax: 100,
      written,
      waiting,
      dropped: 0,
      write: (octets: Uint8Array) => void written.push(Buffer.from(octets)),
      waitingOctets: () => link.waiting,
      drop: () => {
        link.dropped++
      },
    }
    return { link, session: hub.attach(link) }
  }
  return { hub, sent, parameters, refused, gone, client }
}

const octets = Buffer.from('an invented frame')

describe('the KISS hub', () => {
  it('gives a heard frame to every client, with the radio as port nibble', () => {
    const { hub, client } = bench()
    const [one, two] = [client(), client()]
    hub.heard(1, octets)
    expect(one.link.written).toEqual([kissOctets(0x10, octets)])
    expect(two.link.written).toEqual(one.link.written)
    expect(hub.counters.framesOut).toBe(2)
    two.session.detach()
    hub.heard(0, octets)
    expect(one.link.written).toHaveLength(2)
    expect(two.link.written).toHaveLength(1)
  })

  it('passes data on by radio, and refuses a radio that there is not', () => {
    const { hub, sent, refused, client } = bench()
    client().session.push(Buffer.concat([0x00, 0x10, 0x20].map((type) => kissOctets(type, octets))))
    expect(sent.map(({ radio }) => radio)).toEqual([0, 1])
    expect(Buffer.from(sent[1]!.octets)).toEqual(octets)
    expect(hub.counters).toMatchObject({ framesIn: 2, unknownRadio: 1 })
    expect(refused).toEqual(['there is no radio 2'])
  })

  it('answers acknowledged data once it was sent, not before, and not to a client that is gone', () => {
    const { sent, client } = bench()
    const asked = Buffer.concat([Buffer.from([0xaa, 0xbb]), octets])
    const { link, session } = client()
    session.push(kissOctets(0x1c, asked))
    expect(link.written).toEqual([])
    expect(Buffer.from(sent[0]!.octets)).toEqual(octets)
    sent[0]!.onSent?.()
    // c0 5c aa bb c0 in the paper, for radio 5
    expect(link.written).toEqual([Buffer.from('c01caabbc0', 'hex')])
    session.push(kissOctets(0x1c, asked))
    session.detach()
    sent[1]!.onSent?.()
    expect(link.written).toHaveLength(1)
  })

  it('receive only: nothing is sent, no parameter set, both counted', () => {
    const { hub, sent, parameters, refused, client } = bench({ receiveOnly: true })
    client().session.push(
      Buffer.concat([kissOctets(0x00, octets), kissOctets(0x01, Buffer.from([30]))]),
    )
    expect([sent, parameters]).toEqual([[], []])
    expect(hub.counters).toMatchObject({ receiveOnly: 1, parametersRefused: 1, framesIn: 0 })
    expect(refused).toEqual([expect.stringMatching(/clients may only hear/)])
  })

  it('tells what was not a frame, and once that a client is gone', () => {
    const { refused, gone, client } = bench()
    const { session } = client()
    session.push(Buffer.from('login: \xc0\xc0\x00\xdb\x41\xc0', 'latin1'))
    expect(refused).toEqual(['malformed 2'])
    session.detach()
    session.detach()
    expect(gone).toEqual(['client 0'])
  })

  it('parameters go to their radio, unless they are not allowed', () => {
    const set = kissOctets(0x11, Buffer.from([30]))
    const open = bench()
    open.client().session.push(set)
    expect(open.parameters).toEqual([{ radio: 1, keyDelayMs: 300 }])
    const closed = bench({ parametersAllowed: false })
    closed.client().session.push(set)
    expect(closed.parameters).toEqual([])
    expect(closed.hub.counters.parametersRefused).toBe(1)
  })

  it('drops a client that does not read, and no other', () => {
    const { hub, client } = bench()
    const slow = client('client', 95)
    const fast = client()
    hub.heard(0, octets)
    expect(slow.link).toMatchObject({ dropped: 1, written: [] })
    expect(fast.link.written).toHaveLength(1)
    hub.heard(0, octets)
    expect(slow.link.dropped).toBe(1)
    expect(hub.counters).toMatchObject({ slowClients: 1, framesOut: 2 })
  })

  it('a line that does not read loses frames and keeps its place', () => {
    const { hub, client } = bench()
    const line = client('frame', 95)
    hub.heard(0, octets)
    line.link.waiting = 0
    hub.heard(0, octets)
    expect(line.link).toMatchObject({ dropped: 0 })
    expect(line.link.written).toHaveLength(1)
    expect(hub.counters.slowFrames).toBe(1)
  })

  it('100,000 cases of malformed octets end nothing and reach no other radio', () => {
    const { hub, sent, parameters, client } = bench()
    let session = client().session
    // half of the octets are the four that matter or a type octet of interest
    const telling = [0xc0, 0xdb, 0xdc, 0xdd, 0x00, 0x10, 0x0c, 0x1c, 0x01, 0x15, 0xff, 0x06]
    const octet = fc.nat(511).map((n) => (n < 256 ? n : telling[n % telling.length]!))
    const chunk = fc
      .array(octet, { maxLength: 40, size: 'max' })
      .map((list) => Uint8Array.from(list))
    fc.assert(
      fc.property(chunk, fc.nat(40), (wire, cutAt) => {
        session.push(wire.subarray(0, cutAt))
        session.push(wire.subarray(cutAt))
        for (const { radio } of sent) expect([0, 1]).toContain(radio)
        for (const frame of sent.splice(0)) frame.onSent?.()
        parameters.length = 0
        if (wire.length === 40) {
          session.detach()
          session = client().session
        }
      }),
      { numRuns: 100_000, seed: 1987 },
    )
    // and it still works
    session.push(kissOctets(0x00, octets).subarray(0, 1))
    session.push(kissOctets(0x00, octets))
    expect(Buffer.from(sent.at(-1)!.octets)).toEqual(octets)
    expect(hub.counters.malformed).toBeGreaterThan(10_000)
    expect(hub.counters.framesIn).toBeGreaterThan(1000)
  })
})

/* kissMultidrop.json: "Multi-Drop KISS Operation", 1991. */
const { examples } = JSON.parse(
  readFileSync(new URL('../published/kissMultidrop.json', import.meta.url), 'utf8'),
) as { readonly examples: readonly Readonly<Record<string, string>>[] }
const published = (what: string, key: string): Buffer =>
  Buffer.from(examples.find((one) => one.what!.startsWith(what))![key]!.replaceAll(' ', ''), 'hex')
const polled = { checksum: false, polled: true }
const checksum = { checksum: true, polled: false }

describe('several modems on one line (the paper of 1991)', () => {
  it('acknowledged: two octets of the sender come back once the frame was sent', () => {
    const { sent, client } = bench({}, [5])
    const { link, session } = client()
    session.push(published('acknowledged', 'to_modem'))
    expect([...sent[0]!.octets]).toEqual([1, 2])
    expect(link.written).toEqual([])
    sent[0]!.onSent?.()
    expect(link.written).toEqual([published('acknowledged', 'from_modem_when_sent')])
  })

  it('polled: silent until asked, then a frame a poll, and the poll back when there is none', () => {
    const { hub, sent, client } = bench({}, [3])
    const { link, session } = client('frame', 0, polled)
    const poll = published('poll of modem 3', 'to_modem')
    session.push(poll)
    expect(link.written.splice(0)).toEqual([published('poll of modem 3', 'from_modem')])
    hub.heard(3, octets)
    session.push(kissOctets(0x3c, Buffer.from([7, 8, 9])))
    sent[0]!.onSent?.()
    expect(link.written).toEqual([])
    session.push(Buffer.concat([poll, poll, poll]))
    expect(link.written).toEqual([
      kissOctets(0x30, octets),
      kissOctets(0x3c, Buffer.from([7, 8])),
      poll,
    ])
    expect(hub.counters.polls).toBe(4)
  })

  it('polled: the oldest go when nobody polls, and a poll of a plain line is nothing', () => {
    const { hub, client } = bench({}, [3])
    const { link, session } = client('frame', 0, polled)
    for (let at = 0; at < 103; at++) hub.heard(3, Buffer.from([at]))
    expect(hub.counters.unpolled).toBe(3)
    session.push(published('poll of modem 3', 'to_modem'))
    expect(link.written).toEqual([kissOctets(0x30, Buffer.from([3]))])
    const plain = client()
    plain.session.push(published('poll of modem 3', 'to_modem'))
    expect([plain.link.written, hub.counters.ignored]).toEqual([[], 1])
  })

  it('checksum: on each frame both ways; one that is wrong is dropped and told', () => {
    const { hub, sent, refused, client } = bench()
    const { link, session } = client('frame', 0, checksum)
    hub.heard(0, Buffer.from([1, 2, 0xc0]))
    hub.heard(0, Buffer.from([0xc0]))
    expect(link.written).toEqual([
      published('checksum, modem 0', 'octets'),
      published('checksum that must be escaped', 'octets'),
    ])
    session.push(published('checksum, modem 0', 'octets'))
    expect(sent.map((one) => [...one.octets])).toEqual([[1, 2, 0xc0]])
    session.push(kissOctets(0, Buffer.from([1, 2, 3, 4])))
    expect([sent.length, refused]).toEqual([1, ['malformed 1']])
  })
})
