import { basename, resolve } from 'node:path'
import type { Config } from '../config/schema.js'
import type { Clock } from '../runtime/clock.js'
import type { ServiceEvent, ServicesOptions } from '../services/all.js'
import type { InstrumentOptions } from '../services/weather/instrument.js'

const minuteMs = 60_000

/**
 * The services' options out of the configuration.
 * @param folder of the configuration file; file names in it are relative to that
 */
export function serviceOptions(
  config: Config,
  folder: string,
  clock: Clock,
  onEvent: (event: ServiceEvent) => void,
): ServicesOptions {
  const { services } = config
  const { repeaters, conditions, pass, find, own } = services
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  return {
    clock,
    off: services.off,
    positionAgeMaxMs: services.positionAgeMaxHours * 60 * minuteMs,
    repeaters: {
      file: at(repeaters.file),
      columns: repeaters.columns,
      rangeM: repeaters.rangeKm * 1000,
    },
    conditions: {
      instrument: instrumentOf(conditions, at),
      readingAgeMaxMs: conditions.readingAgeMaxMinutes * minuteMs,
      reportAgeMaxMs: conditions.reportAgeMaxMinutes * minuteMs,
      rangeM: conditions.rangeKm * 1000,
    },
    pass: {
      file: at(pass.file),
      elementAgeMaxMs: pass.elementAgeMaxDays * 24 * 60 * minuteMs,
      elevationMinDeg: pass.elevationMinDeg,
    },
    find: { folder: at(find.folder) },
    own: {
      folder: at(own.folder),
      timeLimitMs: own.timeLimitS * 1000,
      memoryMb: own.memoryMb,
    },
    onEvent,
  }
}

function instrumentOf(
  conditions: Config['services']['conditions'],
  at: (path: string) => string,
): InstrumentOptions {
  const { instrument, path, baudRate, command, timeLimitS } = conditions
  const [program = '', ...rest] = command
  switch (instrument) {
    case 'file':
      return { kind: 'file', path: at(path) }
    case 'serial':
      return { kind: 'serial', path, baudRate }
    case 'command':
      return {
        kind: 'command',
        command: program,
        arguments: rest,
        timeLimitMs: timeLimitS * 1000,
      }
    case 'none':
      return { kind: 'none' }
  }
}

/** Rows that are named one by one; a file with more is counted. */
const rejectedShown = 5

/** What a person should know of it, a line each; nothing when all is well. */
export function serviceEventWords(event: ServiceEvent): string[] {
  if (event.kind === 'fault') {
    // Most reasons name the file themselves.
    const named = event.reason.includes(basename(event.file))
    return [`${event.what}${named ? '' : ` ${event.file}`}: ${event.reason}`]
  }
  if (event.kind === 'own')
    return event.what === 'output' ? [`${event.file} prints: ${event.text}`] : []
  const { rejected, rejectedCount, what } = event
  const lines = rejected.slice(0, rejectedShown).map((line) => `${what}: left out ${line}`)
  if (rejectedCount > lines.length)
    lines.push(`${what}: ${rejectedCount - lines.length} more left out of ${event.file}`)
  return lines
}
