import type { Database } from './database.js'

/**
 * Rows of a table with a time at which they expire (`expires_ms`), which begins only when the clock is trusted
 * (`expiry_trusted`): what came before that has its whole time once the clock is right.
 */
export interface ExpiringRows {
  untrustedCount(): number
  /** Gives at most so many with a time that is not trusted their time. Call it inside `store.durably`. @returns how many */
  trustExpiry(expiresWallMs: number, countMax: number): number
  /** Nothing lies further ahead than that: the clock was ahead when it was reckoned. Call it inside `store.durably`. */
  capExpiry(expiresWallMs: number): void
}

/** Condition for rows that are not over; its value is the wall clock, 0 while that is not trusted. */
export const notExpired = '(expiry_trusted = 0 OR expires_ms > ?)'

const openOf = {
  mailbox: "AND state = 'waiting'",
  notices: '',
  letters: '',
  emails: '',
  hill_entries: "AND state <> 'ended'",
} as const

export const expiringRows = (
  database: Database,
  table: 'mailbox' | 'notices' | 'letters' | 'hill_entries' | 'emails',
): ExpiringRows => ({
  untrustedCount: () =>
    database.get<{ count: number }>(
      `SELECT count(*) AS count FROM ${table} WHERE expiry_trusted = 0`,
    )?.count ?? 0,
  trustExpiry: (expiresWallMs, countMax) =>
    database.run(
      `UPDATE ${table} SET expires_ms = ?, expiry_trusted = 1
       WHERE id IN (SELECT id FROM ${table} WHERE expiry_trusted = 0 LIMIT ?)`,
      expiresWallMs,
      countMax,
    ).changes,
  capExpiry: (expiresWallMs) =>
    void database.run(
      `UPDATE ${table} SET expires_ms = ? WHERE expires_ms > ? AND expiry_trusted = 1 ${openOf[table]}`,
      expiresWallMs,
      expiresWallMs,
    ),
})
