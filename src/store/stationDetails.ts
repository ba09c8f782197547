import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import { isRecord } from '../runtime/isRecord.js'
import type { GeoPosition, HeardWeather } from '../services/service.js'
import { unpackStation } from './packedStation.js'
import { callText, wallTime, whole } from './rows.js'

/** What is known of a station: in memory as it stands in the database, as JSON. */
export interface StationDetails {
  call: string
  firstHeardMs: number
  lastHeardMs: number
  lastDirectMs?: number
  frameCount: number
  radio: number
  via: string[]
  quality?: SignalQuality
  position?: GeoPosition & { atWallMs: number }
  symbol?: string
  status?: string
  weather?: HeardWeather
  /** newest first */
  signals: { atWallMs: number; quality: SignalQuality }[]
  /** hour since 1970, frames in it; newest first */
  hours: [number, number][]
}

/**
 * @param call of the row
 * @param lastHeardMs of the row
 * @param text packed, or as former versions wrote it: with all that is known, the call included
 * @returns undefined for what is not whole: a date or a figure that is none would fail much later, in an answer
 */
export function readStationDetails(
  call: unknown,
  lastHeardMs: unknown,
  text: unknown,
): StationDetails | undefined {
  const kept = parsed(text)
  const isPacked = isRecord(kept) && !('call' in kept)
  const value = isPacked ? unpacked(String(call), Number(lastHeardMs), kept) : kept
  if (!isRecord(value) || value.call !== call || callText.fault(call) !== undefined)
    return undefined
  const details = value as unknown as StationDetails
  const right =
    times(value, ['firstHeardMs', 'lastHeardMs']) &&
    (value.lastDirectMs === undefined || isTime(value.lastDirectMs)) &&
    isWhole(value.frameCount) &&
    isWhole(value.radio) &&
    isListOf(value.via, (name) => typeof name === 'string') &&
    isTextOrNothing(value.symbol) &&
    isTextOrNothing(value.status) &&
    (value.position === undefined || isPlaced(value.position)) &&
    (value.weather === undefined || isWeather(value.weather)) &&
    isListOf(value.signals, (signal) => isRecord(signal) && isTime(signal.atWallMs)) &&
    isListOf(value.hours, (hour) => isListOf(hour, isWhole) && (hour as unknown[]).length === 2)
  if (!right) return undefined
  // JSON has no word for what is not finite: such a measurement comes back as null, and is no measurement.
  const { quality, ...rest } = details
  return {
    ...rest,
    ...(isQuality(quality) ? { quality } : {}),
    signals: details.signals.filter((signal) => isQuality(signal.quality)),
  }
}

function unpacked(call: string, lastHeardMs: number, kept: object): unknown {
  try {
    return unpackStation(call, lastHeardMs, kept)
  } catch {
    return undefined
  }
}

function parsed(text: unknown): unknown {
  try {
    return typeof text === 'string' ? JSON.parse(text) : undefined
  } catch {
    return undefined
  }
}

type Known = Readonly<Record<string, unknown>>

const isListOf = (value: unknown, isOne: (entry: unknown) => boolean): boolean =>
  Array.isArray(value) && value.every(isOne)
const isTime = (value: unknown): boolean => wallTime.fault(value) === undefined
const isWhole = (value: unknown): boolean => whole.fault(value) === undefined
const isTextOrNothing = (value: unknown): boolean =>
  value === undefined || typeof value === 'string'
const times = (value: Known, names: readonly string[]): boolean =>
  names.every((name) => isTime(value[name]))

const isPlaced = (value: unknown): boolean =>
  isRecord(value) &&
  Math.abs(Number(value.latitudeDeg)) <= 90 &&
  Math.abs(Number(value.longitudeDeg)) <= 180 &&
  isTime(value.atWallMs)

const isWeather = (value: unknown): boolean =>
  isRecord(value) &&
  typeof value.call === 'string' &&
  isTime(value.atWallMs) &&
  (value.position === undefined || isRecord(value.position)) &&
  Object.entries(value).every(
    ([name, part]) =>
      ['call', 'position', 'software', 'instrument'].includes(name) || isNumber(part),
  )

const isNumber = (value: unknown): boolean => typeof value === 'number'

const measured: readonly (keyof SignalQuality)[] = [
  'levelDbfs',
  'toneBalanceDb',
  'toneOffsetHz',
  'symbolRateErrorPpm',
  'ebN0Db',
  'eyeOpening',
  'clippedShare',
  'preambleFlags',
]
const isQuality = (value: unknown): boolean =>
  isRecord(value) && measured.every((name) => isNumber(value[name]))
