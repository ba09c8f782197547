import { basename, resolve } from 'node:path'
import { type InBaseUnits, inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { Clock } from '../runtime/clock.js'
import type { ServiceEvent, ServicesOptions } from '../services/all.js'
import type { InstrumentOptions } from '../services/weather/instrument.js'
import { eventPeriod, isWithin } from './eventOptions.js'

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
  const { off, positionAgeMaxMs, ...services } = inBaseUnits(config.services)
  const { repeaters, conditions, pass, find, places, own } = services
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  return {
    clock,
    // A name stands for a mail address.
    off: config.email.enabled ? off : [...off, 'name'],
    ...{ positionAgeMaxMs, synonyms: config.services.synonyms },
    tellsOperator: config.alerts.to.length > 0,
    languageFile: at(config.services.languageFile),
    during: duringOf(config, clock),
    repeaters: { ...repeaters, file: at(repeaters.file) },
    conditions: {
      ...conditions,
      instrument: instrumentOf(conditions, at),
      forecastFile: at(conditions.forecastFile),
    },
    pass: { ...pass, file: at(pass.file) },
    find: { ...find, folder: at(find.folder) },
    places: { ...places, file: at(places.file) },
    // As the operator wrote them: their units are the service's affair.
    own: { ...own, folder: at(own.folder), settings: config.services.own.settings },
    onEvent,
  }
}

function duringOf(config: Config, clock: Clock): ServicesOptions['during'] {
  const period = eventPeriod(config)
  if (period === undefined) return undefined
  return { keywords: config.event.services, isOn: () => isWithin(period, clock.wallMs()) }
}

function instrumentOf(
  conditions: InBaseUnits<Config['services']['conditions']>,
  at: (path: string) => string,
): InstrumentOptions {
  const { instrument, path, lineBitRate, command, timeLimitMs } = conditions
  const [program = '', ...rest] = command
  switch (instrument) {
    case 'file':
      return { kind: 'file', path: at(path) }
    case 'serial':
      return { kind: 'serial', path, lineBitRate }
    case 'command':
      return {
        kind: 'command',
        command: program,
        arguments: rest,
        timeLimitMs,
      }
    case 'none':
      return { kind: 'none' }
  }
}

/** Rows that are named one by one; a file with more is counted. */
const rejectedShown = 5

/** The rows are used: `load` shows all of them. */
const warningsShown = 2

/** What a person should know of it, a line each; nothing when all is well. */
export function serviceEventWords(event: ServiceEvent): string[] {
  if (event.kind === 'fault') {
    // Most reasons name the file themselves.
    const named = event.reason.includes(basename(event.file))
    return [`${event.what}${named ? '' : ` ${event.file}`}: ${event.reason}`]
  }
  if (event.kind === 'remark') return [`${event.what}: ${event.text}`]
  if (event.kind === 'own')
    return event.what === 'output' ? [`${event.file} prints: ${event.text}`] : []
  const { rejected, rejectedCount, warned, warnedCount, what } = event
  const lines = rejected.slice(0, rejectedShown).map((line) => `${what}: left out ${line}`)
  if (rejectedCount > lines.length)
    lines.push(`${what}: ${rejectedCount - lines.length} more left out of ${event.file}`)
  for (const line of warned.slice(0, warningsShown)) lines.push(`${what}: doubtful ${line}`)
  if (warnedCount > warningsShown)
    lines.push(`${what}: ${warnedCount - warningsShown} more doubtful in ${event.file}`)
  return lines
}
