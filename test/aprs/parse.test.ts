import { describe, expect, it } from 'vitest'
import { parsePayload, positionOf, weatherOf } from '../../src/aprs/parse.js'
import { read } from './helpers.js'

const octets = (text: string): Uint8Array => Buffer.from(text, 'latin1')

describe('where the sender is', () => {
  it.each([
    ['=4903.50N/07201.75W-', 49.0583, -72.0292, 0],
    ['!49  .  N/072  .  W-', 49, -72, 4],
    ['=/5L!!<*e7>7P[', 49.5, -72.75, 0],
    ['$GPGLL,2554.459,N,08020.187,W,154027.281,A', 25.9077, -80.3365, 0],
    // Centre of the locator's square.
    ['[IO91SX]', 51.9792, -0.4583, 3],
    ['>IO91/G', 51.5, -1, 4],
  ])('%s', (text, latitudeDeg, longitudeDeg, ambiguityDigits) => {
    const position = positionOf(parsePayload(octets(text), 'APZ001'))
    expect(position?.latitudeDeg).toBeCloseTo(latitudeDeg, 3)
    expect(position?.longitudeDeg).toBeCloseTo(longitudeDeg, 3)
    expect(position?.ambiguityDigits).toBe(ambiguityDigits)
  })

  it.each([
    ['an object is elsewhere', ';LEADER   *092345z4903.50N/07201.75W>'],
    ['an item is elsewhere', ')AID#2!4903.50N/07201.75WA'],
    ['another station was passed on', '}N1CALL>APZ001,TCPIP,N0CALL*:=4903.50N/07201.75W-'],
    ['the null position', '!0000.00N\\00000.00W.'],
    ['a waypoint is elsewhere', '$GPWPL,4917.16,N,12310.64,W,003'],
    ['a message has none', ':N0CALL   :hello'],
    ['a status without locator has none', '>hello'],
    ['a word that only looks like a locator', '>CQ2000 on Saturday'],
  ])('undefined: %s', (_, text) => {
    expect(positionOf(parsePayload(octets(text), 'APZ001'))).toBeUndefined()
  })
})

describe('weather that the sender measured', () => {
  it('with and without a position, not of objects', () => {
    const weather = (text: string) => weatherOf(parsePayload(octets(text), 'APZ001'))
    expect(weather('!4903.50N/07201.75W_220/004t077')?.temperatureC).toBeCloseTo(25)
    expect(weather('_10090556c220s004g005t077')?.temperatureC).toBeCloseTo(25)
    expect(weather(';WX1      *092345z4903.50N/07201.75W_220/004t077')).toBeUndefined()
    expect(weather('=4903.50N/07201.75W-')).toBeUndefined()
  })

  it('s is speed where no wind was given before it, and snow after (ch. 12)', () => {
    const placed = read('position', '!4903.50N/07201.75W_220/004g005t032s012').weather
    expect(placed).toMatchObject({ windDirectionDeg: 220, snowLastDayMm: 304.79999999999995 })
    const alone = read('weather', '_10090556c220s004g005t032s012').weather
    expect(alone.windSpeedMps).toBeCloseTo(1.788)
    expect(alone.snowLastDayMm).toBeCloseTo(304.8)
  })

  it('h00 is 100 %, values of dots and blanks are unknown, the rest is comment', () => {
    const { weather, comment } = read('weather', '_10090556c   s...g005t...h00b.....dusk soon')
    expect(Object.keys(weather).sort()).toEqual(['humidityPercent', 'windGustMps'])
    expect(weather.humidityPercent).toBe(100)
    expect(comment).toBe('dusk soon')
  })

  it('a damaged time leaves the values', () => {
    const payload = read('weather', '_99990556c220s004g005t077')
    expect(payload.timestamp).toBeUndefined()
    expect(payload.problem).toMatch(/out of range/)
    expect(payload.weather.windDirectionDeg).toBe(220)
  })
})

describe('messages', () => {
  it('a text that only begins like an acknowledgement is a message', () => {
    expect(read('message', ':N0CALL   :acknowledged, thanks').text).toBe('acknowledged, thanks')
    expect(read('message', ':N0CALL   :reject it').text).toBe('reject it')
    expect(read('acknowledgement', ':N0CALL   :ack001 ').number).toBe('001')
  })

  it('a directed query keeps the number that some radios give it', () => {
    expect(read('directedQuery', ':N0CALL   :?APRST{12')).toEqual({
      kind: 'directedQuery',
      addressee: 'N0CALL',
      query: 'APRST',
      numberAsSent: '12',
    })
    expect(read('directedQuery', ':N0CALL   :?aprsh n1call-9{12}')).toMatchObject({
      query: 'APRSH',
      target: 'N1CALL-9',
      numberAsSent: '12}',
    })
    expect(read('directedQuery', ':N0CALL   :?PING?').target).toBeUndefined()
  })

  it('a question mark before anything that is no query is an ordinary message', () => {
    expect(read('message', ':N0CALL   :?').text).toBe('?')
    expect(read('message', ':N0CALL   :? help{1').number).toBe('1')
    expect(read('message', ':N0CALL   :?help{1')).toMatchObject({ text: '?help', number: '1' })
  })

  it('the last brace starts the number', () => {
    expect(read('message', ':N0CALL   :a {b} c{007')).toMatchObject({
      text: 'a {b} c',
      number: '007',
    })
  })

  it.each([':', ':N0CALL', ':N0CALL   ', ':         :hello', ':N0CALL    hello'])(
    '"%s" is unreadable',
    (text) => {
      expect(read('unreadable', text).reason).not.toBe('')
    },
  )
})

describe('positions with faults', () => {
  it('a damaged time leaves the place, and is named', () => {
    const payload = read('position', '/322345z4903.50N/07201.75W>')
    expect(payload.position.latitudeDeg).toBeCloseTo(49.0583, 4)
    expect(payload.problem).toMatch(/322345z is out of range/)
  })

  it.each([
    ['minutes above 59', '!4963.50N/07201.75W-'],
    ['latitude above 90', '!9003.50N/07201.75W-'],
    ['longitude above 180', '!4903.50N/18001.75W-'],
    ['a digit after a blank', '!4903. 0N/07201.75W-'],
    ['no hemisphere', '!4903.500/07201.75W-'],
    ['cut short', '!4903.50N/07201.75'],
    ['no symbol', '!4903.50N/07201.75W'],
    ['a table that is none', '!4903.50Nz07201.75W-'],
    ['compressed latitude below -90', '!/{{{{<*e7>7P['],
    ['compressed and cut short', '!/5L!!<*e7>7'],
  ])('%s is unreadable', (_, text) => {
    expect(read('unreadable', text).reason).not.toBe('')
  })

  it('lower-case hemispheres are taken', () => {
    expect(read('position', '!4903.50n/07201.75w-').position.longitudeDeg).toBeCloseTo(-72.0292, 4)
  })

  it('extra digits never leave the Earth, nor refine what is blanked', () => {
    const pole = read('position', '!9000.00N/18000.00W-!W99!').position
    expect([pole.latitudeDeg, pole.longitudeDeg]).toEqual([90, -180])
    const vague = read('position', '!4903.  N/07201.  W-!W99!').position
    expect(vague.latitudeDeg).toBeCloseTo(49.05, 9)
    expect(vague.datum).toBe('W')
  })

  it('overlay digits of compressed positions are sent as letters', () => {
    expect(read('position', '=d5L!!<*e7#  !').position.symbol).toEqual({ table: '3', code: '#' })
  })

  it('values and words of a comment part, whatever their order', () => {
    const payload = read('position', '!4903.50N/07201.75W>088/036 going home /A=001234|ss11|!W23!')
    expect(payload).toMatchObject({ comment: 'going home', courseDeg: 88 })
    expect(payload.altitudeM).toBeCloseTo(376.12, 2)
    expect(payload.telemetry?.sequence).toBe('7544')
    expect(payload.position.datum).toBe('W')
    expect(read('position', '!4903.50N/07201.75W>/A=-00100').altitudeM).toBeCloseTo(-30.48)
  })
})

describe('Mic-E', () => {
  it.each([
    ['>hello', '>', undefined, true, 'hello'],
    ['>hello=', '>', '=', true, 'hello'],
    [']hello', ']', undefined, true, 'hello'],
    ['`hello_3', '`', '_3', true, 'hello'],
    ["'hello|3", "'", '|3', false, 'hello'],
    [' hello', ' ', undefined, 'unknown', 'hello'],
    ['hello', undefined, undefined, 'unknown', 'hello'],
    ['', undefined, undefined, 'unknown', ''],
  ])('status text "%s"', (text, prefix, suffix, messaging, comment) => {
    const payload = read('micE', `\`(_fn"Oj/${text}`, 'S32UVT')
    expect([payload.radioPrefix, payload.radioSuffix]).toEqual([prefix, suffix])
    expect(payload.messaging).toBe(messaging)
    expect(payload.comment).toBe(comment)
  })

  it('reads the destination with its SSID, and the old identifiers', () => {
    expect(read('micE', '\'(_fn"Oj/', 'S32UVT-4').fix).toBe('old')
    expect(read('micE', '\x1c(_fn"Oj/', 'S32UVT').fix).toBe('current')
    expect(read('micE', '\x1d(_fn"Oj/', 'S32UVT').fix).toBe('old')
  })

  it.each([
    ['a destination that is none', '`(_fn"Oj/', 'APZ001'],
    ['minutes above 59', '`(_fn"Oj/', 'S39UVT'],
    ['latitude above 90', '`(_fn"Oj/', '999UVT'],
    ['hundredths out of range', '`(_\xffn"Oj/', 'S32UVT'],
    ['no symbol table', '`(_fn"Ojz', 'S32UVT'],
  ])('%s is unreadable', (_, text, destination) => {
    expect(read('unreadable', text, destination).reason).not.toBe('')
  })
})

describe('other kinds', () => {
  it('third-party payloads are read three deep', () => {
    const nested = (depth: number): string => `${'}N1CALL>APZ001:'.repeat(depth)}>hello`
    let inner: unknown = read('thirdParty', nested(3))
    for (let depth = 0; depth < 3; depth++) inner = (inner as { payload: unknown }).payload
    expect(inner).toMatchObject({ kind: 'status' })
    expect(JSON.stringify(read('thirdParty', nested(4)))).toContain('nested too deep')
    expect(read('thirdParty', nested(2_000)).payload.kind).toBe('thirdParty')
  })

  it('a Mic-E payload passed on is read by the inner destination', () => {
    const payload = read('thirdParty', '}N1CALL>S32UVT,TCPIP,N0CALL*:`(_fn"Oj/')
    expect(payload.payload).toMatchObject({ kind: 'micE', statusCode: 'M3: Returning' })
  })

  it.each(['}', '}N1CALL', '}N1CALL:>x', '}>APZ001:>x', '}N1CALL>:>x', '}N1CALL>APZ001,:>x'])(
    '"%s" is unreadable',
    (text) => {
      expect(read('unreadable', text).reason).toMatch(/third-party/)
    },
  )

  it('NMEA with a wrong checksum, without a fix or of another kind is unreadable', () => {
    for (const text of [
      '$GPGGA,102705,5157.9762,N,00029.3256,W,1,04,2.0,75.7,M,47.6,M,,*63',
      '$GPGGA,102705,5157.9762,N,00029.3256,W,0,04,2.0,75.7,M,47.6,M,,',
      '$GPRMC,225446,V,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E',
      '$GPGSV,3,1,11',
      '$GPGLL,2564.459,N,08020.187,W,154027.281,A',
      '$',
    ]) {
      expect(read('unreadable', text).reason).not.toBe('')
    }
    expect(
      read('nmea', '$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E'),
    ).toMatchObject({
      courseDeg: 54.7,
      time: '22:54:46',
    })
  })

  it('telemetry may lack values and bits, and may have decimals', () => {
    expect(read('telemetry', 'T#7,1.5,,-3')).toMatchObject({
      telemetry: { sequence: '7', analog: [1.5, undefined, -3], digital: [] },
    })
    for (const text of [
      'T#',
      'T#001',
      'T#001,',
      'T#001,a,b',
      'T#abc,1,2',
      'T#001,,,,,',
      `T#001,${'9'.repeat(400)}`,
    ]) {
      expect(read('unreadable', text).reason).toMatch(/telemetry/)
    }
  })

  it('capabilities cannot touch the prototype', () => {
    const { tokens } = read('capabilities', '<__proto__=1,constructor')
    expect(Object.keys(tokens)).toEqual(['__proto__', 'constructor'])
    expect(({} as Record<string, unknown>)['1']).toBeUndefined()
  })

  it('query footprints out of range are named, the query stays', () => {
    for (const where of ['91,0,10', '0,181,10', 'here', '34.02,-117.15']) {
      const query = read('query', `?APRS?${where}`)
      expect(query.footprint).toBeUndefined()
      expect(query.problem).toMatch(/not understood/)
    }
  })
})

describe('what is not known', () => {
  it('is said by 000/000 for course and speed (ch. 7), but a course alone is one', () => {
    const still = read('position', '!4903.50N/07201.75W>000/000')
    expect([still.courseDeg, still.speedKmh]).toEqual([undefined, undefined])
    const moving = read('position', '!4903.50N/07201.75W>000/036')
    expect([moving.courseDeg, moving.speedKmh]).toEqual([undefined, 36 * 1.852])
    expect(read('position', '!4903.50N/07201.75W>088/000').courseDeg).toBe(88)
  })

  it('is said by dots or blanks of a weather report, wherever they stand', () => {
    const orders = ['t...r...c220', 'b.....h..P...c220', 'g   L...#...c220', 'l...V...X...p...c220']
    for (const order of orders)
      expect(read('weather', `_10090556${order}`), order).toMatchObject({
        weather: { windDirectionDeg: 220 },
        comment: '',
      })
  })

  it('is the scale of a level of water without a point; with one it is read (addendum 1.2, from memory)', () => {
    const level = (text: string) => read('weather', `_10090556c220s004${text}t077`).weather
    expect(level('F-1.5')).toMatchObject({
      waterLevelM: expect.closeTo(-0.4572, 9),
      temperatureC: 25,
    })
    expect(level('f12.25')).toMatchObject({ waterLevelM: 12.25, temperatureC: 25 })
    expect(level('F0015').waterLevelM).toBeUndefined()
  })
})

describe('the date of RMC', () => {
  const rmc = (date: string) =>
    read('nmea', `$GPRMC,063909,A,3349.4302,N,11700.3721,W,43.022,89.3,${date},13.6,E`)

  it.each([
    ['291099', '1999-10-29'],
    ['010126', '2026-01-01'],
    ['310426', undefined],
    ['', undefined],
  ])('%s is %s, UTC', (date, expected) => {
    expect(rmc(date).date).toBe(expected)
    expect(rmc(date).time).toBe('06:39:09')
  })
})
