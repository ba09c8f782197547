import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { describePayload } from '../../src/aprs/describe.js'
import { parsePayload, positionOf } from '../../src/aprs/parse.js'
import type { AprsPayload } from '../../src/aprs/types.js'

const seed = 101

const { pairs } = JSON.parse(
  readFileSync(new URL('../published/aprs.json', import.meta.url), 'utf8'),
) as { pairs: { info: string | null }[] }
const published = pairs.flatMap(({ info }) => (info === null ? [] : [Buffer.from(info, 'latin1')]))

const payloads = fc.oneof(
  // anything
  fc.uint8Array({ maxLength: 80 }),
  // a data type identifier, then characters that often mean something
  fc
    .tuple(
      fc.constantFrom(..."!=/@`':;)>?<_T$}[{,#*\x1c\x1d"),
      fc.string({ unit: fc.constantFrom(...'0129 .,/\\NSEW-_!{}|:#zh*>?ABack'), maxLength: 50 }),
    )
    .map(([type, rest]) => Buffer.from(type + rest, 'latin1')),
  // a published payload with octets changed, cut or added
  fc
    .tuple(
      fc.constantFrom(...published),
      fc.array(fc.tuple(fc.nat(80), fc.nat(255)), { maxLength: 3 }),
      fc.nat(80),
      fc.uint8Array({ maxLength: 4 }),
    )
    .map(([payload, changes, cut, more]) => {
      const octets = Uint8Array.from([...payload.subarray(0, Math.max(1, cut)), ...more])
      for (const [at, octet] of changes) if (at < octets.length) octets[at] = octet
      return octets
    }),
)

const destinations = fc.oneof(
  fc.constantFrom('APZ001', 'S32UVT', 'S32U6T-3', 'ZZZZZZ', ''),
  fc.string({ maxLength: 9 }),
)

/** Every number anywhere in a value is finite. */
function onlyFinite(value: unknown): boolean {
  if (typeof value === 'number') return Number.isFinite(value)
  if (typeof value === 'object' && value !== null) return Object.values(value).every(onlyFinite)
  return true
}

const placed = (payload: AprsPayload): { latitudeDeg: number; longitudeDeg: number } | undefined =>
  'position' in payload ? payload.position : positionOf(payload)

describe('any payload', () => {
  it('100,000 of them: a value, a place on Earth if any, words', () => {
    const seen = new Map<string, number>()
    fc.assert(
      fc.property(payloads, destinations, (octets, destination) => {
        const payload = parsePayload(octets, destination)
        seen.set(payload.kind, (seen.get(payload.kind) ?? 0) + 1)
        const place = placed(payload)
        const onEarth =
          place === undefined ||
          (Math.abs(place.latitudeDeg) <= 90 && Math.abs(place.longitudeDeg) <= 180)
        const words = describePayload(payload)
        const sound = onEarth && onlyFinite(payload) && words !== ''
        if (!sound) expect({ octets: [...octets], payload, words }).toBe('sound')
      }),
      { numRuns: 100_000, seed },
    )
    // All kinds come up, or the fuzzing would prove little.
    for (const kind of [
      'position',
      'micE',
      'object',
      'item',
      'message',
      'acknowledgement',
      'rejection',
      'bulletin',
      'directedQuery',
      'query',
      'weather',
      'rawWeather',
      'telemetry',
      'telemetryDefinition',
      'status',
      'thirdParty',
      'nmea',
      'locator',
      'capabilities',
      'userDefined',
      'test',
      'unreadable',
    ]) {
      expect(seen.get(kind) ?? 0, kind).toBeGreaterThan(20)
    }
  })

  it('is read in time that does not run away with its length', () => {
    const long = (text: string): Uint8Array => Buffer.from(text.repeat(3000).slice(0, 30_000))
    const nasty = [
      '!!',
      '|!!',
      '!W  ',
      ' ',
      '{}',
      '>,',
      'T#',
      '/A=00',
      ',',
      '!4903.50N/07201.75W!',
      '}A>B:',
    ]
    for (const text of nasty) {
      for (const type of [
        '!',
        '@092345z4903.50N/07201.75W-',
        '>',
        ':N0CALL   :',
        'T#001,',
        '}',
        'x',
      ]) {
        expect(parsePayload(Buffer.concat([Buffer.from(type), long(text)]), 'APZ001')).toBeDefined()
      }
    }
  }, 5_000)
})
