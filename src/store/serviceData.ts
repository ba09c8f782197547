import type { Database } from './database.js'
import type { Writer } from './writer.js'

/** What a service keeps between runs: texts by key, each service its own. */
export interface ServiceData {
  get(service: string, key: string): string | undefined
  keys(service: string): string[]
  /** on the disk when this returns; false when it could not be written */
  set(service: string, key: string, value: string): boolean
  delete(service: string, key: string): boolean
}

export function serviceData(database: Database, writer: Writer): ServiceData {
  const doing = (service: string): string => `data of the service ${service}`
  return {
    get: (service, key) =>
      writer.reading(doing(service), undefined, () =>
        database.get<{ value: string }>(
          'SELECT value FROM service_data WHERE service = ? AND key = ?',
          service,
          key,
        ),
      )?.value,
    keys: (service) =>
      writer
        .reading(doing(service), [], () =>
          database.all<{ key: string }>(
            'SELECT key FROM service_data WHERE service = ? ORDER BY key',
            service,
          ),
        )
        .map(({ key }) => key),
    set: (service, key, value) =>
      writer.durably(doing(service), () =>
        database.run(
          `INSERT INTO service_data (service, key, value) VALUES (?, ?, ?)
           ON CONFLICT (service, key) DO UPDATE SET value = excluded.value`,
          service,
          key,
          value,
        ),
      ).ok,
    delete: (service, key) =>
      writer.durably(doing(service), () =>
        database.run('DELETE FROM service_data WHERE service = ? AND key = ?', service, key),
      ).ok,
  }
}
