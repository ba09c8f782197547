import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { repeatPath } from '../../src/aprs/path.js'
import {
  addressOctetCount,
  decodeAddress,
  encodeAddress,
  parseAddress,
  parsePath,
} from '../../src/ax25/address.js'

import {
  type Control,
  decodeControl,
  encodeControl,
  mayCarryInformation,
} from '../../src/ax25/control.js'
import {
  type Ax25Frame,
  decodeFrame,
  digipeaterCountMax,
  encodeFrame,
  frameOctetCountMin,
} from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { pidEscape, pidNoLayer3, protocolNames } from '../../src/ax25/protocol.js'

/*
 * The values of ax25.json that concern addresses and frames; V22 is the AX.25 v2.2 text (1998,
 * revision 4 of 2025), V20 the v2.0 text of 1984. Check sequences and bit streams are the framing's
 * (fcs.test.ts).
 */

/** `N(R)<<5 | 0d` and `N(R)<<5 | N(S)<<1` as functions. */
const formulaOf =
  (text: string) =>
  (r: number, s: number): number => {
    const [first, second] = text.split(' | ')
    if (first !== 'N(R)<<5') throw new Error(`unknown formula ${text}`)
    return (r << 5) | (second === 'N(S)<<1' ? s << 1 : Number.parseInt(second!, 16))
  }

const published = JSON.parse(readFileSync(new URL('./ax25.json', import.meta.url), 'utf8'))

const octets = (hex: string): Uint8Array =>
  Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'))
const hexOf = (data: Uint8Array): string => Buffer.from(data).toString('hex')

const frameOf = (hex: string, strict = true): Ax25Frame => {
  const decoded = decodeFrame(octets(hex), { strict })
  if (!decoded.ok) throw new Error(decoded.reason)
  return decoded.frame
}

describe('control octets (V22 figures 4.1a to 4.4)', () => {
  interface Row {
    name: string
    hex_pf0: string
    hex_pf1?: string
    bits?: string
  }
  const rows: Row[] = published.control_octets
  const named = rows.filter((row) => row.hex_pf1 !== undefined)
  const sequenced = rows.filter((row) => row.bits !== undefined)

  it('are all here', () => expect(named.length + sequenced.length).toBe(14))

  it.each(named)('$name $hex_pf0 and $hex_pf1', ({ name, hex_pf0, hex_pf1 }) => {
    for (const [hex, pollFinal] of [
      [hex_pf0, false],
      [hex_pf1!, true],
    ] as const) {
      const control: Control =
        name === 'UI' ? { type: 'UI', pollFinal } : { type: 'U', name: name as 'SABM', pollFinal }
      expect(decodeControl(octets(hex))).toEqual(control)
      expect(hexOf(encodeControl(control))).toBe(hex)
    }
  })

  it.each(sequenced)('$name $bits, every sequence number', ({ name, bits, hex_pf0 }) => {
    const formula = formulaOf(hex_pf0)
    for (let r = 0; r < 8; r++) {
      for (let s = 0; s < 8; s++) {
        for (const pollFinal of [false, true]) {
          const octet = formula(r, s) | (pollFinal ? 0x10 : 0)
          const control: Control =
            name === 'I'
              ? { type: 'I', receiveSequence: r, sendSequence: s, pollFinal }
              : { type: 'S', name: name as 'RR', receiveSequence: r, pollFinal }
          expect(decodeControl(Uint8Array.of(octet))).toEqual(control)
          expect([...encodeControl(control)]).toEqual([octet])
        }
      }
    }
    expect(bits).toMatch(/^RRR P/)
  })

  it.each(published.control_examples as { hex: string; decoded: string }[])(
    '$hex: $decoded',
    ({ hex, decoded }) => {
      const control = decodeControl(octets(hex))
      const numbers =
        control.type === 'I' || control.type === 'S' ? control.receiveSequence : undefined
      const words: string[] = []
      words.push(
        control.type === 'I' ? 'I frame' : control.type === 'S' ? control.name : control.type,
      )
      if (numbers !== undefined) words.push(`N(R)=${numbers}`)
      const mark = control.type === 'I' ? 'P' : 'P/F'
      words.push(`${mark}=${control.pollFinal ? 1 : 0}`)
      if (control.type === 'I') words.push(`N(S)=${control.sendSequence}`)
      expect(words.join(', ')).toBe(decoded)
    },
  )
})

describe('PID (V22 figure 3.2)', () => {
  it.each(published.pid as { hex: string; meaning: string }[])('$hex: $meaning', ({ hex }) => {
    const pid = Number.parseInt(hex, 16)
    expect(protocolNames[pid]).toBeDefined()
    const frame = frameOf(`82a0b4606062e0 a88a6aa6a84061 03 ${hex} 41 42`)
    expect(frame.pid).toBe(pid)
    // ff: the escape, next octet has more.
    expect(frame.pidExtension).toBe(pid === pidEscape ? 0x41 : undefined)
    expect(hexOf(frame.payload)).toBe(pid === pidEscape ? '42' : '4142')
  })

  it('knows no others', () => {
    expect(Object.keys(protocolNames)).toHaveLength(published.pid.length)
    expect(protocolNames[pidNoLayer3]).toBe('no layer 3')
  })

  it('is in I and UI frames only (pid_source)', () => {
    expect(frameOf('a88a6aa6a840e2 a88a6aa6a84065 3f').pid).toBeUndefined()
    expect(frameOf('9c946ea04040e0 9c6e988a9a4061 3ef0').pid).toBe(pidNoLayer3)
  })
})

describe("addresses from the standards' figures", () => {
  interface Row {
    text: string
    octets_hex: string
  }
  const rows = (published.address_examples_from_standard as Partial<Row>[]).filter(
    (row): row is Row => row.octets_hex !== undefined,
  )

  it.each(rows)('$text', ({ text, octets_hex }) => {
    const decoded = decodeAddress(octets(octets_hex), true)
    if (!decoded.ok) throw new Error(decoded.reason)
    const { address, topBit, last } = decoded.value
    const call = /([A-Z0-9]*\d[A-Z]+) (?:destination|source|repeater)/.exec(text)![1]
    expect(address).toEqual({ call, ssid: Number(/SSID (\d+)/.exec(text)![1]) })
    expect(topBit).toBe(/command|H=1|K8MMO/.test(text))
    expect(last).toBe(/last octet/.test(text))
    expect(hexOf(encodeAddress(decoded.value))).toBe(octets_hex.replaceAll(' ', ''))
  })

  it('of which there are six', () => expect(rows).toHaveLength(6))
})

describe('addresses of invented calls (computed)', () => {
  interface Row {
    call: string
    ssid: number
    c_or_h_bit: number
    extension_bit: number
    octets_hex: string
    note: string
  }
  const rows: Row[] = published.address_examples_invented_calls_computed

  it.each(rows)('$call-$ssid, $note', ({ call, ssid, c_or_h_bit, extension_bit, octets_hex }) => {
    const subfield = {
      address: { call, ssid },
      topBit: c_or_h_bit === 1,
      last: extension_bit === 1,
    }
    expect(hexOf(encodeAddress(subfield))).toBe(octets_hex.replaceAll(' ', ''))
    expect(decodeAddress(octets(octets_hex), true)).toEqual({ ok: true, value: subfield })
  })
})

describe('frames', () => {
  const rows: {
    id: string
    what: string
    frame_hex_without_fcs: string
    octets_with_fcs: number
  }[] = published.frames

  const expected: Record<string, { line: string; command: string }> = {
    'ax25-fig-3.4': { line: 'N7LEM>NJ7P{control=3e,pid=f0}:', command: 'command' },
    'ax25-fig-3.8': { line: 'N7LEM>NJ7P,N7OO-1*{control=3e,pid=f0}:', command: 'command' },
    'ui-no-path': { line: 'TE5ST-7>APZ001:>check 1', command: 'command' },
    'ui-one-used': {
      line: 'TE5ST-9>APZ001,DI6GI*,WIDE2-1:!4903.50N/07201.75W-Test 001234',
      command: 'command',
    },
    'ui-eight-path': {
      line: 'TE5ST-15>APZ001,RPT1-1,RPT2-2,RPT3-3*,RPT4-4,RPT5-5,RPT6-6,RPT7-7,RPT8-8:T',
      command: 'command',
    },
    'stuffing-heavy': {
      line: `TE5ST>APZ001:${'%FF'.repeat(10)}~}?%FC%1F`,
      command: 'command',
    },
    'min-sabm': { line: 'TE5ST-2>TE5ST-1{control=3f}:', command: 'command' },
    'ua-resp': { line: 'TE5ST-1>TE5ST-2{control=73,response}:', command: 'response' },
    'message-ack': { line: 'TE5ST>APZ001::TE6ST-14 :ack003', command: 'command' },
  }

  it.each(rows)('$id: $what', ({ id, frame_hex_without_fcs, octets_with_fcs }) => {
    const frame = frameOf(frame_hex_without_fcs)
    expect(formatLine(frame)).toBe(expected[id]?.line)
    expect(frame.command).toBe(expected[id]?.command)
    const written = encodeFrame(frame)
    expect(hexOf(written)).toBe(frame_hex_without_fcs.replaceAll(' ', ''))
    expect(written.length + 2).toBe(octets_with_fcs)
  })
})

describe('facts', () => {
  const facts: { id: string; value: unknown }[] = published.facts
  const fact = (id: string): unknown => {
    const row = facts.find((entry) => entry.id === id)
    if (row === undefined) throw new Error(`no fact '${id}'`)
    return row.value
  }

  it('shortest frame (V22 3.9): 136 bits with FCS, 15 octets without', () => {
    expect(frameOctetCountMin).toBe((fact('min-frame-bits') as number) / 8 - 2)
    const shortest = octets('a88a6aa6a840e2 a88a6aa6a84065 3f')
    expect(shortest).toHaveLength(frameOctetCountMin)
    expect(decodeFrame(shortest).ok).toBe(true)
    expect(decodeFrame(shortest.subarray(0, -1)).ok).toBe(false)
  })

  it('at most eight repeaters (V22 3.12.5), 14 to 70 address octets', () => {
    expect(digipeaterCountMax).toBe(fact('max-repeaters'))
    const { min, max } = fact('address-octets') as { min: number; max: number }
    expect(2 * addressOctetCount).toBe(min)
    expect((2 + digipeaterCountMax) * addressOctetCount).toBe(max)
  })

  it('C bits (V22 figure 6.1)', () => {
    const bits = fact('c-bits') as Record<'command' | 'response', { dest: number; source: number }>
    const withBits = (dest: number, source: number): string =>
      `82a0b4606062${dest ? 'e0' : '60'} a88a6aa6a840${source ? 'e1' : '61'} 03f0`
    for (const kind of ['command', 'response'] as const) {
      expect(frameOf(withBits(bits[kind].dest, bits[kind].source)).command).toBe(kind)
    }
    expect(frameOf(withBits(0, 0)).command).toBe('neither')
    expect(frameOf(withBits(1, 1)).command).toBe('both')
  })

  it('reserved bits are 1 when not used and are kept when they are (V22 figures 3.5 to 3.7)', () => {
    const odd = '82a0b460606280 a88a6aa6a84021 03f0'
    const frame = frameOf(odd)
    expect(frame.destination.reservedBits).toBe(0)
    expect(frame.source.reservedBits).toBe(1)
    expect(hexOf(encodeFrame(frame))).toBe(odd.replaceAll(' ', ''))
  })

  it('information field in I, UI, XID, TEST and FRMR only (V22 3.5)', () => {
    const carriers = [0x00, 0x03, 0xaf, 0xe3, 0x87]
    const others = [0x01, 0x2f, 0x6f, 0x43, 0x0f, 0x63]
    const may = (octet: number): boolean => mayCarryInformation(decodeControl(Uint8Array.of(octet)))
    expect(carriers.map(may)).toEqual((fact('i-field-frames') as string[]).map(() => true))
    expect(others.map(may)).toEqual(others.map(() => false))
  })

  it('call signs: upper-case letters and digits only, padded with spaces (V22 3.12, 3.12.2)', () => {
    for (const text of ['N0CALL', 'A', 'ZZ9ZZZ-15']) expect(parseAddress(text).ok).toBe(true)
    for (const text of ['', 'N0 CALL', 'TOOLONG', 'N0CALL-16', 'N0CALL-', 'N0CÄLL', '-1']) {
      expect(parseAddress(text).ok).toBe(false)
    }
    expect(decodeAddress(octets('a88a6aa6a84061'), true).ok).toBe(true)
    expect(decodeAddress(octets('a88a40a6a84061'), true).ok).toBe(false)
    expect(decodeAddress(octets('a88a40a6a84061'), false)).toMatchObject({
      value: { address: { call: 'TE ST' } },
    })
  })
})

describe('repeaters', () => {
  const address = (text: string) => {
    const parsed = parseAddress(text)
    if (!parsed.ok) throw new Error(parsed.reason)
    return parsed.value
  }
  const path = (text: string) => {
    const parsed = parsePath(text)
    if (!parsed.ok) throw new Error(parsed.reason)
    return parsed.value
  }

  it('act on their own address only, where it is the first whose H bit is 0 (V22 3.12.5)', () => {
    const own = address('RPT2-2')
    for (const others of ['', 'RPT1-1,RPT2-2', 'RPT1-1,RPT2-2*', 'RPT2-3']) {
      expect(repeatPath(path(others), own).repeat).toBe(false)
    }
    expect(repeatPath(path('RPT1-1*,RPT2-2'), own).repeat).toBe(true)
  })

  it('set their H bit; nothing else changes (V22 3.12.4, 3.12.5)', () => {
    const before = frameOf(
      '82a0b4606062e0 a88a6aa6a8406e a4a0a8624040e2 a4a0a864404064 a4a0a866404067 03f0 41',
    )
    const repeated = repeatPath(before.path, address('RPT2-2'))
    if (!repeated.repeat) throw new Error(repeated.reason)
    const after = encodeFrame({ ...before, path: repeated.path })
    const changed = [...encodeFrame(before)].map((octet, at) => octet ^ after[at]!)
    // The SSID octet of the second repeater, bit 7.
    expect(changed.findIndex((bits) => bits !== 0)).toBe(4 * 7 - 1)
    expect(changed[4 * 7 - 1]).toBe(0x80)
    expect(changed.filter((bits) => bits !== 0)).toHaveLength(1)
  })
})

describe('negative cases', () => {
  it('no extension bit before the control octet; more than ten subfields (V22 3.12)', () => {
    const open = '82a0b4606062e0 a88a6aa6a84060'
    expect(decodeFrame(octets(`${open} 03f0`)).ok).toBe(false)
    expect(decodeFrame(octets(open + 'a4a0a8624040e2'.repeat(3))).ok).toBe(false)
    const nine = `${open}${'a4a0a8624040e2'.repeat(8)}a4a0a8624040e3 03f0`
    expect(decodeFrame(octets(nine), { strict: true })).toEqual({
      ok: false,
      reason: 'more than 8 digipeaters',
    })
    expect(hexOf(encodeFrame(frameOf(nine, false)))).toBe(nine.replaceAll(' ', ''))
  })
})
