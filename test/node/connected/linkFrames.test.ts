import { describe, expect, it } from 'vitest'
import type { Control } from '../../../src/ax25/control.js'
import type { Ax25Frame, CommandBits } from '../../../src/ax25/frame.js'
import { version20, version22 } from '../../../src/ax25/session/linkParameters.js'
import { decodeXid } from '../../../src/ax25/session/xid.js'
import { boundedCarrier } from '../../../src/node/connected/linkCarrier.js'
import { faultOf, isCommandFrame, xidOf } from '../../../src/node/connected/linkFrames.js'
import type { Outgoing } from '../../../src/node/transmitter.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { address } from './linkSession.js'

type UName = Extract<Control, { type: 'U' }>['name']
const u = (name: UName): Control => ({ type: 'U', name, pollFinal: false }) as Control
const supervisory: Control = { type: 'S', name: 'RR', receiveSequence: 0, pollFinal: false }
const information: Control = { type: 'I', sendSequence: 0, receiveSequence: 0, pollFinal: false }

const frame = (control: Control, command: CommandBits, octetCount = 0): Ax25Frame => ({
  ...{ destination: address('Q1A'), source: address('Q2B'), path: [], command, control },
  ...{ controlOctets: Uint8Array.of(0), payload: new Uint8Array(octetCount) },
})

describe('a frame of a connection', () => {
  it.each<[Control, CommandBits, boolean]>([
    [supervisory, 'command', true],
    [u('UA'), 'command', true],
    [information, 'response', false],
    [u('SABM'), 'response', false],
    [information, 'neither', true],
    [information, 'both', true],
    [supervisory, 'neither', false],
    [u('SABM'), 'both', true],
    [u('DISC'), 'neither', true],
    [u('UA'), 'neither', false],
    [u('DM'), 'both', false],
  ])('%j with the C bits of %s is a command: %s', (control, bits, isCommand) => {
    expect(isCommandFrame(frame(control, bits))).toBe(isCommand)
  })

  it.each<[Control, number, string | undefined]>([
    [u('unknown'), 0, 'control'],
    [u('unknown'), 1, 'control'],
    [supervisory, 0, undefined],
    [supervisory, 1, 'information'],
    [u('SABM'), 0, undefined],
    [u('SABM'), 1, 'information'],
    [u('FRMR'), 3, undefined],
    [information, 9, undefined],
  ])('%j with %d octets has the fault %s', (control, octetCount, fault) => {
    expect(faultOf(frame(control, 'command', octetCount))).toBe(fault)
  })

  it('tells what we can: modulo, SREJ, segments, sizes, tries (AX.25 2.2, 4.3.3.7)', () => {
    const told = (own: typeof version22) => {
      const read = decodeXid(xidOf(own))
      return read.ok ? read.value : read.reason
    }
    expect(told({ ...version22, informationOctetsMax: 200, triesMax: 7 })).toEqual({
      ...{ fullDuplex: false, selective: true, modulo: 128, segmenter: true },
      ...{ informationOctetsMax: 200, windowFramesMax: 32, triesMax: 7 },
    })
    expect(told(version20)).toMatchObject({ selective: false, modulo: 8, windowFramesMax: 7 })
    expect(told({ ...version20, selective: true })).toMatchObject({ windowFramesMax: 4 })
    expect(told({ ...version22, selective: false })).toMatchObject({ windowFramesMax: 127 })
  })
})

describe('frames on their way to the radio', () => {
  const octets = Uint8Array.of(1, 2, 3)

  function carrier(meter?: { maySend: boolean; noted: number[] }) {
    const clock = virtualClock()
    clock.advanceTo(1_000)
    const given: Outgoing[] = []
    const takenBack: string[] = []
    let ended = 0
    const one = boundedCarrier({
      ...{ clock, radio: 2, station: 'Q2B', notAfterMs: 500, channelBusy: () => true },
      transmitter: {
        send(outgoing) {
          given.push(outgoing)
          return (reason) => takenBack.push(reason)
        },
      },
      meter: meter && {
        maySend: () => meter.maySend,
        note: (ms) => meter.noted.push(ms),
      },
    })
    const send = (urgent = false) => one.send(octets, urgent, () => ended++)
    return { clock, given, takenBack, one, send, ended: () => ended }
  }
  const sent = { id: '1', kind: 'sent', atMs: 0, airtimeMs: 400 } as const

  it('are handed over quietly, behind messages of the same priority, with a time', () => {
    const { given, one, send } = carrier()
    send()
    send(true)
    const both = {
      ...{ whole: octets, payload: octets, path: [], radio: 2, station: 'Q2B', turn: 1 },
      ...{ quiet: true, notAfterMs: 1_500, text: 'a frame of the connection with Q2B' },
      onEnd: expect.any(Function),
    }
    expect(given).toEqual([
      { ...both, priority: 'answer' },
      { ...both, priority: 'acknowledgement' },
    ])
    expect(one.channelBusy()).toBe(true)
  })

  it('between nodes give way to people, and are counted when they were sent', () => {
    const meter = { maySend: true, noted: [] }
    const { given, send } = carrier(meter)
    send(true)
    given[0]!.onEnd?.(sent)
    given[0]!.onEnd?.({ id: '1', kind: 'refused', atMs: 0, reason: 'held' })
    expect(given[0]!.priority).toBe('mailbox')
    expect(meter.noted).toEqual([400])
  })

  it('wait until they are sent, refused or taken back, each once', () => {
    const { given, takenBack, one, send, ended } = carrier()
    send()
    const takeBack = send()
    send()
    expect(one.unsentCount).toBe(3)
    given[0]!.onEnd?.(sent)
    given[0]!.onEnd?.(sent)
    expect(one.unsentCount).toBe(2)
    takeBack()
    takeBack()
    expect(one.unsentCount).toBe(1)
    expect(takenBack).toEqual(Array(2).fill('the connection is over'))
    given[2]!.onEnd?.({ id: '1', kind: 'refused', atMs: 0, reason: 'held' })
    expect(one.unsentCount).toBe(0)
    expect(ended()).toBe(3)
  })

  it('beyond the share of a connection are given up unsent, when whoever sends has gone on', () => {
    const { clock, given, one, send, ended } = carrier({ maySend: false, noted: [] })
    send()
    const takeBack = send()
    expect([given.length, one.unsentCount, ended()]).toEqual([0, 2, 0])
    takeBack()
    expect(one.unsentCount).toBe(1)
    clock.advanceTo(1_000)
    expect([one.unsentCount, ended()]).toEqual([0, 1])
  })
})
