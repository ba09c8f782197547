import { parseDecimal } from '../data/figures.js'
import type { WeatherField } from './plausible.js'

type Quantity = 'temperature' | 'direction' | 'speed' | 'rain' | 'humidity' | 'pressure'

const quantityOf: Readonly<Record<WeatherField, Quantity>> = {
  temperatureC: 'temperature',
  windDirectionDeg: 'direction',
  windSpeedMps: 'speed',
  windGustMps: 'speed',
  rainLastHourMm: 'rain',
  rainLastDayMm: 'rain',
  humidityPercent: 'humidity',
  pressureHpa: 'pressure',
}

/** Of each quantity: its units as people write them, folded, with what makes our unit of them. The first needs no name. */
const units: Readonly<Record<Quantity, Readonly<Record<string, (value: number) => number>>>> = {
  temperature: {
    c: (value) => value,
    degc: (value) => value,
    celsius: (value) => value,
    f: (value) => ((value - 32) * 5) / 9,
    degf: (value) => ((value - 32) * 5) / 9,
    fahrenheit: (value) => ((value - 32) * 5) / 9,
    k: (value) => value - 273.15,
    kelvin: (value) => value - 273.15,
  },
  direction: { deg: (value) => value, degrees: (value) => value, '': (value) => value },
  speed: {
    mps: (value) => value,
    'm/s': (value) => value,
    ms: (value) => value,
    kmh: (value) => value / 3.6,
    'km/h': (value) => value / 3.6,
    kph: (value) => value / 3.6,
    mph: (value) => value * 0.44704,
    kn: (value) => (value * 1852) / 3600,
    kt: (value) => (value * 1852) / 3600,
    kts: (value) => (value * 1852) / 3600,
    knots: (value) => (value * 1852) / 3600,
  },
  rain: {
    mm: (value) => value,
    'mm/h': (value) => value,
    cm: (value) => value * 10,
    in: (value) => value * 25.4,
    inch: (value) => value * 25.4,
    inches: (value) => value * 25.4,
    'in/h': (value) => value * 25.4,
  },
  humidity: {
    '%': (value) => value,
    percent: (value) => value,
    pct: (value) => value,
    rh: (value) => value,
  },
  pressure: {
    hpa: (value) => value,
    mbar: (value) => value,
    mb: (value) => value,
    pa: (value) => value / 100,
    kpa: (value) => value * 10,
    bar: (value) => value * 1000,
    inhg: (value) => value * 33.8639,
    mmhg: (value) => value * 1.33322,
  },
}

/** Names of each field, folded to lower case letters and digits; a unit behind them is looked for by itself. */
const names: Readonly<Record<WeatherField, readonly string[]>> = {
  temperatureC: [
    'temperature',
    'temp',
    'airtemperature',
    'airtemp',
    'temperatur',
    'lufttemperatur',
  ],
  windDirectionDeg: ['winddirection', 'winddir', 'windbearing', 'windrichtung', 'winddirdeg'],
  windSpeedMps: [
    'windspeed',
    'wind',
    'windavg',
    'averagewind',
    'windgeschwindigkeit',
    'windspeedavg',
  ],
  windGustMps: ['windgust', 'gust', 'windgustspeed', 'gustspeed', 'maxgust', 'boe', 'windboe'],
  rainLastHourMm: ['rainlasthour', 'hourlyrain', 'rain1h', 'rainhour', 'rainhourly', 'rainrate1h'],
  rainLastDayMm: ['rainlastday', 'rain24h', 'rainlast24h', 'dailyrain24h'],
  humidityPercent: ['humidity', 'relativehumidity', 'hum', 'rh', 'feuchte', 'luftfeuchte'],
  pressureHpa: [
    'pressure',
    'barometer',
    'baro',
    'press',
    'barometricpressure',
    'luftdruck',
    'pressuresealevel',
  ],
}

const fieldOfName = new Map<string, WeatherField>(
  (Object.keys(names) as WeatherField[]).flatMap((field) =>
    [...names[field], fold(field)].map((name): [string, WeatherField] => [name, field]),
  ),
)

/** Said of places that are not outside, and of figures that are no readings of now. */
const elsewhere =
  /in(door|side)|innen|room|cpu|core|case|battery|soil|water|dew|chill|heatindex|feels|apparent|min$|max$|low$|high$|average$|trend|forecast/
const outside = /^(outdoor|outside|outer|out|aussen|ext|external|current|now|station)+/

/** What a name stands for: a field and the unit that the name itself has, such as `temp_f` and `windSpeedKmh`. */
export interface NamedField {
  readonly field: WeatherField
  readonly unit: string | undefined
}

/**
 * @param path of names, outermost first: ['outdoor', 'temp_c']
 * @returns 'other' for what is known to be something else, such as a dew point; undefined for a name that is not known
 */
export function namedField(path: readonly string[]): NamedField | 'other' | undefined {
  const last = fold(path.at(-1) ?? '')
  const whole = fold(path.join(''))
  const named =
    exactOrWithUnit(last.replace(outside, '')) ?? exactOrWithUnit(last) ?? exactOrWithUnit(whole)
  if (elsewhere.test(whole.replace(/^maxgust/, ''))) return 'other'
  return named
}

function exactOrWithUnit(name: string): NamedField | undefined {
  const field = fieldOfName.get(name)
  if (field !== undefined) return { field, unit: undefined }
  for (let length = 1; length <= 10 && length < name.length; length++) {
    const found = fieldOfName.get(name.slice(0, -length))
    const unit = name.slice(-length)
    if (found !== undefined && unit in units[quantityOf[found]]) return { field: found, unit }
  }
  return undefined
}

export function fold(text: string): string {
  return text
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')
}

const points = [
  'n',
  'nne',
  'ne',
  'ene',
  'e',
  'ese',
  'se',
  'sse',
  's',
  'ssw',
  'sw',
  'wsw',
  'w',
  'wnw',
  'nw',
  'nnw',
]

/**
 * A value in the field's own unit: a number, or a text with a decimal comma and a unit ('12,3 °C', '18 km/h', 'NW').
 * @param nameUnit where the value itself has none
 * @returns undefined when it is none, or its unit is not known
 */
export function fieldValue(
  { field, unit: nameUnit }: NamedField,
  value: unknown,
): number | undefined {
  if (typeof value === 'number' && Number.isFinite(value)) return convert(field, value, nameUnit)
  if (typeof value !== 'string') return undefined
  const text = value.trim().slice(0, 60)
  const quantity = quantityOf[field]
  if (quantity === 'direction') {
    const point = points.indexOf(text.toLowerCase())
    if (point >= 0) return point * 22.5
  }
  const found = /^([-+\u2212]?\s*[\d.,]+)\s*(.*)$/.exec(text)
  const figure = found === null ? undefined : parseDecimal(found[1]!)
  if (figure === undefined) return undefined
  const written = found![2]!.toLowerCase().replace(/[\s°º]|deg(?=[cf])/g, '')
  return convert(field, figure, written === '' ? nameUnit : written)
}

function convert(field: WeatherField, value: number, unit: string | undefined): number | undefined {
  const known = units[quantityOf[field]]
  const toOwn = unit === undefined ? Object.values(known)[0] : known[unit]
  return toOwn?.(value)
}
