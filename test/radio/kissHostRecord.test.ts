import { describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { formatLine, parseLine } from '../../src/ax25/line.js'
import type { ClientFrame, KissHub } from '../../src/kiss/hub.js'
import { createKissHost, type KissHostOptions } from '../../src/radio/kissHost.js'
import type { HeardFrame, Port, TransmitOutcome, TransmitRequest } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { clientDefaults } from './clientRecords.js'
import { transmitDefaults } from './fixtures.js'

const octetsOf = (line: string): Uint8Array => {
  const read = parseLine(line, { strict: false })
  if (!read.ok) throw new Error(read.reason)
  return encodeFrame(read.frame)
}
const ours = octetsOf('Q7RDG>APZ000:>x')
const client = { name: 'tcp 127.0.0.1:5', isLocal: true }
const other = { name: 'tcp 192.0.2.7:6', isLocal: false }

/** A radio with settings (4) and one without (7); what is recorded as it is given. */
function bench(change: Partial<KissHostOptions> = {}) {
  const clock = virtualClock()
  const requests: TransmitRequest[] = []
  const settle: ((outcome: TransmitOutcome) => void)[] = []
  const hear: ((frame: HeardFrame) => void)[] = []
  const changes: unknown[] = []
  let access = transmitDefaults.access
  const plain = (radio: number) => ({
    ...{ radio, name: `radio ${radio}` },
    send: (request: TransmitRequest) => void requests.push(request),
    onOutcome: (listener: (outcome: TransmitOutcome) => void) => void settle.push(listener),
    onFrame: (listener: (frame: HeardFrame) => void) => void hear.push(listener),
  })
  const withSettings = {
    ...plain(4),
    access: () => access,
    setAccess(one: object) {
      changes.push(one)
      access = { ...access, ...one }
    },
  }
  const records: unknown[] = []
  let ids = 0
  const host = createKissHost({
    ...{ ports: [withSettings, plain(7)] as unknown as Port[], clock, frameLifeMs: 120_000 },
    ...{ nextId: () => `id-${++ids}`, ...clientDefaults },
    record: {
      taken(frame, read) {
        records.push(['taken', frame.client.name, formatLine(read)])
        return ({ id, kind }) => records.push(['ended', id, kind])
      },
      refused: (frame, reason, read) =>
        records.push(['refused', frame.client.name, reason, read && formatLine(read)]),
      note: (who, text, radio) => records.push(['note', who.name, text, radio]),
    },
    ...change,
  })
  const send = (octets = ours, radio = 4, more: Partial<ClientFrame> = {}): void =>
    host.send({ radio, octets, client, ...more })
  return { clock, host, records, requests, settle, hear, changes, send }
}

describe('what is recorded of clients', () => {
  it('a frame before it is given to its radio, and what became of it, once', () => {
    const { host, records, requests, settle, send } = bench()
    expect(host.radios).toEqual([4, 7])
    send()
    expect(records).toEqual([['taken', client.name, 'Q7RDG>APZ000:>x']])
    expect(requests.map(({ id }) => id)).toEqual(['id-1'])
    settle[0]!({ id: 'id-1', kind: 'held', atMs: 1, reason: 'duty' })
    expect(records).toHaveLength(1)
    for (let count = 0; count < 2; count++)
      settle[1]!({ id: 'id-1', kind: 'refused', atMs: 1, reason: 'a hold' })
    expect(records.slice(1)).toEqual([['ended', 'id-1', 'refused']])
    expect(host.counters).toEqual({
      ...{ sent: 0, refused: 1, expired: 0, notAx25: 0, notPermitted: 0, fullDuplexRefused: 0 },
    })
  })

  it('what may not go, with the frame as far as it was read, and what it counts as', () => {
    const { host, records, requests, send } = bench()
    send(Uint8Array.of(1, 2))
    send(octetsOf('Q7 DG>APZ000:>x'))
    send(octetsOf('Q6BBS>APZ000:>x'), 4, { client: other })
    host.refuse({ radio: 4, octets: ours, client }, 'receive only')
    host.refuse({ radio: 4, octets: Uint8Array.of(1), client }, 'receive only')
    expect(requests).toEqual([])
    expect(records).toEqual([
      ['refused', client.name, expect.stringMatching(/^no AX\.25 frame: \S/), undefined],
      ['refused', client.name, expect.stringMatching(/^'Q7 DG' is not/), 'Q7 DG>APZ000:>x'],
      ['refused', other.name, expect.stringMatching(/^from Q6BBS: only/), 'Q6BBS>APZ000:>x'],
      ['refused', client.name, 'receive only', 'Q7RDG>APZ000:>x'],
      ['refused', client.name, 'receive only', undefined],
    ])
    const { notAx25, notPermitted, refused } = host.counters
    expect({ notAx25, notPermitted, refused }).toEqual({ notAx25: 2, notPermitted: 1, refused: 1 })
  })

  it('octets that are no frame, how often', () => {
    const { host, records } = bench()
    host.malformed(client, 1)
    host.malformed(client, 2)
    expect(records).toEqual([
      ['note', client.name, 'sent octets that are not a KISS frame', undefined],
      ['note', client.name, 'sent octets that are not a KISS frame, 2 times', undefined],
    ])
  })

  it('settings, with the radio that they are of, and what is left of them at the end', () => {
    const { host, records, changes } = bench()
    expect(host.setParameters(4, { keyDelayMs: 400 }, client)).toBe(true)
    expect(host.setParameters(4, { tailMs: 990 }, client)).toBe(true)
    host.gone(other)
    host.gone(client)
    host.gone(client)
    const access = 'key delay 300 ms, P 255, slot time 100 ms, tail 50 ms, half duplex'
    const held = 'key delay 400 ms, P 255, slot time 100 ms, tail 500 ms, half duplex'
    const gone = 'is gone, and with it what it had set: radio 4 has'
    expect(records).toEqual([
      ['note', client.name, 'set radio 4 to key delay 400 ms', 4],
      ['note', client.name, `set radio 4 to tail 990 ms; within the limits that is ${held}`, 4],
      ['note', client.name, `${gone} ${access}`, 4],
    ])
    expect(changes).toEqual([{ keyDelayMs: 400 }, { tailMs: 500 }, { keyDelayMs: 300, tailMs: 50 }])
  })

  it('a wish for full duplex: refused, said the first time, whoever asks', () => {
    const { host, records, changes } = bench()
    expect(host.setParameters(4, { fullDuplex: true }, client)).toBe(false)
    expect(host.setParameters(4, { fullDuplex: true }, other)).toBe(false)
    expect(host.counters.fullDuplexRefused).toBe(2)
    const text =
      'asked for full duplex: refused, radio 4 goes on listening before it sends; kiss.fullDuplexAllowed = true allows it (told once)'
    expect(records).toEqual([['note', client.name, text, 4]])
    expect(changes).toEqual([])
    expect(host.setParameters(4, { fullDuplex: false }, client)).toBe(true)
  })

  it('a radio without settings takes none, and takes frames all the same', () => {
    const { host, records, requests, send } = bench()
    expect(host.setParameters(7, { keyDelayMs: 400 }, client)).toBe(false)
    host.gone(client)
    expect(records).toEqual([])
    send(ours, 7)
    expect(requests).toHaveLength(1)
  })
})

describe('how much a client may ask for', () => {
  const reasons = (records: unknown[]) =>
    records.filter((one) => (one as string[])[0] === 'refused').map((one) => (one as string[])[2])

  it('a hundred frames may wait for a radio, and the next when one of them has ended', () => {
    const { clock, records, requests, settle, send } = bench()
    for (let count = 0; count < 100; count++) send()
    expect([requests.length, reasons(records)]).toEqual([100, []])
    clock.advanceBy(60_000)
    send()
    expect(reasons(records)).toEqual(['100 frames of clients wait for the radio'])
    settle[0]!({ id: 'id-1', kind: 'expired', atMs: 0, reason: 'x' })
    send()
    expect([requests.length, reasons(records).length]).toEqual([101, 1])
  })

  it('a hundred at once and ten a second, frames and settings each for itself', () => {
    const { clock, host, records, requests, settle, send } = bench()
    const sendAndEnd = (): void => {
      send()
      settle[0]!({ id: `id-${requests.length}`, kind: 'sent', atMs: 0, airtimeMs: 1 })
    }
    for (let count = 0; count < 101; count++) sendAndEnd()
    const tooFast = 'more than 10 frames a second, faster than any channel'
    expect([requests.length, reasons(records)]).toEqual([100, [tooFast]])
    const taken = Array.from({ length: 101 }, () => host.setParameters(4, { tailMs: 60 }, client))
    expect([taken.filter((one) => one).length, taken.at(-1)]).toEqual([100, false])
    clock.advanceBy(1000)
    for (let count = 0; count < 11; count++) sendAndEnd()
    expect(requests).toHaveLength(110)
  })
})

it('who asked is told once, when its frame went out, and not when it did not', () => {
  const { settle, send } = bench()
  let told = 0
  const onSent = (): void => void told++
  send(ours, 4, { onSent })
  send(ours, 4, { onSent })
  settle[0]!({ id: 'id-1', kind: 'refused', atMs: 0, reason: 'x' })
  expect(told).toBe(0)
  settle[0]!({ id: 'id-2', kind: 'sent', atMs: 0, airtimeMs: 1 })
  settle[0]!({ id: 'id-2', kind: 'sent', atMs: 0, airtimeMs: 1 })
  expect(told).toBe(1)
})

it('what the ports hear reaches the hub with its radio, repaired by one bit at most', () => {
  const { host, hear } = bench()
  const heard: unknown[] = []
  host.connect({ heard: (...all: unknown[]) => heard.push(all) } as unknown as KissHub)
  for (const [index, radio] of [4, 7].entries())
    for (const repairedBits of [0, 1, 2])
      hear[index]!({ octets: ours, radio, repairedBits } as HeardFrame)
  expect(heard).toEqual([4, 4, 7, 7].map((radio) => [radio, ours]))
})
