import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  formatAcknowledgement,
  formatBulletin,
  formatCapabilities,
  formatMessage,
  formatObject,
  formatPosition,
  formatRejection,
  formatStatus,
  type PositionParts,
} from '../../src/aprs/format.js'
import {
  formatTelemetry,
  formatTelemetryEquations,
  formatTelemetryNames,
  formatTelemetryUnits,
} from '../../src/aprs/formatTelemetry.js'
import { messageTextProblem } from '../../src/aprs/messageText.js'
import { directsReply, heardReply, traceReply } from '../../src/aprs/queryReply.js'
import { read, textOf } from './helpers.js'

const seed = 88
const runs = { numRuns: 1_000, seed }

const addressees = fc.stringMatching(/^[A-Z0-9]{1,6}(-[1-9]|-1[0-5])?$/).filter((call) => {
  // Those have meanings of their own.
  return !/^(BLN|NWS|SKY|CWA|BOM)/.test(call)
})
const numbers = fc.stringMatching(/^[A-Za-z0-9]{1,5}$/)
/** Text that is nothing else: no acknowledgement, query or definition. */
const texts = fc
  .string({ unit: 'grapheme', maxLength: 67 })
  .filter((text) => messageTextProblem(text) === undefined)
  .filter(
    (text) => !/^(ack|rej|\?|(PARM|UNIT|EQNS|BITS)\.)/.test(text) && !/[\x80-\x9f]/.test(text),
  )

describe('messages', () => {
  it('come back as they were sent, numbered or not, with a reply-acknowledgement or not', () => {
    const reply = fc.option(fc.oneof(fc.constant(''), numbers), { nil: undefined })
    fc.assert(
      fc.property(addressees, texts, fc.option(numbers, { nil: undefined }), reply, (...fields) => {
        const [addressee, text, number, replied] = fields
        const withReply = number === undefined ? undefined : replied
        const payload = formatMessage({
          addressee,
          text,
          ...(number === undefined ? {} : { number }),
          ...(withReply === undefined ? {} : { replyAcknowledges: withReply }),
        })
        const parsed = read('message', payload)
        expect(parsed).toMatchObject({ addressee, text })
        expect(parsed.number).toBe(number)
        // a line number has at most five characters: what does not fit is left out
        const fits = (reply: string): boolean => `${number}}${reply}`.length <= 5
        const sent = withReply === undefined ? undefined : [withReply, ''].find(fits)
        expect(parsed.replyAcknowledges).toBe(sent)
        if (withReply !== undefined) expect(parsed.numberAsSent!.length).toBeLessThanOrEqual(5)
      }),
      runs,
    )
  })

  it.each([
    ['AB', 'CD', '{AB}CD'],
    ['AB', '', '{AB}'],
    // six characters are no line number: what does not fit is told by an acknowledgement of its own
    ['AB', '003', '{AB}'],
    ['AB', '12345', '{AB}'],
    ['1234', 'CD', '{1234}'],
    ['12345', '', '{12345'],
  ])('number %s that acknowledges "%s" ends in %s', (number, replyAcknowledges, end) => {
    const octets = formatMessage({ addressee: 'N0CALL', text: 'x', number, replyAcknowledges })
    expect(new TextDecoder().decode(octets)).toBe(`:N0CALL   :x${end}`)
  })

  it('acknowledgements and rejections of whatever number was sent', () => {
    fc.assert(
      fc.property(
        addressees,
        numbers,
        fc.option(numbers, { nil: undefined }),
        (addressee, first, second) => {
          const number = second === undefined ? first : `${first}}${second}`
          const wanted = { addressee, number: first, numberAsSent: number }
          expect(
            read('acknowledgement', formatAcknowledgement({ addressee, number })),
          ).toMatchObject(wanted)
          expect(read('rejection', formatRejection({ addressee, number }))).toMatchObject(wanted)
        },
      ),
      runs,
    )
  })

  it('bulletins, announcements, group bulletins', () => {
    const sent = (parts: { id: string; group?: string }) =>
      read('bulletin', formatBulletin({ ...parts, text: 'Snow on the pass' }))
    expect(sent({ id: '3' })).toMatchObject({ bulletinKind: 'bulletin', id: '3' })
    expect(sent({ id: 'Q' })).toMatchObject({ bulletinKind: 'announcement', id: 'Q' })
    expect(sent({ id: '4', group: 'RIDGE' })).toMatchObject({
      bulletinKind: 'group',
      group: 'RIDGE',
    })
    expect(() => sent({ id: 'q' })).toThrow(RangeError)
    expect(() => sent({ id: '4', group: 'RIDGES' })).toThrow(RangeError)
  })

  it('what cannot be sent is named before it is tried', () => {
    expect(messageTextProblem('x'.repeat(67))).toBeUndefined()
    expect(messageTextProblem('ü'.repeat(67))).toBeUndefined()
    expect(messageTextProblem('ü'.repeat(68))).toMatch(/68 characters/)
    expect(messageTextProblem('🏔'.repeat(59))).toBeUndefined()
    expect(messageTextProblem('🏔'.repeat(60))).toMatch(/240 octets/)
    expect(messageTextProblem('a{b')).toMatch(/'\{'/)
    for (const number of ['', '123456', 'a b', '1}2}3', '}1']) {
      expect(() => formatAcknowledgement({ addressee: 'N0CALL', number })).toThrow(RangeError)
    }
    expect(() => formatMessage({ addressee: '', text: 'x' })).toThrow(RangeError)
    expect(() => formatMessage({ addressee: 'N0CALL', text: 'x', replyAcknowledges: '' })).toThrow(
      RangeError,
    )
  })
})

const symbols = fc.record({
  table: fc.constantFrom('/', '\\', '3', 'R'),
  code: fc.constantFrom('-', '#', 'r', '>', '&'),
})
const comments = fc.stringMatching(/^[A-Za-z0-9 .,=-]{0,25}$/)

const positions: fc.Arbitrary<PositionParts> = fc.record(
  {
    latitudeDeg: fc.double({ min: -90, max: 90, noNaN: true }),
    longitudeDeg: fc.double({ min: -180, max: 180, noNaN: true }),
    symbol: symbols,
    messaging: fc.boolean(),
    atWallMs: fc.integer({ min: 0, max: 2 ** 41 }),
    comment: comments,
    altitudeM: fc.integer({ min: -1000, max: 30_000 }),
  },
  { requiredKeys: ['latitudeDeg', 'longitudeDeg', 'symbol', 'messaging'] },
)

describe('positions', () => {
  it('come back within half of the last digit', () => {
    fc.assert(
      fc.property(positions, (parts) => {
        const parsed = read('position', formatPosition(parts))
        expect(Math.abs(parsed.position.latitudeDeg - parts.latitudeDeg)).toBeLessThan(0.0051 / 60)
        expect(Math.abs(parsed.position.longitudeDeg - parts.longitudeDeg)).toBeLessThan(
          0.0051 / 60,
        )
        expect(parsed.position.symbol).toEqual(parts.symbol)
        expect(parsed.messaging).toBe(parts.messaging)
        expect(parsed.comment).toBe(parts.comment?.trim() ?? '')
        expect(Math.abs((parsed.altitudeM ?? 0) - (parts.altitudeM ?? 0))).toBeLessThan(0.16)
        const time = parsed.timestamp
        if (parts.atWallMs === undefined) expect(time).toBeUndefined()
        else {
          const date = new Date(parts.atWallMs)
          expect(time).toMatchObject({
            day: date.getUTCDate(),
            hours: date.getUTCHours(),
            zone: 'UTC',
          })
        }
      }),
      runs,
    )
  })

  it('come back within 0.3 m compressed, with course and speed within their steps', () => {
    const motion = fc.record({
      courseDeg: fc.integer({ min: 1, max: 360 }),
      speedKmh: fc.double({ min: 0, max: 1500, noNaN: true }),
    })
    fc.assert(
      fc.property(positions, fc.option(motion, { nil: undefined }), (parts, moving) => {
        const parsed = read('position', formatPosition({ ...parts, compressed: true, ...moving }))
        const degrees = 0.5001 / 190463
        expect(Math.abs(parsed.position.latitudeDeg - parts.latitudeDeg)).toBeLessThan(degrees)
        expect(Math.abs(parsed.position.longitudeDeg - parts.longitudeDeg)).toBeLessThan(degrees)
        if (moving !== undefined) {
          const turn = Math.abs(parsed.courseDeg! - moving.courseDeg) % 360
          expect(Math.min(turn, 360 - turn)).toBeLessThanOrEqual(2)
          const step = 0.04 * (moving.speedKmh + 1.852)
          expect(Math.abs(parsed.speedKmh! - moving.speedKmh)).toBeLessThanOrEqual(step)
        } else if (parts.altitudeM !== undefined && parts.altitudeM > 10) {
          expect(parsed.altitudeM! / parts.altitudeM).toBeCloseTo(1, 2)
        }
      }),
      runs,
    )
  })

  it('with ambiguity, course and speed, PHG', () => {
    const base = {
      latitudeDeg: 49 + 3.5 / 60,
      longitudeDeg: -(72 + 1.75 / 60),
      symbol: { table: '/', code: '-' },
      messaging: true,
    }
    const sent = (more: Partial<PositionParts>): string =>
      textOf(formatPosition({ ...base, ...more }))
    expect(sent({ ambiguityDigits: 2 })).toBe('=4903.  N/07201.  W-')
    expect(sent({ ambiguityDigits: 4 })).toBe('=49  .  N/072  .  W-')
    expect(sent({ courseDeg: 88, speedKmh: 66.7, comment: 'hi' })).toBe(
      '=4903.50N/07201.75W-088/036hi',
    )
    const antenna = { powerW: 25, heightAboveTerrainM: 6.096, gainDb: 3, directionDeg: 90 }
    expect(sent({ antenna })).toBe('=4903.50N/07201.75W-PHG5132')
    expect(sent({ antenna: { ...antenna, directionDeg: 'omni' } })).toBe(
      '=4903.50N/07201.75W-PHG5130',
    )
    // 360 is north, and 0 every direction (ch. 7, table); the height's digits go on after 9, by the same table
    for (const [directionDeg, digit] of [
      [360, 8],
      [0, 8],
      [45, 1],
      [315, 7],
      [350, 8],
    ] as const)
      expect(sent({ antenna: { ...antenna, directionDeg } })).toMatch(new RegExp(`${digit}$`))
    const high = { powerW: 9, heightAboveTerrainM: 3121, gainDb: 9, directionDeg: 360 }
    expect(sent({ antenna: high })).toBe('=4903.50N/07201.75W-PHG3:98')
    // ch. 7: RNGrrrr, miles with leading zeros
    expect(sent({ rangeKm: 80.5, comment: 'hi' })).toBe('=4903.50N/07201.75W-RNG0050hi')
    expect(() => sent({ rangeKm: 80, comment: 'x'.repeat(37) })).toThrow(RangeError)
    expect(() => sent({ antenna, compressed: true })).toThrow(RangeError)
    expect(() => sent({ latitudeDeg: 91 })).toThrow(RangeError)
    expect(() => sent({ longitudeDeg: Number.NaN })).toThrow(RangeError)
    expect(() => sent({ symbol: { table: 'a', code: '-' } })).toThrow(RangeError)
    expect(() => sent({ comment: 'line\nfeed' })).toThrow(RangeError)
  })

  it('rounds minutes up into the next degree', () => {
    const at = { latitudeDeg: 49.99999, longitudeDeg: -179.99999 }
    const sent = formatPosition({ ...at, symbol: { table: '/', code: '-' }, messaging: false })
    expect(textOf(sent)).toBe('!5000.00N/18000.00W-')
  })
})

describe('objects', () => {
  it('come back with name, state, time and comment', () => {
    const names = fc.stringMatching(/^[A-Z0-9][A-Z0-9 -]{0,7}[A-Z0-9]$/)
    fc.assert(
      fc.property(positions, names, fc.boolean(), (parts, name, live) => {
        const { messaging: _, ...place } = parts
        const time =
          parts.atWallMs === undefined ? { permanent: true as const } : { atWallMs: parts.atWallMs }
        const parsed = read('object', formatObject({ ...place, name, live, ...time }))
        expect(parsed).toMatchObject({ name, live })
        expect(parsed.comment).toBe(parts.comment?.trim() ?? '')
        const permanent = parsed.timestamp?.form === 'dayHoursMinutes' && parsed.timestamp.permanent
        if ('permanent' in time) expect(permanent).toBe(true)
        expect(parsed.problem).toBeUndefined()
      }),
      runs,
    )
  })

  it('a repeater object says frequency, tone, offset and reach', () => {
    const object = formatObject({
      latitudeDeg: 46.5,
      longitudeDeg: 7.25,
      symbol: { table: '/', code: 'r' },
      name: '145.675-R',
      live: true,
      permanent: true,
      comment: 'T088 -060 R30k Mt Invented',
    })
    expect(read('object', object)).toMatchObject({
      frequency: {
        frequencyMhz: 145.675,
        tone: { toneKind: 'tone', toneHz: 88.5 },
        offsetMhz: -0.6,
        rangeKm: 30,
      },
      comment: 'Mt Invented',
    })
  })
})

describe('status and capabilities', () => {
  it('come back', () => {
    const status = formatStatus({ text: 'On solar power', atWallMs: Date.UTC(2026, 0, 9, 23, 45) })
    expect(textOf(status)).toBe('>092345zOn solar power')
    expect(read('status', status).text).toBe('On solar power')
    const tokens = { SERVICES: true, MSG_CNT: '3' } as const
    expect(read('capabilities', formatCapabilities(tokens)).tokens).toEqual(tokens)
  })
})

describe('telemetry', () => {
  const octet = fc.nat(255)
  it('values come back', () => {
    fc.assert(
      fc.property(
        fc.nat(5000),
        fc.array(octet, { minLength: 5, maxLength: 5 }),
        fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
        (sequence, analog, digital) => {
          const { telemetry } = read('telemetry', formatTelemetry({ sequence, analog, digital }))
          expect(telemetry).toEqual({
            sequence: String(sequence % 1000).padStart(3, '0'),
            analog,
            digital,
          })
        },
      ),
      runs,
    )
  })

  it('definitions come back', () => {
    const names = ['Supply', 'Temp', 'Duty', 'Heard', 'Qs']
    expect(read('telemetryDefinition', formatTelemetryNames('N0CALL-7', names))).toEqual({
      kind: 'telemetryDefinition',
      addressee: 'N0CALL-7',
      definition: 'names',
      labels: names,
    })
    const units = formatTelemetryUnits('N0CALL-7', ['V', 'deg C', '%', '/h', '/h'])
    expect(read('telemetryDefinition', units)).toMatchObject({ definition: 'units' })
  })

  it('coefficients come back to six decimals, never with an exponent', () => {
    const coefficient = fc.double({ min: -999, max: 999, noNaN: true })
    fc.assert(
      fc.property(fc.tuple(coefficient, coefficient, coefficient), (triple) => {
        const sent = formatTelemetryEquations('N0CALL-7', [triple])
        expect(textOf(sent)).not.toContain('e')
        const parsed = read('telemetryDefinition', sent)
        if (parsed.definition !== 'equations') throw new Error('not equations')
        for (const [at, value] of triple.entries()) {
          expect(Math.abs(parsed.coefficients[0]![at]! - value)).toBeLessThanOrEqual(5.1e-7)
        }
      }),
      runs,
    )
    expect(textOf(formatTelemetryEquations('N0CALL', [[0, 0.1, -0.000001]]))).toBe(
      ':N0CALL   :EQNS.0,.1,-.000001',
    )
    expect(textOf(formatTelemetryEquations('N0CALL', [[1e-9, -0, 10]]))).toBe(
      ':N0CALL   :EQNS.0,0,10',
    )
  })

  it("the reference's own definitions (ch. 13, rows tlm-unit and tlm-eqns, call swapped)", () => {
    const units = ['v/100', 'deg.F', 'deg.F', 'Mbar', 'Kft', 'Click', 'OPEN', 'on', 'on', 'hi']
    expect(textOf(formatTelemetryUnits('TE5ST-11', units))).toBe(
      ':TE5ST-11 :UNIT.v/100,deg.F,deg.F,Mbar,Kft,Click,OPEN,on,on,hi',
    )
    const equations = formatTelemetryEquations('TE5ST-11', [
      [0, 5.2, 0],
      [0, 0.53, -32],
      [3, 4.39, 49],
      [-32, 3, 18],
      [1, 2, 3],
    ])
    expect(textOf(equations)).toBe(':TE5ST-11 :EQNS.0,5.2,0,0,.53,-32,3,4.39,49,-32,3,18,1,2,3')
  })

  it('wrong values are refused', () => {
    const digital = Array(8).fill(false)
    const analog = [1, 2, 3, 4, 5]
    for (const wrong of [
      { sequence: -1, analog, digital },
      { sequence: 1, analog: [1, 2, 3, 4, 256], digital },
      { sequence: 1, analog: [1, 2, 3, 4], digital },
      { sequence: 1, analog, digital: [] },
    ]) {
      expect(() => formatTelemetry(wrong)).toThrow(RangeError)
    }
    expect(() => formatTelemetryNames('N0CALL', ['Supplies'])).toThrow(/label 1/)
    expect(() => formatTelemetryNames('N0CALL', ['a,b'])).toThrow(RangeError)
  })
})

describe('answers to queries', () => {
  it('as many direct stations as one message holds', () => {
    const calls = Array.from({ length: 20 }, (_, at) => `N0CAL${String.fromCharCode(65 + at)}-10`)
    const text = directsReply(calls)
    expect(text.startsWith('Directs= N0CALA-10 N0CALB-10')).toBe(true)
    expect(text.length).toBeLessThanOrEqual(67)
  })

  it('hours heard, and the way of the query', () => {
    expect(heardReply('N0CALL', [0, 2])).toBe('N0CALL HEARD: . 2')
    const long = traceReply(`N0CALL>APZ001${',N0CALL-15'.repeat(8)}`)
    expect(long).toHaveLength(67)
    expect(long.endsWith(':')).toBe(true)
  })
})
