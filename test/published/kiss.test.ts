import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { createKissDecoder, encodeKiss, returnCommand } from '../../src/kiss/codec.js'
import {
  frameEnd,
  frameEscape,
  kissCommand,
  transposedFrameEnd,
  transposedFrameEscape,
} from '../../src/kiss/constants.js'

/*
 * kiss.json: KISS is Chepponis and Karn, 1987; the extensions are Medcalf, "Multi-Drop KISS
 * Operation", 1991.
 */

const published = JSON.parse(readFileSync(new URL('./kiss.json', import.meta.url), 'utf8'))

const octets = (hex: string): Uint8Array =>
  Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'))
const hexOf = (data: Iterable<number>): string =>
  [...data].map((octet) => octet.toString(16).padStart(2, '0')).join(' ')

/** Frames of a stream in the file's notation: type octet and data, unescaped. */
const framesOf = (stream: Uint8Array[], options: object = {}) => {
  const decoder = createKissDecoder({ maxOctets: 1025, ...options })
  const frames = stream.flatMap((chunk) => decoder.push(chunk))
  const hex = frames.map(({ port, command, data }) =>
    hexOf([command === returnCommand ? 0xff : (port << 4) | command, ...data]),
  )
  return { hex, counters: decoder.counters }
}

it('special characters (KISS s.2)', () => {
  const { FEND, FESC, TFEND, TFESC } = published.special_characters
  expect(hexOf([frameEnd, frameEscape, transposedFrameEnd, transposedFrameEscape])).toBe(
    [FEND, FESC, TFEND, TFESC].join(' ').toLowerCase(),
  )
})

describe('commands (KISS s.4)', () => {
  const names: Record<string, keyof typeof kissCommand> = {
    Data: 'data',
    TXDELAY: 'txDelay',
    P: 'persistence',
    SlotTime: 'slotTime',
    TXtail: 'txTail',
    FullDuplex: 'fullDuplex',
    SetHardware: 'setHardware',
  }
  it.each(published.commands as { code: string; name: string }[])(
    '$code $name',
    ({ code, name }) => {
      const number = Number.parseInt(code, 16)
      expect(name === 'Return' ? returnCommand : kissCommand[names[name]!]).toBe(number)
    },
  )

  it('P, SlotTime and FullDuplex are as the paper has them unless set; TXDELAY is ours', () => {
    const [radio] = parseConfig('', 'node.toml').radios
    const { persistence, slotTimeMs, keyDelayMs, fullDuplex } = radio!.transmit
    const presets: Record<string, number> = Object.fromEntries(
      published.commands.map((command: { name: string; default: number | null }) => [
        command.name,
        command.default,
      ]),
    )
    expect(persistence).toBe(presets.P)
    expect(slotTimeMs).toBe(10 * presets.SlotTime!)
    expect(fullDuplex ? 1 : 0).toBe(presets.FullDuplex)
    // Radios have become quicker than the paper's 500 ms.
    expect(keyDelayMs).toBeLessThan(10 * presets.TXDELAY!)
  })

  it('packets of at least 1024 octets (KISS s.5)', () => {
    expect(published.packet_size.value).toContain('at least 1024 octets')
    const packetOctetsToAllow = 1024
    const data = new Uint8Array(packetOctetsToAllow).fill(frameEnd)
    const decoder = createKissDecoder({ maxOctets: packetOctetsToAllow + 1 })
    const [frame] = decoder.push(encodeKiss({ port: 0, command: 0, data }))
    expect(frame?.data).toEqual(data)
  })
})

describe('encode examples (computed)', () => {
  interface Row {
    id: string
    what: string
    port: number | null
    command: number
    data_hex: string
    on_the_wire_hex: string
  }
  it.each(published.encode_examples as Row[])('$id: $what', (row) => {
    const frame = { port: row.port ?? 15, command: row.command, data: octets(row.data_hex) }
    expect(hexOf(encodeKiss(frame))).toBe(row.on_the_wire_hex)
    const decoder = createKissDecoder({ maxOctets: 64 })
    expect(decoder.push(octets(row.on_the_wire_hex))).toEqual([frame])
  })
})

describe('decode edge cases', () => {
  interface Row {
    id: string
    what: string
    stream_hex: string
    frames_hex: string[]
    escape_errors: number
  }
  const rows: Row[] = published.decode_edge_cases

  /**
   * Where the paper leaves a choice, or we differ knowingly: a frame with a bad or unfinished
   * escape is dropped whole, because nothing protects this link and a damaged frame would go on the
   * air. Octets in front of the first frame end are thrown away unless startInsideFrame is set.
   */
  const ours: Record<string, { frames: string[]; badEscape: number }> = {
    'bad-escape': { frames: [], badEscape: 1 },
    'fesc-fend': { frames: ['00 42'], badEscape: 1 },
  }

  it.each(rows)('$id: $what', ({ id, stream_hex, frames_hex, escape_errors }) => {
    const wanted = ours[id] ?? { frames: frames_hex, badEscape: escape_errors }
    const stream = octets(stream_hex)
    const whole = framesOf([stream], { startInsideFrame: id === 'noise-first' })
    expect(whole.hex).toEqual(wanted.frames)
    expect(whole.counters.badEscape).toBe(wanted.badEscape)
    // Cut at every place, the same comes out.
    for (let cut = 0; cut <= stream.length; cut++) {
      const pieces = [stream.subarray(0, cut), stream.subarray(cut)]
      expect(framesOf(pieces, { startInsideFrame: id === 'noise-first' })).toEqual(whole)
    }
  })

  it('noise in front is thrown away and counted by default (the note of noise-first)', () => {
    const { hex, counters } = framesOf([octets('11 22 33 c0 00 41 c0')])
    expect(hex).toEqual(['00 41'])
    expect(counters.noise).toBe(1)
  })
})

describe('extensions (MULTI)', () => {
  const { checksum, multi_drop, ack_mode, poll } = published.extensions

  interface Sum {
    unescaped_hex: string
    xor: string
    on_the_wire_hex: string
  }
  it.each(checksum.examples as Sum[])('checksum of $unescaped_hex', (row) => {
    const [type, ...data] = octets(row.unescaped_hex)
    const frame = { port: type! >> 4, command: type! & 15, data: Uint8Array.from(data) }
    const wire = encodeKiss(frame, { checksum: true })
    expect(hexOf(wire)).toBe(row.on_the_wire_hex)
    const decoder = createKissDecoder({ maxOctets: 8, checksum: true })
    expect(decoder.push(wire)).toEqual([frame])
    const spoilt = encodeKiss(frame)
    expect(decoder.push(spoilt)).toEqual([])
    expect(decoder.counters.badChecksum).toBe(1)
  })

  it('multi-drop: the high nibble addresses the device', () => {
    const words: string = multi_drop.example
    const types = [...words.matchAll(/\b1([0-6]) (\w+)/g)].map(([, command]) => Number(command))
    expect(types).toEqual([0, 1, 2, 3, 4, 5, 6])
    for (const command of types) {
      const wire = encodeKiss({ port: 1, command, data: Uint8Array.of(1) })
      expect(wire[1]).toBe(0x10 | command)
    }
  })

  it('acknowledged data and poll', () => {
    expect(kissCommand.acknowledgedData).toBe(Number.parseInt(ack_mode.command_low_nibble, 16))
    const reply = octets(ack_mode.reply_after_sent_hex)
    const decoder = createKissDecoder({ maxOctets: 8 })
    const frame = {
      port: 5,
      command: kissCommand.acknowledgedData,
      data: Uint8Array.of(0xaa, 0xbb),
    }
    expect(decoder.push(reply)).toEqual([frame])
    expect(encodeKiss(frame)).toEqual(reply)
    expect(kissCommand.poll).toBe(Number.parseInt(poll.command_low_nibble, 16))
  })
})
