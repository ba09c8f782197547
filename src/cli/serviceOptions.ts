import { resolve } from 'node:path'
import type { Config } from '../config/schema.js'
import type { Clock } from '../runtime/clock.js'
import type { ServiceEvent, ServicesOptions } from '../services/all.js'

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
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  return {
    clock,
    off: services.off,
    positionAgeMaxMs: services.positionAgeMaxHours * 3_600_000,
    repeaters: {
      file: at(services.repeaters.file),
      columns: services.repeaters.columns,
      rangeM: services.repeaters.rangeKm * 1000,
    },
    onEvent,
  }
}
