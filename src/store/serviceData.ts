import type { Database } from './database.js'
import type { RowReader } from './rows.js'
import type { Writer } from './writer.js'

/** What a program may find in a row that it wrote as JSON. */
export interface RecordKind<Value> {
  /** in words */
  readonly expected: string
  readonly isOne: (value: unknown, key: string) => value is Value
}

/** What services, and the node, keep between questions: JSON texts by key, each its own. Call the writing ones inside `store.durably`. */
export interface ServiceData {
  all(service: string): Map<string, string>
  /** As values; what is none of that kind is left out and counted like any other row that is not whole. */
  records<Value>(service: string, kind: RecordKind<Value>): Map<string, Value>
  set(service: string, key: string, value: string): void
  delete(service: string, key: string): void
}

export function serviceData(database: Database, writer: Writer, rows: RowReader): ServiceData {
  const all = (service: string): Map<string, string> => {
    const found = writer.reading(`data of the service ${service}`, [], () =>
      database.all<{ key: string; value: unknown }>(
        'SELECT key, value FROM service_data WHERE service = ? ORDER BY key',
        service,
      ),
    )
    const texts = new Map<string, string>()
    for (const { key, value } of found) {
      if (isJson(value)) texts.set(key, value)
      else rows.leaveOut('service_data', `${service} ${key}`, 'another value', 'a JSON text')
    }
    return texts
  }

  return {
    all,
    records<Value>(service: string, { expected, isOne }: RecordKind<Value>) {
      const values = new Map<string, Value>()
      for (const [key, json] of all(service)) {
        const value: unknown = JSON.parse(json)
        if (isOne(value, key)) values.set(key, value)
        else rows.leaveOut('service_data', `${service} ${key}`, 'another value', expected)
      }
      return values
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
