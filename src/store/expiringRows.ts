import type { Database } from './database.js'

/**
 * Rows of a table with a time at which they expire (`expires_ms`), which begins only when the clock is trusted
 * (`expiry_trusted`): what came before that has its whole time once the clock is right.
 */
export interface ExpiringRows {
  untrustedCount(): number
  /** Gives those with a time that is not trusted their time. Call it inside `store.durably`. */
  trustExpiry(expiresWallMs: number): void
}

/** Condition for rows that are not over; its value is the wall clock, 0 while that is not trusted. */
export const notExpired = '(expiry_trusted = 0 OR expires_ms > ?)'

export const expiringRows = (
  database: Database,
  table: 'mailbox' | 'notices' | 'letters',
): ExpiringRows => ({
  untrustedCount: () =>
    database.get<{ count: number }>(
      `SELECT count(*) AS count FROM ${table} WHERE expiry_trusted = 0`,
    )?.count ?? 0,
  trustExpiry: (expiresWallMs) =>
    void database.run(
      `UPDATE ${table} SET expires_ms = ?, expiry_trusted = 1 WHERE expiry_trusted = 0`,
      expiresWallMs,
    ),
})
