import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { plausibleWeather } from '../../../src/services/weather/plausible.js'
import { parseReading as readAll } from '../../../src/services/weather/reading.js'
import { parseSentence as readSentence } from '../../../src/services/weather/sentences.js'
import { weatherWords } from '../../../src/services/weather/words.js'
import { inEnglish } from '../../../src/words/air/all.js'

const parseReading = (text: string) => readAll(text).figures
const parseSentence = (text: string) => readSentence(text).figures

/** NMEA 0183: the checksum is the exclusive or of all characters between $ and * (from memory). */
const withChecksum = (body: string): string => {
  let xor = 0
  for (const character of body) xor ^= character.charCodeAt(0)
  return `$${body}*${xor.toString(16).toUpperCase().padStart(2, '0')}`
}

describe('sentences of weather instruments', () => {
  // Layouts of MWV, MDA, MTA, MHU, MMB and XDR: NMEA 0183 (from memory).
  it.each([
    ['WIMWV,214.8,R,3.6,K,A', { windDirectionDeg: 214.8, windSpeedMps: 1 }],
    ['WIMWV,10,T,10,N,A', { windDirectionDeg: 10, windSpeedMps: 5.144 }],
    ['WIMWV,10,T,10,N,V', {}],
    [
      'WIXDR,C,22.5,C,TEMP,H,45.3,P,RH,P,1.0132,B,PRESS',
      { temperatureC: 22.5, humidityPercent: 45.3, pressureHpa: 1013.2 },
    ],
    ['WIXDR,P,101320,P,0', { pressureHpa: 1013.2 }],
    [
      'WIMDA,29.92,I,1.0132,B,-2.5,C,,,45.3,,9.8,C,214.8,T,,M,0.2,N,0.1,M',
      {
        pressureHpa: 1013.2,
        temperatureC: -2.5,
        humidityPercent: 45.3,
        windDirectionDeg: 214.8,
        windSpeedMps: 0.1,
      },
    ],
    [
      'WIMDA,29.92,I,,,-2.5,C,,,,,,,214.8,T,,M,10,N,,',
      { pressureHpa: 1013.208, temperatureC: -2.5, windDirectionDeg: 214.8, windSpeedMps: 5.144 },
    ],
    ['WIMWD,214.8,T,212.0,M,10,N,5.1,M', { windDirectionDeg: 214.8, windSpeedMps: 5.1 }],
    ['WIMWD,214.8,T,,,10,N,,', { windDirectionDeg: 214.8, windSpeedMps: 5.144 }],
    ['WIMTA,12.3,C', { temperatureC: 12.3 }],
    ['WIMHU,81,,9.1,C', { humidityPercent: 81 }],
    ['WIMMB,29.92,I,1.0132,B', { pressureHpa: 1013.2 }],
    ['GPRMC,1,2,3', {}],
    ['WIMWV,,R,,M,A', {}],
  ])('%s', (body, figures) => {
    const found = parseSentence(withChecksum(body))
    expect(Object.keys(found).sort()).toEqual(Object.keys(figures).sort())
    for (const [field, value] of Object.entries(figures))
      expect(found[field as keyof typeof found]).toBeCloseTo(value as number, 3)
    expect(parseSentence(`$${body}`)).toEqual(found)
  })

  it('with a wrong checksum say nothing', () => {
    expect(parseSentence('$WIMTA,12.3,C*00')).toEqual({})
    expect(parseSentence(withChecksum('WIMTA,12.3,C').replace('12.3', '52.3'))).toEqual({})
  })
})

describe('parseReading', () => {
  it('takes lines of many kinds, the last one winning', () => {
    expect(
      parseReading(
        `# outside\ntemperatureC = 12.3\nhumidityPercent: 81\n${withChecksum('WIMTA,13.0,C')}\n`,
      ),
    ).toEqual({ temperatureC: 13, humidityPercent: 81 })
  })
  it('takes JSON', () => {
    expect(parseReading('{"temperatureC": 12.3, "windGustMps": 9, "station": "x"}')).toEqual({
      temperatureC: 12.3,
      windGustMps: 9,
    })
    expect(parseReading('{"temperatureC": ')).toEqual({})
  })
  it('leaves out what no weather is', () => {
    expect(
      parseReading('temperatureC=150\nhumidityPercent=-3\npressureHpa=0\nwindDirectionDeg=360'),
    ).toEqual({ windDirectionDeg: 360 })
  })
  it('never throws', () => {
    const piece = fc.constantFrom(
      '$WIXDR',
      ',',
      'C',
      '*',
      '{',
      '}',
      '"',
      '=',
      'temperatureC',
      '1',
      '\n',
    )
    fc.assert(
      fc.property(fc.array(fc.oneof(piece, fc.string()), { maxLength: 20 }), (parts) => {
        for (const value of Object.values(parseReading(parts.join(''))))
          expect(Number.isFinite(value)).toBe(true)
      }),
    )
  })
})

describe('weatherWords', () => {
  const figures = {
    temperatureC: 12.34,
    windSpeedMps: 5,
    windDirectionDeg: 315,
    windGustMps: 9,
    humidityPercent: 80.6,
    pressureHpa: 1013.25,
    rainLastHourMm: 0.25,
  }
  it('says it in the units of the country', () => {
    expect(weatherWords(figures, 'km', inEnglish)).toBe(
      '12.3C wind 18km/h NW gust 32km/h humidity 81% 1013hPa rain 0.3mm/h',
    )
    expect(weatherWords(figures, 'miles', inEnglish)).toBe(
      '54F wind 11mph NW gust 20mph humidity 81% 1013hPa rain 0.01in/h',
    )
  })
  it('leaves out what is not known, and calm is calm', () => {
    expect(weatherWords({ windSpeedMps: 0, windDirectionDeg: 90 }, 'km', inEnglish)).toBe('calm')
    expect(weatherWords({ windGustMps: 9 }, 'km', inEnglish)).toBe('gust 32km/h')
    expect(weatherWords({ rainLastHourMm: 0, rainLastDayMm: 4 }, 'km', inEnglish)).toBe(
      'rain 4mm/24h',
    )
    expect(weatherWords({}, 'km', inEnglish)).toBe('')
  })
})

describe('what instruments write', () => {
  it.each([
    ['temperature = 12,3 °C', { temperatureC: 12.3 }],
    ['Temp: 54 F', { temperatureC: 12.222 }],
    ['outTemp=54.0 °F', { temperatureC: 12.222 }],
    ['temp_f = 54', { temperatureC: 12.222 }],
    ['tempC=-3', { temperatureC: -3 }],
    ['Lufttemperatur: 3,5', { temperatureC: 3.5 }],
    ['Wind speed = 18 km/h', { windSpeedMps: 5 }],
    ['wind_speed_kmh: 18', { windSpeedMps: 5 }],
    ['windSpeed: 10 kn', { windSpeedMps: 5.144 }],
    ['wind gust: 20 mph', { windGustMps: 8.941 }],
    ['winddir = NW', { windDirectionDeg: 315 }],
    ['wind direction: 270°', { windDirectionDeg: 270 }],
    ['humidity: 81 %', { humidityPercent: 81 }],
    ['pressure = 1013,2 mbar', { pressureHpa: 1013.2 }],
    ['barometer: 29.92 inHg', { pressureHpa: 1013.208 }],
    ['pressure_pa = 101320', { pressureHpa: 1013.2 }],
    ['rain1h = 0,2 mm', { rainLastHourMm: 0.2 }],
    ['rain_last_24h: 0.5 in', { rainLastDayMm: 12.7 }],
    ['{"temperature": "12.3", "humidity": "81 %"}', { temperatureC: 12.3, humidityPercent: 81 }],
    ['{"outdoor": {"temperature": 3}, "indoor": {"temperature": 21}}', { temperatureC: 3 }],
    ['{"data": [{"sensors": {"temp": {"value": 54, "unit": "F"}}}]}', { temperatureC: 12.222 }],
    ['{"dewpoint": 5, "temperature_max": 30, "temperature": 12}', { temperatureC: 12 }],
    ['indoor temperature = 21', {}],
    ['temperature = 12 furlongs', {}],
  ])('%s', (text, figures) => {
    const found = parseReading(text)
    expect(Object.keys(found).sort()).toEqual(Object.keys(figures).sort())
    for (const [field, value] of Object.entries(figures))
      expect(found[field as keyof typeof found]).toBeCloseTo(value as number, 3)
  })

  it('names what is not known, and knows what is no weather of outside', () => {
    expect(readAll('sunshine = 3\ntemperature = x\nname = Hut\ndewpoint = 3').unknown).toEqual([
      'sunshine',
      'temperature (x)',
    ])
  })

  it('takes transducers by the names in the table, and none where two may be meant', () => {
    const two = withChecksum('WIXDR,C,22.5,C,HUT,C,3.5,C,MAST')
    expect(readSentence(two)).toEqual({ figures: {}, unknown: ['HUT', 'MAST'] })
    expect(readSentence(two, { mast: 'temperatureC' })).toEqual({
      figures: { temperatureC: 3.5 },
      unknown: ['HUT'],
    })
    expect(
      readSentence(withChecksum('WIXDR,S,5,M,Gusts'), { Gusts: 'windGustMps' }).figures,
    ).toEqual({
      windGustMps: 5,
    })
  })

  it.each([
    ['temperatureC', -90, 60],
    ['windDirectionDeg', 0, 360],
    ['windSpeedMps', 0, 120],
    ['windGustMps', 0, 120],
    ['rainLastHourMm', 0, 500],
    ['rainLastDayMm', 0, 2000],
    ['humidityPercent', 0, 100],
    ['pressureHpa', 500, 1100],
  ] as const)('%s is from %d to %d, and nothing beyond', (field, min, max) => {
    for (const [value, isIn] of [
      [min - 1, false],
      [min, true],
      [max, true],
      [max + 1, false],
    ] as const) {
      const { figures, outside } = plausibleWeather({ [field]: value })
      expect(figures).toEqual(isIn ? { [field]: value } : {})
      expect(outside).toEqual(isIn ? [] : [field])
    }
  })
})
