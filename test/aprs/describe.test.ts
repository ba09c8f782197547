import { describe, expect, it } from 'vitest'
import { describePayload } from '../../src/aprs/describe.js'
import { parsePayload } from '../../src/aprs/parse.js'

/** Payload, then the line that a person reads; Mic-E rows bring their destination along. */
const rows: [string, string, string?][] = [
  [':N0CALL-7 :repeaters 2{12', 'message to N0CALL-7, number 12: repeaters 2'],
  [':N0CALL-7 :on my way', 'message to N0CALL-7: on my way'],
  [':N0CALL-7 :ok{AB}CD', 'message to N0CALL-7, number AB, acknowledges CD: ok'],
  [':N0CALL-7 :ack12', 'acknowledgement to N0CALL-7 of message 12'],
  [':N0CALL-7 :rej12', 'rejection to N0CALL-7 of message 12'],
  [':BLN3     :Snow', 'bulletin 3: Snow'],
  [':BLNQ     :Snow', 'announcement Q: Snow'],
  [':BLN4WX   :Snow', 'bulletin 4 for group WX: Snow'],
  [':NWS-WARN :Storm{S9JbA', 'weather service bulletin NWS-WARN: Storm'],
  [':N0CALL   :?APRSH N1CALL', 'query to N0CALL: APRSH, N1CALL'],
  ['?APRS?', 'query to everybody: APRS'],
  ['?APRS?here', "query to everybody: APRS, damaged: footprint 'here' is not understood"],
  [
    ':N0CALL   :hi{123456',
    "message to N0CALL, damaged: '123456' is not a message number of 1 to 5 letters and digits: hi{123456",
  ],
  ['!4903.50N/07201.75W-Test /A=001234', 'position 49.0583 N 72.0292 W, 376 m high, “Test”'],
  ['=4903.50N/07201.75E>088/036', 'position 49.0583 N 72.0292 E, 67 km/h towards 88°'],
  ['!49  .  S/072  .  W-', 'position 49.00 S 72.00 W, within 111.1 km'],
  ['!4903.  N/07201.  W-', 'position 49.05 N 72.02 W, within 1.9 km'],
  ['!0000.00N\\00000.00W.', 'position unknown'],
  [
    '=4903.50N/07201.75W#PHG5132',
    'position 49.0583 N 72.0292 W, 25 W, antenna 6 m above terrain, 3 dB towards 90°, reach about 13 km',
  ],
  [
    '@322345z4903.50N/07201.75W-',
    'position 49.0583 N 72.0292 W, damaged: time 322345z is out of range',
  ],
  [
    '`(_fn"Oj/`"4T}hello',
    'position 33.4273 N 112.1290 W, 37 km/h towards 251°, 61 m high, status M3: Returning, “hel”',
    'S32UVT',
  ],
  ['`(_fn"Oj/', 'position 33.4273 N 112.1290 W, 37 km/h towards 251°, EMERGENCY', '332UVT'],
  [
    ';145.675-R*111111z4630.00N/00715.00ErT088 -060 R30k Mt Invented',
    'object 145.675-R at 46.5000 N 7.2500 E, 145.675 MHz, tone 88.5 Hz, offset -0.6 MHz, reach 30 km, always, “Mt Invented”',
  ],
  [')AID#2_4903.50N/07201.75WA', 'item AID#2 (gone) at 49.0583 N 72.0292 W'],
  [
    '_10090556c220s004g005t077r012h50b09900',
    'weather 25 °C, wind 1.8 m/s from 220°, gusts 2.2 m/s, rain in an hour 3 mm, humidity 50 %, pressure 990 hPa, 10-09 05:56 UTC',
  ],
  [
    '_10090556c220s004g005t077r000p000P000h50b09900',
    'weather 25 °C, wind 1.8 m/s from 220°, gusts 2.2 m/s, no rain, humidity 50 %, pressure 990 hPa, 10-09 05:56 UTC',
  ],
  [
    '_10090556c220s004g005t077r000p012P000h50b09900',
    'weather 25 °C, wind 1.8 m/s from 220°, gusts 2.2 m/s, rain in an hour 0 mm, rain in a day 3 mm, rain since midnight 0 mm, humidity 50 %, pressure 990 hPa, 10-09 05:56 UTC',
  ],
  ['T#005,199,000,255,073,123,01101001', 'telemetry 005: 199 0 255 73 123, bits 01101001'],
  [':N0CALL   :PARM.Volts,Temp', 'telemetry of N0CALL, names: Volts, Temp'],
  [':N0CALL   :EQNS.0,5.2,0', 'telemetry of N0CALL, equations: 0 5.2 0'],
  [':N0CALL   :BITS.11111111,Ridge', 'telemetry of N0CALL, active bits 11111111: Ridge'],
  ['>092345zOn solar power', 'status: On solar power, day 09 23:45 UTC'],
  ['>IO91SX/- ^B7', 'status, locator IO91SX, beam 110°, 490 W radiated'],
  ['}N1CALL>APZ001,TCPIP,N0CALL*:>hello', 'passed on from N1CALL: status: hello'],
  [
    '$GPGLL,2554.459,N,08020.187,W,154027.281,A',
    'position 25.9077 N 80.3364 W, 15:40:27.281 UTC, from NMEA GLL',
  ],
  ['[IO91SX]near town', 'locator IO91SX, “near town”'],
  ['<IGATE,MSG_CNT=43', 'capabilities: IGATE, MSG_CNT 43'],
  ['{Q1data', 'user-defined Q1: data'],
  [',data', 'test data: data'],
  ['hello', "unreadable: no data type begins with 'h'"],
  ['', 'unreadable: empty payload'],
]

describe('payloads in words', () => {
  it.each(rows)('%s', (payload, words, destination = 'APZ001') => {
    const octets = Buffer.from(payload, 'latin1')
    expect(describePayload(parsePayload(octets, destination))).toBe(words)
  })

  it('shows text in UTF-8 or else Latin-1, as it came', () => {
    const shown = (payload: Uint8Array): string => describePayload(parsePayload(payload, 'APZ001'))
    expect(shown(Buffer.from('>\x1b[31mred\x07'))).toBe('status: \x1b[31mred\x07')
    expect(shown(Buffer.from('>Grüße', 'utf8'))).toBe('status: Grüße')
    expect(shown(Buffer.from('>Grüße', 'latin1'))).toBe('status: Grüße')
    expect(shown(Buffer.from('>a\u202eb\u2028c', 'utf8'))).toBe('status: a\u202eb\u2028c')
  })
})
