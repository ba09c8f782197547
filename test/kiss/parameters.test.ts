import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createKissDecoder, encodeKiss } from '../../src/kiss/codec.js'
import { parameterFrames, readHostFrame } from '../../src/kiss/parameters.js'

const published = JSON.parse(
  readFileSync(new URL('../published/kiss.json', import.meta.url), 'utf8'),
) as {
  commands: { code: string; name: string; default: number | null; default_meaning?: string }[]
  encode_examples: { id: string; what: string; on_the_wire_hex: string }[]
}

const read = (wire: Uint8Array) =>
  createKissDecoder({ maxOctets: 2048 })
    .push(wire)
    .map((frame) => readHostFrame(frame))

const octetsOf = (hex: string): Uint8Array =>
  Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'))

describe('readHostFrame (Chepponis and Karn, The KISS TNC, 1987, s.4)', () => {
  it('reads the defaults of the command table', () => {
    const meanings: Record<string, unknown> = {
      TXDELAY: { keyDelayMs: 500 },
      P: { persistence: 63 },
      SlotTime: { slotTimeMs: 100 },
      FullDuplex: { fullDuplex: false },
    }
    const withDefault = published.commands.filter((command) => command.default !== null)
    expect(withDefault.map((command) => command.name)).toEqual(Object.keys(meanings))
    for (const { code, name, default: value } of withDefault) {
      const frame = { port: 0, command: Number.parseInt(code, 16), data: Uint8Array.of(value!) }
      expect(readHostFrame(frame)).toEqual({ kind: 'parameters', change: meanings[name] })
    }
  })

  const meaningOf: Record<string, unknown> = {
    'txdelay-500ms': { keyDelayMs: 500 },
    'txdelay-300ms': { keyDelayMs: 300 },
    'txdelay-1920ms': { keyDelayMs: 1920 },
    'txdelay-2190ms': { keyDelayMs: 2190 },
    'p-63': { persistence: 63 },
    'p-255': { persistence: 255 },
    'slot-100ms': { slotTimeMs: 100 },
    txtail: { tailMs: 50 },
    'fulldup-on': { fullDuplex: true },
    'fulldup-off': { fullDuplex: false },
  }
  it.each(published.encode_examples)('understands the published example $id', (example) => {
    const [request] = read(octetsOf(example.on_the_wire_hex))
    if (example.id in meaningOf)
      expect(request).toEqual({ kind: 'parameters', change: meaningOf[example.id] })
    else if (example.id === 'data-empty') expect(request?.kind).toBe('ignored')
    else if (/^(sethw|return|port13-cmd11)$/.test(example.id))
      expect(request).toEqual({ kind: 'ignored', reason: 'command' })
    else expect(request?.kind).toBe('data')
  })

  it('reads acknowledged data (multi-drop paper, 1991): c0 5c aa bb <data> c0', () => {
    expect(read(octetsOf('c0 5c aa bb 41 42 c0'))).toEqual([
      { kind: 'acknowledgedData', tag: octetsOf('aabb'), octets: octetsOf('4142') },
    ])
    expect(read(octetsOf('c0 5c aa bb c0'))).toEqual([{ kind: 'ignored', reason: 'empty' }])
  })

  it('ignores a parameter without a value', () => {
    expect(read(octetsOf('c0 01 c0'))).toEqual([{ kind: 'ignored', reason: 'parameter' }])
  })
})

describe('parameterFrames', () => {
  it('writes what readHostFrame reads', () => {
    const tens = fc.integer({ min: 0, max: 255 }).map((units) => units * 10)
    fc.assert(
      fc.property(
        fc.record({
          keyDelayMs: tens,
          persistence: fc.integer({ min: 0, max: 255 }),
          slotTimeMs: tens,
          tailMs: tens,
          fullDuplex: fc.boolean(),
        }),
        fc.integer({ min: 0, max: 15 }),
        (parameters, port) => {
          const frames = parameterFrames(port, parameters)
          expect(frames.every((frame) => frame.port === port)).toBe(true)
          const requests = frames.flatMap((frame) => read(encodeKiss(frame)))
          const changes = requests.map((request) =>
            request.kind === 'parameters' ? request.change : {},
          )
          expect(Object.assign({}, ...changes)).toEqual(parameters)
        },
      ),
      { numRuns: 200, seed: 4 },
    )
  })

  it('rounds a time up and cuts it at the largest octet', () => {
    expect(parameterFrames(0, { keyDelayMs: 301 })[0]?.data).toEqual(Uint8Array.of(31))
    expect(parameterFrames(0, { tailMs: 9999 })[0]?.data).toEqual(Uint8Array.of(255))
    expect(parameterFrames(0, {})).toEqual([])
  })
})
