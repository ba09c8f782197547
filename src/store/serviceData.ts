import type { Database } from './database.js'
import type { RowReader } from './rows.js'
import type { Writer } from './writer.js'

/** What own services keep between questions: JSON texts by key, each service its own. Call the writing ones inside `store.durably`. */
export interface ServiceData {
  all(service: string): Map<string, string>
  set(service: string, key: string, value: string): void
  delete(service: string, key: string): void
}

export function serviceData(database: Database, writer: Writer, rows: RowReader): ServiceData {
  return {
    all(service) {
      const found = writer.reading(`data of the service ${service}`, [], () =>
        database.all<{ key: string; value: unknown }>(
          'SELECT key, value FROM service_data WHERE service = ? ORDER BY key',
          service,
        ),
      )
      const all = new Map<string, string>()
      for (const { key, value } of found) {
        if (isJson(value)) all.set(key, value)
        else rows.leaveOut('service_data', `${service} ${key}`, 'another value', 'a JSON text')
      }
      return all
    },
    set(service, key, value) {
      database.run(
        `INSERT INTO service_data (service, key, value) VALUES (?, ?, ?)
         ON CONFLICT (service, key) DO UPDATE SET value = excluded.value`,
        service,
        key,
        value,
      )
    },
    delete(service, key) {
      database.run('DELETE FROM service_data WHERE service = ? AND key = ?', service, key)
    },
  }
}

function isJson(value: unknown): value is string {
  try {
    JSON.parse(value as string)
    return typeof value === 'string'
  } catch {
    return false
  }
}
