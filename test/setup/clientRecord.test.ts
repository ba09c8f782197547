// What KISS clients had sent, in the node's own database and its log.
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { clientRecord } from '../../src/setup/clientRecord.js'
import { openStore } from '../../src/store/store.js'
import { frame } from '../radio/fixtures.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'record-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const clock = virtualClock()
const open = () => openStore({ file: join(folder, 'node.db'), clock })
const octets = frame('Q6BBS-2', '>from \x1b[2Ja client')
const client = { name: 'tcp 192.0.2.7:50000', isLocal: false }
const read = () => {
  const decoded = decodeFrame(octets)
  if (!decoded.ok) throw new Error(decoded.reason)
  return decoded.frame
}
const line = 'Q6BBS-2>APZ000:>from %1B[2Ja client of KISS client tcp 192.0.2.7:50000'

describe("the record of clients' frames", () => {
  it('has who, what, when, and what became of it; `log` finds it by call and by number', () => {
    const store = open()
    const record = clientRecord({ store, clock, onEvent: () => {} })
    const end = record.taken({ client, radio: 1, octets }, read())
    // before the radio has it
    expect(store.transmissions.query()).toEqual([
      expect.objectContaining({ client: client.name, octets, outcome: 'queued', radio: 1 }),
    ])
    end({ id: 'x', kind: 'sent', atMs: 0, airtimeMs: 700 })
    expect(store.transmissions.query()).toEqual([
      expect.objectContaining({ client: client.name, outcome: 'sent', airtimeMs: 700 }),
    ])
    expect(store.events.query({ station: 'Q6BBS', reference: 'T1' })).toEqual([
      expect.objectContaining({ kind: 'queued', text: line, radio: 1 }),
      expect.objectContaining({ kind: 'sent', text: line, radio: 1 }),
    ])
    record.refused({ client, radio: 0, octets }, 'no radio', read())
    record.refused({ client, radio: 0, octets: Buffer.from('?') }, 'no frame')
    expect(store.events.query({ kinds: ['refused'] })).toEqual([
      expect.objectContaining({ station: 'Q6BBS-2', reason: 'no radio', text: line }),
      expect.objectContaining({ text: '1 octets of KISS client tcp 192.0.2.7:50000' }),
    ])
    store.close()
  })

  it('has what was sent while the disk did not take it, once the disk does', () => {
    const store = open()
    const record = clientRecord({ store, clock, onEvent: () => {} })
    const { begin } = store.transmissions
    Object.assign(store.transmissions, { begin: () => undefined })
    const end = record.taken({ client, radio: 1, octets }, read())
    Object.assign(store.transmissions, { begin })
    expect(store.transmissions.query()).toEqual([])
    end({ id: 'x', kind: 'sent', atMs: 0, airtimeMs: 700 })
    expect(store.transmissions.query()).toEqual([
      expect.objectContaining({ client: client.name, octets, outcome: 'sent', airtimeMs: 700 }),
    ])
    store.close()
    const again = open()
    expect(again.transmissions.query()).toHaveLength(1)
    again.close()
  })

  it('a process that died before it knew: the next one says so, once', () => {
    const killed = open()
    clientRecord({ store: killed, clock, onEvent: () => {} }).taken(
      { client, radio: 0, octets },
      read(),
    )
    // nothing is flushed, nothing closed: what follows reads what is on the disk
    for (const [restart, expected] of [1, 0].entries()) {
      const store = open()
      const told: string[] = []
      clientRecord({ store, clock, onEvent: ({ kind, text }) => told.push(`${kind} ${text}`) })
      expect(told, `restart ${restart}`).toEqual(expected === 1 ? [`given up ${line}`] : [])
      expect(store.transmissions.query()).toEqual([
        expect.objectContaining({ outcome: 'unknown', reason: expect.stringMatching(/ended/) }),
      ])
      store.close()
    }
    killed.close()
  })

  it('a client that floods us with refused frames fills no database, and hides nobody else', () => {
    const store = open()
    const record = clientRecord({ store, clock, onEvent: () => {} })
    const refuse = (from: string): void =>
      record.refused({ client: { ...client, name: from }, radio: 0, octets }, 'no', read())
    // each time from another port
    for (let count = 0; count < 5000; count++) refuse(`tcp 192.0.2.7:${count}`)
    refuse('tcp 192.0.2.8:50000')
    expect(store.events.query({ kinds: ['refused'] })).toHaveLength(51)
    clock.advanceBy(10_000)
    refuse('tcp 192.0.2.7:9')
    expect(store.events.query({ kinds: ['refused'] }).at(-1)?.text).toMatch(
      /\(and 4950 more of it before\)$/,
    )
    store.close()
  })
})
